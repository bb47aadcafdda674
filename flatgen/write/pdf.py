"""Drawings as pages of a PDF, each page in its drawing's own size.

The format has no arcs: each is drawn as cubic curves of at most an eighth of a turn, which stay within 5 parts in a
million of its radius. Printing without scaling is asked for in the file.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from flatgen.core import arcs
from flatgen.core.points import Point
from flatgen.output.disk import put
from flatgen.page.drawing import Contour, Curve, Drawing, Layer, Text
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
        _draw(letters, drawing, _placing(drawing))
    return letters.written()


def _draw(letters: Letters, drawing: Drawing, at: Callable[[Point], Point]) -> None:
    document = letters.document
    mm = POINTS_PER_MM / document.k  # a millimetre in the unit of the document, which line widths are given in
    sorting = _Sorter()
    for item in drawing.items:
        item.onto(sorting)
    for layer in drawing.layers:
        lines, solid, texts = sorting.on(layer.name)
        with document.drawing_context() as context:
            for run, filled in ((lines, False), (solid, True)):
                if run:
                    context.add_item(_painted(run, layer, filled, at, mm), clone=False)  # nobody else holds it
        document.set_text_color(*layer.color)
        for text in texts:
            _text(letters, text, at)


class _Sorter(StrokePen):
    """Items by layer: what is drawn as a line, what is painted, what is lettered."""

    def __init__(self) -> None:
        self.layers: dict[str, tuple[list[Curve], list[Curve], list[Text]]] = {}

    def on(self, layer: str) -> tuple[list[Curve], list[Curve], list[Text]]:
        return self.layers.setdefault(layer, ([], [], []))

    def curve(self, item: Curve) -> None:
        self.on(item.layer)[0].append(item)

    def contour(self, item: Contour) -> None:
        lines, solid, _ = self.on(item.layer)
        (solid if item.filled else lines).append(item)

    def text(self, item: Text) -> None:
        self.on(item.layer)[2].append(item)


def _placing(drawing: Drawing) -> Callable[[Point], Point]:
    """From the drawing's axes to the page's points, which count downward; the printer's correction comes last."""
    left, low = drawing.origin
    sx, sy = (factor * POINTS_PER_MM for factor in drawing.stretch)
    height = drawing.size[1] * POINTS_PER_MM
    return lambda p: ((p[0] - left) * sx, height - (p[1] - low) * sy)


def _painted(items: Iterable[Curve], layer: Layer, filled: bool, at: Any, mm: float) -> Any:
    from fpdf.drawing import PaintedPath
    from fpdf.drawing_primitives import DeviceRGB

    path = PaintedPath()
    color = DeviceRGB(*(c / 255.0 for c in layer.color))
    style = path.style
    style.auto_close = False
    style.paint_rule = "fill_nonzero" if filled else "stroke"
    if filled:
        style.fill_color = color
    else:
        style.stroke_color = color
        style.stroke_width = layer.width * mm
        style.stroke_join_style = "round"
        style.stroke_cap_style = "butt"
        if layer.line.pattern:
            style.stroke_dash_pattern = [d * layer.width * mm for d in layer.line.pattern]
    for item in items:
        _trace(path, item, at)
    return path


def _trace(path: Any, item: Curve, at: Any) -> None:
    runs = item.runs()
    for k, (p, q, bulge) in enumerate(runs):
        if k == 0:
            path.move_to(*at(p))
        if abs(bulge) < arcs.STRAIGHT:
            path.line_to(*at(q))
        else:
            _curve(path, arcs.arc_of(p, q, bulge), at)
    if item.closed and runs:
        path.close()


def _curve(path: Any, arc: arcs.Arc, at: Any) -> None:
    """Cubic curves along an arc, its start being where the path stands."""
    count = max(1, math.ceil(abs(arc.sweep) / (math.pi / 4.0) - 1e-9))
    step = arc.sweep / count
    handle = 4.0 / 3.0 * math.tan(step / 4.0) * arc.radius
    for k in range(count):
        a, b = arc.start + k * step, arc.start + (k + 1) * step
        p, q = arc.point(k / count), arc.point((k + 1) / count)
        first = (p[0] - handle * math.sin(a), p[1] + handle * math.cos(a))
        second = (q[0] + handle * math.sin(b), q[1] - handle * math.cos(b))
        path.curve_to(*at(first), *at(second), *at(q))


def _text(letters: Letters, item: Text, at: Callable[[Point], Point]) -> None:
    document = letters.document
    text = letters.set(item.text.replace("\n", " "), item.bold, item.height / CAP_HEIGHT * POINTS_PER_MM)
    x, y = at(item.at)
    width = document.get_string_width(text)
    shift = {"left": 0.0, "middle": -width / 2.0, "right": -width}[item.anchor]
    if item.angle:
        with document.rotation(item.angle, x, y):
            document.text(x + shift, y, text)
    else:
        document.text(x + shift, y, text)
