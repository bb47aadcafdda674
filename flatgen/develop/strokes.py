"""Strokes of the leaf: which bends it makes at once, how long the nose must be for them, what lies on either side.

Lengths mm, angles deg.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from flatgen.core.points import Point, cross, dot, sub, unit
from flatgen.model.blank import BendLine, Blank, Line


@dataclass(frozen=True)
class Fold:
    """Bends that lie on one line, have a face in common and are made at one stroke of the leaf.

    hub : faces on the side of the common face; ``tabs`` the faces on the other
    """

    bends: tuple[BendLine, ...]
    hub: frozenset[str]
    tabs: frozenset[str]

    @property
    def lead(self) -> BendLine:
        """The bend that stands for all."""
        return self.bends[0]

    @property
    def ids(self) -> frozenset[str]:
        """Ids of its bends."""
        return frozenset(bend.id for bend in self.bends)

    @cached_property
    def length(self) -> float:
        """From the first to the last bent metal along the line [mm]."""
        start, end = self.lead.tangents[0]
        along = unit(sub(end, start))
        places = [dot(sub(p, start), along) for bend in self.bends for line in bend.tangents for p in line]
        return max(places) - min(places)

    @cached_property
    def name(self) -> str:
        """Ids of its bends in words."""
        return ", ".join(bend.id for bend in self.bends)


def bend_groups(blank: Blank) -> tuple[Fold, ...]:
    """The strokes of the leaf that a blank needs: its bends, those on one line and alike taken together."""
    groups: list[list[BendLine]] = []
    for bend in blank.bends:
        for group in groups:
            if _one_stroke(group[0], bend) and _common_face(group, bend):
                group.append(bend)
                break
        else:
            groups.append([bend])
    return tuple(_fold(blank, group) for group in groups)


def _one_stroke(first: BendLine, second: BendLine) -> bool:
    same = (
        first.direction == second.direction
        and abs(first.angle - second.angle) < 1e-6
        and abs(first.overbend_to - second.overbend_to) < 1e-6
        and abs(first.bent.inside_radius - second.bent.inside_radius) < 1e-6
        and first.bent.nose == second.bent.nose
    )
    if not same:
        return False
    own, other = first.tangents, second.tangents
    return any(
        all(_off(own[k], p) < 1e-4 for k in (0, 1) for p in other[k if straight else 1 - k])
        for straight in (True, False)
    )


def _off(line: Line, point: Point) -> float:
    return abs(cross(unit(sub(line[1], line[0])), sub(point, line[0])))


def _common_face(group: Sequence[BendLine], bend: BendLine) -> bool:
    common = set.intersection(*({b.parent, b.child} for b in group)) & {bend.parent, bend.child}
    if not common:
        return False
    face = common.pop()
    # the common face must lie on the same side of the line for both
    first = group[0]
    return _off(tangent_of(first, face), tangent_of(bend, face)[0]) < 1e-4


def tangent_of(bend: BendLine, face: str) -> Line:
    """A bend's tangent line on one of its two faces."""
    return bend.tangents[0] if face == bend.parent else bend.tangents[1]


def _fold(blank: Blank, group: Sequence[BendLine]) -> Fold:
    common = set.intersection(*({b.parent, b.child} for b in group))
    hub_face = group[0].parent if group[0].parent in common else sorted(common)[0]
    ids = {bend.id for bend in group}
    reached, todo = {hub_face}, [hub_face]
    while todo:
        face = todo.pop()
        for bend in blank.bends:
            if bend.id not in ids and face in (bend.parent, bend.child):
                other = bend.child if face == bend.parent else bend.parent
                if other not in reached:
                    reached.add(other)
                    todo.append(other)
    rest = frozenset(face.id for face in blank.faces) - reached
    return Fold(tuple(group), frozenset(reached), rest)
