"""An evening of a job: what is left, planned as make plans it, cut down to the time there is."""

from pathlib import Path

from flatgen.jobs.loading import load
from flatgen.jobs.make import compute, inputs_of
from flatgen.kept import keeping
from flatgen.model.results import Results
from flatgen.tally.tonight import Task, tonight


def evening(path: Path, minutes: float, book: Path | None = None) -> tuple[Results, tuple[Task, ...]]:
    """What is left of a job, and what to do of it in so many minutes."""
    with keeping():
        results = compute(load(path, book=book))
    return results, tonight(results, minutes)


def write_tally(results: Results, minutes: float, out: Path) -> None:
    """The tally and the evening as a PDF."""
    from flatgen.drawings import tally_drawings
    from flatgen.output.single import written_file
    from flatgen.write.pdf import write_pages

    (drawn,) = tally_drawings(results, minutes)
    with written_file(out, "pdf", "tally", inputs_of(results.job)) as path:
        write_pages(drawn.drawings, path)
