"""The main job as calls in order; the only place that knows the order."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypedDict

from flatgen.brake.shown import only
from flatgen.checks.letters import letters_findings
from flatgen.checks.rules import run_checks, waived
from flatgen.checks.stock import stock_findings
from flatgen.core.words import Units
from flatgen.develop.develop import develop
from flatgen.errors import CannotMake, InputError, InputErrors, nearest
from flatgen.jobs.begun import kept_layouts
from flatgen.jobs.loading import load
from flatgen.kept import keeping, kept
from flatgen.model.blank import with_sight_lines
from flatgen.model.finding import Finding, Severity
from flatgen.model.job import Job
from flatgen.model.part import Part
from flatgen.model.plan import OFFCUT, BrakePlan, Nest, Piece
from flatgen.model.results import NO_STOCK, Developed, NestReport, Results
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.model.source import DERIVED
from flatgen.said import after_head, said, size, within
from flatgen.track import Track, by_share, silent

QUARTERS = (0.0, 90.0, 180.0, 270.0)


class _Asked(TypedDict):
    """A nesting question, as it is put to the nester and to the lock."""

    pieces: list[Piece]
    sheets: tuple[Sheet, ...]
    tool: CuttingTool
    material: str
    thickness: float
    offcut: tuple[float, float]


def with_coupons(job: Job, made: tuple[Developed, ...]) -> tuple[Developed, ...]:
    """The parts with the coupons that the job still needs, ready to be nested with them."""
    if not job.coupons:
        return made
    from flatgen.records.coupon_plan import coupon_parts, needs, same_as

    def in_hand(strip: Part) -> int:
        return sum(many for key, many in job.strips if same_as(strip, key))

    parts = [one.part for one in made if not one.stopped]
    blanks = {one.part.id: one.blank for one in made}
    wanted = needs(parts, blanks, job.shop.proofs)
    coupons = coupon_parts(wanted, job.units, [one.part.id for one in made])
    sheared = {tool.name for tool in job.shop.tools if tool.method == "shear"}
    # the shear comes first on a sheet that two tools share, and so do coupons
    in_turn = sorted(made, key=lambda one: one.tool not in sheared)
    tools = {(one.part.material.key, one.part.nominal): one.tool for one in reversed(in_turn)}
    return made + tuple(
        Developed(
            part,
            develop(part, job.shop),
            "handbook",
            max(0, part.quantity - in_hand(part)),
            tools[part.material.key, part.nominal],
            (),
        )
        for part in coupons
    )


def chosen(job: Job, names: Sequence[str]) -> Job:
    """The job with only the parts named; a name of a pair stands for both hands."""
    if not names:
        return job
    parts: list[Part] = []
    for name in names:
        found = [part for part in job.parts if part.id == name or part.id in (f"{name}-L", f"{name}-R")]
        if not found:
            known = [part.id for part in job.parts]
            raise InputError(f'there is no part "{name}". {nearest(name, known)}', file=job.file)
        parts += [part for part in found if part not in parts]
    return replace(job, parts=tuple(parts))


def develop_all(job: Job, track: Track = silent) -> tuple[Developed, ...]:
    """Every part developed and checked; parts that have no flat pattern are told of in one list."""
    methods, tools = dict(job.allowance), dict(job.cutting)
    made, wrong = [], []
    for part in track(job.parts, "developing"):
        method = methods.get(part.id, job.shop.allowance)
        try:
            shop = job.shop.seen_from(part.material.key)
            blank = kept(develop, part, shop, method)
        except CannotMake as error:
            text = within(after_head(error.message, f'part "{part.id}": '), job.units)
            wrong.append(InputError(text, file=job.file, where=f'part "{part.id}"'))
            continue
        findings = kept(run_checks, part, blank, shop, job.waivers)
        counts = job.counts(part.id)
        tool = tools.get(part.id, job.shop.tools[0].name)
        made.append(Developed(part, blank, method, counts.to_cut, tool, findings, counts))
    if wrong:
        raise wrong[0] if len(wrong) == 1 else InputErrors(wrong)
    return tuple(made)


def rotations(grain: float | None) -> tuple[float, ...] | None:
    """Turns that bring a blank's grain along the width of a sheet, whose grain runs there [deg]; None: any turn."""
    if grain is None:
        return None
    return tuple(sorted(((-grain) % 360.0, (180.0 - grain) % 360.0)))


def lock_file(job: Job) -> Path:
    """Where accepted nests of a job are kept: beside its file."""
    from flatgen.nest.freeze import NAME

    return job.file.with_name(NAME)


def inputs_of(job: Job) -> tuple[Path, ...]:
    """Every file that a job is read from or keeps, none of which an output may replace."""
    from flatgen.records.book import book_path

    return (*job.sources, lock_file(job), book_path(job.shop))


def let_go(job: Job) -> bool:
    """Forget the nests that were kept of a job; False when there were none."""
    from flatgen.nest import freeze

    return freeze.let_go(lock_file(job), job.file.name)


def _left_on_hand(sheets: Iterable[Sheet], nests: Sequence[Nest]) -> tuple[Sheet, ...]:
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


