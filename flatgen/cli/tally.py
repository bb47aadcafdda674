"""flatgen tally: how far a job is, and what was cut, drilled, bent, found good or rejected since."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flatgen.cli.options import ask, form
from flatgen.cli.say import as_json, guarded, table
from flatgen.cli.shop_book import FILE, at_the_book
from flatgen.core.words import counted

if TYPE_CHECKING:
    from flatgen.cli.shop_book import Place as ShopPlace
    from flatgen.jobs.tallying import Place
    from flatgen.model.tally import Event

FAULTS = "miscut, misdrilled, cracked, bent wrong, wrong hand, scratched, lost"  # model.inspection.FAULTS, untouched
JOB = click.argument("job", type=FILE)
PIECES = click.argument("pieces", type=click.IntRange(1, 100_000))
BOOK = click.option("--book", type=FILE, help="The shop's book; the one of the shop file by default.")
BY = click.option("--by", default="", help="Who did it.")
NOTE = click.option("--note", default="", help="Remark.")


@click.group("tally")
def command() -> None:
    """How far a job is: enter what was cut, drilled, bent, good or rejected, and see what is left.

    \b
    Example:
      flatgen tally bent examples/float-fittings/job.toml TF-102 b1 13 --by R

    The tally is kept in the shop's book. flatgen make plans what is left.
    """


@command.command("show")
@JOB
@click.argument("parts", nargs=-1)
@click.option("--json", "json_wanted", is_flag=True, help="Print as JSON.")
@BOOK
@guarded
def show(job: Path, parts: tuple[str, ...], json_wanted: bool, book: Path | None) -> None:
    """Show how far JOB is, or some PARTS of it: wanted, cut, in work at each bend, good, rejected, left.

    \b
    Example:
      flatgen tally show examples/float-fittings/job.toml
    """
    from flatgen.jobs.tallying import tally_place
    from flatgen.records.book import open_book
    from flatgen.tally.words import HEADS, headline, tally_row

    at = tally_place(job, book)
    named = {at.part(name).part for name in parts}
    with open_book(at.book, writing=False) as opened:
        found = [one for one in at.counts(opened) if not named or one.part in named]
        if json_wanted:
            as_json([one.as_dict() | {"part": one.part, "done": dict(one.done)} for one in found])
            return
        click.echo(f"{at.title}   {headline(found)}")
        click.echo(table([tally_row(one) for one in found], HEADS, right=(1, 2, 3, 4, 6, 8, 9)))
        _tell_more(at, opened)


def _tell_more(at: "Place", opened: Any) -> None:
    """Sheets that are begun, test bends in hand, blanks of old figures, what changed in the order."""
    from flatgen.records.begun import begun_sheets, strips_in_hand
    from flatgen.records.stale import changes, stale_blanks
    from flatgen.tally.sheets import last_cut
    from flatgen.units import format_length

    for sheet in begun_sheets(opened, at.title):
        left = counted(sum(len(rest.placements) for rest in sheet.state.rests), "blank")
        click.echo(f"Sheet {sheet.mark}: cut to cut {sheet.done} of {last_cut(sheet.nest)}, {left} still on it")
    for key, many in strips_in_hand(opened, at.title):
        material, thickness, radius, grain, angle = key
        sizes = f"{format_length(thickness, at.units)} on a nose of {format_length(radius, at.units, unit=True)}"
        what = f"{material} {sizes}, {angle:g}° {grain} the grain"
        click.echo(f"{counted(many, 'test bend')}, {what}, cut and not recorded yet: flatgen coupon record")
    for line in changes(opened, at.title, at.order):
        click.echo(f"changed {line}")
    for one in stale_blanks(opened, at.title, at.order):
        click.echo(f"decide  {one.said(at.units)} Enter one of: flatgen tally use, rework, reject --old")


def _enter(job: Path, events: "Sequence[Event]", book: Path | None) -> None:
    from flatgen.jobs.tallying import entered, tally_place

    for line in entered(tally_place(job, book), events):
        click.echo(f"Entered: {line}")


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


@command.command("tonight")
@JOB
@click.option("--minutes", type=click.FloatRange(5, 1440), default=150.0, show_default=True, help="Time there is.")
@click.option("--out", type=FILE, help="Write tally and evening as a PDF.")
@BOOK
@guarded
def tonight_(job: Path, minutes: float, out: Path | None, book: Path | None) -> None:
    """List what to do of JOB in so many MINUTES: finish what is begun, then begin more.

    \b
    Example:
      flatgen tally tonight examples/float-fittings/job.toml --minutes 150
    """
    from flatgen.jobs.evening import evening, write_tally
    from flatgen.tally.words import headline, pace_words, task_words

    results, tasks = evening(job, minutes, book)
    counts = [made.counts for made in results.parts if made.counts]
    click.echo(f"{results.job.title}   {headline(counts)}")
    for number, task in enumerate(tasks, 1):
        click.echo(f"{number:3}. {task_words(task)}")
    click.echo(
        f"{math.fsum(task.minutes for task in tasks):.0f} of {minutes:.0f} min. {pace_words(dict(results.job.paces))}"
    )
    if out is not None:
        write_tally(results, minutes, out)
        click.echo(f"Drawn: {out}", err=True)


@command.command("cut")
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
    from flatgen.model.tally import Event

    if asked.sheet is not None:
        first, *more = cut_sheet(tally_place(asked.job, asked.book), asked.sheet, asked.upto, asked.packet, asked.by)
        click.echo("\n".join((f"Entered: {first}", *more)))
    elif asked.part is None or asked.pieces is None:
        raise InputError("say which: PART and PIECES, or --sheet")
    else:
        _enter(asked.job, [Event("cut", asked.part, asked.pieces, by=asked.by, note=asked.note)], asked.book)


def _plain(kind: str, doc: str, example: str) -> None:
    """A command that enters one kind of event for so many pieces of a part."""

    @guarded
    def enter_one(job: Path, part: str, pieces: int, book: Path | None, by: str, note: str) -> None:
        from flatgen.model.tally import Event

        _enter(job, [Event(kind, part, pieces, by=by, note=note)], book)

    named: Callable[..., Any] = enter_one
    for option in (NOTE, BY, BOOK, PIECES, click.argument("part"), JOB):
        named = option(named)
    text = f"{doc}\n\n\b\nExample:\n  flatgen tally {kind} examples/float-fittings/job.toml {example}\n"
    command.add_command(click.command(kind, help=text)(named))


_plain("drilled", "Enter that PIECES of PART are drilled and deburred.", "TF-102 13")
_plain("good", "Enter that PIECES of PART, beside those measured and recorded, are good.", "TF-102 8")


@command.command("bent")
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
    from flatgen.model.tally import Event

    _enter(job, [Event("bent", part, pieces, bend, by=by, note=note)], book)


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


@command.command("reject")
@form(Rejected)
@guarded
def reject(asked: Rejected) -> None:
    """Enter that PIECES of PART are rejected, and why; what lacks is planned again by flatgen make.

    \b
    Example:
      flatgen tally reject examples/float-fittings/job.toml TF-102 1 --why cracked --at b1
    """
    from flatgen.model.tally import Event

    place = asked.place or ("cut" if asked.old else "")
    _enter(
        asked.job,
        [Event("rejected", asked.part, asked.pieces, place, why=asked.why, by=asked.by, note=asked.note)],
        asked.book,
    )


@command.command("concede")
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
    from flatgen.model.tally import Event

    _enter(job, [Event("conceded", part, pieces, why=why, by=by)], book)


@command.command("take")
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


@command.command("labels")
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


@command.command("photo")
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


def _decision(name: str, kind: str, doc: str) -> None:
    """A command that decides on blanks of old figures."""

    @guarded
    def decide(job: Path, part: str, pieces: int, book: Path | None, by: str, note: str) -> None:
        from flatgen.jobs.tallying import tally_place
        from flatgen.model.tally import Event
        from flatgen.records.book import open_book
        from flatgen.records.stale import decide as enter_decision

        at = tally_place(job, book)
        event = Event(kind, at.part(part).part, pieces, by=by, note=note)
        with open_book(at.book) as opened, opened.entering():
            said = enter_decision(opened, at.title, at.order, event, at.units)
        click.echo(f"Entered: {said}")

    named: Callable[..., Any] = decide
    for option in (NOTE, BY, BOOK, PIECES, click.argument("part"), JOB):
        named = option(named)
    text = f"{doc}\n\n\b\nExample:\n  flatgen tally {name} examples/float-fittings/job.toml TF-101 2 --by R\n"
    command.add_command(click.command(name, help=text)(named))


_decision("use", "used", "Use PIECES of PART as they were cut to old figures; the deviation goes on its record.")
_decision("rework", "reworked", "Enter that PIECES of PART, cut to old figures, were brought to the new ones.")


@command.command("undo")
@click.argument("entry", type=int)
@click.option("--why", required=True, help="Why it is taken back.")
@BY
@guarded
@at_the_book
def undo_(entry: int, why: str, by: str, at: "ShopPlace") -> None:
    """Take ENTRY of the tally back, and what was entered with it; both stay readable in the log.

    \b
    Example:
      flatgen tally undo 41 --why "was TF-121" --shop examples/float-fittings/shop.toml
    """
    from flatgen.records.tally import undo, words

    event = undo(at.book, entry, why, by)
    click.echo(f"Taken back: {entry}, {event.part or event.sheet}: {words(event)}")


@command.command("enter")
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
        enter_csv(csv_file, by, lambda events: _enter(job, events, book))
    elif ask:
        ask_events(job, by, lambda event: _enter(job, [event], book))
    else:
        raise InputError("say how: --csv FILE or --ask")
