"""Outline of a face from its corners: straight sides, arcs, corners rounded one by one. Lengths mm.

A corner is [x, y], or [x, y, r] to round it. A table in its place is reached by an arc from the corner before:
{ to = [x, y], through = [x, y] } or { to = [x, y], radius = r, turn = "left" }, turning less than half a circle unless
``long`` says otherwise. The outline closes by itself; the list may come back to its first corner.
"""

import math
from typing import Any

from flatgen.core.arcs import bulge_through
from flatgen.core.meets import self_crossings
from flatgen.core.outline import Outline, area
from flatgen.core.points import Point, cross, distance, dot, sub
from flatgen.errors import InputError, nearest
from flatgen.model.part import Corner, Face
from flatgen.read.keys import Key
from flatgen.read.scope import Scope
from flatgen.read.sentences import positive, shown
from flatgen.said import said

MOST_CORNERS = 2000
ARC_KEYS = (
    Key("to", "size", "corner that the arc ends at, [x, y]", required=True),
    Key("through", "size", "a place on the arc, [x, y]"),
    Key("radius", "size", "radius, in place of through"),
    Key("turn", "choice", "to which side it turns on its way", "left", choices=("left", "right")),
    Key("long", "flag", "the longer of the two arcs with this radius", False),
    Key("round", "size", "radius that rounds the corner itself"),
)


def points_face(name: str, raw: Any, given_edges: tuple[str, ...], scope: Scope) -> Face:
    """A face from its list of corners; a clockwise list is turned round, each edge keeping its name."""
    if not isinstance(raw, list) or len(raw) < 2:
        raise InputError("an outline needs its corners, [[x, y], …]")
    if len(raw) > MOST_CORNERS:
        raise InputError(f"{len(raw)} corners are more than {MOST_CORNERS}")
    places = [_place(item, scope) for item in raw]
    if len(raw) > 2 and distance(places[0], places[-1]) < 1e-6:
        raw, places = _closed_already(raw, places)
    count = len(places)
    edges = given_edges or tuple(str(k + 1) for k in range(count))
    if len(edges) != count or len(set(edges)) != count:
        raise InputError(f"{count} corners need {count} different edge names, not {len(edges)}")
    bulges = [_bulge(raw[(k + 1) % count], places[k], places[(k + 1) % count], scope) for k in range(count)]
    outline: Outline = tuple((*p, b) for p, b in zip(places, bulges, strict=True))
    corners = []
    for k, item in enumerate(raw):
        size = item.get("round") if isinstance(item, dict) else item[2] if len(item) > 2 else None
        if size is not None:
            radius = positive(scope.length(size), "a corner radius")
            corners.append(Corner((edges[k - 1], edges[k]), "round", radius))
    return checked_face(name, outline, edges, tuple(corners))


def _closed_already(raw: list[Any], places: list[Point]) -> tuple[list[Any], list[Point]]:
    """A list that comes back to its first corner: one corner, reached as the last says, rounded as the first says."""
    first, last = raw[0], raw[-1]
    if isinstance(first, dict):
        raise InputError("the first corner is reached by an arc, and the last is the same place; leave the last out")
    if isinstance(last, dict):
        if len(first) > 2:
            last = {**last, "round": first[2]}
        first = last
    return [first, *raw[1:-1]], places[:-1]


def checked_face(name: str, outline: Outline, edges: tuple[str, ...], corners: tuple[Corner, ...] = ()) -> Face:
    """A face whose outline encloses something, runs counter-clockwise and does not cross itself."""
    for (x, y, _), (x2, y2, _), edge in zip(outline, (*outline[1:], outline[0]), edges, strict=True):
        if distance((x, y), (x2, y2)) < 1e-6:
            raise InputError(f'edge "{edge}" has no length: two corners are the same place')
    if (len(outline) < 3 and not any(b for *_, b in outline)) or abs(area(outline)) < 1e-6:
        raise InputError("this outline encloses nothing")
    if area(outline) < 0:
        outline, edges = _turned_round(outline, edges)
    crossing = self_crossings(outline)
    if crossing:
        x, y = crossing[0]
        raise InputError(said("this outline crosses itself at x ", shown(x), ", y ", shown(y)))
    return Face(name, outline, edges, corners)


def _turned_round(outline: Outline, edges: tuple[str, ...]) -> tuple[Outline, tuple[str, ...]]:
    """The same curve the other way, each edge with its name."""
    n = len(outline)
    order = range(n - 1, -1, -1)
    return tuple((outline[k][0], outline[k][1], -outline[k - 1][2]) for k in order), tuple(edges[k - 1] for k in order)


def _place(item: Any, scope: Scope) -> Point:
    if isinstance(item, dict):
        known = [key.name for key in ARC_KEYS]
        for key in item:
            if key not in known:
                raise InputError(f'an arc has no key "{key}". {nearest(key, known)}')
        if "to" not in item or ("through" in item) == ("radius" in item):
            raise InputError("an arc is { to = [x, y], through = [x, y] } or { to = [x, y], radius = r }")
        return scope.point(item["to"])
    if not isinstance(item, list) or len(item) not in (2, 3):
        raise InputError(f"{item!r} is not a corner; write it as [x, y], or [x, y, radius]")
    return scope.point(item[:2])


def _bulge(item: Any, start: Point, end: Point, scope: Scope) -> float:
    """Bulge of the side that arrives at a corner."""
    if not isinstance(item, dict):
        return 0.0
    if distance(start, end) < 1e-6:
        raise InputError("an arc must end elsewhere than it starts; make a circle of two")
    if "through" in item:
        center = _center_through(start, scope.point(item["through"]), end)
        left = cross(sub(end, start), sub(scope.point(item["through"]), start)) < 0
        return bulge_through(start, end, center, left)
    radius, half = positive(scope.length(item["radius"]), "an arc's radius"), distance(start, end) / 2.0
    if radius < half - 1e-9:
        raise InputError(said("an arc of radius ", shown(radius), " cannot span ", shown(2.0 * half)))
    turn = item.get("turn", "left")
    if turn not in ("left", "right"):
        raise InputError(f'"{turn}" is not one of left, right')
    sweep = 2.0 * math.asin(min(1.0, half / radius))
    if item.get("long", False):
        sweep = math.tau - sweep
    return math.tan(sweep / 4.0) * (1.0 if turn == "left" else -1.0)


def _center_through(p: Point, q: Point, r: Point) -> Point:
    """Centre of the circle through three places."""
    u, v = sub(q, p), sub(r, p)
    twice = 2.0 * cross(u, v)
    if abs(twice) < 1e-9:
        raise InputError("the three places of an arc lie in one line")
    uu, vv = dot(u, u), dot(v, v)
    return (p[0] + (v[1] * uu - u[1] * vv) / twice, p[1] + (u[0] * vv - v[0] * uu) / twice)
