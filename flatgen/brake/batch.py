"""All bends of a job in as few settings as can be: which bends share one, and in what sequence the settings come.

Bends made with the same nose, wraps, nominal thickness and alloy form a group, whatever their sheets measure; within it
set-backs, leaf stops and stop distances that agree within their tolerance are one setting (each window as wide as the
tolerance, counted from the smallest value up, which is the least number of windows there can be). A part's bends must
come in the part's own order, so the sequence of settings is a shortest walk over "how far each part has got"; it is
found exactly where that has few enough states, else the best few walks are carried along. Lengths mm, minutes the
shop's own.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from flatgen.brake.order import LEAF_ALIKE, SETBACK_ALIKE, Order, Step
from flatgen.brake.walks import Changes, shortest
from flatgen.brake.windows import Tally, windows
from flatgen.core.making import HEM
from flatgen.core.nominal import NOMINAL
from flatgen.model.part import Part
from flatgen.model.plan import BrakeCount
from flatgen.model.shop import USUAL, Minutes

# brake, nose, wraps, nominal thickness, material, fingers
Group = tuple[str, str, tuple[float, ...], float, str, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class Work:
    """One part's way through the brake."""

    part: str
    brake: str
    material: str
    nominal: float
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """A setting of the brake: tool group, then set-back, leaf and stop as the numbers of their windows."""

    brake: str
    nose: str
    wraps: tuple[float, ...]
    nominal: float
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
    def kind(self) -> tuple[object, ...]:
        """What is left as it is when only the stop is moved, or a hem is closed in between."""
        return (*self.tool, self.nominal, self.material, self.setback, self.leaf)

    @property
    def tool(self) -> tuple[object, ...]:
        """What stays mounted: changing it means changing the nose or its clamping."""
        return (self.brake, self.nose, self.wraps, self.fingers)


def _group(work: Work, step: Step) -> Group:
    """The tools and the sheet of a step."""
    setting = step.trial.setting
    return (work.brake, setting.nose.name, setting.wraps, work.nominal, work.material, step.trial.fingers)


def settings_of(works: Sequence[Work], tolerance: Mapping[str, float]) -> list[list[Key]]:
    """The setting of every step of every work; tolerance is the stop's, by brake."""
    keys: dict[tuple[int, int], Key] = {}
    groups: dict[Group, list[tuple[int, int, Step]]] = {}
    for w, work in enumerate(works):
        for k, step in enumerate(work.steps):
            groups.setdefault(_group(work, step), []).append((w, k, step))
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


def minutes_between(before: Key | None, after: Key, of: Minutes = USUAL) -> float:
    """Time to change from one setting to the next, by the shop's figures."""
    if before is None or before.tool != after.tool:
        return of.nose + of.setback + of.leaf + of.stop
    minutes = 0.0
    if (before.nominal, before.material, before.setback) != (after.nominal, after.material, after.setback):
        minutes += of.setback
    if (before.nominal, before.material, before.leaf) != (after.nominal, after.material, after.leaf):
        minutes += of.leaf
    if minutes or before.gauge != after.gauge:
        minutes += of.stop
    return minutes


def count(sequence: Sequence[Key], of: Minutes = USUAL) -> BrakeCount:
    """How often each thing is set over a sequence of settings, the first setting included."""
    noses = setbacks = stops = settings = 0
    minutes = 0.0
    before: Key | None = None
    for key in sequence:
        if key == before:
            continue
        settings += 1
        minutes += minutes_between(before, key, of)
        nose = before is None or before.tool != key.tool
        base = None if before is None or nose else (before.nominal, before.material)
        same_sheet = base == (key.nominal, key.material)
        setback = not same_sheet or (before is not None and before.setback != key.setback)
        leaf = not same_sheet or (before is not None and before.leaf != key.leaf)
        noses += nose
        setbacks += setback
        stops += setback or leaf or before is None or before.gauge != key.gauge
        before = key
    return BrakeCount(noses, setbacks, stops, settings, minutes)


