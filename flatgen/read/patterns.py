"""Hole patterns: places in the axes of one face from the ways a drawing gives them. All results in mm.

Ways: ``at`` (places), ``from`` with pitch or ``to`` and count (a row), two counts (a grid), ``circle`` (a bolt circle),
``edge`` (along an edge at an edge distance). Every one is bounded, so that a slip of a zero cannot fill the memory.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flatgen.core.outline import Outline
from flatgen.core.points import Point, along
from flatgen.develop.runs import edge_run
from flatgen.errors import InputError, nearest
from flatgen.read.keys import Key
from flatgen.read.scope import Scope
from flatgen.read.sentences import at_key, positive, shown
from flatgen.said import said

MOST = 2000  # holes in one pattern

PATTERN_KEYS = (
    Key("at", "size", "places, [x, y] or a list of them, in the axes of the face"),
    Key("from", "size", "first hole of a row or grid, [x, y]"),
    Key("to", "size", "last hole of a row, [x, y]"),
    Key("toward", "size", "direction of a row: x, -x, y, -y or an angle", "x"),
    Key("pitch", "size", "distance between holes; two values for a grid"),
    Key("count", "size", "number of holes; two values for a grid"),
    Key("center", "size", "middle of a grid or bolt circle, [x, y]"),
    Key("circle", "size", "diameter of a bolt circle"),
    Key("start", "size", "angle of the first hole of a bolt circle", 0),
    Key("edge", "text", "edge that a row follows: free, low, high, left, right, bottom, top or a name"),
    Key("edge_distance", "size", "distance of the row from that edge"),
    Key("first", "size", "first hole from the low end of the edge"),
    Key("last", "size", "last hole from the high end of the edge"),
    Key("along", "size", "places along the edge in its own run"),
)
# keys that each way takes; what stands beside them in vain is refused, for it would be read as meant
WAYS: dict[str, tuple[str, ...]] = {
    "at": (),
    "from": ("to", "toward", "pitch", "count"),
    "center": ("circle", "start", "pitch", "count"),
    "edge": ("edge_distance", "first", "last", "along", "pitch", "count"),
}
USUAL = {"toward": "x", "start": 0}  # where a key has a default


@dataclass(frozen=True, slots=True)
class _Face:
    """The face that a pattern lies in, as drawn."""

    id: str
    outline: Outline
    edges: tuple[str, ...]


def places(values: dict[str, Any], face_id: str, outline: Outline, edges: tuple[str, ...], scope: Scope) -> list[Point]:
    """Centres of a pattern's holes in face axes [mm]; ``outline`` and ``edges`` are those of the face as drawn."""
    used = [way for way in WAYS if values[way] is not None]
    if len(used) != 1:
        have = " and ".join(used) or "none of them"
        raise InputError(f"a hole pattern is given by one of {', '.join(WAYS)}; here is {have}")
    _nothing_in_vain(values, used[0])
    return _WAYS[used[0]](values, _Face(face_id, outline, edges), scope)


def given_keys(values: dict[str, Any]) -> list[str]:
    """Keys of a pattern that are given."""
    return [
        key.name for key in PATTERN_KEYS if values[key.name] is not None and values[key.name] != USUAL.get(key.name)
    ]


def _nothing_in_vain(values: dict[str, Any], way: str) -> None:
    """Raise InputError for keys that this way to give a pattern does not use, and for two that say the same."""
    given = given_keys(values)
    for key in given:
        if key != way and key not in WAYS[way]:
            raise InputError(f"a pattern given by {way} does not use it; leave it out", where=key)
    between_ends = "to" in given or "last" in given
    if between_ends and "pitch" in given and "count" in given and not isinstance(values["pitch"], list):
        raise InputError("a row between two ends takes its count or its largest pitch, not both", where="pitch")
    for one, others in {
        "to": ("toward",),
        "circle": ("pitch",),
        "along": ("first", "last", "pitch", "count"),
    }.items():
        for other in others if one in given else ():
            if other in given:
                raise InputError(f"it goes without {other}; give one of the two", where=one)
    if "start" in given and "circle" not in given:
        raise InputError("only a bolt circle has a start; give its circle, or leave it out", where="start")


def _at(values: dict[str, Any], face: _Face, scope: Scope) -> list[Point]:
    raw = values["at"]
    with at_key("at"):
        if isinstance(raw, list) and raw and isinstance(raw[0], list):
            return [scope.point(item) for item in _bounded(raw)]
        return [scope.point(raw)]


def _row(values: dict[str, Any], face: _Face, scope: Scope) -> list[Point]:
    with at_key("from"):
        start = scope.point(values["from"])
    if isinstance(values["count"], list) or isinstance(values["pitch"], list):
        pitches, counts = _pair(values, scope)
        return _grid(start, pitches, counts)
    if values["to"] is not None:
        with at_key("to"):
            end = scope.point(values["to"])
        length = math.dist(start, end)
        if length < 1e-9:
            raise InputError("a row's first and last hole are the same place")
        direction = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
        return [along(start, direction, d) for d in _spread(values, scope, 0.0, length)]
    direction = _direction(values["toward"], scope)
    pitch, count = _pitch(values, scope), _count(values, scope)
    return [along(start, direction, pitch * k) for k in range(count)]