def _shared(nests: Sequence[Nest], sheets: Iterable[Sheet], material: str, thickness: float) -> str:
    """Whether nests lie on what earlier ones of the job leave, or why they do not."""
    left = [s for s in sheets if s.id.startswith(OFFCUT) and s.copies and s.is_of(material, thickness)]
    used = [nest.sheet.id for nest in nests if nest.sheet.id.startswith(OFFCUT)]
    own = len(nests) - len(used)
    said = f"on what another tool leaves of its sheets: {', '.join(used)}" if used else ""
    if left and own:
        more = "" if used else "no off-cut that another tool leaves takes one of these"
        said = f"{said}; the rest does not fit there" if used else more
    return said


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
    from flatgen.nest import Halt, freeze, nest_pieces
    from flatgen.nest.offcuts import most_letter, told

    parts = tuple(parts)
    kept_sheets = kept_layouts(job, parts)
    groups: dict[tuple[str, float, str], list[Piece]] = {}
    tools = {tool.name: tool for tool in job.shop.tools}
    for made in parts:
        if made.stopped:
            continue
        key = (made.part.material.key, made.part.nominal, made.tool)
        blank = made.blank
        turns = rotations(blank.grain)
        if turns is None and tools[made.tool].method == "shear":
            turns = QUARTERS  # what is cut edge to edge gains little on the slant
        first = made.part.kind == "coupon"
        many = made.pieces - kept_sheets.pieces[made.part.id]
        piece = Piece(made.part.id, blank.outline, blank.cutouts, many, turns, made.part.turn_over, first)
        if made.pieces:
            groups.setdefault(key, []).append(piece)
    in_turn = sorted(groups.items(), key=lambda group: tools[group[0][2]].method != "shear")
    reports: list[NestReport] = []
    results, stocks, halt = {}, {}, Halt()
    lock, own = lock_file(job), job.file.name
    locked = freeze.keeps(lock, own)
    letter = 1 + most_letter(kept_sheets.nests)
    for number, ((material, thickness, tool), pieces) in enumerate(track(tuple(in_turn), "nesting"), 1):
        asked: _Asked = {
            "pieces": [piece for piece in pieces if piece.quantity],
            "sheets": _left_on_hand(
                (*kept_sheets.rests, *job.shop.sheets), [nest for report in reports for nest in report.nests]
            ),
            "tool": tools[tool],
            "material": material,
            "thickness": thickness,
            "offcut": (job.shop.offcut_width, job.shop.offcut_height),
        }
        frozen = freeze.load(lock, **asked, job=own) if locked else None
        note = ""
        if frozen is not None:
            result = frozen
            if effort:
                note = "no search was made for these: let the kept nests go first (flatgen nest JOB --let-go)"
        else:
            longer = effort if effort and not halt.asked else None
            tell = by_share(track, f"searching, nest {number} of {len(groups)}, %") if longer else None
            if longer:
                result = nest_pieces(**asked, effort=longer, progress=tell, halt=halt, minutes=job.shop.minutes)
            else:
                result = kept(nest_pieces, **asked, minutes=job.shop.minutes)
            if locked:
                note = f"nested anew, since {lock.name} keeps none for these pieces, tool and sheets as they are now"
            if effort and halt.asked:
                note += f"{'; ' if note else ''}the search was ended early, the best nest until then is used"
        shared = _shared(result.nests, asked["sheets"], material, thickness)
        note = "; ".join(filter(None, (shared, note)))
        name = freeze.digest(**asked)
        results[name] = result
        stocks[name] = freeze.stock_digest(asked["sheets"], material, thickness)
        begun = kept_sheets.of(material, thickness, tool)
        priced = all(nest.sheet.remnant or nest.sheet.cost is not None for nest in result.nests)
        waste = result.waste
        total = waste.sheets or 1.0
        shares = ("blanks", "margin", "kerf", "gap", "offcuts", "scrap")
        reports.append(
            NestReport(
                material=material,
                thickness=thickness,
                tool=tool,
                nests=(*begun, *told(result.nests, letter, asked["tool"].kerf)),
                unplaced=result.unplaced,
                to_buy=result.to_buy,
                cost=result.cost if priced else None,
                figure=result.figure,
                settings=result.settings,
                waste=tuple((name, getattr(waste, name) / total) for name in shares),
                bound=result.bound if priced else None,
                area_bound=result.area_bound if priced else None,
                least_share=result.bound / result.cost if result.cost > 0.0 else None,
                trims=result.trims,
                kept=frozen is not None,
                note=note,
            )
        )
        letter += sum(len(nest.offcuts) for nest in result.nests)
    if keep:
        freeze.save(lock, results, own, stocks)
    return tuple(reports)


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


