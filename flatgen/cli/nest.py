"""flatgen nest: nests only."""

from pathlib import Path

import click

from flatgen.cli.options import EFFORT, JOB, UNITS, json_option
from flatgen.cli.say import guarded
from flatgen.core.words import Units


@click.command("nest")
@JOB
@EFFORT
@UNITS
@click.option("--keep", is_flag=True, help="Keep these nests in nest.lock beside JOB, so that a reprint moves nothing.")
@click.option("--let-go", is_flag=True, help="Forget the nests kept of JOB, then nest anew.")
@json_option("the results")
@guarded
def command(job: Path, effort: float | None, units: Units | None, keep: bool, let_go: bool, json_wanted: bool) -> None:
    """Nest every part of JOB on the shop's sheets and say what they take; nothing is written unless nests are kept.

    \b
    Example:
      flatgen nest examples/float-fittings/job.toml

    Kept nests are used by make and nest for as long as pieces and tool stay the same and their sheets are there.
    Ctrl-C during a longer search (--effort) ends it with the best nest so far.
    """
    from flatgen.cli.progress import progress
    from flatgen.cli.summary import print_summary
    from flatgen.jobs import make, nests
    from flatgen.jobs.loading import load

    if keep and let_go:
        raise click.UsageError("--keep and --let-go say opposite things; let go first, then look, then keep.")
    whole = load(job)
    lock = nests.lock_file(whole)
    if let_go:
        gone = nests.let_go(whole)
        click.echo(f"{lock}: {f'nests of {job.name} let go' if gone else 'no nests are kept here'}", err=True)
    with progress(json_wanted) as track:
        results = make.shown_in(make.compute(whole, effort, track, keep=keep), units)
    if json_wanted:
        from flatgen.write.results_json import as_text

        click.echo(as_text(results), nl=False)
    else:
        print_summary(results, None, bending=False)
    if keep:
        click.echo(f"{lock}: these nests are kept; flatgen nest {job} --let-go forgets them", err=True)
    if results.exit_status:
        raise SystemExit(results.exit_status)
