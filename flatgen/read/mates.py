"""Which parts lie on one another, as a job has it without saying so hole by hole: by a fit, or by faces that mate."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from flatgen.core.points import distance
from flatgen.model.part import Hole, Mate, Part

SAME = 0.02  # distances between holes that agree within this are the same pattern's [mm]


def with_mates(part: Part, others: Sequence[Part]) -> Part:
    """The part whose patterns know the same patterns of others that fit it, or whose mating faces may lie on its own.

    Two holes or more count, alike in their distances, however turned or mirrored.
    """
    own = _patterns(part)
    found: dict[tuple[str, str], list[Mate]] = {}
    for other in others:
        if _said(part, other) or _said(other, part):
            continue
        theirs, sure = _patterns(other), _fitted(part, other)
        for key, holes in own.items():
            found.setdefault(key, []).extend(_mates(part, key[0], holes, other, theirs, sure))
    known = tuple(replace(h, mates=(*h.mates, *found.get((h.face, h.group), ()))) for h in part.holes)
    return replace(part, holes=known)


def _said(part: Part, other: Part) -> bool:
    """Whether holes of a part take the places of the other's (``same_as``)."""
    return any(mate.part == other.id for hole in part.holes for mate in hole.mates)


def _mates(
    part: Part,
    face: str,
    holes: Sequence[Hole],
    other: Part,
    theirs: Mapping[tuple[str, str], Sequence[Hole]],
    sure: bool,
) -> Iterator[Mate]:
    for (their_face, name), some in theirs.items():
        if (sure or (face in part.mating and their_face in other.mating)) and _alike(holes, some):
            yield Mate(other.id, name or their_face, some[0].diameter, some[0].fastener, sure)
            return


def _patterns(part: Part) -> dict[tuple[str, str], list[Hole]]:
    """Holes by face and name of their pattern."""
    found: dict[tuple[str, str], list[Hole]] = {}
    for hole in part.holes:
        found.setdefault((hole.face, hole.group), []).append(hole)
    return {key: holes for key, holes in found.items() if len(holes) > 1}


def _fitted(one: Part, other: Part) -> bool:
    """Whether one of the parts goes over or into the other."""
    return any(fit.part == other.id for fit in one.fits) or any(fit.part == one.id for fit in other.fits)


def _alike(one: Sequence[Hole], other: Sequence[Hole]) -> bool:
    """Whether two patterns could lie hole on hole."""
    if len(one) != len(other):
        return False
    own, their = (sorted(distance(a.center, b.center) for a, b in combinations(holes, 2)) for holes in (one, other))
    return all(math.isclose(a, b, abs_tol=SAME) for a, b in zip(own, their, strict=True))
