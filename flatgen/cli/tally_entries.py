"""What flatgen tally enters: blanks cut, pieces drilled, bent, good, rejected; taken back; many at once."""

from dataclasses import dataclass
from pathlib import Path

import click

from flatgen.cli.options import FILE, ask, form
from flatgen.cli.say import guarded
from flatgen.cli.shop_book import Place, at_the_book
from flatgen.cli.tally_entry import BOOK, BY, JOB, NOTE, PIECES, enter, of_pieces
from flatgen.cli.tally_old import decide
from flatgen.core.words import counted
from flatgen.model.tally import Event

FAULTS = "miscut, misdrilled, cracked, bent wrong, wrong hand, scratched, lost"  # model.inspection.FAULTS, untouched


@dataclass(frozen=True, slots=True)
class Cut:
    """Blanks cut, by number or by sheet."""

    job: Path = ask(JOB)
    part: str | None = ask(click.argument("part", required=False))
    pieces: int | None = ask(click.argument("pieces", type=click.IntRange(1, 100_000), required=False))
    sheet: str | None = ask("--sheet", help="Number of the sheet in the packet, or mark of a sheet that was begun.")
    upto: int | None = ask("--upto", type=click.IntRange(1), help="Number of the last cut made; all by default.")
    packet: Path = ask(
        "--packet", type=click.Path(path_type=Path), default=Path("out"), help="Folder of the packet; out/."
    )
    book: Path | None = ask(BOOK)
    by: str = ask(BY)
    note: str = ask(NOTE)


@click.command("cut")
@form(Cut)
@guarded
def cut(asked: Cut) -> None:
    """Enter blanks cut: PIECES of PART, or a sheet of the packet cut up to a cut of its order.

    \b
    Example:
      flatgen tally cut examples/float-fittings/job.toml --sheet 1 --upto 7 --packet out/float-fittings
      flatgen tally cut examples/float-fittings/job.toml TF-102 13

    By sheet is better: then the book knows what is left of it, and flatgen make lays the rest on that first.
    """
    from flatgen.errors import InputError
    from flatgen.jobs.tallying import cut_sheet, tally_place

    if asked.sheet is not None:
        first, *more = cut_sheet(tally_place(asked.job, asked.book), asked.sheet, asked.upto, asked.packet, asked.by)
        click.echo("\n".join((f"Entered: {first}", *more)))
    elif asked.part is None or asked.pieces is None:
        raise InputError("say which: PART and PIECES, or --sheet")
    else:
        enter(asked.job, [Event("cut", asked.part, asked.pieces, by=asked.by, note=asked.note)], asked.book)


def _enter_one(job: Path, event: Event, book: Path | None) -> None:
    enter(job, [event], book)


drilled = of_pieces(
    "drilled", "drilled", "Enter that PIECES of PART are drilled and deburred.", "TF-102 13", _enter_one
)
good = of_pieces(
    "good", "good", "Enter that PIECES of PART, beside those measured and recorded, are good.", "TF-102 8", _enter_one
)


@click.command("bent")
@JOB
@click.argument("part")
@click.argument("bend")
@PIECES
@BOOK
@BY
@NOTE
@guarded
def bent(job: Path, part: str, bend: str, pieces: int, book: Path | None, by: str, note: str) -> None:
    """Enter that BEND was made on PIECES of PART.

    \b
    Example:
      flatgen tally bent examples/float-fittings/job.toml TF-102 b1 13
    """
    enter(job, [Event("bent", part, pieces, bend, by=by, note=note)], book)


@dataclass(frozen=True, slots=True)
class Rejected:
    """Pieces rejected, and why."""

    job: Path = ask(JOB)
    part: str = ask(click.argument("part"))
    pieces: int = ask(PIECES)
    why: str = ask("--why", required=True, help=f"{FAULTS}, or words.")
    place: str = ask(
        "--at", default="", help="Where: cut, drilled, a bend, or good; where pieces are farthest if not said."
    )
    old: bool = ask("--old", is_flag=True, help="Blanks that were cut to old figures.")
    book: Path | None = ask(BOOK)
    by: str = ask(BY)
    note: str = ask(NOTE)


