"""Left and right hands: whether they are one part, one blank turned over, or two blanks that mirror each other.

A blank is looked at as marks: its corners, the middles of its arcs, holes, openings and bends. Two blanks are alike
when some turn in the plane carries every mark of one onto a mark of the other.
"""

import cmath
import math
from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from flatgen.checks.rules import Seen, rule
from flatgen.core.arcs import STRAIGHT, point_at
from flatgen.core.outline import Outline, segments
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import DERIVED

ALIKE = 1e-4  # mm


class Mark(NamedTuple):
    """A place [mm], what is there, its angle or diameter, its radius."""

    place: complex
    kind: str
    size: float = 0.0
    radius: float = 0.0


@rule("hand", severity=Severity.NOTE, source=DERIVED)
def hand(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """Whether the right hand is the left one's blank turned over, a mirror image, or the same part."""
    if part.hand != "right":
        return
    if is_same_part(blank, bool(part.marked)):
        text = "left and right are the same part: nothing tells the hands apart"
    elif part.marked:
        text = f"cut as a mirror image: its {part.marked} side is marked and must not turn over"
    else:
        text = "the left hand's blank turned over" + ("; every bend then goes the other way" if blank.bends else "")
    yield Seen("blank", None, None, text)


def is_same_part(blank: Blank, marked: bool) -> bool:
    """Whether a part and its mirror image are one and the same.

    They are where the blank is its own mirror image. Where its sides are alike (not ``marked``), they also are where
    the blank can be turned in its plane so that each bend comes to lie on one that goes the other way.
    """
    own = _marks(blank)
    if _turn_to(own, [mark._replace(place=mark.place.conjugate()) for mark in own]):
        return True
    other_way = [mark._replace(size=-mark.size) if mark.kind == "bend" else mark for mark in own]
    return not marked and bool(blank.bends) and _turn_to(own, other_way)


def _marks(blank: Blank) -> list[Mark]:
    """Marks of a blank about their own middle."""
    drilled = {hole.cutout for hole in blank.holes}
    found: list[Mark] = _edge_marks(blank.outline, "corner")
    found += [Mark(complex(*hole.center), "hole", hole.diameter) for hole in blank.holes]
    for k, cutout in enumerate(blank.cutouts):
        found += [] if k in drilled else _edge_marks(cutout, "opening")
    for bend in blank.bends:
        size, radius = bend.signed_angle, bend.bent.inside_radius
        found += [Mark(complex(*end), "bend", size, radius) for end in bend.centerline]
    middle = sum((mark.place for mark in found), 0j) / len(found)
    return [mark._replace(place=mark.place - middle) for mark in found]


def _edge_marks(outline: Outline, kind: str) -> list[Mark]:
    """Corners of an outline, and the middles of its arcs, without which they could be straight."""
    found: list[Mark] = []
    for p, q, bulge in segments(outline):
        found.append(Mark(complex(*p), kind))
        if abs(bulge) > STRAIGHT:
            found.append(Mark(complex(*point_at(p, q, bulge, 0.5)), f"{kind} arc"))
    return found


def _turn_to(own: list[Mark], other: list[Mark]) -> bool:
    """Whether a turn about the middle carries one set of marks onto another."""
    anchor = max(own, key=lambda mark: abs(mark.place))
    cells = defaultdict(list)
    for mark in other:
        cells[_cell(mark.place)].append(mark)
    for mark in other:
        if mark.kind == anchor.kind and abs(abs(mark.place) - abs(anchor.place)) < ALIKE:
            turn = cmath.rect(1.0, cmath.phase(mark.place) - cmath.phase(anchor.place))
            if all(_has(cells, mine._replace(place=mine.place * turn)) for mine in own):
                return True
    return False


def _cell(place: complex) -> tuple[int, int]:
    return math.floor(place.real / (2.0 * ALIKE)), math.floor(place.imag / (2.0 * ALIKE))


def _has(cells: dict[tuple[int, int], list[Mark]], wanted: Mark) -> bool:
    """Whether a mark like the one wanted lies at its place."""
    x, y = _cell(wanted.place)
    near = (mark for dx in (-1, 0, 1) for dy in (-1, 0, 1) for mark in cells.get((x + dx, y + dy), ()))
    return any(_alike(mark, wanted) for mark in near)


def _alike(a: Mark, b: Mark) -> bool:
    same = a.kind == b.kind and abs(a.size - b.size) < 1e-6 and abs(a.radius - b.radius) < 1e-6
    return same and abs(a.place - b.place) < ALIKE
