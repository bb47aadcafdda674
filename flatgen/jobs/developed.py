"""The parts of a job developed, checked and planned on the brake, with the test bends that they still need."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from flatgen.checks.rules import run_checks, waived
from flatgen.checks.ways import way_findings
from flatgen.develop.develop import develop
from flatgen.errors import CannotMake, InputError, InputErrors, nearest
from flatgen.kept import kept
from flatgen.model.blank import with_sight_lines
from flatgen.model.finding import Finding
from flatgen.model.job import Job
from flatgen.model.part import Part
from flatgen.model.plan import BrakePlan
from flatgen.model.results import Developed
from flatgen.said import after_head, within
from flatgen.tally.order import figures_of
from flatgen.track import Track, silent


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
    return _found(job, parts, (*routed(job, parts), *_old_blanks(job, parts))), plan


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
        findings = (*kept(run_checks, part, blank, shop, job.waivers), *way_findings(part))
        counts = job.counts(part.id)
        tool = tools.get(part.id, job.shop.tools[0].name)
        made.append(Developed(part, blank, method, counts.to_cut, tool, findings, counts))
    if wrong:
        raise wrong[0] if len(wrong) == 1 else InputErrors(wrong)
    return tuple(made)


def plan_brake(job: Job, parts: Iterable[Developed]) -> BrakePlan:
    """Brake settings for every part that no finding forbids; coupons are bent at the settings that they prove."""
    from flatgen.brake.plan import plan_job

    def pieces(made: Developed) -> int:
        # a part that is finished keeps its place, so that the settings of the others stay as they are
        return max(1, made.pieces + made.counts.in_work) if made.counts else made.pieces

    wanted = [made for made in parts if not made.stopped and made.part.kind == "part" and not made.part.cut_from]
    return plan_job(
        [made.part for made in wanted],
        {made.part.id: made.blank for made in wanted},
        job.shop,
        {made.part.id: pieces(made) for made in wanted},
        forbids=lambda finding: waived(finding, job.waivers).stops,
    )


def with_coupons(job: Job, made: tuple[Developed, ...]) -> tuple[Developed, ...]:
    """The parts with the coupons that the job still needs, ready to be nested with them."""
    if not job.coupons:
        return made
    from flatgen.records.coupon_plan import coupon_parts, marked, needs, same_as, waits

    def in_hand(strip: Part) -> int:
        return sum(many for key, many in job.strips if same_as(strip, key))

    parts = [one.part for one in made if not one.stopped]
    blanks = {one.part.id: one.blank for one in made}
    plan = marked(needs(parts, blanks, job.shop.proofs), [one.part.id for one in made])
    coupons = coupon_parts(plan, job.units)
    waiting = {one.part.id: waits(one.part, one.blank, plan) for one in made}
    sheared = {tool.name for tool in job.shop.tools if tool.edge_to_edge}
    # the shear comes first on a sheet that two tools share, and so do coupons
    in_turn = sorted(made, key=lambda one: one.tool not in sheared)
    tools = {(one.part.material.key, one.part.nominal): one.tool for one in reversed(in_turn)}
    made = tuple(replace(one, waits=waiting[one.part.cut_from or one.part.id]) for one in made)
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


def routed(job: Job, parts: Iterable[Developed]) -> Iterator[Finding]:
    """What the router's bit cannot do on the parts that a router cuts."""
    from flatgen.draw.router import router_findings, router_plan

    for made in parts:
        bit = job.shop.tool(made.tool).router_bit
        if bit and not made.stopped:
            yield from router_findings(made.part.id, bit, kept(router_plan, made.blank, bit))


def _old_blanks(job: Job, parts: Iterable[Developed]) -> tuple[Finding, ...]:
    """Blanks in work that were cut to figures of before."""
    if not job.lots:
        return ()
    from flatgen.records.stale import old_blank_findings

    return old_blank_findings(
        job.lots, {made.part.id: figures_of(made.part, made.blank) for made in parts if made.counts}
    )


def _found(job: Job, parts: Iterable[Developed], more: Iterable[Finding]) -> tuple[Developed, ...]:
    """The parts with these findings too, waived where the job waives them."""
    told: dict[str, list[Finding]] = {}
    for finding in (waived(finding, job.waivers) for finding in more):
        told.setdefault(finding.part, []).append(finding)
    return tuple(replace(made, findings=(*made.findings, *told.get(made.part.id, ()))) for made in parts)
