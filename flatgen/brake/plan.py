"""A whole job at the brake: an order for every part, all bends gathered into settings, settings put in sequence.

``plan_job`` is the one call from outside. Lengths mm, angles deg.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypedDict

from flatgen.brake import batch, limits
from flatgen.brake.bench import Bench, Trial
from flatgen.brake.carry import Gauged, Printed, legs, settled
from flatgen.brake.closing import with_closings
from flatgen.brake.layout import Layout
from flatgen.brake.order import MOST_STROKES, Order, Step, turn_between
from flatgen.brake.pictures import picture
from flatgen.brake.proof import best_orders
from flatgen.brake.reasons import measured_first, refused_bend, why_not
from flatgen.brake.seat import gauge_kind, gauge_words, gauged_face, grain_to_bend
from flatgen.brake.stop import squeeze
from flatgen.core.making import HEM
from flatgen.core.nominal import same_nominal
from flatgen.core.overrun import pieces_to_cut
from flatgen.develop.allowed import allowed_length
from flatgen.develop.develop import with_hems_begun
from flatgen.develop.stack import angle_limits, tolerance_rows
from flatgen.kept import kept
from flatgen.model.blank import Blank
from flatgen.model.finding import Finding
from flatgen.model.part import Part
from flatgen.model.plan import BrakeCount, BrakePlan, Operation, PlannedPart, RefusedBend, Setup
from flatgen.model.shop import ABREAST_GAP, Brake, Shop, abreast

SHORT = 1.0 / 3.0  # of the bar: metal that holds less of it lets it tilt; common practice, no source
NOTHING = BrakeCount(0, 0, 0, 0, 0.0)
# a part at the brake by itself: the bench that makes it, its best orders, what was found
Alone = tuple[Bench, tuple[Order, ...], list[Finding]]


@dataclass(frozen=True, slots=True)
class Ordered:
    """The orders of a job's parts: ``choices`` are each part's equals, of which ``works`` holds the one taken."""

    choices: list[tuple[batch.Work, ...]]
    works: list[batch.Work]
    benches: dict[str, Bench]
    findings: list[Finding]
    not_made: list[str]
    refused: tuple[RefusedBend, ...] = ()


def plan_job(
    parts: Sequence[Part],
    blanks: Mapping[str, Blank],
    shop: Shop,
    pieces: Mapping[str, int] | None = None,
    *,
    pictures: bool = True,
    forbids: Callable[[Finding], bool] = lambda finding: finding.stops,
) -> BrakePlan:
    """Settings for every bend of a job, with what cannot be made and why.

    Parameters
    ----------
    blanks : by part id; parts without one are left out
    pieces : how many of each part are bent; None: quantity plus the shop's spoilage
    pictures : whether operations carry their sections, for the pages of settings
    forbids : whether a finding keeps its part from being made; one that is waived does not

    A part that a finding forbids has no settings. Parts that an earlier finding forbids should not be handed in.
    """
    found = ordered(parts, blanks, shop, forbids)
    if not found.choices:
        none, told = tuple(found.not_made), tuple(found.findings)
        return BrakePlan((), told, NOTHING, NOTHING, 0, (), none, refused=found.refused)
    choices, works, benches = found.choices, found.works, found.benches
    by_id = {part.id: part for part in parts}
    tolerance = _tolerance(shop)
    chains = batch.settings_of(works, tolerance)
    sequence = batch.sequence(chains, shop.minutes)
    plain = batch.count([key for chain in _plain(choices, tolerance) for key in chain], shop.minutes)
    printed = _printed(works, chains)
    made = [
        settled(benches[work.part], work.steps, [printed[key] for key in chain])
        for work, chain in zip(works, chains, strict=True)
    ]
    exact = [settled(benches[work.part], work.steps, [None] * len(work.steps)) for work in works]
    # what is worked by mark has nothing to do with a stop that others share
    gauged = [
        [
            one if step.side == "sight" else replace(one, sight=by_mark.sight)
            for step, one, by_mark in zip(work.steps, strokes, marks, strict=True)
        ]
        for work, (_, strokes), (_, marks) in zip(works, made, exact, strict=True)
    ]
    bent = [
        _Bent(by_id[work.part], benches[work.part], work, chain, strokes, _pieces(by_id[work.part], shop, pieces))
        for work, chain, strokes in zip(works, chains, gauged, strict=True)
    ]
    setups = with_closings(_setups(bent, sequence, shop, pictures))
    closings = sum(setup.stop_side == "squeeze" for setup in setups)
    parts_made = tuple(
        _planned_part(by_id[work.part], benches[work.part], work, layout, marks, shop)
        for work, (layout, _), (marks, _) in zip(works, made, exact, strict=True)
    )
    order = tuple((w.part, tuple(step.trial.laid.fold.name for step in w.steps)) for w in works)
    least = len({key for chain in chains for key in chain})
    planned = _more(batch.count(sequence, shop.minutes), closings)
    plain = _more(plain, closings)
    return BrakePlan(
        setups,
        tuple(found.findings),
        planned,
        plain,
        least + closings,
        order,
        tuple(found.not_made),
        parts_made,
        found.refused,
    )


def alone(part: Part, blank: Blank, shop: Shop) -> Alone:
    """A part at the shop's brakes, whatever the others are."""
    return kept(_part, part, blank, shop.seen_from(part.material.key))


