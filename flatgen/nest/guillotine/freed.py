"""Which cut frees the piece that another is made in."""

from collections.abc import Sequence

from flatgen.model.plan import Cut


def freed_by(cuts: Sequence[Cut]) -> list[int]:
    """For every cut the one that left its piece as it is, of those before it; -1: the sheet."""
    sides: list[list[int]] = []  # of every cut what the piece below it and the one beyond it is cut by next
    found = []
    for cut in cuts:
        middle = ((cut.start[0] + cut.end[0]) / 2.0, (cut.start[1] + cut.end[1]) / 2.0)
        last, side, node = -1, 0, 0 if sides else -1
        while node >= 0:
            axis = _axis(cuts[node])
            last, side = node, int(middle[axis] > cuts[node].start[axis])
            node = sides[node][side]
        if last >= 0:
            sides[last][side] = len(sides)
        sides.append([-1, -1])
        found.append(last)
    return found


def _axis(cut: Cut) -> int:
    """0 for a cut that runs up the sheet, at one x; 1 for one along it."""
    return int(abs(cut.end[0] - cut.start[0]) > abs(cut.end[1] - cut.start[1]))
