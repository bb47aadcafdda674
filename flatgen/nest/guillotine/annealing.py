"""Simulated annealing: blanks, stacks and strips change places until fewer gauges are set. Lengths mm, with the kerf.

All strips run along x and lie one above the other in fields, the clean rectangles of sheets. What is made less is the
number of different gauges in every field, each counted a little more the more often it is set, so that the rare ones
die out. Steps that make it more are taken too, fewer and fewer of them. The work is counted in steps, never in seconds.

References
----------
[1] S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated annealing", Science 220, 1983 (from memory)
"""

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from flatgen.nest.guillotine.block import EPS, Block, column

WARM, COLD = 0.6, 0.06  # how much more is taken with a chance of 1/e, at the start and in the end, in gauges
POWER = 0.3  # a gauge set n times counts as n to this power
ROUND = 10**9  # a gauge is kept as its round times this and its size in 1e-4 mm
Way = tuple[float, float, int]  # width, height, turn
Changes = dict[int, list[Block]]  # strip -> what is to stand in it


@dataclass(slots=True)
class Lane:
    """A strip: what stands in it, how long that may get, how low it may become, and its size now [mm]."""

    field: int
    items: list[Block]
    most: float
    least: float
    length: float = 0.0
    height: float = 0.0


@dataclass(slots=True)
class Field:
    """How high the strips of a field may reach, and do; how often each gauge is set."""

    depth: float
    used: float
    counts: dict[int, int]