def sequence(chains: Sequence[Sequence[Key]], of: Minutes = USUAL) -> list[Key]:
    """Settings in an order that lets every chain run through, with little changing.

    Chains that share no tool group are sequenced by themselves; the groups follow one another nose by nose.
    """
    blocks = [_shortest(block, of) for block in _blocks(chains)]
    blocks.sort(key=lambda keys: (str(keys[0].tool), keys[0].nominal, keys[0].material, keys[0]))
    return [key for block in blocks for key in block]


def _blocks(chains: Sequence[Sequence[Key]]) -> list[list[tuple[Key, ...]]]:
    """Distinct chains gathered so that no two blocks have a tool group in common."""
    first: dict[tuple[object, ...], tuple[object, ...]] = {}  # of the groups that belong together

    def root(group: tuple[object, ...]) -> tuple[object, ...]:
        while first.setdefault(group, group) != group:
            first[group] = group = first[first[group]]
        return group

    distinct = sorted({tuple(chain) for chain in chains if chain})
    groups = [[(*key.tool, key.nominal, key.material) for key in chain] for chain in distinct]
    for own in groups:
        for group in own:
            first[root(group)] = root(own[0])
    blocks: dict[tuple[object, ...], list[tuple[Key, ...]]] = {}
    for chain, own in zip(distinct, groups, strict=True):
        blocks.setdefault(root(own[0]), []).append(chain)
    return list(blocks.values())


def _shortest(chains: list[tuple[Key, ...]], of: Minutes) -> list[Key]:
    """The sequence of least minutes through all chains of a block."""
    keys = sorted({key for chain in chains for key in chain})
    number = {key: k for k, key in enumerate(keys)}
    some = {key.kind: key for key in keys}  # of each kind
    kinds = {kind: k for k, kind in enumerate(some)}
    tools = {tool: k for k, tool in enumerate(dict.fromkeys(key.tool for key in keys))}
    changes = Changes(
        kinds=[kinds[key.kind] for key in keys],
        tools=[tools[key.tool] for key in some.values()],
        first=[minutes_between(None, key, of) for key in some.values()],
        between=[[of.stop if a is b else minutes_between(a, b, of) for b in some.values()] for a in some.values()],
        stop=of.stop,
        tool=of.nose + of.setback,
    )
    return [keys[k] for k in shortest([[number[key] for key in chain] for chain in chains], changes)]


def choose_orders(choices: Sequence[tuple[Work, ...]], tolerance: Mapping[str, float]) -> list[Work]:
    """For each part the order among its equals that lets the job do with the fewest settings."""
    chosen = [some[0] for some in choices]
    tallies: dict[Group, Tally] = {}
    total = 0

    def change(work: Work, by: int) -> None:
        nonlocal total
        reached = {_group(work, step): None for step in work.steps}
        for group in reached:
            total -= tallies.setdefault(group, Tally(tolerance[work.brake])).count()
        for k, step in enumerate(work.steps):
            tallies[_group(work, step)].change(step, _hem(work, k), by)
        total += sum(tallies[group].count() for group in reached)

    for work in chosen:
        change(work, 1)
    least = total
    for _ in range(2):
        for k, some in enumerate(choices):
            for other in some[1:]:
                change(chosen[k], -1)
                change(other, 1)
                if total < least:
                    least, chosen[k] = total, other
                else:
                    change(other, -1)
                    change(chosen[k], 1)
    return chosen


def works_of(part: Part, brake: str, nominal: float, orders: Sequence[Order]) -> tuple[Work, ...]:
    """A part's equal orders as ways through the brake."""
    return tuple(Work(part.id, brake, part.material.key, nominal, order.steps) for order in orders)


def nominals(parts: Iterable[Part]) -> dict[float, float]:
    """For each nominal thickness the one that stands for all that are the same size."""
    values = sorted({part.nominal for part in parts})
    numbers = windows(values, NOMINAL)
    least = {number: value for value, number in reversed([(v, numbers[v]) for v in values])}
    return {value: least[numbers[value]] for value in values}