def _center(values: dict[str, Any], face: _Face, scope: Scope) -> list[Point]:
    with at_key("center"):
        center = scope.point(values["center"])
    if values["circle"] is not None:
        if values["count"] is None:
            raise InputError("a bolt circle needs its count")
        radius, count = positive(scope.length(values["circle"]), "the bolt circle") / 2.0, _count(values, scope)
        start = scope.angle(values["start"])
        turns = [math.radians(start + 360.0 * k / count) for k in range(count)]
        return [(center[0] + radius * math.cos(t), center[1] + radius * math.sin(t)) for t in turns]
    pitch, count2 = _pair(values, scope)
    low = (center[0] - pitch[0] * (count2[0] - 1) / 2.0, center[1] - pitch[1] * (count2[1] - 1) / 2.0)
    return _grid(low, pitch, count2)


def _edge(values: dict[str, Any], face: _Face, scope: Scope) -> list[Point]:
    name = values["edge"]
    if values["edge_distance"] is None:
        raise InputError("a row along an edge needs its edge_distance")
    with at_key("edge_distance"):
        back = scope.length(values["edge_distance"])
    if name not in face.edges:
        raise InputError(f'face "{face.id}" has no edge "{name}". {nearest(name, face.edges)}')
    index = face.edges.index(name)
    if face.outline[index][2] != 0.0:
        raise InputError(f'edge "{name}" is an arc; no row follows it')
    run = edge_run(face.outline, index)
    ends = [run.run_of(face.outline[k % len(face.outline)][:2]) for k in (index, index + 1)]
    return [run.at(t, -back) for t in _along(values, scope, min(ends), max(ends))]


def _along(values: dict[str, Any], scope: Scope, low: float, high: float) -> list[float]:
    if values["along"] is not None:
        raw = values["along"]
        return [scope.length(item) for item in _bounded(raw if isinstance(raw, list) else [raw])]
    if values["first"] is None:
        raise InputError("a row along an edge needs first (from the low end), or along (places)")
    with at_key("first"):
        start = low + scope.length(values["first"])
    if values["last"] is not None:
        return _spread(values, scope, start, high - scope.length(values["last"]))
    pitch = _pitch(values, scope)
    return [start + pitch * k for k in range(_count(values, scope))]


def _spread(values: dict[str, Any], scope: Scope, start: float, end: float) -> list[float]:
    """Holes from start to end, evened out: by count, or at the largest pitch that is no more than the one given."""
    if values["count"] is not None:
        count = _count(values, scope)
    elif values["pitch"] is not None:
        ratio = (end - start) / _pitch(values, scope)
        if not math.isfinite(ratio) or ratio > MOST:
            raise InputError(f"this pitch makes {ratio:.0f} holes; at most {MOST} are made in one pattern")
        count = max(1, math.ceil(ratio - 1e-9)) + 1
    else:
        raise InputError("a row between two ends needs its count, or the largest pitch")
    if end < start - 1e-9:
        raise InputError(said("the row's last hole comes before its first by ", shown(start - end)))
    if count == 1:
        return [(start + end) / 2.0]
    return [start + (end - start) * k / (count - 1) for k in range(count)]


def _grid(low: Point, pitch: tuple[float, float], count: tuple[int, int]) -> list[Point]:
    if count[0] * count[1] > MOST:
        raise InputError(f"{count[0]} by {count[1]} holes are more than {MOST}, the most in one pattern")
    return [(low[0] + pitch[0] * i, low[1] + pitch[1] * j) for j in range(count[1]) for i in range(count[0])]


def _pair(values: dict[str, Any], scope: Scope) -> tuple[tuple[float, float], tuple[int, int]]:
    pitch, count = values["pitch"], values["count"]
    if not (isinstance(pitch, list) and isinstance(count, list) and len(pitch) == 2 and len(count) == 2):
        raise InputError("a grid needs two pitches and two counts, [x, y] each")
    numbers = (scope.count(count[0], MOST), scope.count(count[1], MOST))
    return (scope.length(pitch[0]), scope.length(pitch[1])), numbers


def _pitch(values: dict[str, Any], scope: Scope) -> float:
    if values["pitch"] is None:
        raise InputError("the row needs its pitch")
    with at_key("pitch"):
        pitch = scope.length(values["pitch"])
    if pitch <= 0:
        raise InputError(said("the pitch is ", shown(pitch), "; it must be more than 0"), where="pitch")
    return pitch


def _count(values: dict[str, Any], scope: Scope) -> int:
    if values["count"] is None:
        raise InputError("the row needs its count")
    with at_key("count"):
        return scope.count(values["count"], MOST)


def _direction(raw: Any, scope: Scope) -> Point:
    named: dict[str, Callable[[], Point]] = {
        "x": lambda: (1.0, 0.0),
        "-x": lambda: (-1.0, 0.0),
        "y": lambda: (0.0, 1.0),
        "-y": lambda: (0.0, -1.0),
    }
    if isinstance(raw, str) and raw in named:
        return named[raw]()
    turn = math.radians(scope.angle(raw))
    return math.cos(turn), math.sin(turn)


def _bounded(raw: list[Any]) -> list[Any]:
    if len(raw) > MOST:
        raise InputError(f"{len(raw)} places are more than {MOST}, the most in one pattern")
    return raw


_WAYS: dict[str, Callable[[dict[str, Any], _Face, Scope], list[Point]]] = {
    "at": _at,
    "from": _row,
    "center": _center,
    "edge": _edge,
}
