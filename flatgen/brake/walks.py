"""The sequence of settings of least minutes that lets every part's own order run through.

How far each part has got is the state; making all that can be made at a setting leads to the next. A shortest path is
found exactly where few states have to be looked at, else the best few walks are carried along together. Whatever is
asked of a state is kept with it and brought forward by each step, so that a step costs no more than what it moves.
Settings, kinds and tools are numbers here; sets of them are the bits of a number.
"""

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

STATES = 20_000  # walked through exactly up to here
BEAM, LEAST_BEAM = 200, 8  # walks carried along
WORK = 20_000  # kinds times settings up to which all of BEAM are carried
# settings of one kind that may all come first: the sets of up to three of them are more than STATES already
FREE = 36


@dataclass(frozen=True, slots=True)
class Changes:
    """Minutes of changing the brake. Settings of one kind differ in the stop alone.

    kinds : of every setting; tools : of every kind
    first : from a bare brake to each kind
    between : from kind to kind; on the diagonal to another setting of the same kind
    stop, tool : what each setting, each tool to come takes at the least
    """

    kinds: Sequence[int]
    tools: Sequence[int]
    first: Sequence[float]
    between: Sequence[Sequence[float]]
    stop: float
    tool: float


class _State(NamedTuple):
    """How far each chain has got, the settings that some chain waits for, and those that are still to come."""

    at: bytes
    waiting: int
    to_come: int


class _Walks:
    """Chains of settings, with all that the search asks of them worked out once."""

    def __init__(self, chains: Sequence[Sequence[int]], changes: Changes) -> None:
        """Chains without repeats in a row; each setting's places in them."""
        self.changes = changes
        short = sorted({tuple(key for key, _ in groupby(chain)) for chain in chains if chain})
        self.places: list[list[tuple[int, int, int]]] = [[] for _ in changes.kinds]
        for c, chain in enumerate(short):
            for place, key in enumerate(chain):
                following = 1 << chain[place + 1] if place + 1 < len(chain) else 0
                self.places[key].append((c, place, following))
        self.of_kind, self.of_tool = [0] * len(changes.tools), [0] * (max(changes.tools) + 1)
        for key, kind in enumerate(changes.kinds):
            self.of_kind[kind] |= 1 << key
            self.of_tool[changes.tools[kind]] |= 1 << key
        every = sum(1 << key for key, places in enumerate(self.places) if places)
        self.start = _State(bytes(len(short)), sum(1 << key for key in {chain[0] for chain in short}), every)

    def advance(self, state: _State, key: int) -> _State:
        """The state once all that can be done at a setting is done."""
        at, moved = state.at, bytearray(state.at)
        waiting, again = state.waiting & ~(1 << key), False
        for c, place, following in self.places[key]:
            if at[c] == place:
                moved[c] = place + 1
                waiting |= following
            elif at[c] < place:
                again = True
        return _State(bytes(moved), waiting, state.to_come if again else state.to_come & ~(1 << key))

    def left(self, state: _State) -> float:
        """Minutes that what is to come after any next setting must take at the least."""
        tools = sum(1 for bits in self.of_tool if bits & state.to_come)
        return self.changes.stop * (state.to_come.bit_count() - 1) + self.changes.tool * (tools - 1)

    def ways(self, state: _State, key: int | None) -> Iterator[tuple[float, int]]:
        """Minutes to the settings of each kind that some chain waits for, and these settings."""
        changes = self.changes
        minutes = changes.first if key is None else changes.between[changes.kinds[key]]
        for kind, bits in enumerate(self.of_kind):
            if found := bits & state.waiting:
                yield minutes[kind], found

    def hopeless(self) -> bool:
        """Whether an exact search has more states to look at than it may: many settings that could all come first."""
        alone = [0] * len(self.of_kind)
        for key in _bits(self.start.waiting):
            if all(place == 0 for _, place, _ in self.places[key]):
                alone[self.changes.kinds[key]] += 1
        return max(alone) >= FREE


def _bits(number: int) -> Iterator[int]:
    """The numbers in a set, rising."""
    while number:
        lowest = number & -number
        yield lowest.bit_length() - 1
        number ^= lowest


