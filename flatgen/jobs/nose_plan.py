"""Which nose bars would do for a job: every choice of one to three, developed and checked, the least costly first.

Each part is developed, checked and bent in simulation over the bars of a choice by the very functions of the main job,
so that a choice says what the job will say once it is taken. The order of bends can only add to what stops a part or
asks for a decision: choices are ranked without it first, then those that come first are looked at whole, until as many
as are wanted stand before all others. Lengths mm, minutes.
"""

import heapq
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from flatgen.brake import bars as made
from flatgen.brake.bench import Bench
from flatgen.brake.effort import pull
from flatgen.brake.limits import before_ordering
from flatgen.brake.plan import Alone, alone, ordered
from flatgen.checks.rules import run_checks, waived
from flatgen.develop.allowance import NoseOption, choose_nose
from flatgen.develop.develop import develop
from flatgen.develop.least_radius import RadiusVerdict, finite, radius_verdict
from flatgen.errors import CannotMake
from flatgen.jobs.developed import routed
from flatgen.model.blank import BendLine, Blank
from flatgen.model.finding import Finding, Severity
from flatgen.model.job import Job
from flatgen.model.nose import Asked, Bar, Choice
from flatgen.model.part import Part
from flatgen.model.results import Developed
from flatgen.model.shop import NoseBar, Shop
from flatgen.records.coupon_plan import needs
from flatgen.track import Track, silent

MOST = 3  # bars of one choice
SAME = 1e-6
USUAL = (0.3, 0.4064, 0.508, 0.635, 0.8128, 1.016, 1.27, 1.6002)  # sheet that a wrap is folded of, beside the stock


Way = tuple[NoseBar, float]  # what a bend is made over: a bar without its shoes, and the shoe
Key = tuple[object, ...]
Options = Mapping[tuple[float, float], NoseOption | None]  # by radius on the drawing and length of the stroke


@dataclass(frozen=True, slots=True)
class Outcome:
    """One part over some bars, by its ``key``.

    shop : with the bars that it was developed over; ``limits`` : what no order of its bends can change
    used : (way, metal, thickness) of its bends; ``verdicts`` : of each bend
    """

    key: Key
    shop: Shop
    blank: Blank | None
    findings: tuple[Finding, ...]
    limits: tuple[Finding, ...] = ()
    used: frozenset[tuple[Way | None, str, float]] = frozenset()
    verdicts: tuple[RadiusVerdict, ...] = ()
    pull: float = 0.0
    setbacks: tuple[float, ...] = ()

    @property
    def stopped(self) -> bool:
        """Whether it cannot be made, whatever the brake."""
        return self.blank is None or any(finding.stops for finding in self.findings)


@dataclass(frozen=True, slots=True)
class NosePlan:
    """What is asked, the best choices of ``total`` in order, and what the bars on hand come to as they are now."""

    asked: tuple[Asked, ...]
    choices: tuple[Choice, ...]
    total: int
    now: Choice
    candidates: tuple[Bar, ...]


def asked_of(job: Job) -> tuple[Asked, ...]:
    """Radii on the drawings and by each table, metal by metal."""
    groups: dict[tuple[str, float], list[Part]] = {}
    for part in job.parts:
        if any(not bend.hem for bend in part.bends):
            groups.setdefault((part.material.key, part.nominal), []).append(part)
    found = []
    for (material, thickness), parts in sorted(groups.items()):
        verdict = radius_verdict(parts[0].material, thickness, 0.0, None, job.shop.radius_table, job.shop.work)
        drawn = sorted({bend.radius for part in parts for bend in part.bends if not bend.hem})
        bends = sum(part.quantity * sum(not bend.hem for bend in part.bends) for part in parts)
        tables = tuple((one.table, finite(one.radius)) for one in verdict.readings)
        found.append(Asked(material, thickness, tuple(drawn), tables, bends))
    return tuple(found)


