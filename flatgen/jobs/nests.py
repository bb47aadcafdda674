"""The nests of a job: what is left to cut, group by group, from what earlier groups and sheets begun leave."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from flatgen.jobs.begun import Kept, kept_layouts
from flatgen.kept import kept
from flatgen.model.finding import Finding, Severity
from flatgen.model.job import Job
from flatgen.model.plan import OFFCUT, Nest, Piece
from flatgen.model.results import NO_STOCK, Developed, NestReport
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.model.source import DERIVED
from flatgen.nest import Longer, Problem, freeze
from flatgen.nest.offcuts import told
from flatgen.nest.result import NestResult
from flatgen.said import said, size
from flatgen.track import Track, by_share, silent

QUARTERS = (0.0, 90.0, 180.0, 270.0)
SHARES = ("blanks", "margin", "kerf", "gap", "offcuts", "scrap")
Group = tuple[str, float, CuttingTool]  # alloy, nominal thickness, cut with


@dataclass(slots=True)
class _Search:
    """How the groups of a job are answered: from nest.lock, else by nesting, longer where time was given."""

    job: Job
    effort: float | None
    track: Track
    count: int  # groups there are
    ended: bool = False  # whether the user has ended a longer search

    def answer(self, number: int, problem: Problem) -> tuple[NestResult, bool, str]:
        """Nests of a group, whether they were kept, and what is to be told of that."""
        from flatgen.nest import nest_pieces

        lock, own = lock_file(self.job), self.job.file.name
        locked = freeze.keeps(lock, own)
        frozen = freeze.load(lock, problem, own) if locked else None
        if frozen is not None:
            more = "no search was made for these: let the kept nests go first (flatgen nest JOB --let-go)"
            return frozen, True, more if self.effort else ""
        if self.effort and not self.ended:
            longer = Longer(self.effort, by_share(self.track, f"searching, nest {number} of {self.count}, %"))
            result = nest_pieces(problem, longer)
            self.ended = longer.ended
        else:
            result = kept(nest_pieces, problem)
        notes = []
        if locked:
            notes.append(f"nested anew, since {lock.name} keeps none for these pieces, tool and sheets as they are now")
        if self.effort and self.ended:
            notes.append("the search was ended early, the best nest until then is used")
        return result, False, "; ".join(notes)


def nest_all(
    job: Job, parts: Iterable[Developed], effort: float | None = None, track: Track = silent, *, keep: bool = False
) -> tuple[NestReport, ...]:
    """Nests of every alloy, thickness and tool, in the order in which the job first names them: of what is left to cut.

    What one takes from the stock on hand is gone for the next, and its off-cuts are there for another tool; the shear
    comes before tools that cut along outlines, since it needs the whole sheet. Those kept in the job's nest.lock come
    back as they are; a sheet that was begun keeps its layout. When the user ends a longer search, the best so far
    stands and what is left is nested quickly.

    keep : write all of them to nest.lock
    """
    parts = tuple(parts)
    begun = kept_layouts(job, parts)
    groups = _groups(job, parts, begun)
    search = _Search(job, effort, track, len(groups))
    reports: list[NestReport] = []
    results, stocks = {}, {}
    taken = {offcut.id for nest in begun.nests for offcut in nest.offcuts}
    for number, ((material, thickness, tool), pieces) in enumerate(track(groups, "nesting"), 1):
        earlier = [nest for report in reports for nest in report.nests]
        on_hand = left_on_hand((*begun.rests, *job.shop.sheets), earlier)
        problem = Problem(
            [piece for piece in pieces if piece.quantity],
            tuple(sheet for sheet in on_hand if sheet.is_of(material, thickness)),
            tool,
            (job.shop.offcut_width, job.shop.offcut_height),
            job.shop.minutes,
            metal=(material, thickness),
        )
        result, frozen, note = search.answer(number, problem)
        note = "; ".join(filter(None, (_shared(result.nests, problem.stock), note)))
        name = freeze.digest(problem)
        results[name], stocks[name] = result, freeze.stock_digest(problem.stock)
        old = begun.of(material, thickness, tool.name)
        nests = (*old, *told(result.nests, 1 + len(earlier) + len(old), tool.kerf, taken))
        reports.append(replace(_report(problem, result), nests=nests, kept=frozen, note=note))
    if keep:
        freeze.save(lock_file(job), results, job.file.name, stocks)
    return tuple(reports)


def _groups(job: Job, parts: Iterable[Developed], begun: Kept) -> tuple[tuple[Group, list[Piece]], ...]:
    """What is to be cut of each alloy, thickness and tool, the shear's groups first."""
    groups: dict[tuple[str, float, str], list[Piece]] = {}
    for made in parts:
        if made.stopped or made.part.cut_from or not made.pieces:
            continue
        blank = made.blank
        turns = rotations(blank.grain)
        if turns is None and job.shop.tool(made.tool).edge_to_edge:
            turns = QUARTERS  # what is cut edge to edge gains little on the slant
        first = made.part.kind == "coupon"
        many = made.pieces - begun.pieces[made.part.id]
        piece = Piece(made.part.id, blank.outline, blank.cutouts, many, turns, made.part.turn_over, first)
        groups.setdefault((made.part.material.key, made.part.nominal, made.tool), []).append(piece)
    found = [((metal, thickness, job.shop.tool(tool)), pieces) for (metal, thickness, tool), pieces in groups.items()]
    return tuple(sorted(found, key=lambda group: not group[0][2].edge_to_edge))


