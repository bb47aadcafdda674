"""In which order, from which side and against which stop the bends of one part are made.

All orders are weighed layer by layer (bends made so far, last stroke); a stroke is simulated only when an order that is
still in the running asks for it. What wins, in this order: enough metal to lift and to hold, the faces that matter
sized by a stop, few bends worked to a mark, few turn-overs and setting changes together, few turn-overs, no heavy side
swung by the leaf, faces sized by a stop, few turns and the smaller side swung, few tight places. An order that
is found is proved in ``brake.proof``. Lengths mm, angles deg.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from flatgen.brake.bench import Bench, Trial
from flatgen.brake.gauge import Rest
from flatgen.core.points import Motion, after, cross, dot
from flatgen.model.part import Part

Side = Literal["back", "front", "sight"]
KEEP = 3  # orders kept a state, so that the batch can choose among equals
# states kept a layer, by number of strokes: up to 7 strokes no state is ever dropped
WIDTHS = ((7, 10**6), (10, 100), (14, 20), (10**6, 4))
MOST_STROKES = 24  # orders of more are not searched
COSTS = 9
EQUAL = 6  # orders alike in this many costs may stand in for one another
AWKWARD = 6.0  # the leaf swings this many times the metal that is clamped
LEAF_ALIKE = 0.25  # leaf angles within this are one setting [deg]
SETBACK_ALIKE = 0.05  # set-backs within this are one setting [mm]


@dataclass(frozen=True, slots=True)
class Step:
    """A stroke with the stop it is made against."""

    trial: Trial
    made: int
    fold: int
    side: Side
    stop: float  # from the bed's edge; to the sight line's own place for side "sight"
    sized: frozenset[str]  # faces whose size this stop makes straight away

    @property
    def pad(self) -> float:
        """Height that the stop's face must have; 0 where it is a strip no thicker than the sheet, or none."""
        rest = self.trial.stops.rest
        return rest.pad if rest is not None and rest.kind == "face" and self.side == "back" else 0.0


@dataclass(frozen=True, slots=True)
class Order:
    """Steps that make the part, with their cost."""

    steps: tuple[Step, ...]
    cost: tuple[float, ...]

    @property
    def flips(self) -> int:
        """Turn-overs between steps."""
        pairs = zip(self.steps, self.steps[1:], strict=False)
        return sum(a.trial.laid.upper_side_up != b.trial.laid.upper_side_up for a, b in pairs)


def makeable(bench: Bench) -> bool:
    """Whether any order makes the part; the first one found answers, so this is quicker than ``best_orders``."""
    full, dead = (1 << len(bench.folds)) - 1, set[int]()

    def from_here(made: int) -> bool:
        if made == full:
            return True
        if made in dead:
            return False
        for fold in range(len(bench.folds)):
            if made >> fold & 1 or not from_side(made, fold):
                continue
            if from_here(made | 1 << fold):
                return True
        dead.add(made)
        return False

    def from_side(made: int, fold: int) -> bool:
        return any(bench.goes(made, fold, hub) for hub in (True, False))

    return from_here(0)


def wanted_sizes(part: Part, bench: Bench) -> frozenset[str]:
    """Faces whose sizes matter most: those that mate, else those between bends, else the base, so that errors land in
    the free flanges."""
    if part.mating:
        return frozenset(part.mating)
    bends = bench.blank.bends
    between = frozenset(f.id for f in bench.blank.faces if sum(f.id in (b.parent, b.child) for b in bends) > 1)
    return between or frozenset({part.base})


def searched(bench: Bench, part: Part) -> list[Order]:
    """The best orders there seem to be, best first; none when the part cannot be made."""
    count = len(bench.folds)
    wanted = wanted_sizes(part, bench)
    layer: dict[tuple[object, ...], list[Order]] = {(0, None): [Order((), (0.0,) * COSTS)]}
    for _ in range(count):
        following: dict[tuple[object, ...], list[Order]] = {}
        for (made, _last), orders in layer.items():
            assert isinstance(made, int)
            for fold in range(count):
                if made >> fold & 1:
                    continue
                for step in _steps(bench, made, fold):
                    key = (made | 1 << fold, (fold, step.trial.laid.clamped_hub, step.side))
                    kept = following.setdefault(key, [])
                    for order in orders:
                        _keep(kept, Order((*order.steps, step), _cost(order, step, bench, wanted)))
        width = next(states for strokes, states in WIDTHS if count <= strokes)
        if len(following) > width:
            ranked = sorted(following.items(), key=lambda item: item[1][0].cost)
            following = dict(ranked[:width])
        layer = following
    final: list[Order] = []
    for orders in layer.values():
        final.extend(orders)
    return sorted(final, key=lambda order: (order.cost, tuple(step.fold for step in order.steps)))[: 4 * KEEP]


