"""All that a job came to: what results.json holds and what every sheet and page is drawn from."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from flatgen.model.blank import Blank
from flatgen.model.finding import Finding
from flatgen.model.job import Job
from flatgen.model.part import Part
from flatgen.model.plan import BrakePlan, Leg, Nest, Setup, Unplaced
from flatgen.model.tally import Counts

NO_STOCK = "no-stock"  # the rule that says pieces found no sheet


@dataclass(frozen=True, slots=True)
class Developed:
    """A part with its blank, the method asked for, the pieces still to cut and the tool that cuts them.

    counts : how far it is; None of a test bend
    waits : test bends that are not recorded yet, by which its figures may change
    """

    part: Part
    blank: Blank
    method: str
    pieces: int
    tool: str
    findings: tuple[Finding, ...]
    counts: Counts | None = None
    waits: tuple[str, ...] = ()

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do to it."""
        return self.counts is not None and self.counts.finished

    @property
    def stopped(self) -> bool:
        """Whether a finding forbids making this part: the one place that every command, nest and drawing asks."""
        return any(finding.stops for finding in self.findings)


@dataclass(frozen=True, slots=True)
class NestReport:
    """Nests of one alloy, thickness and tool, with what they cost and how good they can be.

    bound, area_bound : no nest costs less, by the stronger argument and by metal alone; None where a price lacks
    least_share : the same against what this nest takes, by price or else by area; None when it takes nothing
    trims : (part, how many) that leave the shear as rectangles and must be trimmed to their outline
    kept : as accepted before and kept in nest.lock; ``note`` what must be said of how the nests came about
    """

    material: str
    thickness: float
    tool: str
    nests: tuple[Nest, ...]
    unplaced: tuple[Unplaced, ...]
    to_buy: tuple[tuple[str, int], ...]
    cost: float | None  # None where a sheet has no price
    figure: float
    settings: int
    waste: tuple[tuple[str, float], ...]  # share of the sheets' area by what became of it
    bound: float | None = None
    area_bound: float | None = None
    least_share: float | None = None
    trims: tuple[tuple[str, int], ...] = ()
    kept: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Results:
    """A whole job. ``plan`` is the brake's, None where bending was not asked for."""

    job: Job
    parts: tuple[Developed, ...]
    findings: tuple[Finding, ...]
    nests: tuple[NestReport, ...]
    plan: BrakePlan | None = None

    @property
    def setups(self) -> tuple[Setup, ...]:
        """Brake settings in the order in which they are made."""
        return self.plan.setups if self.plan else ()

    def legs(self, part_id: str) -> tuple[Leg, ...]:
        """What the legs of a part come out to at its planned stops."""
        return self.plan.legs(part_id) if self.plan else ()

    @property
    def figures(self) -> tuple[tuple[str, float], ...]:
        """How much setting the brake's plan asks for, and how much the plain part-by-part order would."""
        if self.plan is None:
            return ()
        planned, plain = self.plan.planned, self.plan.plain
        return (
            ("nose_changes", planned.noses),
            ("stop_settings", planned.stops),
            ("settings", planned.settings),
            ("nose_changes_part_by_part", plain.noses),
            ("stop_settings_part_by_part", plain.stops),
            ("settings_part_by_part", plain.settings),
        )

    @property
    def nested(self) -> Counter[str]:
        """Pieces that are really in nests, by part."""
        nests = (nest for report in self.nests for nest in report.nests)
        return Counter(placement.part for nest in nests for placement in nest.placements)

    @property
    def finished_parts(self) -> tuple[Developed, ...]:
        """The job's own parts: no test bends, no formed lengths that parts are sawn from."""
        return tuple(made for made in self.parts if made.part.kind == "part" and not made.part.cut_list)

    @property
    def not_nested(self) -> int:
        """Pieces that were to be cut and are in no nest: of parts that are stopped, or without sheet."""
        return sum(made.pieces for made in self.parts if not made.part.cut_from) - self.nested.total()

    def waits(self, parts: Iterable[str]) -> tuple[str, ...]:
        """Test bends that some parts wait for, in order."""
        named = set(parts)
        return tuple(dict.fromkeys(mark for made in self.parts if made.part.id in named for mark in made.waits))

    def developed(self, part_id: str) -> Developed:
        """The developed part with this id."""
        return next(made for made in self.parts if made.part.id == part_id)

    @property
    def stopped(self) -> bool:
        """Whether any finding forbids going on."""
        return any(finding.stops for finding in self.findings)

    @property
    def exit_status(self) -> int:
        """What a command ends with: 3 when a finding forbids going on, 1 when only sheet is lacking, else 0."""
        stops = {finding.rule for finding in self.findings if finding.stops}
        return 3 if stops - {NO_STOCK} else int(bool(stops))