def ordered(
    parts: Sequence[Part],
    blanks: Mapping[str, Blank],
    shop: Shop,
    forbids: Callable[[Finding], bool],
    each: Callable[[Part, Blank, Shop], Alone] = alone,
) -> Ordered:
    """An order for every part: of its equals the one that lets the job do with the fewest settings."""
    findings: list[Finding] = []
    choices: list[tuple[batch.Work, ...]] = []
    benches: dict[str, Bench] = {}
    nominals = batch.nominals(parts)
    not_made: list[str] = []
    refused: list[RefusedBend | None] = []
    for part in parts:
        blank = blanks.get(part.id)
        if blank is None or not blank.bends or not any(brake.noses for brake in shop.brakes):
            continue
        bench, orders, found = each(part, blank, shop)
        findings.extend(found)
        if not orders or any(forbids(finding) for finding in found):
            not_made.append(part.id)
            refused += [] if orders else [refused_bend(part, bench)]
            continue
        benches[part.id] = bench
        choices.append(batch.works_of(part, bench.brake.name, nominals[part.nominal], orders))
    by_id = {part.id: part for part in parts}
    while True:
        works = batch.choose_orders(choices, _tolerance(shop))
        found_at = {
            work.part: list(limits.after_ordering(by_id[work.part], benches[work.part], Order(work.steps, ())))
            for work in works
        }
        stopped = [part for part, found in found_at.items() if any(forbids(finding) for finding in found)]
        if not stopped:
            break
        # the others may do with other orders then, so they are planned without it
        findings.extend(finding for part in stopped for finding in found_at[part])
        not_made.extend(stopped)
        choices = [some for some in choices if some[0].part not in stopped]
    findings.extend(finding for found in found_at.values() for finding in found)
    return Ordered(choices, works, benches, findings, not_made, tuple(one for one in refused if one))


def _tolerance(shop: Shop) -> dict[str, float]:
    return {brake.name: brake.stop_tolerance for brake in shop.brakes}


def _more(count: BrakeCount, closings: int) -> BrakeCount:
    """The count with settings that close hems, at which nothing is set on the brake."""
    return replace(count, settings=count.settings + closings)


def _printed(works: Sequence[batch.Work], chains: Sequence[Sequence[batch.Key]]) -> dict[batch.Key, Printed]:
    """Stop and set-back of every setting: the middle of what the bends that share it ask for."""
    sharing: dict[batch.Key, list[Step]] = {}
    for work, chain in zip(works, chains, strict=True):
        for step, key in zip(work.steps, chain, strict=True):
            sharing.setdefault(key, []).append(step)
    return {
        key: Printed(middle([s.stop for s in steps]), middle([s.trial.setting.setback for s in steps]))
        for key, steps in sharing.items()
    }


def middle(values: Sequence[float]) -> float:
    """Midway between the least and the greatest."""
    return (min(values) + max(values)) / 2.0


def _planned_part(part: Part, bench: Bench, work: batch.Work, layout: Layout, marks: Layout, shop: Shop) -> PlannedPart:
    found = legs(bench, work.steps, layout)
    stopped = {leg.name for leg in found if leg.set_by != "blank"}
    rows = tolerance_rows(part, bench.blank, shop, stopped) if found else ()
    spreads = {(row.where, round(row.size, 4)): row.rss for row in rows}
    return PlannedPart(
        part.id,
        tuple(replace(leg, spread=spreads.get((leg.name, round(leg.nominal, 4)))) for leg in found),
        tuple(
            (bend.id, (layout if step.side == "sight" else marks).sight_lines(bend))
            for step in work.steps
            for bend in step.trial.laid.fold.bends
        ),
    )


