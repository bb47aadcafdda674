"""flatgen nest: nests only."""

from pathlib import Path

import click

from flatgen.cli.say import guarded


@click.command("nest")
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--effort", type=click.FloatRange(0, 3600), help="Seconds to search for better nests.")
@click.option("--json", "json_wanted", is_flag=True, help="Print results.json.")
@guarded
def command(job: Path, effort: float | None, json_wanted: bool) -> None:
    """Nest every part of JOB on the shop's sheets and say what they take; nothing is written.

    \b
    Example:
      flatgen nest examples/float-fittings/job.toml
    """
    from flatgen.cli.summary import print_summary
    from flatgen.make import compute, load

    results = compute(load(job), effort)
    if json_wanted:
        from flatgen.write.results_json import as_text

        click.echo(as_text(results), nl=False)
    else:
        print_summary(results, None)
    if results.stopped:
        raise SystemExit(3)
