"""flatgen bench: the whole job on a page in the browser."""

import sys
from pathlib import Path

import click

from flatgen.cli.say import folded, guarded

PHONE = (
    "Take care: with --phone this machine answers others on its network, without encryption. Who reads along there can"
    " enter into the tally. Use it on a network of your own only, and end it when the evening ends."
)


@click.command("bench")
@click.argument("job", type=click.Path(path_type=Path), default=".")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port on this machine; any free one by default.")
@click.option("--no-open", is_flag=True, help="Do not open the browser; print the address only.")
@click.option("--phone", is_flag=True, help="Offer tally and settings to one paired phone on the local network.")
@guarded
def command(job: Path, port: int, no_open: bool, phone: bool) -> None:
    """Open the bench page of JOB, a job file or its folder: describe, see, decide, nest, plan, print, tally.

    \b
    Example:
      flatgen bench examples/float-fittings/job.toml

    Where there is no job yet, the page asks for what it needs and writes the files. They stay yours: change them by
    hand at any time, the page sees it. The page is for the browser of this machine only; its address holds a token, so
    keep it to yourself. Ctrl-C ends it.
    Test-bend first; keep hands clear of leaf and shear; wear eye protection.
    """
    from flatgen.served.start import Asked, Opened, job_file, own_address, serve

    def opened(at: Opened) -> None:
        click.echo(f"The bench page: {at.address}")
        if at.phone is not None:
            click.echo(f"For the phone: {at.phone.address}   code: {at.phone.code}")
            click.echo(folded(PHONE, sys.stderr), err=True)
            at.phone.renewed = lambda code: click.echo(f"New code for a phone: {code}")
        click.echo("Ctrl-C ends it.", err=True)
        if not no_open:
            click.launch(at.address)

    serve(Asked(job_file(job), port, own_address() if phone else ""), opened)