class Walk:
    """Fields of one sort, on which the same blanks may lie in the same ways."""

    def __init__(self, ways: Sequence[Sequence[Way]], stages: int, longest: float, seed: int) -> None:
        """``ways`` : how each kind may lie; stages : most cutting stages; longest : greatest height of a strip [mm]."""
        self.ways = ways
        self.stages = stages
        self.longest = longest
        self.rng = random.Random(seed)
        self.fields: list[Field] = []
        self.lanes: list[Lane] = []
        self.count = 0  # gauges over all fields
        self._stacks: dict[tuple[tuple[int, int], ...], Block] = {}
        self._rigid: list[Block] = []  # kept, so that what is known of them by their place in memory stays true
        self._gauges: dict[tuple[int, float], tuple[int, ...]] = {}

    def add(self, strips: Sequence[tuple[Sequence[Block], float, float]], length: float, depth: float) -> None:
        """A field with its strips (things in it, greatest length, least height), and an empty one."""
        number, first = len(self.fields), len(self.lanes)
        for items, most, least in (*strips, ((), length, 0.0)):
            lane = Lane(number, [self._known(item) for item in items], most, least)
            lane.length, lane.height = _sized(lane.items, least)
            self.lanes.append(lane)
        counts: dict[int, int] = {}
        for lane in self.lanes[first:]:
            for gauge in self._of_strip(lane.items, lane.height):
                counts[gauge] = counts.get(gauge, 0) + 1
        self.fields.append(Field(depth, sum(lane.height for lane in self.lanes[first:]), counts))
        self.count += len(counts)

    def go(self, steps: int) -> list[list[list[Block]]]:
        """The strips, field by field, with the fewest gauges that so many steps come by."""
        best, found = self.count, self._standing()
        kinds: list[Callable[[], Changes | None]] = [self._swap, self._swap, self._swap_blanks, self._swap_blanks]
        kinds += [self._move, self._turn, self._restack, self._swap_strips]
        heat, cooling = WARM, (COLD / WARM) ** (1.0 / max(1, steps))
        for _ in range(steps):
            heat *= cooling
            changes = self.rng.choice(kinds)()
            if changes and self._taken(changes, heat) and self.count < best:
                best, found = self.count, self._standing()
        return found

    def _standing(self) -> list[list[list[Block]]]:
        found: list[list[list[Block]]] = [[] for _ in self.fields]
        for lane in self.lanes:
            if lane.items:
                found[lane.field].append(list(lane.items))
        return found

    # things and their gauges

    def _known(self, item: Block) -> Block:
        blanks = _blanks(item)
        if blanks is not None:
            return self._stack(blanks)
        self._rigid.append(item)
        return item

    def _stack(self, blanks: Sequence[Block]) -> Block:
        """Blanks one above the other; for the same blanks always the same block."""
        key = tuple(sorted((b.kind, b.turn) for b in blanks))
        if key not in self._stacks:
            self._stacks[key] = column(sorted(blanks, key=lambda b: (-b.height, -b.width, b.kind, b.turn)))
        return self._stacks[key]

    def _of_strip(self, items: Sequence[Block], height: float) -> Iterator[int]:
        if items:
            yield round(height * 1e4)
        for item in items:
            key = (id(item), height)
            if key not in self._gauges:
                size = round(item.width * 1e4)
                self._gauges[key] = (ROUND + size, *_gauges(item, item.width, height, ROUND + size))
            yield from self._gauges[key]

    # steps

    def _some(self, count: int) -> int:
        return int(self.rng.random() * count)

    def _pick(self) -> tuple[int, Block] | None:
        """Some strip and something in it."""
        number = self._some(len(self.lanes))
        items = self.lanes[number].items
        return (number, items[self._some(len(items))]) if items else None

    def _some_way(self, blank: Block, often: float = 0.2) -> Block:
        ways = self.ways[blank.kind]
        if len(ways) == 1 or self.rng.random() > often:
            return blank
        width, height, turn = ways[self._some(len(ways))]
        return blank if turn == blank.turn else Block(width, height, blank.kind, turn)

    def _changed(self, a: int, gone: Sequence[Block], new: Sequence[Block]) -> list[Block]:
        """A strip with some things, each once, replaced."""
        left = list(self.lanes[a].items)
        for item in gone:
            del left[next(n for n, here in enumerate(left) if here is item)]
        return [*left, *new]

    def _both(self, a: int, one: Block, new: list[Block], b: int, other: Block, more: list[Block]) -> Changes:
        """One thing in each of two strips replaced, or two in one."""
        if a == b:
            return {a: self._changed(a, [one, other], [*new, *more])}
        return {a: self._changed(a, [one], new), b: self._changed(b, [other], more)}

    def _swap(self) -> Changes | None:
        """Two things of two strips change places; at times one against two."""
        first, second = self._pick(), self._pick()
        if first is None or second is None or first[0] == second[0] or first[1] is second[1]:
            return None
        (a, one), (b, other) = first, second
        others = [other]
        if self.rng.random() < 0.3:
            more = self.lanes[b].items[self._some(len(self.lanes[b].items))]
            others += [more] if more is not other else []
        gain = sum(item.width for item in others) - one.width
        if self.lanes[a].length + gain > self.lanes[a].most + EPS:
            return None
        return {a: self._changed(a, [one], others), b: self._changed(b, others, [one])}

    def _move(self) -> Changes | None:
        """A thing goes to another strip."""
        first, b = self._pick(), self._some(len(self.lanes))
        if first is None or first[0] == b:
            return None
        a, one = first
        if self.lanes[b].length + one.width > self.lanes[b].most + EPS:
            return None
        return {a: self._changed(a, [one], []), b: self._changed(b, [], [one])}

    def _swap_blanks(self) -> Changes | None:
        """Two blanks, one of a stack at least, change places, either turned at times."""
        first, second = self._pick(), self._pick()
        if first is None or second is None or first[1] is second[1]:
            return None
        (a, one), (b, other) = first, second
        ones, others = _blanks(one), _blanks(other)
        if ones is None or others is None or len(ones) == len(others) == 1:
            return None
        i, j = self._some(len(ones)), self._some(len(others))
        x, y = self._some_way(ones[i]), self._some_way(others[j])
        ones[i], others[j] = y, x
        return self._both(a, one, [self._stack(ones)], b, other, [self._stack(others)])

    def _restack(self) -> Changes | None:
        """A blank goes onto another stack, or off one to stand alone."""
        first, second = self._pick(), self._pick()
        if self.stages < 3 or first is None or second is None or first[1] is second[1]:
            return None
        (a, one), (b, other) = first, second
        ones, others = _blanks(one), _blanks(other)
        if ones is None or others is None:
            return None
        x = self._some_way(ones.pop(self._some(len(ones))))
        left = [self._stack(ones)] if ones else []
        alone = ones and self.rng.random() < 0.3
        return self._both(a, one, left, b, other, [other, self._stack([x])] if alone else [self._stack([*others, x])])

    def _turn(self) -> Changes | None:
        """A blank turns where it stands."""
        first = self._pick()
        blanks = _blanks(first[1]) if first is not None else None
        if first is None or blanks is None:
            return None
        i = self._some(len(blanks))
        blanks[i] = self._some_way(blanks[i], 1.0)
        return {first[0]: self._changed(first[0], [first[1]], [self._stack(blanks)])}

    def _swap_strips(self) -> Changes | None:
        """All that stands in two strips of two fields changes places."""
        a, b = self._some(len(self.lanes)), self._some(len(self.lanes))
        first, second = self.lanes[a], self.lanes[b]
        return None if first.field == second.field else {a: list(second.items), b: list(first.items)}

    # judging

    def _taken(self, changes: Changes, heat: float) -> bool:
        """Make the changes if all fits and they are better, or not too much worse for the heat."""
        sizes = {number: _sized(items, self.lanes[number].least) for number, items in changes.items()}
        rise: dict[int, float] = {}
        for number, (length, height) in sizes.items():
            lane = self.lanes[number]
            if length > lane.most + EPS or height > self.longest + EPS:
                return False
            rise[lane.field] = rise.get(lane.field, 0.0) + height - lane.height
        for number, by in rise.items():
            if by > EPS and self.fields[number].used + by > self.fields[number].depth + EPS:
                return False
        steps = self._steps(changes, sizes)
        worse = self._worse(steps)
        if worse > 0.0 and self.rng.random() >= math.exp(-worse / heat):
            return False
        self._make(changes, sizes, steps, rise)
        return True

    def _steps(self, changes: Changes, sizes: dict[int, tuple[float, float]]) -> dict[int, dict[int, int]]:
        """By field and gauge how much oftener it is set."""
        steps: dict[int, dict[int, int]] = {}
        for number, items in changes.items():
            lane = self.lanes[number]
            step = steps.setdefault(lane.field, {})
            for gauge in self._of_strip(lane.items, lane.height):
                step[gauge] = step.get(gauge, 0) - 1
            for gauge in self._of_strip(items, sizes[number][1]):
                step[gauge] = step.get(gauge, 0) + 1
        return steps

    def _worse(self, steps: dict[int, dict[int, int]]) -> float:
        total = 0.0
        for number, step in steps.items():
            counts = self.fields[number].counts
            for gauge, by in step.items():
                if by:
                    many = counts.get(gauge, 0)
                    total += (many + by) ** POWER - many**POWER
        return total

    def _make(
        self,
        changes: Changes,
        sizes: dict[int, tuple[float, float]],
        steps: dict[int, dict[int, int]],
        rise: dict[int, float],
    ) -> None:
        for number, step in steps.items():
            field = self.fields[number]
            self.count -= len(field.counts)
            for gauge, by in step.items():
                field.counts[gauge] = field.counts.get(gauge, 0) + by
                if not field.counts[gauge]:
                    del field.counts[gauge]
            self.count += len(field.counts)
            field.used += rise[number]
        for number, items in changes.items():
            lane = self.lanes[number]
            lane.items = items
            lane.length, lane.height = sizes[number]