def shortest(chains: Sequence[Sequence[int]], changes: Changes) -> list[int]:
    """The sequence of least minutes through all chains: a shortest path, or the best of a beam."""
    walks = _Walks(chains, changes)
    if not walks.hopeless() and (found := _exact(walks)) is not None:
        return found
    return _beam(walks)


Path = tuple["Path", int] | None  # the way here, and the last setting


def _unrolled(path: Path) -> list[int]:
    keys = []
    while path is not None:
        path, key = path
        keys.append(key)
    return keys[::-1]


def _exact(walks: _Walks) -> list[int] | None:
    """A shortest path; None when too many states would have to be looked at."""
    # least minutes in all, number, minutes so far, state before, way before, next setting
    heap: list[tuple[float, int, float, _State, Path, int]] = []
    seen: dict[tuple[bytes, int | None], float] = {}
    serial = 0
    spent, state, path, key = 0.0, walks.start, None, None
    while True:
        if not state.to_come:
            return _unrolled(path)
        if seen.get((state.at, key), math.inf) > spent:
            seen[(state.at, key)] = spent
            if len(seen) > STATES:
                return None
            minutes, least = {}, walks.left(state)
            for change, settings in walks.ways(state, key):
                minutes.update(dict.fromkeys(_bits(settings), spent + change))
            for following in sorted(minutes):
                serial += 1
                now = minutes[following]
                heapq.heappush(heap, (now + least, serial, now, state, path, following))
        _, _, spent, before, way, key = heapq.heappop(heap)
        state, path = walks.advance(before, key), (way, key)


class _Walk(NamedTuple):
    """A walk of the beam; ``rank`` tells which of walks of equal length comes first setting by setting."""

    spent: float
    state: _State
    path: Path
    rank: int
    key: int | None


def _beam(walks: _Walks) -> list[int]:
    """Many chains: the best few walks of each length carried along."""
    kinds, settings = len(walks.of_kind), len(walks.places)
    width = max(LEAST_BEAM, min(BEAM, BEAM * WORK // (kinds * settings)))
    front = [_Walk(0.0, walks.start, None, 0, None)]
    best: tuple[float, Path] | None = None
    while front:
        for walk in front:
            if walk.state.to_come.bit_count() == 1:
                ((change, last),) = walks.ways(walk.state, walk.key)
                now = walk.spent + change
                if best is None or now < best[0]:
                    best = (now, (walk.path, last.bit_length() - 1))
        front = _further(walks, [walk for walk in front if walk.state.to_come.bit_count() > 1], width)
        front = [walk for walk in front if best is None or walk.spent < best[0]]
    return _unrolled(best[1]) if best else []


def _further(walks: _Walks, front: Sequence[_Walk], width: int) -> list[_Walk]:
    """The best walks that are one setting longer, no two alike in state and last setting."""
    ways: dict[
        tuple[float, int], tuple[int, float, int]
    ] = {}  # minutes in all and rank: walk, minutes so far, settings
    for place, walk in enumerate(front):
        least = walks.left(walk.state)
        for change, settings in walks.ways(walk.state, walk.key):
            now = walk.spent + change
            which = (now + least, walk.rank)
            ways[which] = (place, now, settings | (ways[which][2] if which in ways else 0))
    found: dict[tuple[bytes, int], tuple[_Walk, int]] = {}
    for _, (place, now, settings) in sorted(ways.items()):
        walk = front[place]
        for key in _bits(settings):
            state = walks.advance(walk.state, key)
            kept = found.get((state.at, key))
            if kept is not None and (kept[0].spent < now or kept[1] < place):
                continue
            found.pop((state.at, key), None)  # of two that are alike the one that was further in front goes on
            found[state.at, key] = _Walk(now, state, (walk.path, key), walk.rank, key), place
            if len(found) == width:
                return _ranked([walk for walk, _ in found.values()])
    return _ranked([walk for walk, _ in found.values()])


def _ranked(found: Sequence[_Walk]) -> list[_Walk]:
    """The walks in the order given, numbered in that of their settings."""
    places = sorted(found, key=lambda walk: (walk.rank, walk.key or 0))
    rank = {id(walk): k for k, walk in enumerate(places)}
    return [walk._replace(rank=rank[id(walk)]) for walk in found]