@click.command("reject")
@form(Rejected)
@guarded
def reject(asked: Rejected) -> None:
    """Enter that PIECES of PART are rejected, and why; what lacks is planned again by flatgen make.

    \b
    Example:
      flatgen tally reject examples/float-fittings/job.toml TF-102 1 --why cracked --at b1
    """
    place = asked.place or ("cut" if asked.old else "")
    event = Event("rejected", asked.part, asked.pieces, place, why=asked.why, by=asked.by, note=asked.note)
    if asked.old:
        decide(asked.job, event, asked.book)
    else:
        enter(asked.job, [event], asked.book)


@click.command("concede")
@JOB
@click.argument("part")
@PIECES
@click.option("--why", required=True, help="Who lets them pass, and on what ground.")
@BOOK
@BY
@guarded
def concede(job: Path, part: str, pieces: int, why: str, book: Path | None, by: str) -> None:
    """Enter that PIECES of PART outside their limits are let pass, in writing; they count as good.

    \b
    Example:
      flatgen tally concede examples/float-fittings/job.toml TF-102 1 --why "designer, letter of 3 May: leg .02 short"
    """
    enter(job, [Event("conceded", part, pieces, why=why, by=by)], book)


@click.command("undo")
@click.argument("entry", type=int)
@click.option("--why", required=True, help="Why it is taken back.")
@BY
@guarded
@at_the_book
def undo_(entry: int, why: str, by: str, at: Place) -> None:
    """Take ENTRY of the tally back, and what was entered with it; both stay readable in the log.

    \b
    Example:
      flatgen tally undo 41 --why "was TF-121" --shop examples/float-fittings/shop.toml
    """
    from flatgen.records.tally import undo, words

    event = undo(at.book, entry, why, by)
    click.echo(f"Taken back: {entry}, {event.part or event.sheet}: {words(event)}")


@click.command("enter")
@JOB
@click.option("--csv", "csv_file", type=FILE, help="Entries from a CSV file: what, part, pieces, place, why, note.")
@click.option("--ask", is_flag=True, help="Ask entry by entry, at the bench.")
@BOOK
@BY
@guarded
def enter_(job: Path, csv_file: Path | None, ask: bool, book: Path | None, by: str) -> None:
    """Enter many things at once: from a CSV file, or by questions.

    \b
    Example:
      flatgen tally enter examples/float-fittings/job.toml --ask --by R

    What is one of cut, drilled, bent, good, rejected, conceded; place is the bend, or where it was rejected.
    """
    from flatgen.cli.tally_entry import ask_events, enter_csv
    from flatgen.errors import InputError

    if csv_file is not None:
        enter_csv(csv_file, by, lambda events: enter(job, events, book))
    elif ask:
        ask_events(job, by, lambda event: enter(job, [event], book))
    else:
        raise InputError("say how: --csv FILE or --ask")


@click.command("take")
@JOB
@click.argument("file", type=FILE)
@click.option("--packet", type=click.Path(path_type=Path), help="Folder of the packet, for the boxes of its sheets.")
@BOOK
@BY
@guarded
def take(job: Path, file: Path, packet: Path | None, book: Path | None, by: str) -> None:
    """Take the ticks and counts that the packet's page saved to FILE, at any time and of any packet of JOB.

    \b
    Example:
      flatgen tally take examples/float-fittings/job.toml bench.json --packet out/float-fittings

    Counts on the page are all pieces done so far; what the book lacks is entered, what no longer fits is listed.
    """
    from flatgen.jobs.tallying import take_ticks, tally_place

    at = tally_place(job, book)
    entered, unfit = take_ticks(at, file, packet, by)
    for line in entered:
        click.echo(f"Entered: {line}")
    click.echo(f"Entered: {counted(len(entered), 'entry', 'entries')} in {at.book}")
    for line in unfit:
        click.echo(f"left out {line}")


COMMANDS = (cut, drilled, bent, good, reject, concede, take, undo_, enter_)
