"""Openings in a face: slots, rectangles, round ones, any outline. Results in face axes, mm, counter-clockwise."""

import itertools
from typing import Any

from flatgen.core.meets import self_crossings
from flatgen.core.outline import Outline, area, circle, counter_clockwise, moved, polygon, rectangle, rounded, slot
from flatgen.core.points import after, distance, shifted, turned
from flatgen.develop.runs import edge_run
from flatgen.errors import InputError, nearest
from flatgen.read.scope import Scope
from flatgen.read.sentences import shown
from flatgen.said import said, spot

SAME_PLACE = 1e-6  # corners nearer than this are one [mm]
MOST = 200  # openings from one list of places
# keys that each shape takes; what stands beside them in vain is refused, for it would be read as meant
TAKES: dict[str, tuple[str, ...]] = {
    "slot": ("at", "size", "turned"),
    "rectangle": ("at", "size", "turned", "corner_round"),
    "round": ("at", "size"),
    "points": ("points", "corner_round"),
    "notch": ("edge", "along", "size", "corner_round"),
    "vee": ("edge", "along", "size", "corner_round"),
}
USUAL = {"edge": "", "turned": 0}  # where a key has a default


def opening_outlines(values: dict[str, Any], outline: Outline, edges: tuple[str, ...], scope: Scope) -> list[Outline]:
    """The outlines of one opening, at each of its places; ``outline`` and ``edges`` are those of the face."""
    for key in ("at", "size", "edge", "along", "turned", "corner_round", "points"):
        if values[key] != USUAL.get(key) and key not in TAKES[values["shape"]]:
            raise InputError(f"an opening of shape {values['shape']} does not use it; leave it out", where=key)
    if values["shape"] in ("notch", "vee"):
        return _notches(values, outline, edges, scope)
    if values["shape"] == "points":
        return [_points(values, scope)]
    if values["at"] is None or values["size"] is None:
        raise InputError(f"a {values['shape']} opening needs at (its centre) and size")
    raw = values["at"]
    centers = raw if isinstance(raw, list) and raw and isinstance(raw[0], list) else [raw]
    if len(centers) > MOST:
        raise InputError(f"{len(centers)} openings are more than {MOST}")
    shape = _shape(values, scope)
    turn = turned(scope.angle(values["turned"]))
    return [moved(shape, after(shifted(*scope.point(center)), turn)) for center in centers]


def _notches(values: dict[str, Any], outline: Outline, edges: tuple[str, ...], scope: Scope) -> list[Outline]:
    """Notches in an edge: square-bottomed with rounded inner corners, or a vee with a rounded bottom."""
    if not values["edge"] or values["along"] is None or values["size"] is None:
        raise InputError(f"a {values['shape']} needs edge, along (its middle) and size (width and depth)")
    if values["edge"] not in edges:
        raise InputError(f'there is no edge "{values["edge"]}". {nearest(values["edge"], edges)}')
    index = edges.index(values["edge"])
    if outline[index][2] != 0.0:
        raise InputError(f'edge "{values["edge"]}" is an arc; cut it with shape = "points"')
    run = edge_run(outline, index)
    width, depth = scope.point(values["size"])
    if width <= 0 or depth <= 0:
        raise InputError(said("the notch is ", shown(width), " by ", shown(depth), "; both must be more than 0"))
    radius = 0.0 if values["corner_round"] is None else scope.length(values["corner_round"])
    if radius < 0:
        raise InputError(said("corner_round is ", shown(radius), "; it must be 0 or more"))
    raw = values["along"]
    middles = raw if isinstance(raw, list) else [raw]
    if len(middles) > MOST:
        raise InputError(f"{len(middles)} notches are more than {MOST}")
    found = []
    for middle in (scope.length(item) for item in middles):
        # half a width beyond the edge, so that nothing is left standing there
        low, high, out = middle - width / 2.0, middle + width / 2.0, width / 2.0
        if values["shape"] == "vee":
            points = [run.at(low), run.at(middle, -depth), run.at(high), run.at(high, out), run.at(low, out)]
            deep = [1]
        else:
            points = [run.at(low, out), run.at(low, -depth), run.at(high, -depth), run.at(high, out)]
            deep = [2, 1]
        shape = polygon(points)
        try:
            for k in deep if radius > 0 else ():
                shape = rounded(shape, k, radius)
        except ValueError as error:
            raise InputError(error.args[0]) from None
        found.append(counter_clockwise(shape))
    return found


def _shape(values: dict[str, Any], scope: Scope) -> Outline:
    kind, size = values["shape"], values["size"]
    if kind == "round":
        if isinstance(size, list) and (len(size) > 2 or size[0] != size[-1]):
            raise InputError(f"a round opening has one size, its diameter, not {size}", where="size")
        diameter = scope.length(size[0] if isinstance(size, list) else size)
        if diameter <= 0:
            raise InputError(said("the opening's diameter is ", shown(diameter), "; it must be more than 0"))
        return circle((0.0, 0.0), diameter)
    length, width = scope.point(size)
    if length <= 0 or width <= 0:
        raise InputError(said("the opening is ", shown(length), " by ", shown(width), "; both must be more than 0"))
    if kind == "slot":
        if length <= width:
            raise InputError(
                said("a slot ", shown(length), " long and ", shown(width), " wide has no length between its round ends")
            )
        half = (length - width) / 2.0
        return slot((-half, 0.0), (half, 0.0), width)
    return _rounded(rectangle(-length / 2.0, -width / 2.0, length, width), values, scope)


def _points(values: dict[str, Any], scope: Scope) -> Outline:
    raw = values["points"]
    if not isinstance(raw, list) or len(raw) < 3:
        raise InputError("an opening of shape points needs at least three corners, [[x, y], …]")
    corners = [scope.point(p) for p in raw]
    if distance(corners[0], corners[-1]) < SAME_PLACE:
        corners.pop()  # a list may come back to its first corner
    for one, other in itertools.pairwise(corners):
        if distance(one, other) < SAME_PLACE:
            raise InputError(
                said("two corners in turn are the same place, ", spot(*one), "; leave one out"), where="points"
            )
    outline = polygon(corners)
    crossing = self_crossings(outline) if len(corners) > 2 else []
    if crossing:
        raise InputError(
            said("this opening crosses itself at ", spot(*crossing[0]), "; list its corners once round"), where="points"
        )
    if len(corners) < 3 or abs(area(outline)) < 1e-6:
        raise InputError("this opening encloses nothing", where="points")
    return _rounded(counter_clockwise(outline), values, scope)


def _rounded(outline: Outline, values: dict[str, Any], scope: Scope) -> Outline:
    if values["corner_round"] is None:
        return outline
    radius = scope.length(values["corner_round"])
    if radius < 0:
        raise InputError(said("corner_round is ", shown(radius), "; it must be 0 or more"))
    if radius == 0:
        return outline
    try:
        for k in range(len(outline) - 1, -1, -1):
            outline = rounded(outline, k, radius)
    except ValueError as error:
        raise InputError(error.args[0]) from None
    return outline
