"""All bends of a job in as few settings as can be: which bends share one, and in what sequence the settings come.

Bends made with the same nose, wraps, thickness and alloy form a group; within it set-backs, leaf stops and stop
distances that agree within their tolerance are one setting (each window as wide as the tolerance, counted from the
smallest value up, which is the least number of windows there can be). A part's bends must come in the part's own order,
so the sequence of settings is a shortest walk over "how far each part has got"; it is found exactly where that
has few enough states, else the best few walks are carried along. Lengths mm, minutes as a rough guide.
"""

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flatgen.brake.order import LEAF_ALIKE, SETBACK_ALIKE, Order, Step
from flatgen.core.making import HEM
from flatgen.model.plan import BrakeCount

# rough minutes for one change by hand, common practice, no source
NOSE_MINUTES, SETBACK_MINUTES, LEAF_MINUTES, STOP_MINUTES = 15.0, 12.0, 4.0, 1.5
STATES = 20_000  # walked through exactly up to here
BEAM = 200


# brake, nose, wraps, thickness, material, fingers
Group = tuple[str, str, tuple[float, ...], float, str, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class Work:
    """One part's way through the brake."""

    part: str
    brake: str
    material: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """A setting of the brake: tool group, then set-back, leaf and stop as the numbers of their windows."""

    brake: str
    nose: str
    wraps: tuple[float, ...]
    thickness: float
    material: str
    fingers: tuple[float, ...]
    setback: int
    leaf: int
    side: str
    pad: float  # height of the stop's face; 0: a strip no thicker than the sheet
    stop: int
    hem: int = 0  # which of its part's hems: each is closed before the next is bent

    @property
    def gauge(self) -> tuple[object, ...]:
        """How the stop stands."""
        return (self.side, self.pad, self.stop)

    @property
    def tool(self) -> tuple[object, ...]:
        """What stays mounted: changing it means changing the nose or its clamping."""
        return (self.brake, self.nose, self.wraps, self.fingers)


def windows(values: Sequence[float], width: float) -> dict[float, int]:
    """Number of the window each value falls in: as few windows of this width as there can be."""
    numbers: dict[float, int] = {}
    start, number = -math.inf, -1
    for value in sorted(set(values)):
        if value - start > width + 1e-9:
            start, number = value, number + 1
        numbers[value] = number
    return numbers


def settings_of(works: Sequence[Work], tolerance: Mapping[str, float]) -> list[list[Key]]:
    """The setting of every step of every work; tolerance is the stop's, by brake."""
    keys: dict[tuple[int, int], Key] = {}
    groups: dict[Group, list[tuple[int, int, Step]]] = {}
    for w, work in enumerate(works):
        for k, step in enumerate(work.steps):
            setting = step.trial.setting
            group: Group = (
                work.brake,
                setting.nose.name,
                setting.wraps,
                setting.thickness,
                work.material,
                step.trial.fingers,
            )
            groups.setdefault(group, []).append((w, k, step))
    for group, members in groups.items():
        setbacks = windows([s.trial.setting.setback for _, _, s in members], SETBACK_ALIKE)
        leaves = windows([s.trial.setting.leaf_angle for _, _, s in members], LEAF_ALIKE)
        alike: dict[tuple[int, int, str, float], list[tuple[int, int, Step]]] = {}
        for w, k, step in members:
            setting = step.trial.setting
            place = (setbacks[setting.setback], leaves[setting.leaf_angle], step.side, step.pad)
            alike.setdefault(place, []).append((w, k, step))
        for (setback, leaf, side, pad), some in alike.items():
            stops = windows([s.stop for _, _, s in some], tolerance[group[0]])
            for w, k, step in some:
                keys[(w, k)] = Key(*group, setback, leaf, side, pad, stops[step.stop], _hem(works[w], k))
    return [[keys[(w, k)] for k in range(len(work.steps))] for w, work in enumerate(works)]


def _hem(work: Work, k: int) -> int:
    """Number of a step among its part's hems; 0 for any other bend."""
    hems = [n for n, step in enumerate(work.steps) if step.trial.laid.fold.lead.angle >= HEM]
    return hems.index(k) + 1 if k in hems else 0


def minutes_between(before: Key | None, after: Key) -> float:
    """Rough time to change from one setting to the next."""
    if before is None or before.tool != after.tool:
        return NOSE_MINUTES + SETBACK_MINUTES + LEAF_MINUTES + STOP_MINUTES
    minutes = 0.0
    if (before.thickness, before.material, before.setback) != (after.thickness, after.material, after.setback):
        minutes += SETBACK_MINUTES
    if (before.thickness, before.material, before.leaf) != (after.thickness, after.material, after.leaf):
        minutes += LEAF_MINUTES
    if minutes or before.gauge != after.gauge:
        minutes += STOP_MINUTES
    return minutes


def count(sequence: Sequence[Key]) -> BrakeCount:
    """How often each thing is set over a sequence of settings, the first setting included."""
    noses = setbacks = leaves = stops = settings = 0
    minutes = 0.0
    before: Key | None = None
    for key in sequence:
        if key == before:
            continue
        settings += 1
        minutes += minutes_between(before, key)
        nose = before is None or before.tool != key.tool
        base = None if before is None or nose else (before.thickness, before.material)
        same_sheet = base == (key.thickness, key.material)
        setback = not same_sheet or (before is not None and before.setback != key.setback)
        leaf = not same_sheet or (before is not None and before.leaf != key.leaf)
        noses += nose
        setbacks += setback
        leaves += leaf
        stops += setback or leaf or before is None or before.gauge != key.gauge
        before = key
    return BrakeCount(noses, setbacks, leaves, stops, settings, minutes)


def sequence(chains: Sequence[Sequence[Key]]) -> list[Key]:
    """Settings in an order that lets every chain run through, with little changing.

    Chains that share no tool group are sequenced by themselves; the groups follow one another nose by nose.
    """
    blocks = [_shortest(block) for block in _blocks(chains)]
    blocks.sort(key=lambda keys: (str(keys[0].tool), keys[0].thickness, keys[0].material, keys[0]))
    return [key for block in blocks for key in block]


def _blocks(chains: Sequence[Sequence[Key]]) -> list[list[tuple[Key, ...]]]:
    """Distinct chains gathered so that no two blocks have a tool group in common."""
    blocks: list[tuple[set[tuple[object, ...]], list[tuple[Key, ...]]]] = []
    for chain in sorted({tuple(chain) for chain in chains if chain}):
        groups = {(*key.tool, key.thickness, key.material) for key in chain}
        joined = [block for block in blocks if block[0] & groups]
        merged = (groups.union(*(b[0] for b in joined)), [c for b in joined for c in b[1]] + [chain])
        blocks = [block for block in blocks if block not in joined] + [merged]
    return [block for _, block in blocks]


class _Walks:
    """Chains of settings as numbers, with all that the search asks of them worked out once.

    Settings are numbered in their own order; sets of them are the bits of a number.
    """

    def __init__(self, chains: Sequence[tuple[Key, ...]]) -> None:
        """Number the settings and their tools, and what is still to come at each place of each chain."""
        self.keys = sorted({key for chain in chains for key in chain})
        number = {key: k for k, key in enumerate(self.keys)}
        tools = {tool: k for k, tool in enumerate(dict.fromkeys(key.tool for key in self.keys))}
        self.tool = [1 << tools[key.tool] for key in self.keys]
        self.chains = [tuple(number[key] for key in chain) for chain in chains]
        self.minutes = [[minutes_between(before, after) for after in self.keys] for before in self.keys]
        self.first = [minutes_between(None, key) for key in self.keys]
        self.to_come = [_bits(chain, [1 << k for k in range(len(self.keys))]) for chain in self.chains]
        self.tools_to_come = [_bits(chain, self.tool) for chain in self.chains]
        self.start = tuple(0 for _ in chains)
        self.end = tuple(len(chain) for chain in chains)

    def between(self, before: int | None, after: int) -> float:
        """Rough time to change from one setting to the next."""
        return self.first[after] if before is None else self.minutes[before][after]

    def following(self, at: tuple[int, ...]) -> list[int]:
        """Settings that some chain waits for, in their order."""
        return sorted({chain[k] for chain, k in zip(self.chains, at, strict=True) if k < len(chain)})

    def advance(self, at: tuple[int, ...], key: int) -> tuple[int, ...]:
        """How far each chain has got once all that can be done at a setting is done."""
        moved = []
        for chain, k in zip(self.chains, at, strict=True):
            while k < len(chain) and chain[k] == key:
                k += 1
            moved.append(k)
        return tuple(moved)

    def left(self, at: tuple[int, ...], key: int | None) -> float:
        """Minutes that the settings still to come must take at the least."""
        rest = tools = 0
        for to_come, tools_to_come, k in zip(self.to_come, self.tools_to_come, at, strict=True):
            rest |= to_come[k]
            tools |= tools_to_come[k]
        if key is not None:
            rest &= ~(1 << key)
            tools &= ~self.tool[key]
        return STOP_MINUTES * rest.bit_count() + (NOSE_MINUTES + SETBACK_MINUTES) * tools.bit_count()


def _bits(chain: Sequence[int], bit: Sequence[int]) -> list[int]:
    """For every place in a chain the bits of what comes from there on."""
    found = [0]
    for key in reversed(chain):
        found.append(found[-1] | bit[key])
    return found[::-1]


def _shortest(chains: list[tuple[Key, ...]]) -> list[Key]:
    """The sequence of least minutes through all chains of a block: a shortest path, or the best of a beam."""
    walks = _Walks(chains)
    heap: list[tuple[float, int, float, tuple[int, ...], int | None, tuple[int, ...]]] = []
    serial = 0
    heapq.heappush(heap, (walks.left(walks.start, None), serial, 0.0, walks.start, None, ()))
    seen: dict[tuple[tuple[int, ...], int | None], float] = {}
    while heap:
        _, _, spent, at, key, path = heapq.heappop(heap)
        if at == walks.end:
            return [walks.keys[k] for k in path]
        if seen.get((at, key), math.inf) <= spent:
            continue
        seen[(at, key)] = spent
        if len(seen) > STATES:
            return [walks.keys[k] for k in _beam(walks)]
        for following in walks.following(at):
            now = spent + walks.between(key, following)
            moved = walks.advance(at, following)
            if seen.get((moved, following), math.inf) <= now:
                continue
            serial += 1
            ahead = now + walks.left(moved, following)
            heapq.heappush(heap, (ahead, serial, now, moved, following, (*path, following)))
    return []


def _beam(walks: _Walks) -> list[int]:
    """Many chains: the best few walks of each length carried along."""
    front: list[tuple[float, tuple[int, ...], tuple[int, ...]]] = [(0.0, walks.start, ())]
    best: tuple[float, tuple[int, ...]] | None = None
    while front:
        nxt: dict[tuple[tuple[int, ...], int], tuple[float, tuple[int, ...], tuple[int, ...]]] = {}
        for spent, at, path in front:
            before = path[-1] if path else None
            for key in walks.following(at):
                moved, now = walks.advance(at, key), spent + walks.between(before, key)
                if moved == walks.end:
                    if best is None or now < best[0]:
                        best = (now, (*path, key))
                elif (moved, key) not in nxt or now < nxt[(moved, key)][0]:
                    nxt[(moved, key)] = (now, moved, (*path, key))
        ranked = sorted(nxt.values(), key=lambda s: (s[0] + walks.left(s[1], s[2][-1]), s[2]))
        front = [s for s in ranked[:BEAM] if best is None or s[0] < best[0]]
    return list(best[1]) if best else []


def choose_orders(choices: Sequence[tuple[Work, ...]], tolerance: Mapping[str, float]) -> list[Work]:
    """For each part the order among its equals that lets the job do with the fewest settings."""
    chosen = [some[0] for some in choices]

    def settings() -> tuple[int, int]:
        chains = settings_of(chosen, tolerance)
        return len({key for chain in chains for key in chain}), sum(len(chain) for chain in chains)

    least = settings()
    for _ in range(2):
        for k, some in enumerate(choices):
            for other in some[1:]:
                kept = chosen[k]
                chosen[k] = other
                now = settings()
                if now < least:
                    least = now
                else:
                    chosen[k] = kept
    return chosen


def works_of(part: str, brake: str, material: str, orders: Sequence[Order]) -> tuple[Work, ...]:
    """A part's equal orders as ways through the brake."""
    return tuple(Work(part, brake, material, order.steps) for order in orders)
