"""flatgen bench: the whole job on a page in the browser."""

from pathlib import Path

import click

from flatgen.cli.say import guarded


@click.command("bench")
@click.argument("job", type=click.Path(path_type=Path), default=".")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port on this machine; any free one by default.")
@click.option("--no-open", is_flag=True, help="Do not open the browser; print the address only.")
@guarded
def command(job: Path, port: int, no_open: bool) -> None:
    """Open the bench page of JOB, a job file or its folder: describe, see, decide, nest, plan, print, tally.

    \b
    Example:
      flatgen bench examples/float-fittings/job.toml

    Where there is no job yet, the page asks for what it needs and writes the files. They stay yours: change them by
    hand at any time, the page sees it. The page is for the browser of this machine only; its address holds a token, so
    keep it to yourself. Ctrl-C ends it.
    Test-bend first; keep hands clear of leaf and shear; wear eye protection.
    """
    from flatgen.served.start import job_file, serve

    def opened(address: str) -> None:
        click.echo(f"The bench page: {address}")
        click.echo("Ctrl-C ends it.", err=True)
        if not no_open:
            click.launch(address)

    serve(job_file(job), port, opened)
