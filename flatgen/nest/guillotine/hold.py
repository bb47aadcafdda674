"""Which side of each cut lies under the hold-down, and how often the gauge is set for that. Lengths mm.

The gauge measures the piece on the low side. As a rule the hold-down is on the rest beyond the line, and the gauge
stands behind the blade. Where the rest is too narrow to be held, the piece is held and the gauge stands in front. Then
the whole run at that gauge is made so, if nothing too long would stand out behind the blade; else what can be held by
its rest comes first.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from flatgen.model.plan import Cut
from flatgen.nest.guillotine.block import EPS
from flatgen.nest.guillotine.cuts import FIRST, Planned
from flatgen.nest.guillotine.freed import freed_by

NARROW = 12.7  # what is narrower is not held, where the shop does not say; common practice, no source [mm]
BEHIND = 600.0  # longest rest that may stand out behind the blade; common practice, no source [mm]


def settings(cuts: Sequence[Cut]) -> int:
    """How many times the gauge is set, or moved to the other side, over a list of cuts; edge trims not counted."""
    set_at = [(round(cut.gauge, 4), cut.hold) for cut in cuts if not cut.trim]
    return sum(1 for k, now in enumerate(set_at) if k == 0 or now != set_at[k - 1])


def held(planned: Sequence[Planned], least: float, kerf: float) -> Iterator[Cut]:
    """The cuts in order, within a run at one gauge those that hold the rest first; each says what it holds.

    least : the hold-down needs so much metal [mm]
    """
    before = freed_by([entry.cut for entry in planned])
    for run in _runs(planned):
        narrow = {n for n in run if _narrow(planned[n], least, kerf)}
        counted = [n for n in run if not planned[n].cut.trim]
        if any(n in narrow for n in counted) and all(planned[n].rest <= BEHIND for n in counted):
            narrow.update(counted)
        left = list(run)
        while left:
            for wanted in (False, True):
                last = -1
                while ready := [n for n in left if (n in narrow) is wanted and before[n] not in left]:
                    last = next((n for n in ready if before[n] == last), ready[0])  # on in the same metal
                    left.remove(last)
                    yield replace(planned[last].cut, hold="piece" if wanted else "rest")


def _narrow(entry: Planned, least: float, kerf: float) -> bool:
    """Whether the rest is too narrow to be held; where both sides are, the wider one is."""
    piece = entry.cut.gauge - kerf * entry.cut.trim
    return entry.rest < least - EPS and entry.rest < piece


def _runs(planned: Sequence[Planned]) -> Iterator[list[int]]:
    """Numbers of the cuts that follow one another at one gauge, edge trims among them."""
    run: list[int] = []
    gauge = None
    for n, entry in enumerate(planned):
        other = not entry.cut.trim and gauge is not None and abs(entry.cut.gauge - gauge) > 1e-4
        if other or (run and (planned[n - 1].key[0] < FIRST) is not (entry.key[0] < FIRST)):
            yield run
            run, gauge = [], None
        run.append(n)
        gauge = gauge if entry.cut.trim else entry.cut.gauge
    yield run