class Planner:
    """Choices of bars for a job; each part is developed once for each way in which its bends fall to bars."""

    def __init__(self, job: Job) -> None:
        """Candidates for every radius asked for."""
        # what is sawn from another part is bent as that
        job = replace(job, parts=tuple(part for part in job.parts if not part.cut_from))
        self.job, self.brake = job, job.shop.brake()
        self.asked = asked_of(job)
        radii = {radius for one in self.asked for radius in (*one.drawn, *(r for _, r in one.tables if r))}
        sheets = sorted({*USUAL, *(sheet.thickness for sheet in job.shop.sheets)})
        hand = made.on_hand(self.brake)
        self.candidates = (*hand, *made.to_make(self.brake, sorted(radii), sheets, job.shop.minutes))
        self._spots = {part.id: self._spots_of(part) for part in job.parts}
        self._all_spots = sorted({spot for spots in self._spots.values() for spot in spots})
        self._outcomes: dict[Key, Outcome] = {}
        self._alone: dict[Key, Alone] = {}
        self._needs: dict[Key, int] = {}

    def plan(self, track: Track = silent, count: int | None = None) -> NosePlan:
        """Choices of one to three bars that use all of them, the least costly first; ``count``: so many, None: all."""
        sets = [some for count in range(1, MOST + 1) for some in combinations(self.candidates, count)]
        least = [choice for some in track(sets, "choosing nose bars") if (choice := self._at_least(some))]
        now = self.choice(tuple(bar for bar in made.on_hand(self.brake) if bar.nose in self.brake.noses))
        wanted = track(range(len(least) if count is None else min(count, len(least))), "bending over them")
        best = tuple(choice for _, choice in zip(wanted, self._in_order(least), strict=False))
        return NosePlan(self.asked, best, len(least), now, self.candidates)

    def choice(self, bars: Sequence[Bar]) -> Choice:
        """What comes of some bars, the brake planned over them."""
        shop, outcomes = self._over(bars)
        made = {part.id: (part, one) for part, one in zip(self.job.parts, outcomes, strict=True)}
        good = [part for part, one in made.values() if not one.stopped]
        blanks = {part.id: blank for part in good if (blank := made[part.id][1].blank)}

        def each(part: Part, blank: Blank, shop: Shop) -> Alone:
            one = made[part.id][1]
            if one.key not in self._alone:
                self._alone[one.key] = alone(part, blank, one.shop)
            return self._alone[one.key]

        def forbids(finding: Finding) -> bool:
            return waived(finding, self.job.waivers).stops

        found = ordered(good, blanks, shop, forbids, each)
        told = [waived(finding, self.job.waivers) for finding in found.findings]
        stopped = {finding.part for finding in told if finding.stops} | set(found.not_made)
        return self._summed(bars, outcomes, [*told, *self._routed(made.values(), stopped)], stopped)

    def _routed(self, made: Iterable[tuple[Part, Outcome]], stopped: set[str]) -> Iterator[Finding]:
        """What the router's bit cannot do."""
        tools = dict(self.job.cutting)
        for part, one in made:
            if one.blank is not None and part.id not in stopped:
                tool = tools.get(part.id, self.job.shop.tools[0].name)
                whole = Developed(part, one.blank, "", part.quantity, tool, one.findings)
                yield from (waived(finding, self.job.waivers) for finding in routed(self.job, [whole]))

    def _at_least(self, bars: Sequence[Bar]) -> Choice | None:
        """A choice before its bends are put in order; None where a bar of it is idle, or a wrap's bar listed too."""
        if {bar.nose.name for bar in bars if bar.wrap} & {bar.name for bar in bars}:
            return None
        if {bar.name for bar in bars} - _used(bars, self._choose(self._shop(bars))):
            return None
        _, outcomes = self._over(bars)
        # another brake of the shop may bend what this one cannot
        limits = [finding for one in outcomes for finding in one.limits] if len(self.job.shop.brakes) == 1 else []
        return self._summed(bars, outcomes, limits, {finding.part for finding in limits if finding.stops})

    def _in_order(self, least: Sequence[Choice]) -> Iterator[Choice]:
        """Choices whole, the least costly first; one is looked at when all that stand before it are."""
        heap = [(_rank(choice), False, k, choice) for k, choice in enumerate(least)]
        heapq.heapify(heap)
        while heap:
            _, whole, k, choice = heapq.heappop(heap)
            if whole:
                yield choice
            else:
                full = self.choice(choice.bars)
                heapq.heappush(heap, (_rank(full), True, k, full))

    def alters(self, bars: Sequence[Bar], bar: Bar) -> bool:
        """Whether a part comes out otherwise with one bar more on the brake."""
        return [one.key for one in self._over(bars)[1]] != [one.key for one in self._over((*bars, bar))[1]]

    def _over(self, bars: Sequence[Bar]) -> tuple[Shop, list[Outcome]]:
        shop = self._shop(bars)
        options = self._choose(shop)
        return shop, [self._outcome(part, shop, options) for part in self.job.parts]

    def _choose(self, shop: Shop) -> Options:
        return {(radius, long): choose_nose(radius, shop.brake(), shop, long) for radius, long in self._all_spots}

    def _shop(self, bars: Sequence[Bar]) -> Shop:
        brake = replace(self.brake, noses=made.mounted(bars), aside=())
        return replace(self.job.shop, brakes=(brake, *self.job.shop.brakes[1:]))

    def _spots_of(self, part: Part) -> tuple[tuple[float, float], ...]:
        """Radius on the drawing and length of the stroke of every bend that is made over a nose."""
        try:
            blank = develop(part, self.job.shop)
            lengths = {bend.id: fold.length for fold in Bench(blank, self.brake).folds for bend in fold.bends}
        except CannotMake:
            lengths = {}
        return tuple((bend.radius, lengths.get(bend.id, 0.0)) for bend in part.bends if not bend.hem)

    def _outcome(self, part: Part, shop: Shop, options: Options) -> Outcome:
        """The part over the bars of a shop, known by the bars that its bends fall to."""
        chosen = [options[spot] for spot in self._spots[part.id]]
        noses = shop.brake().noses
        sharpest = min(noses, key=lambda nose: nose.radius) if any(bend.hem for bend in part.bends) else None
        others = noses if None in chosen else ()
        key = (part.id, tuple(option and (_bare(option.bar), option.shoe) for option in chosen), sharpest, others)
        if key not in self._outcomes:
            self._outcomes[key] = self._developed(part, shop, key)
        return self._outcomes[key]

    def _developed(self, part: Part, shop: Shop, key: Key) -> Outcome:
        method = dict(self.job.allowance).get(part.id, shop.allowance)
        try:
            blank = develop(part, shop, method)
        except CannotMake as error:
            found = Finding("no-flat-pattern", Severity.FORBID, part.id, "", None, None, error.message, "")
            return Outcome(key, shop, None, (found,))
        bench = Bench(blank, shop.brake())
        limits = before_ordering(part, bench) if bench.folds else ()
        bent = [bend for bend in blank.bends if not part.bend(bend.id).hem]
        return Outcome(
            key,
            shop,
            blank,
            run_checks(part, blank, shop, self.job.waivers),
            tuple(waived(finding, self.job.waivers) for finding in limits),
            frozenset((_bent_over(shop, bend), part.material.key, part.thickness) for bend in bent),
            tuple(
                radius_verdict(
                    part.material,
                    part.nominal,
                    bend.bent.inside_radius,
                    blank.angle_to_grain(bend),
                    shop.radius_table,
                    shop.work,
                )
                for bend in bent
            ),
            max((pull(shop.brake(), part.material, part.thickness, fold.length) for fold in bench.folds), default=0.0),
            tuple(setting.bare_setback for setting in bench.settings),
        )

    def _summed(
        self, bars: Sequence[Bar], outcomes: Sequence[Outcome], at_brake: Sequence[Finding], not_bent: set[str]
    ) -> Choice:
        """A choice of its parts' outcomes, what was found at the brake, and the parts that it does not bend."""
        job, minutes = self.job, self.job.shop.minutes
        pairs = list(zip(job.parts, outcomes, strict=True))
        findings = (*(finding for one in outcomes for finding in one.findings), *at_brake)
        bad = {part.id for part, one in pairs if one.stopped or self._off_range(one)} | not_bent
        asked = {(f.part, f.rule) for f in findings if f.state == "decide"}
        decisions = len({pair for pair in asked if pair[0] not in bad})
        coupons = self._coupons(outcomes, bad)
        used = {one for part, outcome in pairs if part.id not in bad for one in outcome.used}
        changes = len({way for way, _, _ in used})
        costs = (
            ("making them", math.fsum(bar.minutes for bar in bars)),
            ("test strips", coupons * minutes.coupon),
            ("decisions", decisions * minutes.decide),
            ("changes of bar", changes * minutes.nose),
            ("set-back and leaf", len(used) * (minutes.setback + minutes.leaf)),
        )
        verdicts = [verdict for one in outcomes for verdict in one.verdicts]
        setbacks = [setback for one in outcomes for setback in one.setbacks]
        return Choice(
            tuple(bars),
            _met(verdicts),
            sum(verdict.status in ("ok", "no-table") for verdict in verdicts),
            sum(verdict.status in ("between", "along-grain") for verdict in verdicts),
            sum(verdict.status == "below" for verdict in verdicts),
            sum(part.quantity for part in job.parts if part.id in bad),
            decisions,
            coupons,
            changes,
            findings,
            max((one.pull for one in outcomes), default=0.0),
            (min(setbacks), max(setbacks)) if setbacks else None,
            costs,
        )

    def _off_range(self, one: Outcome) -> bool:
        reach = self.brake.setback_range
        return bool(reach) and any(not reach[0] - 0.01 <= setback <= reach[1] + 0.01 for setback in one.setbacks)

    def _coupons(self, outcomes: Sequence[Outcome], bad: set[str]) -> int:
        """Test strips that are still to be bent for the parts that can be made."""
        if not self.job.coupons:
            return 0
        key = (*(one.key for one in outcomes), frozenset(bad))
        if key not in self._needs:
            good = {p.id: o.blank for p, o in zip(self.job.parts, outcomes, strict=True) if o.blank and p.id not in bad}
            parts = [part for part in self.job.parts if part.id in good]
            self._needs[key] = sum(need.missing for need in needs(parts, good, self.job.shop.proofs))
        return self._needs[key]


