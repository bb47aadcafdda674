"""The brake settings of a job as calls in order; beside ``make``, it knows the order for this one command."""

from dataclasses import dataclass, replace
from pathlib import Path

from flatgen.core.words import Units
from flatgen.jobs.loading import load
from flatgen.jobs.make import inputs_of, left_to_bend, planned
from flatgen.model.results import Results


@dataclass(frozen=True, slots=True)
class Made:
    """What was planned, and the file written: None when there is nothing to bend.

    alone : parts were named and planned by themselves, since another part of the job has no flat pattern
    """

    results: Results
    file: Path | None
    alone: bool = False


def make_setups(path: Path, names: tuple[str, ...], out: Path, units: Units | None) -> Made:
    """Plan the brake for a job and write the settings, all or those of the parts named, into one PDF."""
    from flatgen.drawings import setup_drawings
    from flatgen.output.single import check_file, written_file
    from flatgen.write.pdf import write_pages

    job = load(path)
    check_file(out, "pdf", "setup", inputs_of(job))
    if units is not None:
        job = replace(job, units=units)
    results = planned(job, names)
    alone = len(results.job.parts) < len(job.parts)
    if results.plan is not None:
        left = left_to_bend(results.job, results.plan, [made.part.id for made in results.parts])
        results = replace(results, plan=left)
    sheets = [drawing for enclosure in setup_drawings(results) for drawing in enclosure.drawings]
    if not sheets:
        return Made(results, None, alone)
    with written_file(out, "pdf", "setup", inputs_of(job)) as path:
        write_pages(sheets, path)
    return Made(results, out, alone)
