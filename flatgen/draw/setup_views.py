"""Pictures for a brake setting: the bend seen from the end of the brake, and the blank lying in it from above.

Each view is drawn into a box on the page, scaled to fit. Lengths mm.
"""

import math
from collections.abc import Iterable, Sequence

from flatgen.core.outline import Outline, bounds, rectangle
from flatgen.core.points import Point
from flatgen.core.words import Units
from flatgen.draw.flat_view import name_on, named_on
from flatgen.draw.view import grain_arrow
from flatgen.model.plan import BendPicture, Operation, RefusedBend, Setup
from flatgen.page.drawing import Box, Contour, Drawing, Item, Line, LinearDimension, Text
from flatgen.page.items import ABOVE, ARROW, arrow
from flatgen.page.lettering import ASCENT, text_width
from flatgen.page.place import framed, spread
from flatgen.page.room import Room
from flatgen.units import format_length

LABEL, SMALL = 2.4, 2.0
PLAN, SECTION = (51.0, 26.0), (36.0, 12.5)  # sizes of the views on the page
ARROW_LONG = 5.0
REFUSED = (90.0, 60.0)  # size of the picture of a stroke that cannot be made
AROUND = 14.0  # tools are shown this far beyond the metal in the section
PAD_WIDTH, PAD_DEPTH = 8.0, 4.0  # size of a stop pad on the page
ONE_PAD = 38.0  # metal shorter than this rests on one pad [mm]


def setting_picture(op: Operation, setup: Setup, units: Units, grain: float | None) -> Drawing:
    """From above with the operator at the foot; beside it from the side, before the bend and with the leaf up."""
    picture = op.picture
    assert picture is not None
    wide, tall = PLAN
    x = wide + 1.5
    items = plan_view(op, setup, (0.0, 0.0, wide, tall), units, grain)
    items += section_view(picture, picture.before, (x, tall - SECTION[1], x + SECTION[0], tall), leaf_up=False)
    items += section_view(picture, picture.after, (x, 0.0, x + SECTION[0], SECTION[1]), leaf_up=True)
    return framed(items, units, 0.0)


def refused_picture(refused: RefusedBend, units: Units) -> Drawing:
    """The stroke that cannot be made, from the side, with what is in its way thick and by its name."""
    picture, box = refused.picture, (0.0, 0.0, *REFUSED)
    items = section_view(picture, picture.after, box, leaf_up=True, hit=refused.tool)
    words = f"{refused.bend}: in its way is {'' if refused.tool.startswith('the ') else 'the '}{refused.tool}"
    return framed([*items, Text("fault", (0.0, -4.0), words, LABEL, bold=True)], units)


def section_view(
    picture: BendPicture, metal: Sequence[Outline], box: Box, *, leaf_up: bool, hit: str = ""
) -> list[Item]:
    """The bend from the side with the tools round it; the leaf lies down before the stroke.

    hit : the tool, else the metal, that is drawn as what is in the way
    """
    x0, y0, x1, y1 = bounds([*picture.before, *picture.after])
    window = (x0 - AROUND, y0 - 0.8 * AROUND, x1 + AROUND, y1 + 0.5 * AROUND)
    place = _fit(window, box)
    items: list[Item] = []
    for name, outline in picture.tools:
        shown = outline if name != "leaf" or leaf_up else _leaf_down(picture)
        clipped = _clipped([v[:2] for v in shown], window)
        if len(clipped) > 2:
            shape = tuple((*place(p), 0.0) for p in clipped)
            items += [Contour("tool", shape, filled=True), Contour("fault" if name == hit else "formed", shape)]
    for outline in picture.beyond:
        items.append(Contour("formed", tuple((*place(v[:2]), 0.0) for v in outline)))
    own = bool(hit) and all(name != hit for name, _ in picture.tools)
    for outline in metal:
        # outlined as well, so that thin sheet stays visible at a small scale
        items += [Contour("metal", _placed(outline, place), filled=True), Contour("metal", _placed(outline, place))]
        items += [Contour("fault", _placed(outline, place))] if own else []
    if picture.stop is not None and not leaf_up:
        items.append(_stop_block(picture, place))
    return items


def _leaf_down(picture: BendPicture) -> Outline:
    """The leaf turned back to lie flush with the bed."""
    leaf = next(outline for name, outline in picture.tools if name == "leaf")
    bed = next(outline for name, outline in picture.tools if name == "bed")
    edge = max(x for x, _, _ in bed)
    # the face's first two corners run along the leaf's face; turn them level about the hinge
    (ax, ay), (bx, by) = leaf[0][:2], leaf[1][:2]
    turned = math.atan2(by - ay, bx - ax)
    c, s = math.cos(-turned), math.sin(-turned)
    moved = [((x - ax) * c - (y - ay) * s, (x - ax) * s + (y - ay) * c) for x, y, _ in leaf]
    return tuple((edge + x, y, 0.0) for x, y in moved)