def _plain(choices: Sequence[tuple[batch.Work, ...]], tolerance: Mapping[str, float]) -> list[list[batch.Key]]:
    """Settings of every part's own best order, in the order of the list."""
    return batch.settings_of([some[0] for some in choices], tolerance)


def _pieces(part: Part, shop: Shop, pieces: Mapping[str, int] | None) -> int:
    if pieces is not None and part.id in pieces:
        return pieces[part.id]
    return part.quantity if part.kind == "coupon" else pieces_to_cut(part.quantity, shop.spoilage)


def _part(part: Part, blank: Blank, shop: Shop) -> Alone:
    """The first of the shop's brakes that makes a part; where none does, the first one's reasons."""
    answers: list[Alone] = []
    for brake in shop.brakes:
        if not brake.noses:
            continue
        bench = Bench(with_hems_begun(part, blank, shop, brake), brake)
        if answers and not bench.bends_as_developed(shop.nose_tolerance):
            continue  # the blank is that of the first brake's noses
        if len(bench.folds) > MOST_STROKES:
            return bench, (), [limits.too_many(part, bench)]
        found = list(limits.before_ordering(part, bench))
        orders: tuple[Order, ...] = ()
        if not any(finding.rule == "brake-angle" and finding.stops for finding in found):
            orders = best_orders(bench, part)
        if orders and not any(finding.stops for finding in found):
            return bench, orders, found
        answers.append((bench, orders, found))
    bench, orders, found = min(answers, key=lambda answer: not answer[1])
    if orders or any(finding.stops for finding in found):
        return bench, orders, found
    freed = measured_first(part, bench)
    if freed is not None:
        # no stop from a guess: it is planned as if the brake measured so
        kinder, orders, asked = freed
        return kinder, orders, [*found, asked]
    return bench, (), [*found, *why_not(part, bench, shop)]


@dataclass(frozen=True, slots=True)
class _Bent:
    """A part at its brake: the order of its strokes, the setting of each, what gauges each, and how many are bent."""

    part: Part
    bench: Bench
    work: batch.Work
    chain: Sequence[batch.Key]
    strokes: Sequence[Gauged]
    pieces: int


def _setups(bent: Sequence[_Bent], sequence: Sequence[batch.Key], shop: Shop, pictures: bool) -> tuple[Setup, ...]:
    at = [0] * len(bent)
    waiting: dict[batch.Key, list[int]] = {}  # parts by the setting that comes next
    for n, one in enumerate(bent):
        waiting.setdefault(one.chain[0], []).append(n)
    setups: list[Setup] = []
    before: batch.Key | None = None
    tested: set[tuple[object, ...]] = set()
    for key in sequence:
        operations, steps = [], []
        for n in sorted(waiting.pop(key, ()), key=lambda n: (bent[n].part.kind != "coupon", n)):
            one = bent[n]
            while at[n] < len(one.chain) and one.chain[at[n]] == key:
                steps.append(one.work.steps[at[n]])
                operations.extend(_operations(one, at[n], shop, pictures))
                at[n] += 1
            if at[n] < len(one.chain):
                waiting.setdefault(one.chain[at[n]], []).append(n)
        combination = (key.material, key.nominal, key.nose, key.wraps)
        coupon = combination not in tested and shop.work == "aircraft" and not _recorded(key, steps[0], shop)
        tested.add(combination)
        setups.append(_setup(len(setups) + 1, key, before, steps, operations, coupon))
        before = key
    return tuple(setups)


def _recorded(key: batch.Key, step: Step, shop: Shop) -> bool:
    """Whether the shop has bent this metal over this radius before."""
    return any(
        r.material == key.material
        and same_nominal(r.thickness, key.nominal)
        and abs(r.nose_radius - step.trial.setting.radius) <= shop.nose_tolerance
        for r in shop.records
    )


