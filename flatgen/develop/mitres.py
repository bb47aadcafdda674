"""Where two flanges that meet when formed are cut, so that their nearest edges stand the stated gap apart.

The flanges are looked at in space, as they stand before any mitre. Where their planes cross, both are cut along the
line in which their inner skins meet; the gap is laid out from there by the angle between them. Where they lie in one
plane, as the return flanges of a tray do, the cut halves the corner of their mould lines. Lengths mm.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple

from flatgen.core.points import Frame, Motion, Point3, move, placed
from flatgen.develop.skirts import SQUARE, Cut, Ends
from flatgen.errors import CannotMake
from flatgen.model.part import Part
from flatgen.said import said, size

PARALLEL = 1e-6
APART = 1e-4  # planes nearer than this are one [mm]


class _Plate(NamedTuple):
    """A flange in space: origin and directions of its own axes on the upper skin, a point within, its bend's ends."""

    name: str
    origin: Point3
    x: Point3
    y: Point3
    normal: Point3
    middle: tuple[float, float]
    span: tuple[float, float]

    def at(self, x: float, y: float, z: float = 0.0) -> Point3:
        o = _add(_add(self.origin, self.x, x), self.y, y)
        return _add(o, self.normal, z)

    @property
    def center(self) -> Point3:
        return self.at(*self.middle)


def mitre_ends(
    part: Part,
    motions: Mapping[str, Motion],
    where: Mapping[str, Frame],
    spans: Mapping[str, tuple[float, float]],
) -> dict[str, Ends]:
    """Cuts by face. ``motions`` carry face axes to the blank, ``where`` the blank to space, ``spans`` tell where each
    flange's bend ends.

    Raises CannotMake where two flanges cannot meet.
    """
    found: dict[str, list[Cut | None]] = {}
    for mitre in part.mitres:
        first, second = (_plate(part, name, motions, where, spans) for name in mitre.faces)
        for one, other in ((first, second), (second, first)):
            cut = _cut(part, one, other, mitre.gap)
            low, high = one.span
            end = 0 if abs(cut.at(0.0) - low) < abs(cut.at(0.0) - high) else 1
            ends = found.setdefault(one.name, list(SQUARE))
            if ends[end] is not None:
                raise CannotMake(f'part "{part.id}": one end of "{one.name}" is mitred twice')
            ends[end] = cut
    return {name: (ends[0], ends[1]) for name, ends in found.items()}


def _plate(
    part: Part,
    name: str,
    motions: Mapping[str, Motion],
    where: Mapping[str, Frame],
    spans: Mapping[str, tuple[float, float]],
) -> _Plate:
    face = part.face(name)
    if face.skirt is None:
        raise CannotMake(
            f'part "{part.id}": only a flange given by its height can be mitred; "{name}" has an outline of its own'
        )
    motion, frame = motions[name], where[name]

    def at(x: float, y: float) -> Point3:
        return placed(frame, (*move(motion, (x, y)), 0.0))

    origin = at(0.0, 0.0)
    middle = (math.fsum(spans[name]) / 2.0, (face.skirt.height_low + face.skirt.height_high) / 4.0)
    normal = (frame[0][2], frame[1][2], frame[2][2])
    return _Plate(name, origin, _sub(at(1.0, 0.0), origin), _sub(at(0.0, 1.0), origin), normal, middle, spans[name])


def _cut(part: Part, one: _Plate, other: _Plate, gap: float) -> Cut:
    """Line along which one of two flanges is cut, in its own axes."""
    if _norm(_cross(one.normal, other.normal)) < PARALLEL:
        return _halving(part, one, other, gap)
    skin, other_skin = (_inner_skin(part, a, b) for a, b in ((one, other), (other, one)))
    to_line = _sub(other.at(0.0, 0.0, other_skin), one.at(0.0, 0.0, skin))
    a, b, c = (_dot(other.normal, v) for v in (one.x, one.y, to_line))
    back = _toward(one, a, b, c)
    away = _unit(_scaled(one, *back[:2]))
    a2, b2, c2 = (_dot(one.normal, v) for v in (other.x, other.y, _scale(to_line, -1.0)))
    other_back = _toward(other, a2, b2, c2)
    angle = math.acos(max(-1.0, min(1.0, _dot(away, _unit(_scaled(other, *other_back[:2]))))))
    if abs(a) < PARALLEL * math.hypot(a, b):
        raise CannotMake(f'part "{part.id}": "{one.name}" and "{other.name}" do not meet at an end; they have no mitre')
    return Cut(back[0], back[1], back[2] + gap / (2.0 * math.sin(angle / 2.0)))


def _halving(part: Part, one: _Plate, other: _Plate, gap: float) -> Cut:
    apart = abs(_dot(one.normal, _sub(other.origin, one.origin)))
    if apart > APART:
        raise CannotMake(
            said(
                f'part "{part.id}": "{one.name}" and "{other.name}" lie in planes ',
                size(apart),
                " apart and do not meet; make both as high",
            )
        )
    # the other's measured line in the axes of this one
    start = _sub(other.origin, one.origin)
    p = (_dot(start, one.x), _dot(start, one.y))
    way = (_dot(other.x, one.x), _dot(other.x, one.y))
    inward = (_dot(other.y, one.x), _dot(other.y, one.y))
    if abs(way[1]) < PARALLEL:
        raise CannotMake(f'part "{part.id}": "{one.name}" and "{other.name}" run side by side; they have no mitre')
    corner_x = p[0] - p[1] * way[0] / way[1]
    # equal distances from both measured lines
    a, b = inward[0], inward[1] - 1.0
    a, b, c = _toward(one, a, b, a * corner_x)
    return Cut(a, b, c + gap / 2.0)


def _inner_skin(part: Part, one: _Plate, other: _Plate) -> float:
    """Depth of the skin that looks at the other flange: 0 the upper, -thickness the lower."""
    side = _dot(one.normal, _sub(other.center, one.center))
    return 0.0 if side > 0.0 else -part.thickness


def _toward(plate: _Plate, a: float, b: float, c: float) -> tuple[float, float, float]:
    """The line a·x + b·y = c with (a, b) of length one and pointing into the flange."""
    size = math.hypot(a, b)
    sign = 1.0 if a * plate.middle[0] + b * plate.middle[1] > c else -1.0
    return sign * a / size, sign * b / size, sign * c / size


def _scaled(plate: _Plate, a: float, b: float) -> Point3:
    return _add(_scale(plate.x, a), plate.y, b)


def _add(p: Point3, v: Point3, t: float = 1.0) -> Point3:
    return (p[0] + t * v[0], p[1] + t * v[1], p[2] + t * v[2])


def _sub(p: Point3, q: Point3) -> Point3:
    return (p[0] - q[0], p[1] - q[1], p[2] - q[2])


def _scale(v: Point3, t: float) -> Point3:
    return (v[0] * t, v[1] * t, v[2] * t)


def _dot(p: Point3, q: Point3) -> float:
    return p[0] * q[0] + p[1] * q[1] + p[2] * q[2]


def _cross(p: Point3, q: Point3) -> Point3:
    return (p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0])


def _norm(v: Point3) -> float:
    return math.sqrt(_dot(v, v))


def _unit(v: Point3) -> Point3:
    return _scale(v, 1.0 / _norm(v))
