"""flatgen nest: nests only."""

from pathlib import Path

import click

from flatgen.cli.options import EFFORT, JOB, UNITS, json_option
from flatgen.cli.say import guarded
from flatgen.units import Units


@click.command("nest")
@JOB
@EFFORT
@UNITS
@json_option("the results")
@guarded
def command(job: Path, effort: float | None, units: Units | None, json_wanted: bool) -> None:
    """Nest every part of JOB on the shop's sheets and say what they take; nothing is written.

    \b
    Example:
      flatgen nest examples/float-fittings/job.toml
    """
    from flatgen.cli.progress import progress
    from flatgen.cli.summary import print_summary
    from flatgen.make import compute, load, shown_in

    with progress(json_wanted) as track:
        results = shown_in(compute(load(job), effort, track), units)
    if json_wanted:
        from flatgen.write.results_json import as_text

        click.echo(as_text(results), nl=False)
    else:
        print_summary(results, None, bending=False)
    if results.stopped:
        raise SystemExit(3)