def _report(problem: Problem, result: NestResult) -> NestReport:
    """What is told of how good nests are; costs and bounds where every sheet has its price."""
    priced = all(nest.sheet.remnant or nest.sheet.cost is not None for nest in result.nests)
    total = result.waste.sheets or 1.0
    return NestReport(
        material=problem.metal[0],
        thickness=problem.metal[1],
        tool=problem.tool.name,
        nests=result.nests,
        unplaced=result.unplaced,
        to_buy=result.to_buy,
        cost=result.cost if priced else None,
        figure=result.figure,
        settings=result.settings,
        waste=tuple((name, getattr(result.waste, name) / total) for name in SHARES),
        bound=result.bound if priced else None,
        area_bound=result.area_bound if priced else None,
        least_share=result.bound / result.cost if result.cost > 0.0 else None,
        trims=result.trims,
    )


def left_on_hand(sheets: Iterable[Sheet], nests: Sequence[Nest]) -> tuple[Sheet, ...]:
    """What earlier nests of the job leave: their off-cuts, and the stock less the sheets that they take."""
    taken = Counter(nest.sheet.id for nest in nests)
    left = (
        replace(
            nest.sheet,
            id=f"{OFFCUT}{o.id}",
            width=o.width,
            height=o.height,
            copies=1,
            cost=None,
            remnant=True,
            bad_areas=(),
        )
        for nest in nests
        for o in nest.offcuts
    )
    return tuple(
        sheet if sheet.copies is None else replace(sheet, copies=max(0, sheet.copies - taken[sheet.id]))
        for sheet in (*left, *sheets)
    )


def _shared(nests: Sequence[Nest], sheets: Iterable[Sheet]) -> str:
    """Whether nests lie on what earlier ones of the job leave, or why they do not."""
    left = [s for s in sheets if s.id.startswith(OFFCUT) and s.copies]
    used = [nest.sheet.id for nest in nests if nest.sheet.id.startswith(OFFCUT)]
    own = len(nests) - len(used)
    said = f"on what another tool leaves of its sheets: {', '.join(used)}" if used else ""
    if left and own:
        more = "" if used else "no off-cut that another tool leaves takes one of these"
        said = f"{said}; the rest does not fit there" if used else more
    return said


def nest_findings(reports: Iterable[NestReport]) -> tuple[Finding, ...]:
    """A finding for every piece that no sheet takes."""
    return tuple(
        Finding(
            rule=NO_STOCK,
            severity=Severity.FORBID,
            part=left.part,
            where="stock",
            value=float(left.quantity),
            limit=0.0,
            message=said(
                f"{left.quantity} of it, {report.material} ",
                size(report.thickness),
                f", find no place on a sheet: {left.reason}",
            ),
            todo="write or book the sheets that are wanted ([[sheet]], flatgen stock)",
            source=str(DERIVED),
            unit="pieces",
        )
        for report in reports
        for left in report.unplaced
    )


def rotations(grain: float | None) -> tuple[float, ...] | None:
    """Turns that bring a blank's grain along the width of a sheet, whose grain runs there [deg]; None: any turn."""
    if grain is None:
        return None
    return tuple(sorted(((-grain) % 360.0, (180.0 - grain) % 360.0)))


def lock_file(job: Job) -> Path:
    """Where accepted nests of a job are kept: beside its file."""
    return job.file.with_name(freeze.NAME)


def let_go(job: Job) -> bool:
    """Forget the nests that were kept of a job; False when there were none."""
    return freeze.let_go(lock_file(job), job.file.name)
