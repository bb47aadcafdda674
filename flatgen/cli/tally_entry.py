"""Entries of the tally from what a person writes: rows of a CSV file, answers to questions at the bench."""

from collections.abc import Callable, Sequence
from pathlib import Path

from flatgen.errors import FlatgenError, InputError, InputErrors, of_file
from flatgen.jobs.coupon_entry import csv_rows
from flatgen.jobs.tallying import COLUMNS, WHAT, event_of
from flatgen.model.tally import Event


def events_of_csv(file: Path, by: str) -> tuple[Event, ...]:
    """Entries of a CSV file, one a row; InputErrors with all rows that cannot be read."""
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
    import click

    from flatgen.jobs.tallying import tally_place

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
