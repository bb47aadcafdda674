"""flatgen make: the main job."""

from pathlib import Path

import click

from flatgen.cli.say import guarded


@click.command("make")
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder for the packet; out/ by default.")
@click.option("--effort", type=click.FloatRange(0, 3600), help="Seconds to search for better nests.")
@click.option("--json", "as_json", is_flag=True, help="Print results.json instead of the summary.")
@click.option("--quiet", is_flag=True, help="Print nothing but errors.")
@guarded
def command(job: Path, out: Path | None, effort: float | None, as_json: bool, quiet: bool) -> None:
    """Develop, check, nest and draw every part of JOB, and write the packet.

    \b
    Example:
      flatgen make examples/float-fittings/job.toml --out out/float-fittings

    A part with a finding that forbids going on gets no cutting drawing; the exit status is then 3.
    Test-bend first; keep hands clear of leaf and shear; wear eye protection.
    """
    from flatgen.cli.summary import print_summary
    from flatgen.make import make

    folder = out or Path("out")
    results = make(job, folder, effort)
    if as_json:
        from flatgen.write.results_json import as_text

        click.echo(as_text(results), nl=False)
    elif not quiet:
        print_summary(results, folder)
    if results.stopped:
        raise SystemExit(3)