def _met(verdicts: Sequence[RadiusVerdict]) -> tuple[tuple[str, int, int], ...]:
    """For each table the bends whose radius it allows, and those that it speaks of."""
    found: dict[str, list[bool]] = {}
    for verdict in verdicts:
        for one in verdict.readings:
            found.setdefault(one.table, []).append(verdict.radius >= one.radius - one.rounding - 1e-9)
    return tuple((table, sum(met), len(met)) for table, met in sorted(found.items()))


def _used(bars: Sequence[Bar], options: Options) -> set[str]:
    """Names of the bars that a bend falls to."""
    found = set()
    for option in options.values():
        if option is not None:
            own = [bar for bar in bars if bar.nose.name == option.bar.name]
            # the shoes that a bar on hand has come with it
            over = [bar for bar in own if bar.wrap and abs(bar.wrap - option.shoe) < SAME]
            found |= {bar.name for bar in over or own if over or not bar.wrap}
    return found


def _bare(bar: NoseBar) -> NoseBar:
    """A bar whatever shoes there are for it."""
    return replace(bar, shoes=())


def _bent_over(shop: Shop, bend: BendLine) -> Way | None:
    bar = next((nose for nose in shop.brake().noses if nose.name == bend.bent.bar), None)
    return (_bare(bar), round(math.fsum(bend.bent.shoes), 6)) if bar else None


def _rank(choice: Choice) -> tuple[object, ...]:
    met = sum(met for _, met, _ in choice.met)
    return (choice.stopped, round(choice.minutes, 6), -met, len(choice.bars), tuple(bar.name for bar in choice.bars))