def _sized(items: Sequence[Block], least: float) -> tuple[float, float]:
    """Length and height of a strip; none where nothing stands in it and nothing must."""
    if not items:
        return 0.0, least
    return sum(item.width for item in items), max(least, max(item.height for item in items))


def _blanks(item: Block) -> list[Block] | None:
    """The blanks of a stack, or one alone; None for what is made up otherwise."""
    if item.kind >= 0:
        return [item]
    if item.along == "y" and all(part.kind >= 0 for part in item.parts):
        return list(item.parts)
    return None


def _gauges(block: Block, width: float, height: float, last: int) -> Iterator[int]:
    """Gauges that take a block out of a piece of metal freed at the last one.

    What is no larger than the one before can be cut in the same round from large to small, else it takes another.
    """
    if block.kind >= 0:
        sides = ((block.width, width), (block.height, height))
        for size, metal in sides if height <= width else sides[::-1]:
            if metal > size + EPS:
                last = _next(last, size)
                yield last
        return
    for part in block.parts:
        size = part.width if block.along == "x" else part.height
        if (width if block.along == "x" else height) > size + EPS:
            last = _next(last, size)
            yield last
        if block.along == "x":
            width -= size
            yield from _gauges(part, size, height, last)
        else:
            height -= size
            yield from _gauges(part, width, size, last)


def _next(last: int, size: float) -> int:
    new = round(size * 1e4)
    return last - last % ROUND + (ROUND if new > last % ROUND else 0) + new
