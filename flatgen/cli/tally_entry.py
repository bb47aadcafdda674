"""Entries of the tally from what a person writes: words of a command, rows of a CSV file, answers at the bench."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click

from flatgen.cli.options import FILE
from flatgen.cli.say import guarded
from flatgen.errors import FlatgenError, InputError, InputErrors, of_file
from flatgen.model.tally import Event

JOB = click.argument("job", type=FILE)
PIECES = click.argument("pieces", type=click.IntRange(1, 100_000))
BOOK = click.option("--book", type=FILE, help="The shop's book; the one of the shop file by default.")
BY = click.option("--by", default="", help="Who did it.")
NOTE = click.option("--note", default="", help="Remark.")


def enter(job: Path, events: Sequence[Event], book: Path | None) -> None:
    """Enter events of a job, all or none, and say how far their parts are now."""
    from flatgen.jobs.tallying import entered, tally_place

    for line in entered(tally_place(job, book), events):
        click.echo(f"Entered: {line}")


def of_pieces(
    name: str, kind: str, doc: str, example: str, act: Callable[[Path, Event, Path | None], None]
) -> click.Command:
    """A command that enters one kind of event for so many pieces of a part."""

    @guarded
    def entered(job: Path, part: str, pieces: int, book: Path | None, by: str, note: str) -> None:
        act(job, Event(kind, part, pieces, by=by, note=note), book)

    named: Callable[..., Any] = entered
    for option in (NOTE, BY, BOOK, PIECES, click.argument("part"), JOB):
        named = option(named)
    text = f"{doc}\n\n\b\nExample:\n  flatgen tally {name} examples/float-fittings/job.toml {example}\n"
    return click.command(name, help=text)(named)


def events_of_csv(file: Path, by: str) -> tuple[Event, ...]:
    """Entries of a CSV file, one a row; InputErrors with all rows that cannot be read."""
    from flatgen.jobs.coupon_entry import csv_rows
    from flatgen.jobs.tallying import COLUMNS, event_of

    found, errors = [], []
    for line, row in csv_rows(file, COLUMNS):
        try:
            found.append(event_of(row, by))
        except InputError as error:
            errors.append(InputError(error.message, file=file, line=line))
    if errors:
        raise errors[0] if len(errors) == 1 else InputErrors(errors)
    return tuple(found)


def enter_csv(file: Path, by: str, enter: Callable[[Sequence[Event]], None]) -> None:
    """Enter all rows of a CSV file at once."""
    with of_file(file):
        enter(events_of_csv(file, by))


def ask_events(job: Path, by: str, enter: Callable[[Event], None]) -> None:
    """Ask for one entry after another; each is safe in the book before the next is asked for."""
    from flatgen.jobs.tallying import WHAT, event_of, tally_place

    at = tally_place(job)
    what = "cut"
    while True:
        what = click.prompt(f"What ({', '.join(WHAT)}, or stop)", default=what).strip()
        if what == "stop":
            return
        row: dict[str, str | None] = {"what": what, "part": click.prompt("  Part").strip()}
        try:
            bends = at.part(row["part"] or "").bends
            row["pieces"] = click.prompt("  Pieces", default="1")
            if what == "bent":
                row["place"] = bends[0] if len(bends) == 1 else click.prompt(f"  Bend ({', '.join(bends)})").strip()
            if what in ("rejected", "conceded"):
                row["why"] = click.prompt("  Why")
            if what == "rejected":
                row["place"] = click.prompt(
                    "  Where (cut, drilled, a bend), or nothing", default="", show_default=False
                )
            enter(event_of(row, by))
        except FlatgenError as error:
            click.echo(f"flatgen: {error}", err=True)
