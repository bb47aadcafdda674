"""Drawings as pages of a PDF, each page in its drawing's own size.

The format has no arcs: each is drawn as cubic curves of at most an eighth of a turn, which stay within 5 parts in a
million of its radius. Printing without scaling is asked for in the file.
"""

import io
import math
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from flatgen.core import arcs
from flatgen.output.disk import put
from flatgen.page.drawing import Contour, Curve, Drawing, Layer, Raster, Text
from flatgen.page.items import Carry
from flatgen.page.lettering import CAP_HEIGHT
from flatgen.page.pens import StrokePen
from flatgen.write.letters import Letters

POINTS_PER_MM = 72.0 / 25.4
# the library insists on a date of making; one for all keeps equal drawings equal
NO_CLOCK = datetime(2000, 1, 1, tzinfo=UTC)


def write(drawing: Drawing, path: Path) -> None:
    """Write one drawing as a page; equal drawings give equal files."""
    write_pages((drawing,), path)


def write_pages(drawings: Sequence[Drawing], path: Path) -> None:
    """Write a new file of several drawings, a page each."""
    put(path, as_bytes(drawings))


def as_bytes(drawings: Sequence[Drawing]) -> bytes:
    """The bytes of the PDF file."""
    from fpdf import FPDF
    from fpdf.prefs import ViewerPreferences

    # in points: the library would round the factor from millimetres to five figures
    document: Any = FPDF(unit="pt")
    document.set_creation_date(NO_CLOCK)
    document.viewer_preferences = ViewerPreferences(print_scaling="None", display_doc_title=True)
    document.set_auto_page_break(False)
    document.set_margin(0)
    document.c_margin = 0
    document.set_title(drawings[0].title)
    if drawings[0].description:
        document.set_subject(drawings[0].description)
    document.set_creator("flatgen")
    letters = Letters(document)
    for drawing in drawings:
        document.add_page(orientation="P", format=tuple(side * POINTS_PER_MM for side in drawing.size))
        _draw(letters, drawing)
    return letters.written()


def _draw(letters: Letters, drawing: Drawing) -> None:
    document = letters.document
    sorting = _Sorter()
    for item in drawing.items:
        item.onto(sorting)
    at = _placing(drawing)
    height = drawing.size[1] * POINTS_PER_MM
    for photograph in sorting.photographs:
        x0, y0, x1, y1 = photograph.box()
        (left, low), (right, high) = at((x0, y0)), at((x1, y1))
        document.image(io.BytesIO(photograph.jpeg), left, height - high, right - left, high - low)
    for layer in drawing.layers:
        lines, solid, texts = sorting.on(layer.name)
        for run, filled in ((lines, False), (solid, True)):
            if run:
                document._out(_painted(run, layer, filled, at))
        document.set_text_color(*layer.color)
        for text in texts:
            _text(letters, text, at, height)


class _Sorter(StrokePen):
    """Items by layer: what is drawn as a line, what is painted, what is lettered."""

    def __init__(self) -> None:
        self.layers: dict[str, tuple[list[Curve], list[Curve], list[Text]]] = {}
        self.photographs: list[Raster] = []

    def on(self, layer: str) -> tuple[list[Curve], list[Curve], list[Text]]:
        return self.layers.setdefault(layer, ([], [], []))

    def curve(self, item: Curve) -> None:
        self.on(item.layer)[0].append(item)

    def contour(self, item: Contour) -> None:
        lines, solid, _ = self.on(item.layer)
        (solid if item.filled else lines).append(item)

    def text(self, item: Text) -> None:
        self.on(item.layer)[2].append(item)

    def raster(self, item: Raster) -> None:
        self.photographs.append(item)


def _placing(drawing: Drawing) -> Carry:
    """From the drawing's axes to the page's points; the printer's correction comes last."""
    left, low = drawing.origin
    sx, sy = (factor * POINTS_PER_MM for factor in drawing.stretch)
    return lambda p: ((p[0] - left) * sx, (p[1] - low) * sy)


def _painted(items: Iterable[Curve], layer: Layer, filled: bool, at: Carry) -> str:
    """A layer's curves as the page's own operators (ISO 32000-1, table 51)"""
    color = " ".join(f"{c / 255.0:.4g}" for c in layer.color)
    width = layer.width * POINTS_PER_MM
    dashes = " ".join(f"{dash * width:.4g}" for dash in layer.line.pattern or ())
    style = f"{color} rg" if filled else f"{color} RG {width:.4g} w 1 j 0 J [{dashes}] 0 d"
    said = ["q", style]
    for item in items:
        _trace(said, item, at)
    return "\n".join([*said, "f" if filled else "S", "Q"])


def _trace(said: list[str], item: Curve, at: Carry) -> None:
    runs = item.runs()
    for k, (p, q, bulge) in enumerate(runs):
        if k == 0:
            said.append("{:.4f} {:.4f} m".format(*at(p)))
        if abs(bulge) < arcs.STRAIGHT:
            said.append("{:.4f} {:.4f} l".format(*at(q)))
        else:
            _curve(said, arcs.arc_of(p, q, bulge), at)
    if item.closed and runs:
        said.append("h")


def _curve(said: list[str], arc: arcs.Arc, at: Carry) -> None:
    """Cubic curves along an arc, its start being where the path stands."""
    count = max(1, math.ceil(abs(arc.sweep) / (math.pi / 4.0) - 1e-9))
    step = arc.sweep / count
    handle = 4.0 / 3.0 * math.tan(step / 4.0) * arc.radius
    for k in range(count):
        a, b = arc.start + k * step, arc.start + (k + 1) * step
        p, q = arc.point(k / count), arc.point((k + 1) / count)
        first = (p[0] - handle * math.sin(a), p[1] + handle * math.cos(a))
        second = (q[0] + handle * math.sin(b), q[1] - handle * math.cos(b))
        said.append("{:.4f} {:.4f} {:.4f} {:.4f} {:.4f} {:.4f} c".format(*at(first), *at(second), *at(q)))


def _text(letters: Letters, item: Text, at: Carry, height: float) -> None:
    document = letters.document
    text = letters.set(item.text.replace("\n", " "), item.bold, item.height / CAP_HEIGHT * POINTS_PER_MM)
    x, y = at(item.at)
    y = height - y  # the library counts downward
    share = {"left": 0.0, "middle": 0.5, "right": 1.0}[item.anchor]
    shift = -share * document.get_string_width(text) if share else 0.0
    if item.angle:
        with document.rotation(item.angle, x, y):
            document.text(x + shift, y, text)
    else:
        document.text(x + shift, y, text)
