"""Pictures of the page: the flat blank, a nest, and the formed part as numbers for the script that turns it."""

from typing import Any

from flatgen.core.outline import bounds, moved
from flatgen.develop.solid import solid
from flatgen.model.blank import Blank
from flatgen.model.plan import Nest
from flatgen.page.lettering import text_width
from flatgen.write.packet_html import Html, tag
from flatgen.write.svg import number, path_data

STEP = 0.02  # what one count of the formed part's numbers stands for [mm]


def _outline_data(blank: Blank) -> str:
    return "".join(path_data(outline) for outline in (blank.outline, *blank.cutouts))


def nest_picture(number_: int, nest: Nest, blanks: dict[str, Blank]) -> Html:
    """The sheet with its pieces; each piece can be pointed at, and says which it is."""
    sheet = nest.sheet
    w, h, m = sheet.width, sheet.height, sheet.margin
    edge = 0.01 * max(w, h)
    parts = list(dict.fromkeys(p.part for p in nest.placements))
    names = {part: f"n{number_}p{k}" for k, part in enumerate(parts)}
    shapes = [tag("path", id=names[part], d=_outline_data(blanks[part])) for part in parts]
    items = [_box(0.0, 0.0, w, h, "stock")]
    if m > 0:
        items.append(_box(m, m, w - 2 * m, h - 2 * m, "margin"))
    items += [_box(*area, "bad") for area in sheet.bad_areas]
    items += [_box(o.x, o.y, o.width, o.height, "offcut") for o in nest.offcuts]
    for offcut in nest.offcuts:
        items += _label(
            f"off-cut {offcut.id}",
            (offcut.x, offcut.y, offcut.x + offcut.width, offcut.y + offcut.height),
            0.02 * max(w, h),
        )
    labels: list[Html] = []
    for k, p in enumerate(nest.placements):
        turn = f"translate({number(p.x)} {number(-p.y)}) rotate({number(-p.rotation)})"
        turn += " scale(-1 1)" if p.mirrored else ""
        items.append(tag("use", href=f"#{names[p.part]}", transform=turn, class_="piece", data_k=k))
        labels += _label(p.part, bounds([moved(blanks[p.part].outline, p.motion)]), 0.03 * max(w, h))
    for cut in nest.cuts:
        (x0, y0), (x1, y1) = cut.start, cut.end
        items.append(tag("path", d=f"M{number(x0)},{number(-y0)}L{number(x1)},{number(-y1)}", class_="cut"))
    view = f"{number(-edge)} {number(-h - edge)} {number(w + 2 * edge)} {number(h + 2 * edge)}"
    return tag("svg", tag("defs", shapes), items, labels, viewBox=view, aria_hidden="true", focusable="false")


def _box(x: float, y: float, width: float, height: float, css: str) -> Html:
    place = {"x": number(x), "y": number(-y - height), "width": number(width), "height": number(height)}
    return tag("rect", class_=css, **place)


def _label(text: str, box: tuple[float, float, float, float], largest: float) -> list[Html]:
    """Text in the middle of a box along its longer side, as large as fits; none where nobody could read it."""
    x0, y0, x1, y1 = box
    long, short = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
    height = min(largest, 0.5 * short, 0.8 * long / max(text_width(text, 1.0), 1e-9))
    if height < 0.12 * largest:
        return []
    x, y = (x0 + x1) / 2.0, -(y0 + y1) / 2.0
    turn = f"rotate(-90 {number(x)} {number(y)})" if y1 - y0 > x1 - x0 else None
    place = {"x": number(x), "y": number(y), "dy": "0.35em", "font_size": number(height), "transform": turn}
    return [tag("text", text, class_="name", text_anchor="middle", **place)]


def formed_numbers(blank: Blank) -> dict[str, Any]:
    """The formed part's surfaces and edges, their corners numbered, in counts of ``STEP`` about its middle.

    v : x, y, z of each corner in turn; s : surfaces as loops of corner numbers; e : edges; g : edges where flat becomes
    curve; t : thickness
    """
    surfaces, edges = solid(blank)
    places: dict[tuple[int, int, int], int] = {}
    points = [p for surface in surfaces for loop in surface.loops for p in loop]
    middle = [(min(p[i] for p in points) + max(p[i] for p in points)) / 2.0 for i in range(3)]

    def corner(p: tuple[float, float, float]) -> int:
        key = (round((p[0] - middle[0]) / STEP), round((p[1] - middle[1]) / STEP), round((p[2] - middle[2]) / STEP))
        return places.setdefault(key, len(places))

    faces = [[[corner(p) for p in loop] for loop in surface.loops] for surface in surfaces]
    sharp = [[corner(p) for p in edge.points] for edge in edges if not edge.tangent]
    soft = [[corner(p) for p in edge.points] for edge in edges if edge.tangent]
    return {
        "t": round(blank.thickness / STEP),
        "v": [value for place in places for value in place],
        "s": faces,
        "e": sharp,
        "g": soft,
    }
