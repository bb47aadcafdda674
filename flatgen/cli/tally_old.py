"""What flatgen tally decides on blanks that were cut to old figures: used as they are, or reworked."""

from pathlib import Path

import click

from flatgen.cli.tally_entry import of_pieces
from flatgen.model.tally import Event


def decide(job: Path, event: Event, book: Path | None) -> None:
    """Enter what becomes of blanks that were cut to old figures, and say it."""
    from flatgen.jobs.tallying import tally_place
    from flatgen.records.book import open_book
    from flatgen.records.stale import decide as enter_decision

    at = tally_place(job, book)
    at.part(event.part)
    with open_book(at.book) as opened, opened.entering():
        said = enter_decision(opened, at.title, at.order, event, at.units, at.basis)
    click.echo(f"Entered: {said}")


COMMANDS = (
    of_pieces(
        "use",
        "used",
        "Use PIECES of PART as they were cut to old figures; the deviation goes on its record.",
        "TF-101 2 --by R",
        decide,
    ),
    of_pieces(
        "rework",
        "reworked",
        "Enter that PIECES of PART, cut to old figures, were brought to the new ones.",
        "TF-101 2 --by R",
        decide,
    ),
)
