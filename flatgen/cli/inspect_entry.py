"""Measured pieces by questions at the terminal."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from flatgen.errors import InputError
from flatgen.jobs.inspect_entry import read_size
from flatgen.jobs.shop_place import Place

if TYPE_CHECKING:
    from flatgen.model.inspection import Check, Checklist, Where
    from flatgen.records.inspections import Piece


def ask_pieces(checklist: "Checklist", place: Place, by: str, entered: Callable[[int, "Piece"], None]) -> None:
    """Ask for piece after piece of a part; each is safe in the book before the next is asked for."""
    import click

    from flatgen.model.inspection import FAULTS
    from flatgen.records.book import open_book
    from flatgen.records.inspections import Words, current_pieces, measured, record_pieces

    assert place.job is not None
    while True:
        with open_book(place.book, writing=False) as book:
            done = {piece.number for piece in current_pieces(book, place.job.title, checklist.part)}
        left = [number for number in checklist.samples if number not in done]
        usual = str(left[0]) if left else "stop"
        answer = click.prompt(f'Number of the piece, or "stop" ({len(left)} samples left)', default=usual)
        if not answer.strip().isdecimal():
            return
        sizes = _asked_sizes(checklist, place)
        try:
            why = click.prompt(f"  Fault ({', '.join(FAULTS)}), or nothing", default="", show_default=False)
            piece = measured(checklist, place.job.title, int(answer), sizes, Words(by=by, why=why.strip()))
            (entry,) = record_pieces(place.book, [piece])
        except InputError as error:
            click.echo(f"flatgen: {error}", err=True)
            continue
        entered(entry, piece)


def _asked_sizes(checklist: "Checklist", place: Place) -> "dict[int | tuple[int, Where], float]":
    """Sizes of one piece as they are answered; an empty answer leaves one out."""
    import click

    sizes: dict[int | tuple[int, Where], float] = {}
    for check, along in [(one, along) for one in checklist.checks for along in one.places]:

        def read(text: str, check: "Check" = check) -> float | None:
            if not text.strip():
                return None
            try:
                return read_size(check, text, place)
            except InputError as error:
                raise click.BadParameter(str(error.message)) from error

        unit = "deg" if check.kind == "angle" else place.units
        question = f"  {check.number} {', '.join(filter(None, (check.what, along)))} [{unit}]"
        size = click.prompt(question, default="", value_proc=read, show_default=False)
        if size is not None:
            sizes[(check.number, along) if along else check.number] = size
    return sizes
