"""What flatgen tally prints for bags, and the photographs that it keeps."""

from pathlib import Path

import click

from flatgen.cli.options import FILE
from flatgen.cli.say import guarded
from flatgen.cli.tally_entry import BOOK, BY, JOB, NOTE
from flatgen.core.words import counted


@click.command("labels")
@JOB
@click.argument("parts", nargs=-1)
@click.option("--out", type=FILE, default=Path("bags.pdf"), show_default=True, help="File to write.")
@BOOK
@guarded
def labels(job: Path, parts: tuple[str, ...], out: Path, book: Path | None) -> None:
    """Print labels for bags of JOB, or of some PARTS: part, hand, revision, count, metal, sheets, job.

    \b
    Example:
      flatgen tally labels examples/float-fittings/job.toml --out out/bags.pdf

    A bag a part that has pieces; good ones are counted, else those in work.
    """
    from flatgen.jobs.bags import write_bag_labels

    made = write_bag_labels(job, parts, out, book)
    click.echo(f"Drawn: {out}, {counted(made, 'label')}", err=True)


@click.command("photo")
@JOB
@click.argument("part")
@click.argument("file", type=FILE)
@click.option("--of", "about", default="", help="What it shows: a piece, a coupon, an entry.")
@BOOK
@BY
@NOTE
@guarded
def photo(job: Path, part: str, file: Path, about: str, book: Path | None, by: str, note: str) -> None:
    """Keep the photograph FILE of a piece, coupon or reject of PART: it is copied beside the book, by its digest.

    \b
    Example:
      flatgen tally photo examples/float-fittings/job.toml TF-102 crack.jpg --of "entry 12" --by R
    """
    from flatgen.jobs.tallying import tally_place
    from flatgen.records.photos import keep_photo

    at = tally_place(job, book)
    number, kept = keep_photo(at.book, at.title, part, file, about, by, note)
    click.echo(f"Entered: {number}, kept as {kept}")


COMMANDS = (labels, photo)