def _stop_block(picture: BendPicture, place: "Placing") -> Contour:
    assert picture.stop is not None
    x, z = picture.stop
    low, high = bounds(picture.before)[0], bounds(picture.before)[2]
    depth, height = 5.0, max(4.0, 0.12 * (high - low))
    left = x - depth if x < 0 else x
    corners = ((left, z), (left + depth, z), (left + depth, z + height), (left, z + height))
    return Contour("stop", tuple((*place(p), 0.0) for p in corners), filled=True)


def plan_view(op: Operation, setup: Setup, box: Box, units: str, grain: float | None) -> list[Item]:
    """The blank in the brake from above, the operator at the foot of the page: edges, bed's edge, nose, stop."""
    picture = op.picture
    assert picture is not None
    outlines = [outline for _, outline in picture.seen]
    x0, y0, x1, y1 = bounds([*outlines, *picture.seen_strips])
    reach = picture.contact if picture.contact is not None else picture.bed_edge
    wide, deep = x1 - x0, max(y1, reach) - min(y0, reach)
    window = (
        x0 - 0.10 * wide - 3,
        min(y0, reach, picture.bed_edge) - 0.12 * deep - 4,
        x1 + 0.10 * wide + 3,
        max(y1, reach) + 0.12 * deep + 4,
    )
    place = _fit(window, (box[0] + 11.0, box[1], box[2] - 16.0, box[3]))
    items: list[Item] = []
    edges: list[tuple[float, str]] = []
    left, right = place((window[0], 0))[0], place((window[2], 0))[0]
    for name, outline in picture.seen:
        shape = tuple((*place(v[:2]), 0.0) for v in outline)
        items.append(Contour("outline" if name else "formed", shape))
    items += [Contour("metal", _placed(strip, place), filled=True) for strip in picture.seen_strips]
    scale = place((1.0, 0.0))[0] - place((0.0, 0.0))[0]
    for x, y, diameter in picture.seen_holes:
        r = max(0.3, diameter * scale / 2.0)
        cx, cy = place((x, y))
        items.append(Contour("hole", ((cx - r, cy, 1.0), (cx + r, cy, 1.0))))
    for y, layer, words in ((picture.bed_edge, "frame", "bed's edge"), (picture.nose_tip, "sight", "nose tip")):
        height = place((0.0, y))[1]
        items.append(Line(layer, (left, height), (right, height)))
        edges.append((height, words))
    items += _edge_labels(edges, right + 1.0)
    items += _stops(op, setup, place, units, box)
    if grain is not None:
        a, b = _direction(op, grain)
        heights = [height for height, _ in edges]
        above = box[3] - max(heights) > min(heights) - box[1]
        y = box[3] - ARROW_LONG / 2.0 if above else box[1] + ARROW_LONG / 2.0
        items += grain_arrow((box[2] - 13.0, y), math.degrees(math.atan2(b, a)), ARROW_LONG, SMALL, beside=True)
    return items + _face_labels(op, place, items, box)


def _edge_labels(edges: Sequence[tuple[float, str]], x: float) -> list[Item]:
    """Names of the lines across the brake at their right ends, none over another."""
    middles = spread([height for height, _ in edges], [1.4 * LABEL] * len(edges))
    return [Text("note", (x, y - LABEL / 2.0), words, LABEL) for y, (_, words) in zip(middles, edges, strict=True)]


def _direction(op: Operation, grain: float) -> Point:
    """Direction of the grain on the bench."""
    g = (math.cos(math.radians(grain)), math.sin(math.radians(grain)))
    a, b, c, d, _, _ = op.lies
    return (a * g[0] + c * g[1], b * g[0] + d * g[1])


def _stops(op: Operation, setup: Setup, place: "Placing", units: str, box: Box) -> list[Item]:
    """Stop pads on the edge that is gauged, and their distance from where the shop reads it."""
    picture = op.picture
    assert picture is not None
    if picture.contact is None:
        return []
    items: list[Item] = []
    back = picture.contact > picture.bed_edge
    for x, wide in pad_places(picture.stretches, PAD_WIDTH / place.scale):
        px, py = place((x, picture.contact))
        low, wide = py if back else py - PAD_DEPTH, wide * place.scale
        items.append(Contour("stop", rectangle(px - wide / 2.0, low, wide, PAD_DEPTH), filled=True))
    at = box[0] + 7.0
    read_from = picture.bed_edge if setup.stop_read_from == "bed" else picture.nose_tip
    y_edge, y_stop = place((0.0, read_from))[1], place((0.0, picture.contact))[1]
    text = format_length(setup.stop_shown, units)
    dimension = LinearDimension("dimension", (at, y_edge), (at, y_stop), (at, y_edge), 90.0, text, 2.6)
    if text_width(text, 2.6) > abs(y_stop - y_edge) - 1.0:
        items += _beside(dimension, box)
    else:
        items.append(dimension)
    return items


