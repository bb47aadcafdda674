"""In which order the cuts of a sheet are made, so that the gauge is set as seldom as can be. Lengths mm.

The sheet is cleared of what is spoilt, squared and cut into strips first. All that comes after is made setting by
setting over all pieces on the table, whatever stage they are at: a cut needs only the one that freed its piece. A gauge
is set when all its cuts can be made; of several such, and where there is none, several choices are tried and the best
counts. Stage by stage is the order where that is no worse.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from flatgen.model.plan import Cut
from flatgen.nest.guillotine.cuts import CutPlan, Planned
from flatgen.nest.guillotine.freed import freed_by
from flatgen.nest.guillotine.hold import NARROW, held, settings

STRIPS = 2.0  # stages below this come in their own order
AFTERWARDS = 99.0  # and so do those from this on: off-cuts that are cleared at the end


def in_order(plan: CutPlan) -> tuple[Cut, ...]:
    """The cuts, numbered from 1 in the order in which they are made."""
    made = held(ranked(plan), plan.smallest or NARROW, plan.kerf)
    return tuple(replace(cut, order=place) for place, cut in enumerate(made, start=1))


def ranked(plan: CutPlan) -> list[Planned]:
    """The cuts in the order that asks for the fewest settings."""
    entries = sorted(plan.cuts, key=lambda entry: entry.key)
    cuts = [entry.cut for entry in entries]
    start = sum(1 for entry in entries if entry.key[0] < STRIPS)
    end = sum(1 for entry in entries if entry.key[0] < AFTERWARDS)
    last = next((_size(cut) for cut in reversed(cuts[:start]) if not cut.trim), None)
    orders: list[Sequence[int]] = [range(len(cuts))]
    for choice in CHOICES:
        orders.append([*range(start), *_setting_by_setting(cuts[:end], start, last, choice), *range(end, len(cuts))])
    order = min(orders, key=lambda order: settings([cuts[n] for n in order]))
    return [entries[n] for n in order]


def _size(cut: Cut) -> int:
    """The gauge in 1e-4 mm."""
    return round(cut.gauge * 1e4)


class _Table:
    """Cuts still to be made, by gauge, and which of them can be: those whose piece is free."""

    def __init__(self, cuts: Sequence[Cut], start: int) -> None:
        """All from ``start`` on; edge trims are made at once, whatever the gauge."""
        self.cuts = cuts
        self.next: dict[int, list[int]] = defaultdict(list)
        self.ready: dict[int, list[int]] = defaultdict(list)
        self.left: dict[int, int] = defaultdict(int)
        for number, before in enumerate(freed_by(cuts)):
            if number >= start:
                self.next[before if before >= start else -1].append(number)
                self.left[_size(cuts[number])] += not cuts[number].trim

    def free(self, number: int) -> Iterator[int]:
        """What becomes ready after a cut; trims among it are made and given."""
        for after in self.next[number]:
            if self.cuts[after].trim:
                yield after
                yield from self.free(after)
            else:
                self.ready[_size(self.cuts[after])].append(after)

    def made(self, size: int) -> Iterator[int]:
        """All cuts that can be made at a gauge."""
        while self.ready[size]:
            number = self.ready[size].pop(0)
            self.left[size] -= 1
            yield number
            yield from self.free(number)

    def whole(self, size: int) -> bool:
        """Whether no cut at a gauge would be left for later."""
        heap, many = list(self.ready[size]), 0
        while heap:
            number = heap.pop()
            many += not self.cuts[number].trim
            heap += [n for n in self.next[number] if self.cuts[n].trim or _size(self.cuts[n]) == size]
        return many == self.left[size]


# which of the gauges that have cuts waiting is set next: the one of the highest rank
CHOICES: tuple[Callable[[_Table, int], tuple[float, ...]], ...] = (
    lambda table, size: (table.whole(size), size),
    lambda table, size: (table.whole(size), -size),
    lambda table, size: (table.whole(size), len(table.ready[size]), size),
    lambda table, size: (table.whole(size), -table.left[size], size),
)


def _setting_by_setting(
    cuts: Sequence[Cut], start: int, last: int | None, choice: Callable[[_Table, int], tuple[float, ...]]
) -> Iterator[int]:
    """The cuts from ``start`` on in order, the gauge standing at ``last``."""
    table = _Table(cuts, start)
    yield from table.free(-1)
    if last is not None:
        yield from table.made(last)
    while True:
        ready = [size for size, waiting in table.ready.items() if waiting]
        if not ready:
            return
        yield from table.made(max(ready, key=lambda size: choice(table, size)))
