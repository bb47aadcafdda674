"""What is drilled in a blank: its holes with their numbers, and the holes of its reliefs. Lengths mm.

Numbers go row by row from the foot of the blank, each row from left to right, holes first and then reliefs. The other
hand of a part has the numbers of the first: one number is one hole of the description.
"""

from collections.abc import Iterable, Mapping, Sequence

from flatgen.core.outline import Outline, circle
from flatgen.core.points import Motion, Point, distance, move
from flatgen.core.shared import shared_area
from flatgen.develop.measure import NOTHING
from flatgen.develop.near_bend import drawn_oval
from flatgen.model.blank import BendLine, BlankHole, ReliefHole
from flatgen.model.part import Hole, Part, Relief


def numbered(centers: Iterable[Point], first: int = 1) -> list[int]:
    """The number of each of several holes, in the order in which they are given."""
    places = list(centers)
    order = sorted(range(len(places)), key=lambda k: (round(places[k][1], 2), round(places[k][0], 2), k))
    found = [0] * len(places)
    for number, k in enumerate(order, first):
        found[k] = number
    return found


def blank_holes(part: Part, motions: Mapping[str, Motion], bends: Sequence[BendLine], cutouts: int) -> list[BlankHole]:
    """The holes of a part on its blank; ``cutouts`` is how many other inner contours stand before theirs."""
    centers = [move(motions[hole.face], hole.center) for hole in part.holes]
    return [
        BlankHole(
            center,
            hole.diameter,
            hole.label,
            hole,
            cutouts + k,
            number,
            after_bending=_after(hole, center, bends, part.thickness),
        )
        for k, (hole, center, number) in enumerate(zip(part.holes, centers, numbered(centers), strict=True))
    ]


def _after(hole: Hole, center: Point, bends: Iterable[BendLine], thickness: float) -> bool:
    if hole.drilled:
        return hole.drilled == "after"
    beside = (bend for bend in bends if hole.face in (bend.parent, bend.child))
    return any(drawn_oval(bend, center, hole.diameter, thickness) for bend in beside)


def relief_holes(found: Iterable[tuple[Relief, Point]], metal: Outline, first: int) -> tuple[ReliefHole, ...]:
    """The holes of reliefs, one where several bends share it; none where there is no metal to drill.

    metal : the blank's edge before anything is cut from it, in the axes of the centres
    """
    shared: list[tuple[Relief, Point, list[str]]] = []
    for relief, center in found:
        if shared_area(metal, circle(center, relief.width)) <= NOTHING:
            continue
        same = (s for s in shared if distance(s[1], center) < 1e-6 and abs(s[0].width - relief.width) < 1e-6)
        if (one := next(same, None)) is None:
            shared.append((relief, center, [relief.bend]))
        elif relief.bend not in one[2]:
            one[2].append(relief.bend)
    numbers = numbered((center for _, center, _ in shared), first)
    holes = [
        ReliefHole(center, relief.width, relief.label, tuple(bends), number, relief.kind)
        for (relief, center, bends), number in zip(shared, numbers, strict=True)
    ]
    return tuple(sorted(holes, key=lambda hole: hole.number))