def pad_places(stretches: Sequence[tuple[float, float]], wide: float) -> list[tuple[float, float]]:
    """Middle and width of the pads along the edge: two, two thirds of its length apart, or one on a short edge.

    Where the edge is broken each stands on the stretch nearest to its place; none is wider than its stretch.
    """
    if not stretches:
        return []
    low, high = min(a for a, _ in stretches), max(b for _, b in stretches)
    wanted = [(low + high) / 2.0] if high - low < ONE_PAD else [low + (high - low) * k / 6.0 for k in (1, 5)]
    found = []
    for at in wanted:
        roomy = [(a, b) for a, b in stretches if b - a >= wide] or [max(stretches, key=lambda s: s[1] - s[0])]
        a, b = min(roomy, key=lambda s: max(s[0] - at, at - s[1], 0.0))
        own = min(wide, b - a)
        found.append((min(max(at, a + own / 2.0), b - own / 2.0), own))
    return sorted(set(found))


def _beside(dimension: LinearDimension, box: Box) -> list[Item]:
    """A distance too short for its figure: arrows from outside, the figure level above them, below where it must be."""
    low, high = sorted((dimension.start[1], dimension.end[1]))
    x, layer = dimension.start[0], dimension.layer
    up, down = min(high + 2.0 * ARROW, box[3]), max(low - 2.0 * ARROW, box[1])
    items: list[Item] = [Line(layer, (x, down), (x, up))]
    items += [arrow(layer, (x, low), (0.0, 1.0)), arrow(layer, (x, high), (0.0, -1.0))]
    above = up + ABOVE
    fits = above + ASCENT * dimension.height <= box[3]
    y = above if fits else down - ABOVE - dimension.height
    items.append(Text(layer, (box[0], y), dimension.text, dimension.height))
    return items


def _face_labels(op: Operation, place: "Placing", items: Sequence[Item], box: Box) -> list[Item]:
    """Name of each flat on it or with a leader; the clamped one comes first and says so."""
    picture = op.picture
    assert picture is not None
    room = Room(item for item in items if not (isinstance(item, Contour) and item.layer == "metal"))
    clamped = op.clamped.split(", ")
    shapes = [(name, _placed(outline, place)) for name, outline in picture.seen]
    over = {name: [shape for _, shape in shapes[k + 1 :]] for k, (name, _) in enumerate(shapes)}
    found: list[Item] = []
    for name, shape in sorted(shapes, key=lambda face: face[0] not in clamped):
        words = f"{name}: under the nose" if name in clamped else ""
        found += (named_on(shape, words, room) if words else []) or name_on(shape, name, room, box, over[name])
    return found


class Placing:
    """Carries points of a window on the part into a box on the page."""

    def __init__(self, scale: float, x: float, y: float) -> None:
        """Scale about the origin, then shift."""
        self.scale, self.x, self.y = scale, x, y

    def __call__(self, p: Point) -> Point:
        """The point on the page."""
        return (p[0] * self.scale + self.x, p[1] * self.scale + self.y)


def _fit(window: Box, box: Box) -> Placing:
    scale = min((box[2] - box[0]) / (window[2] - window[0]), (box[3] - box[1]) / (window[3] - window[1]))
    x = (box[0] + box[2]) / 2.0 - scale * (window[0] + window[2]) / 2.0
    y = (box[1] + box[3]) / 2.0 - scale * (window[1] + window[3]) / 2.0
    return Placing(scale, x, y)


def _placed(outline: Outline, place: Placing) -> Outline:
    return tuple((*place(v[:2]), 0.0) for v in outline)


def _clipped(points: Iterable[Point], window: Box) -> list[Point]:
    """A polygon cut to an upright window, side by side."""
    x0, y0, x1, y1 = window
    found = list(points)
    for axis, limit, sign in ((0, x0, 1.0), (0, x1, -1.0), (1, y0, 1.0), (1, y1, -1.0)):
        kept: list[Point] = []
        for k, p in enumerate(found):
            q = found[(k + 1) % len(found)]
            a, b = sign * (p[axis] - limit), sign * (q[axis] - limit)
            if a >= 0:
                kept.append(p)
            if (a >= 0) != (b >= 0):
                share = a / (a - b)
                kept.append((p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])))
        found = kept
        if not found:
            return []
    return found
