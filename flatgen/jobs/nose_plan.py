"""Which nose bars would do for a job: every choice of one to three, developed and checked, the least costly first.

Each part is developed and checked over the bars of a choice by the very functions of the main job, so that a choice
says what the job will say once it is taken. What depends on the order of bends (collisions, stops) is not looked at.
Lengths mm, minutes.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from flatgen.brake import bars as made
from flatgen.brake.bench import Bench
from flatgen.brake.effort import pull
from flatgen.brake.limits import before_ordering
from flatgen.checks.rules import run_checks, waived
from flatgen.develop.allowance import NoseOption, choose_nose
from flatgen.develop.develop import develop
from flatgen.develop.least_radius import RadiusVerdict, finite, radius_verdict
from flatgen.errors import CannotMake
from flatgen.model.blank import BendLine, Blank
from flatgen.model.finding import Finding, Severity
from flatgen.model.job import Job
from flatgen.model.nose import Asked, Bar, Choice
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.records.coupon_plan import needs
from flatgen.track import Track, silent

MOST = 3  # bars of one choice
SAME = 1e-6
USUAL = (0.3, 0.4064, 0.508, 0.635, 0.8128, 1.016, 1.27, 1.6002)  # sheet that a wrap is folded of, beside the stock


# what a bend is made over, whatever it is called: radius and radiused length of the bar, its shoe
Way = tuple[float, float | None, float]
Options = Mapping[tuple[float, float], NoseOption | None]  # by radius on the drawing and length of the stroke


@dataclass(frozen=True, slots=True)
class Outcome:
    """One part over some bars. ``used`` : (way, metal, thickness) of its bends; ``verdicts`` : of each bend."""

    blank: Blank | None
    findings: tuple[Finding, ...]
    used: frozenset[tuple[Way, str, float]] = frozenset()
    verdicts: tuple[RadiusVerdict, ...] = ()
    pull: float = 0.0
    setbacks: tuple[float, ...] = ()

    @property
    def stopped(self) -> bool:
        """Whether it cannot be made."""
        return self.blank is None or any(finding.stops for finding in self.findings)


@dataclass(frozen=True, slots=True)
class NosePlan:
    """What is asked, every choice ranked, and what the bars on hand come to as they are now."""

    asked: tuple[Asked, ...]
    choices: tuple[Choice, ...]
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
        self._outcomes: dict[tuple[object, ...], Outcome] = {}
        self._needs: dict[tuple[int, ...], int] = {}

    def plan(self, track: Track = silent) -> NosePlan:
        """Every choice of one to three bars that uses all of them, the least costly first."""
        sets = [some for count in range(1, MOST + 1) for some in combinations(self.candidates, count)]
        choices = [choice for some in track(sets, "choosing nose bars") if (choice := self.choice(some, whole=True))]
        choices.sort(key=_rank)
        now = self.choice(tuple(bar for bar in made.on_hand(self.brake) if bar.nose in self.brake.noses))
        assert now is not None
        return NosePlan(self.asked, tuple(choices), now, self.candidates)

    def choice(self, bars: Sequence[Bar], *, whole: bool = False) -> Choice | None:
        """What comes of some bars; None where ``whole`` and one of them is not used, or a wrap's bar is listed too."""
        if whole and {bar.nose.name for bar in bars if bar.wrap} & {bar.name for bar in bars}:
            return None
        shop = self._shop(bars)
        options = self._choose(shop)
        if whole and {bar.name for bar in bars} - _used(bars, options):
            return None
        return self._summed(bars, [self._outcome(part, shop, options) for part in self.job.parts])

    def is_used(self, bars: Sequence[Bar], bar: Bar) -> bool:
        """Whether a bend is made over this one of some bars."""
        return bar.name in _used(bars, self._choose(self._shop(bars)))

    def _choose(self, shop: Shop) -> Options:
        return {(radius, long): choose_nose(radius, shop.brake(), shop, long) for radius, long in self._all_spots}

    def _shop(self, bars: Sequence[Bar]) -> Shop:
        brake = replace(self.brake, noses=made.mounted(bars), aside=())
        return replace(self.job.shop, brakes=(brake,))

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
        sharpest = min(nose.radius for nose in noses) if any(bend.hem for bend in part.bends) else None
        largest = max(nose.radius for nose in noses) if None in chosen else None
        key = (part.id, tuple(option and _way(option) for option in chosen), sharpest, largest)
        if key not in self._outcomes:
            self._outcomes[key] = self._developed(part, shop)
        return self._outcomes[key]

    def _developed(self, part: Part, shop: Shop) -> Outcome:
        method = dict(self.job.allowance).get(part.id, shop.allowance)
        try:
            blank = develop(part, shop, method)
        except CannotMake as error:
            found = Finding("no-flat-pattern", Severity.FORBID, part.id, "", None, None, error.message, "")
            return Outcome(None, (found,))
        bench = Bench(blank, shop.brake())
        limits = (
            waived(finding, self.job.waivers) for finding in (before_ordering(part, bench) if bench.folds else ())
        )
        findings = (*run_checks(part, blank, shop, self.job.waivers), *limits)
        bent = [bend for bend in blank.bends if not part.bend(bend.id).hem]
        return Outcome(
            blank,
            findings,
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

    def _summed(self, bars: Sequence[Bar], outcomes: Sequence[Outcome]) -> Choice:
        job, minutes = self.job, self.job.shop.minutes
        pairs = list(zip(job.parts, outcomes, strict=True))
        bad = {part.id for part, one in pairs if one.stopped or self._off_range(one)}
        asked = {(f.part, f.rule) for _, one in pairs for f in one.findings if f.state == "decide"}
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
            tuple(finding for one in outcomes for finding in one.findings),
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
        key = tuple(id(one) for one in outcomes)
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


def _way(option: NoseOption) -> Way:
    return (round(option.bar.radius, 6), option.bar.length, round(option.shoe, 6))


def _bent_over(shop: Shop, bend: BendLine) -> Way:
    bar = next((nose for nose in shop.brake().noses if nose.name == bend.bent.bar), None)
    return (round(bar.radius, 6), bar.length, round(math.fsum(bend.bent.shoes), 6)) if bar else (0.0, None, 0.0)


def _rank(choice: Choice) -> tuple[object, ...]:
    met = sum(met for _, met, _ in choice.met)
    return (choice.stopped, round(choice.minutes, 6), -met, len(choice.bars), tuple(bar.name for bar in choice.bars))
