"""The main job as calls in order; the only place that knows the order."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from flatgen.brake.shown import only
from flatgen.checks.letters import letters_findings
from flatgen.checks.stock import stock_findings
from flatgen.core.words import Units
from flatgen.errors import InputError, InputErrors
from flatgen.jobs.developed import chosen, developed
from flatgen.jobs.nests import lock_file, nest_all, nest_findings
from flatgen.kept import keeping
from flatgen.model.job import Job
from flatgen.model.plan import BrakePlan
from flatgen.model.results import Results
from flatgen.track import Track, silent


def inputs_of(job: Job) -> tuple[Path, ...]:
    """Every file that a job is read from or keeps, none of which an output may replace."""
    from flatgen.records.book import book_path

    return (*job.sources, lock_file(job), book_path(job.shop))


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
    return only(plan, parts, lambda part, bend: job.counts(part).at(bend))


def shown_in(results: Results, units: Units | None) -> Results:
    """The same results with their sizes shown in other units: what was computed stays as it is."""
    return results if units is None else replace(results, job=replace(results.job, units=units))


@dataclass(frozen=True, slots=True)
class How:
    """How a job is made.

    effort : time to search for better nests of each alloy [s]
    units : "in" or "mm" for what is shown; the job's own when None
    whole : as if nothing had been made yet
    names : parts to make, all when empty
    into : the user allows a folder that holds files of others
    """

    effort: float | None = None
    units: Units | None = None
    whole: bool = False
    names: tuple[str, ...] = ()
    into: bool = False


PLAINLY = How()


def make(job: Job, out: Path, how: How = PLAINLY, track: Track = silent) -> Results:
    """The main job: everything computed, then the packet written, all of it or nothing."""
    from flatgen.drawings import enclosures, subjects
    from flatgen.output.folder import written_folder
    from flatgen.write.packet import write_packet

    with keeping():
        results = shown_in(compute(job, how.effort, track, names=how.names), how.units)
        drawn = enclosures(results, track)
        with written_folder(out, "make", into=how.into, inputs=inputs_of(job), gone=lambda name: True) as folder:
            write_packet(results, drawn, subjects(results), folder)
    return results
