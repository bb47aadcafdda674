"""What flatgen stock does with the shop's book as a file: copies, a look through, restoring, export."""

from pathlib import Path

import click

from flatgen.cli.options import FILE, FOLDER, INTO
from flatgen.cli.say import guarded
from flatgen.cli.shop_book import Place, at_the_book


@click.command("backup")
@click.argument("target", type=FILE, required=False)
@guarded
@at_the_book
def backup_(target: Path | None, at: Place) -> None:
    """Copy the whole book to TARGET, or beside it with date and time; also while others write to it.

    \b
    Example:
      flatgen stock backup --shop examples/float-fittings/shop.toml

    The copy is checked, is one file, and never takes the place of another.
    """
    from flatgen.records.backups import backup

    click.echo(f"Copied to {backup(at.book, target)}")


@click.command("verify")
@guarded
@at_the_book
def verify_(at: Place) -> None:
    """Look through the whole book: every entry is as it was entered, none is missing or was put in between.

    \b
    Example:
      flatgen stock verify --shop examples/float-fittings/shop.toml

    Each entry is sealed with the one before it. What does not hold is listed by table, entry and date, and the exit
    status is then 1. Write the last seal down, and a later look tells whether entries were taken off the end.
    """
    from flatgen.core.words import counted
    from flatgen.errors import RecordError
    from flatgen.records.backups import verify

    found = verify(at.book)
    if found.faults:
        listed = "\n".join(f"  {fault}" for fault in found.faults)
        raise RecordError(
            f"{at.book}: the book is damaged:\n{listed}\nflatgen stock restore puts the last sound copy in its place"
        )
    if not found.seal:
        click.echo(f"{at.book}: sound; its entries have no seals yet, the next entry brings them")
        return
    click.echo(
        f"{at.book}: sound, {counted(found.entries, 'sealed entry', 'sealed entries')}, the last seal {found.seal[:16]}"
    )


@click.command("restore")
@click.argument("copy", type=FILE, required=False)
@guarded
@at_the_book
def restore_(copy: Path | None, at: Place) -> None:
    """Put COPY in the place of the book, or the latest sound one of the copies that are kept day by day.

    \b
    Example:
      flatgen stock restore --shop examples/float-fittings/shop.toml

    A copy is made before the first entry of each day, in a folder beside the book, and the last ten are kept. The book
    as it was is set aside beside it. What was entered since the copy is to be entered again.
    """
    from flatgen.records.backups import restore

    taken, aside = restore(at.book, copy)
    click.echo(f"{at.book} is now as in {taken}")
    if aside is not None:
        click.echo(f"What was there is set aside as {aside}")


@click.command("export")
@click.argument("folder", type=FOLDER)
@INTO
@guarded
@at_the_book
def export(folder: Path, into: bool, at: Place) -> None:
    """Write every table of the book to FOLDER as CSV, mm and degrees, corrected entries included.

    \b
    Example:
      flatgen stock export out/book-csv
    """
    from flatgen.records.export import export_csv

    files = export_csv(at.book, folder, into=into)
    click.echo(f"{folder}: {', '.join(file.name for file in files)}")


COMMANDS = (backup_, verify_, restore_, export)
