"""The brake set-up sheets of a job as calls in order; beside ``make``, it knows the order for this one command."""

from dataclasses import dataclass, replace
from pathlib import Path

from flatgen.make import chosen, developed, load
from flatgen.model.results import Results
from flatgen.units import Units


@dataclass(frozen=True, slots=True)
class Made:
    """What was planned, and the file written: None when there is nothing to bend."""

    results: Results
    file: Path | None


def make_setups(path: Path, names: tuple[str, ...], out: Path, units: Units | None) -> Made:
    """Plan the brake for a job, or for the parts named, and write the set-up sheets into one PDF."""
    from flatgen.drawings import setup_drawings
    from flatgen.write.pdf import write_pages

    job = chosen(load(path), names)
    if units is not None:
        job = replace(job, units=units)
    parts, plan = developed(job)
    results = Results(job, parts, tuple(f for made in parts for f in made.findings), (), plan)
    sheets = [drawing for enclosure in setup_drawings(results) for drawing in enclosure.drawings]
    if not sheets:
        return Made(results, None)
    out.parent.mkdir(parents=True, exist_ok=True)
    aside = out.with_name(out.name + ".new")
    try:
        write_pages(sheets, aside)
        aside.replace(out)
    finally:
        aside.unlink(missing_ok=True)
    return Made(results, out)