def developed(job: Job, track: Track = silent, names: Sequence[str] = ()) -> tuple[tuple[Developed, ...], BrakePlan]:
    """Every part developed, checked and planned on the brake, with what was found at each; those named, or all.

    Which parts are stopped is settled here, once, for all commands: coupons, nests, settings and drawings are made of
    the others.
    """
    made = develop_all(job, track)
    wanted = {part.id for part in chosen(job, names).parts}
    (plan,) = [plan_brake(job, all_parts) for all_parts in track((made,), "planning the brake")]
    lines = {one.part: dict(one.sight_lines) for one in plan.planned_parts}
    seen = (replace(one, blank=with_sight_lines(one.blank, lines.get(one.part.id, {}))) for one in made)
    parts = with_coupons(job, tuple(one for one in _found(job, seen, plan.findings) if one.part.id in wanted))
    return _found(job, parts, routed(job, parts)), plan


def _found(job: Job, parts: Iterable[Developed], more: Iterable[Finding]) -> tuple[Developed, ...]:
    """The parts with these findings too, waived where the job waives them."""
    told: dict[str, list[Finding]] = {}
    for finding in (waived(finding, job.waivers) for finding in more):
        told.setdefault(finding.part, []).append(finding)
    return tuple(replace(made, findings=(*made.findings, *told.get(made.part.id, ()))) for made in parts)


def routed(job: Job, parts: Iterable[Developed]) -> Iterator[Finding]:
    """What the router's bit cannot do on the parts that a router cuts."""
    from flatgen.draw.router import router_findings, router_plan

    for made in parts:
        bit = job.shop.tool(made.tool).router_bit
        if bit and not made.stopped:
            yield from router_findings(made.part.id, bit, kept(router_plan, made.blank, bit))


def planned(job: Job, names: Sequence[str] = ()) -> Results:
    """The parts named, or all, checked and planned on the brake as they are in the packet of the whole job; no nests.

    Which face a bend is clamped by can depend on the other parts, so all are planned; only where another part has no
    flat pattern are those named planned by themselves, and are then the whole of the results' job. The plan is that
    job's: ``brake.shown.only`` cuts it down.
    """
    wanted = [part.id for part in chosen(job, names).parts]
    try:
        parts, plan = developed(job)
    except (InputError, InputErrors):
        if not names:
            raise
        job = chosen(job, names)
        parts, plan = developed(job)
    made = {one.part.id: one for one in parts}
    kept = tuple(made[name] for name in wanted)
    return Results(job, kept, tuple(finding for one in kept for finding in one.findings), (), plan)


def compute(
    job: Job, effort: float | None = None, track: Track = silent, *, keep: bool = False, names: Sequence[str] = ()
) -> Results:
    """All that is left of a job but the files: developed, checked, planned on the brake, nested.

    keep : the nests in nest.lock
    names : parts to make, with the test bends that they wait for; all when empty
    """
    parts, whole = developed(job, track, names)
    plan = left_to_bend(job, whole, [made.part.id for made in parts])
    nests = nest_all(job, parts, effort, track, keep=keep)
    findings = tuple(finding for made in parts for finding in made.findings)
    findings += (*nest_findings(nests), *stock_findings(job), *letters_findings(job))
    return Results(job, parts, findings, nests, plan)


def left_to_bend(job: Job, plan: BrakePlan, parts: Collection[str]) -> BrakePlan:
    """The plan with what is still to be bent of some parts; its settings keep their numbers."""
    return only(plan, parts, lambda part, bend: job.counts(part).left(bend))


def plan_brake(job: Job, parts: Iterable[Developed]) -> BrakePlan:
    """Brake settings for every part that no finding forbids; coupons are bent at the settings that they prove."""
    from flatgen.brake.plan import plan_job

    def pieces(made: Developed) -> int:
        # a part that is finished keeps its place, so that the settings of the others stay as they are
        return max(1, made.pieces + made.counts.in_work) if made.counts else made.pieces

    wanted = [made for made in parts if not made.stopped and made.part.kind == "part"]
    return plan_job(
        [made.part for made in wanted],
        {made.part.id: made.blank for made in wanted},
        job.shop,
        {made.part.id: pieces(made) for made in wanted},
        forbids=lambda finding: waived(finding, job.waivers).stops,
    )


def shown_in(results: Results, units: Units | None) -> Results:
    """The same results with their sizes shown in other units: what was computed stays as it is."""
    return results if units is None else replace(results, job=replace(results.job, units=units))


def make(
    path: Path,
    out: Path,
    effort: float | None = None,
    track: Track = silent,
    *,
    units: Units | None = None,
    whole: bool = False,
    names: Sequence[str] = (),
    into: bool = False,
) -> Results:
    """The main job: everything computed, then the packet written, all of it or nothing.

    units : "in" or "mm" for what is shown; the job's own when None
    whole : as if nothing had been made yet
    names : parts to make, all when empty
    into : the user allows a folder that holds files of others
    """
    from flatgen.drawings import enclosures, subjects
    from flatgen.output.folder import check_folder, written_folder
    from flatgen.write.packet import write_packet

    job = load(path, whole=whole)
    check_folder(out, into=into)
    with keeping():
        results = shown_in(compute(job, effort, track, names=names), units)
        drawn = enclosures(results, track)
        with written_folder(out, "make", into=into, inputs=inputs_of(job), gone=lambda name: True) as folder:
            write_packet(results, drawn, subjects(results), folder)
    return results
