"""Beam search, blank by blank: the best of many part-filled sheets are carried on until the order lies. Lengths mm.

A state is a row of rooms (sheets, or what is free of them) filled so far: in the open room an open strip, in it an open
stack. A blank goes onto that stack, into a new stack beside it, into a new strip or into the next room. After every
blank the states are ranked by the share of waste in what they have closed, weighed against the mean size of the blanks
already laid (large ones first leave small ones for the ends), and the best are kept: a beam search, all its states in
arrays.

References
----------
[1] P. S. Ow, T. E. Morton, "Filtered beam search in scheduling", International Journal of Production Research 26, 1988
    (from memory)
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flatgen.nest.guillotine.block import EPS, Block, column, row
from flatgen.nest.guillotine.knapsacks import Option, Rules, Strip, blank_area

Floats = np.ndarray[tuple[int, ...], np.dtype[np.float64]]
Whole = np.ndarray[tuple[int, ...], np.dtype[np.int64]]


SHAKE = 0.02  # share by which ranks are shaken: always the first of equals would lead many states the same way
ON_STACK, NEW_STACK, NEW_STRIP, NEW_ROOM = range(4)


@dataclass(frozen=True, slots=True)
class Ranking:
    """How a search ranks its states: (``base`` + share of waste) / (mean area of the blanks laid) ** ``power``.

    width : states carried on
    alike : of those that hold the same blanks, how many
    seed : ranks are shaken a little by it
    """

    base: float
    power: float
    width: int = 100
    alike: int = 2
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Room:
    """Room for strips on one sheet: their length, what they may reach together [mm], how blanks stand in them."""

    length: float
    depth: float
    options: Sequence[Option]


@dataclass(slots=True)
class _States:
    """One array a quantity, one place a state. Sizes on the open sheet [mm]."""

    room: "Whole"
    strip: Floats  # where the open strip begins, up the sheet
    top: Floats  # where it ends so far
    stack: Floats  # where the open stack begins, along the strip
    end: Floats  # where it ends so far
    height: Floats  # how high it is filled, up the sheet
    area: Floats  # of all blanks laid
    content: Floats  # a number that only states with the same blanks share

    def picked(self, which: "Whole") -> "_States":
        return _States(*(getattr(self, name)[which] for name in self.__dataclass_fields__))


class Beam:
    """Searches for one order on sheets of one size."""

    def __init__(self, rooms: Sequence[Room], demand: Sequence[int], rules: Rules) -> None:
        """Rooms in the order in which they are filled; every room has the same options in the same order.

        What the tool asks is kept too: how high a strip may be, and whether blanks may be stacked in it.
        """
        self.rooms = rooms
        self.demand = demand
        self.rules = rules
        self.kind = np.array([o.kind for o in rooms[0].options])
        # one more room, which nothing fits, ends the row
        self.along = np.array([*([o.along for o in room.options] for room in rooms), [np.inf] * len(self.kind)])
        self.across = np.array([*([o.across for o in room.options] for room in rooms), [np.inf] * len(self.kind)])
        self.length = np.array([*(room.length for room in rooms), 0.0])
        self.depth = np.array([*(room.depth for room in rooms), 0.0])
        self.before = np.concatenate(([0.0], np.cumsum(self.length * self.depth)))  # area of the rooms before each
        self.size = self.along[0] * self.across[0]
        laid = math.fsum(blank_area(rooms[0].options, kind) * many for kind, many in enumerate(demand))
        self.spare = self.before[-1] - laid + EPS
        self.mix = np.random.RandomState(5).rand(len(demand))  # a blend of counts that hardly two contents share

    def run(self, look: Ranking) -> list[list[Strip]] | None:
        """Strips in each room, or None when some blank found no place."""
        nothing = np.zeros(1)
        states = _States(np.zeros(1, dtype=np.int64), *[nothing] * 7)
        left = np.array([self.demand])  # blanks of each kind still to lay, (states, kinds)
        trail: list[tuple[Whole, Whole, Whole]] = []
        chance = np.random.RandomState(look.seed)
        for laid in range(1, sum(self.demand) + 1):
            parent, option, move, states = self._grown(states, left)
            best = self._best(states, laid, look, chance)
            if not len(best):
                return None
            states = states.picked(best)
            trail.append((parent[best], option[best], move[best]))
            left = left[parent[best]]
            left[np.arange(len(best)), self.kind[option[best]]] -= 1
        reach = states.room + states.top / self.depth[states.room]
        return self._strips(trail, int(np.argmin(reach)))

    def _grown(self, s: _States, left: "Whole") -> "tuple[Whole, Whole, Whole, _States]":
        """Every state with every blank laid in every way: parent, option, move and the new states."""
        here, after = s.room, s.room + 1
        along, across = self.along[here], self.across[here]
        first_along, first_across = self.along[after], self.across[after]
        strip, top, stack, end, height = (v[:, None] for v in (s.strip, s.top, s.stack, s.end, s.height))
        heights = np.stack([height + across, strip + across, top + across, first_across])
        tops = np.stack([np.maximum(top, heights[0]), np.maximum(top, heights[1]), heights[2], first_across])
        ends = np.stack([np.maximum(end, stack + along), end + along, along, first_along])
        fits = (tops <= self.depth[here][:, None] + EPS) & (ends <= self.length[here][:, None] + EPS)
        fits[NEW_ROOM] = (first_across <= self.depth[after][:, None] + EPS) & (
            first_along <= self.length[after][:, None] + EPS
        )
        fits[:NEW_STRIP] &= (top > 0.0) & (tops[:NEW_STRIP] - strip <= self.rules.longest + EPS)
        fits[NEW_STRIP:] &= np.stack([across, first_across]) <= self.rules.longest + EPS
        if self.rules.stages < 3:
            fits[ON_STACK] = False
        fits &= left[:, self.kind] > 0
        fits[NEW_ROOM] &= ~fits[:NEW_ROOM].any(axis=0)
        move, parent, option = np.nonzero(fits)
        same = move <= NEW_STACK
        return (
            parent,
            option,
            move,
            _States(
                s.room[parent] + (move == NEW_ROOM),
                np.where(same, s.strip[parent], np.where(move == NEW_STRIP, s.top[parent], 0.0)),
                tops[fits],
                np.where(move == ON_STACK, s.stack[parent], np.where(move == NEW_STACK, s.end[parent], 0.0)),
                ends[fits],
                heights[fits],
                s.area[parent] + self.size[option],
                np.round(s.content[parent] + self.mix[self.kind[option]], 9),
            ),
        )

    def _best(self, s: _States, laid: int, look: Ranking, chance: "np.random.RandomState") -> "Whole":
        """Which states to carry on, the best first."""
        closed = self.before[s.room] + s.strip * self.length[s.room] + (s.top - s.strip) * s.stack
        closed += (s.height - s.strip) * (s.end - s.stack)
        rank = (look.base + 1.0 - s.area / closed) / (s.area / laid) ** look.power
        rank *= 1.0 + SHAKE * chance.rand(len(rank))
        # what is wasted already may not leave too little for the rest
        some: Whole = np.flatnonzero(closed - s.area <= self.spare)
        if len(some) > 4 * look.width:
            some = some[np.argpartition(rank[some], 4 * look.width)[: 4 * look.width]]
        if not len(some):
            return some
        order: Whole = some[np.lexsort((some, rank[some]))]
        content = s.content[order]
        by_content = np.lexsort((np.arange(len(order)), content))
        new = np.concatenate(([True], np.diff(content[by_content]) != 0.0))
        first = np.maximum.accumulate(np.where(new, np.arange(len(order)), 0))
        few = np.zeros(len(order), dtype=bool)
        few[by_content] = np.arange(len(order)) - first < look.alike
        kept: Whole = order[few][: look.width]
        return kept

    def _strips(self, trail: "Sequence[tuple[Whole, Whole, Whole]]", at: int) -> list[list[Strip]]:
        """What the state at the end of a trail looks like."""
        steps = []
        for parents, options, moves in reversed(trail):
            steps.append((int(options[at]), int(moves[at])))
            at = int(parents[at])
        rooms: list[list[list[list[Option]]]] = [[]]
        for option, move in reversed(steps):
            if move == NEW_ROOM:
                rooms.append([])
            if move >= NEW_STRIP:
                rooms[-1].append([])
            if move >= NEW_STACK:
                rooms[-1][-1].append([])
            rooms[-1][-1][-1].append(self.rooms[len(rooms) - 1].options[option])
        rooms += [[] for _ in range(len(self.rooms) - len(rooms))]
        return [[_strip(stacks) for stacks in room] for room in rooms]


def _strip(stacks: Sequence[Sequence[Option]]) -> Strip:
    counts: dict[int, int] = {}
    for stack in stacks:
        for option in stack:
            counts[option.kind] = counts.get(option.kind, 0) + 1
    block = row([column([Block(o.along, o.across, o.kind, o.turn) for o in stack]) for stack in stacks])
    return Strip(block, block.height, 0.0, tuple(sorted(counts.items())))