def _setup(
    number: int,
    key: batch.Key,
    before: batch.Key | None,
    steps: Sequence[Step],
    operations: Sequence[Operation],
    coupon: bool,
) -> Setup:
    setting = steps[0].trial.setting
    stops = [step.stop for step in steps]
    stop, setback = middle(stops), middle([step.trial.setting.setback for step in steps])
    thicknesses = {step.trial.setting.thickness for step in steps}
    return Setup(
        brake=key.brake,
        nose=setting.brake.mounted(key.nose, setting.wraps, key.fingers),
        bar=key.nose,
        nose_radius=setting.radius,
        stop=stop,
        stop_side=steps[0].side,
        stop_pad=steps[0].pad,
        nose_setback=setback,
        overbend_to=middle([step.trial.setting.leaf_angle for step in steps]),
        operations=tuple(operations),
        number=number,
        material=key.material,
        thickness=thicknesses.pop() if len(thicknesses) == 1 else key.nominal,
        nominal=key.nominal,
        stop_nose=stop - setback if steps[0].side == "back" else stop + setback,
        offset={"back": setting.back_offset, "front": setting.front_offset}.get(steps[0].side, 0.0),
        wrap=setting.wraps,
        bare_setback=setback + math.fsum(setting.wraps),
        changes=_changes(before, key),
        coupon_first=coupon,
        pieces=sum({(op.part, op.step): op.pieces for op in operations}.values()),
        stop_spread=max(stops) - min(stops),
        stop_read_from=setting.brake.stop_read_from,
        squeeze=squeeze(
            setting.thickness, setting.leaf_angle, setting.radius, setting.thickness, *_hinge(setting.brake)
        ),
    )


def _hinge(brake: Brake) -> tuple[float, float]:
    return brake.hinge_forward, brake.hinge_up


def _changes(before: batch.Key | None, key: batch.Key) -> tuple[str, ...]:
    """What is set anew: nose, set-back, leaf, stop."""
    if before is None or before.tool != key.tool:
        return ("nose", "set-back", "leaf", "stop")
    sheet = (before.nominal, before.material) != (key.nominal, key.material)
    changed = []
    if sheet or before.setback != key.setback:
        changed.append("set-back")
    if sheet or before.leaf != key.leaf:
        changed.append("leaf")
    if changed or before.gauge != key.gauge:
        changed.append("stop")
    return tuple(changed)


def _operations(bent: _Bent, k: int, shop: Shop, pictures: bool) -> list[Operation]:
    part, bench, steps, gauged = bent.part, bent.bench, bent.work.steps, bent.strokes[k]
    step, last = steps[k], (steps[k - 1] if k else None)
    trial, laid = step.trial, step.trial.laid
    lead, making = laid.fold.lead, trial.setting.making
    up = laid.upper_side_up
    flip = (last.trial.laid.upper_side_up if last else True) != up
    turn = turn_between(last.trial.laid.lies, laid.lies, flipped=flip) if last else 0.0
    angles = angle_limits(part, bench.blank, shop)
    one = Operation(
        part=part.id,
        bend=lead.id,
        step=k + 1,
        flip=flip,
        turn=turn,
        pieces=bent.pieces,
        angle=lead.first.comes_to if lead.first else lead.angle,
        gap=2.0 * lead.bent.inside_radius if lead.angle >= HEM else None,
        upper_side_up=up,
        gauge=gauge_words(step),
        gauge_kind=gauge_kind(step),
        gauged_face=gauged_face(step),
        released_radius=making.released,
        arc=making.arc,
        behind=gauged.behind,
        ahead=gauged.ahead,
        leg=gauged.leg if lead.first is None else "",
        leg_size=gauged.size if lead.first is None else None,
        leg_drawn=gauged.drawn,
        sight=gauged.sight,
        tolerance=allowed_length(part, shop, gauged.drawn or 0.0),
        angle_tolerance=min(angles[bend.id] for bend in laid.fold.bends),
        length=laid.span[1] - laid.span[0],
        grain_to_bend=grain_to_bend(bench.blank, laid.along),
        fingers=trial.fingers,
        room_for_fingers=trial.window,
        leaves=trial.leaves.how,
        tilt=trial.leaves.tilt,
        clearance=trial.stroke.clearance,
        nearest_tool=trial.stroke.nearest,
        lies=laid.lies,
        picture=picture(step, bench.body(step.made)) if pictures else None,
    )
    one = replace(one, **_along_bar(part, bench, trial, one.length))
    clamped = laid.clamped_faces
    sides = [(b, b.parent, b.child) if b.parent in clamped else (b, b.child, b.parent) for b in laid.fold.bends]
    return [replace(one, bend=bend.id, clamped=under, free=over) for bend, under, over in sides]


class _Along(TypedDict):
    """Where along the bar a stroke is made, as an operation has it."""

    abreast: int
    scrap: bool


def _along_bar(part: Part, bench: Bench, trial: Trial, length: float) -> _Along:
    """Round the middle of the bar: how many lie beside each other there, and whether they hold it level."""
    if trial.fingers:
        return {"abreast": 1, "scrap": False}
    usable = bench.brake.usable(trial.setting.nose)
    many = abreast(usable, length) if part.process == "side by side" else 1
    return {"abreast": many, "scrap": many * (length + ABREAST_GAP) - ABREAST_GAP < SHORT * usable}
