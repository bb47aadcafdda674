"""One outline taken from another, or what two outlines share as outlines; lines and arcs stay exact.

Both outlines are first joined at every place where they meet: such a place becomes one node with one number, and what
lies within ``NEAR`` of a node goes through it. Between nodes a piece of one outline either runs with a piece of the
other, or lies wholly inside or outside it, which its middle tells. Pieces are chained up by the numbers of their nodes,
never by how near their ends are. As proof, as many kept pieces must arrive at each node as leave it, and the area must
be what ``shared_area`` says, which decides nothing. Where that fails at every nearness, the cut is refused. Lengths mm.
"""

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache

from flatgen.core.joined import Joined, boxed_sides
from flatgen.core.meets import TOUCH, Box, clear
from flatgen.core.outline import (
    Outline,
    Segment,
    area,
    box,
    contains,
    counter_clockwise,
    is_circle,
    reversed_outline,
    tidy,
)
from flatgen.core.shared import shared_area
from flatgen.errors import CannotMake
from flatgen.said import said, spot

# Points this near are one [mm]. Rounding in a long chain of faces stays a hundred times below the first, and over a
# metre it moves 1e-7 mm² at most; the others are for drawings that are themselves less exact.
NEAR = (1e-10, 1e-9, 1e-8)
ASTRAY = 5e-7  # mm², what a cut may be off by


def difference(outline: Outline, tool: Outline) -> list[Outline]:
    """What is left of an outline when the tool is taken away: outer curves counter-clockwise, windows clockwise.

    Raises CannotMake where an edge lies so near another that its side cannot be told.
    """
    return [loop for _, loop in _difference(_clean(outline), [_clean(tool)])]


def _difference(outline: Outline, tools: Sequence[Outline]) -> list[tuple[float, Outline]]:
    """Curves left with their areas [mm²], of outlines that are clean already; the tools stand clear of one another."""
    relations = _relations(outline, tools)
    if "around" in relations:
        return []
    inner = [tool for tool, relation in zip(tools, relations, strict=True) if relation == "within"]
    meeting = [tool for tool, relation in zip(tools, relations, strict=True) if not relation]
    left = _cut(outline, meeting) if meeting else [(area(outline), outline)]
    return left + [(-area(tool), reversed_outline(tool)) for tool in inner]


def _cut(outline: Outline, tools: Sequence[Outline]) -> list[tuple[float, Outline]]:
    """Curves left with their areas [mm²] where tools, clear of one another, cut the edge."""
    wanted = area(outline) - math.fsum(shared_area(outline, tool) for tool in tools)
    for near in NEAR:
        joined = Joined(outline, tools, near)
        loops = joined.loops(joined.first_kept(inside=False) + joined.second_kept(inside=False))
        if loops is not None and abs(math.fsum(size for size, _ in loops) - wanted) < ASTRAY:
            return loops
    if len(tools) == 1:
        raise _undecided(outline, tools[0])
    # each may want a nearness of its own
    return [
        piece
        for size, loop in _cut(outline, tools[:1])
        for piece in (_difference(loop, tools[1:]) if size > 0.0 else [(size, loop)])
    ]


def intersections(outline: Outline, others: Iterable[Outline]) -> list[Outline]:
    """What an outline shares with each of several others, one after the other; CannotMake as for ``difference``."""
    cleaned = [_clean(other) for other in others]
    if not cleaned:
        return []
    outline = _clean(outline)
    found = []
    for other, relation in zip(cleaned, _relations(outline, cleaned), strict=True):
        whole = {"apart": [], "within": [other], "around": [outline]}
        found += whole[relation] if relation else _common(outline, other)
    return found


def _common(outline: Outline, other: Outline) -> list[Outline]:
    """What two clean outlines whose edges meet share."""
    wanted = shared_area(outline, other)
    for near in NEAR:
        joined = Joined(outline, [other], near)
        loops = joined.loops(joined.first_kept(inside=True) + joined.second_kept(inside=True))
        if loops is not None and abs(math.fsum(size for size, _ in loops) - wanted) < ASTRAY:
            return [loop for _, loop in loops]
    raise _undecided(outline, other)


def without(outline: Outline, tools: Iterable[Outline]) -> tuple[list[Outline], list[Outline]]:
    """An outline less several tools: the outer curves left (normally one), and the windows made in them.

    Both lists run counter-clockwise. Raises CannotMake as ``difference`` does.
    """
    outers, windows = [_clean(outline)], []
    near = [tool for tool in tools if not clear(box(outers[0]), box(tool))]
    for group in _groups(near):
        left = [piece for outer in outers for piece in _difference(outer, group)]
        outers = [loop for size, loop in left if size > 0.0]
        windows += [reversed_outline(loop) for size, loop in left if size <= 0.0]
    return outers, windows


def _groups(tools: Iterable[Outline]) -> list[list[Outline]]:
    """Tools that stand clear of one another together: such a group is cut in one go. Others keep their order."""
    groups: list[list[Outline]] = []
    for tool in map(_clean, tools):
        k = len(groups)
        while k and all(clear(box(tool), box(other)) for other in groups[k - 1]):
            k -= 1
        if k == len(groups):
            groups.append([])
        groups[k].append(tool)
    return groups


def encloses(outline: Outline, other: Outline) -> bool:
    """Whether the other lies inside an outline and meets its edge nowhere."""
    outline, other = _clean(outline), _clean(other)
    (relation,) = _relations(outline, [other])
    if relation:
        return relation == "within"
    return not Joined(outline, [other], NEAR[0]).common and contains(outline, other[0][:2])


@lru_cache(maxsize=2048)
def _clean(outline: Outline) -> Outline:
    """Counter-clockwise and without segments of no length; kept, since one tool often trims many outlines."""
    if is_circle(outline):
        return outline  # a circle, of which there are many
    return counter_clockwise(tidy(outline))


def _relations(outline: Outline, others: Sequence[Outline]) -> list[str]:
    """How outlines lie to one whose curves they cannot meet: "apart", "within" it, "around" it; else ""."""
    whole, boxed = box(outline), boxed_sides(outline)
    return [_relation(outline, whole, boxed, other) for other in others]


def _relation(outline: Outline, whole: Box, boxed: tuple[tuple[Segment, Box], ...], other: Outline) -> str:
    other_whole = box(other)
    if clear(whole, other_whole):
        return "apart"
    x0, y0, x1, y1 = other_whole[0] - TOUCH, other_whole[1] - TOUCH, other_whole[2] + TOUCH, other_whole[3] + TOUCH
    near = [own for _, own in boxed if own[0] <= x1 and x0 <= own[2] and own[1] <= y1 and y0 <= own[3]]
    if near and any(not clear(own, their) for _, their in boxed_sides(other) for own in near):
        return ""
    if contains(outline, other[0][:2]):
        return "within"
    return "around" if contains(other, outline[0][:2]) else "apart"


class TooNear(CannotMake):
    """Edges lie so near one another that a cut cannot be decided."""


def _undecided(outline: Outline, other: Outline) -> TooNear:
    a, b = box(outline), box(other)
    x, y = (0.5 * (max(a[k], b[k]) + min(a[k + 2], b[k + 2])) for k in (0, 1))
    return TooNear(
        said(
            "about ",
            spot(x, y),
            " of the flat an edge lies so near another that it cannot be told on which side; let "
            "both run together or move them apart",
        )
    )