def _keep(kept: list[Order], order: Order) -> None:
    """Keep the few best that use different stops."""
    stops = _stops(order)
    for k, other in enumerate(kept):
        if _stops(other) == stops:
            if order.cost < other.cost:
                kept[k] = order
                kept.sort(key=lambda o: o.cost)
            return
    kept.append(order)
    kept.sort(key=lambda o: o.cost)
    del kept[KEEP:]


def _stops(order: Order) -> tuple[tuple[str, float], ...]:
    return tuple(sorted((step.side, round(step.stop, 2)) for step in order.steps))


def _steps(bench: Bench, made: int, fold: int) -> Iterator[Step]:
    """Ways to make a fold now: each side under the nose, each stop that has something to rest on."""
    for hub in (True, False):
        trial = bench.attempt(made, fold, hub)
        if not isinstance(trial, Trial):
            continue
        stops, brake, laid = trial.stops, bench.brake, trial.laid
        found = False
        if stops.rest is not None and stops.bed is not None and stops.nose is not None:
            in_reach = brake.back_stop_reach is None or stops.bed <= brake.back_stop_reach
            if brake.back_stop and in_reach and stops.nose >= brake.back_stop_least:
                yield Step(trial, made, fold, "back", stops.bed, _sized(bench, laid.clamped_faces, stops.rest))
                found = True
        if stops.front is not None and brake.front_stop_reach is not None and 0 < stops.front <= brake.front_stop_reach:
            sized = laid.free_faces & {stops.front_face}
            yield Step(trial, made, fold, "front", stops.front, sized)
            found = True
        if not found:
            yield Step(trial, made, fold, "sight", 0.0, frozenset())


def _sized(bench: Bench, clamped: frozenset[str], rest: Rest) -> frozenset[str]:
    """The clamped face from the stop to the bend, gauged by its own edge or by the flange at its end."""
    if rest.kind == "edge":
        return clamped & {rest.face}
    beside = [{bend.parent, bend.child} for bend in bench.blank.bends]
    return frozenset(face for face in clamped if {face, rest.face} in beside)


def same_setting(a: Step, b: Step, tolerance: float) -> bool:
    """Whether two steps need no change on the brake between them."""
    return same_leaf(a, b) and (a.side, a.pad) == (b.side, b.pad) and abs(a.stop - b.stop) <= tolerance


def _change(last: Step, step: Step, tolerance: float) -> int:
    """Work of changing the brake between two steps, in moves of the stop: the leaf stop counts as two, a nose or other
    fingers as five."""
    if same_setting(last, step, tolerance):
        return 0
    if same_leaf(last, step):
        return 1
    one, two = last.trial, step.trial
    same_tool = (one.setting.nose.name, one.setting.wraps, one.fingers) == (
        two.setting.nose.name,
        two.setting.wraps,
        two.fingers,
    )
    return 2 if same_tool else 5


def same_leaf(a: Step, b: Step) -> bool:
    """Whether nose, set-back and leaf stop stay as they are."""
    one, two = a.trial.setting, b.trial.setting
    return (
        one.nose.name == two.nose.name
        and one.wraps == two.wraps
        and abs(one.setback - two.setback) <= SETBACK_ALIKE
        and abs(one.leaf_angle - two.leaf_angle) <= LEAF_ALIKE
        and a.trial.fingers == b.trial.fingers
    )


def _cost(order: Order, step: Step, bench: Bench, wanted: frozenset[str]) -> tuple[float, ...]:
    flips = changes = turns = 0
    if order.steps:
        last = order.steps[-1]
        flips = int(last.trial.laid.upper_side_up != step.trial.laid.upper_side_up)
        changes = _change(last, step, bench.brake.stop_tolerance)
        turns = int(abs(turn_between(last.trial.laid.lies, step.trial.laid.lies, flipped=bool(flips))) > 1.0)
    ratio = step.trial.swung
    clearance = step.trial.stroke.clearance
    tight = clearance is not None and clearance < bench.brake.end_clearance
    add = (
        step.trial.short is not None,
        -len(step.sized & wanted),
        step.side == "sight",
        flips + changes,
        flips,
        ratio > AWKWARD,
        -len(step.sized),
        turns + 2 * (ratio > 1.05),  # a turn is sooner done than the larger side swung
        tight,
    )
    return tuple(c + float(a) for c, a in zip(order.cost, add, strict=True))


def turn_between(first: Motion, second: Motion, *, flipped: bool) -> float:
    """Turn in the plane of the bench from one lie of the blank to the next, counter-clockwise from above [deg].

    When the blank is turned over it is first rolled about the bend's own direction, so that the edge that was in front
    comes to the back; a half turn left over after that means: turn it over sideways instead, and it is nought.
    """
    import math

    if flipped:
        first = after((1.0, 0.0, 0.0, -1.0, 0.0, 0.0), first)
    a, b = (first[0], first[1]), (second[0], second[1])
    turned = math.degrees(math.atan2(cross(a, b), dot(a, b)))
    turned = round(turned, 3) + 0.0
    if turned <= -180.0 + 1e-3:
        turned = 180.0
    return turned
