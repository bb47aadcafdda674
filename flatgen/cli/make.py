"""flatgen make: the main job."""

from pathlib import Path

import click

from flatgen.cli.options import EFFORT, INTO, JOB, QUIET, UNITS, json_option
from flatgen.cli.say import guarded
from flatgen.core.words import Units


@click.command("make")
@JOB
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder for the packet; out/ by default.")
@INTO
@EFFORT
@UNITS
@click.option("--remake", is_flag=True, help="Make only rejected pieces again, on remnants first.")
@click.option("--watch", is_flag=True, help="Make again whenever a file of the job is saved, until Ctrl-C.")
@json_option("results.json")
@QUIET
@guarded
def command(
    job: Path,
    out: Path | None,
    into: bool,
    effort: float | None,
    units: Units | None,
    remake: bool,
    watch: bool,
    json_wanted: bool,
    quiet: bool,
) -> None:
    """Develop, check, nest and draw every part of JOB, plan the brake, and write the packet.

    \b
    Example:
      flatgen make examples/float-fittings/job.toml --out out/float-fittings

    A part with a finding that forbids going on gets no cutting drawing; the exit status is then 3. A run that fails or
    is interrupted leaves the packet that was there before. Files of yours in the folder stay.
    Test-bend first; keep hands clear of leaf and shear; wear eye protection.
    """
    folder = out or Path("out")

    def once() -> int:
        return _make(job, folder, into, effort, units, remake, json_wanted, quiet)

    if watch:
        from flatgen.cli.watch import again_and_again

        again_and_again(job, folder, once)
    elif status := once():
        raise SystemExit(status)


def _make(
    job: Path,
    folder: Path,
    into: bool,
    effort: float | None,
    units: Units | None,
    remake: bool,
    json_wanted: bool,
    quiet: bool,
) -> int:
    """Make once and say what was made; the exit status."""
    from flatgen.cli.progress import progress
    from flatgen.cli.summary import print_summary
    from flatgen.jobs.make import make

    with progress(quiet or json_wanted) as track:
        results = make(job, folder, effort, track, units=units, remake=remake, into=into)
    if json_wanted:
        from flatgen.write.results_json import as_text

        click.echo(as_text(results), nl=False)
    elif not quiet:
        print_summary(results, folder)
    return results.exit_status
