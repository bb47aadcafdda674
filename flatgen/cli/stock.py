"""flatgen stock: sheets and remnants on hand, what a nest used and left, the job log, copies and export."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from flatgen.cli.options import FILE, ask, form
from flatgen.cli.say import as_json, guarded, table
from flatgen.cli.shop_book import Place, at_the_book, book_options, job_place, place
from flatgen.cli.stock_book import COMMANDS

if TYPE_CHECKING:
    from flatgen.model.plan import Nest
    from flatgen.records.stock import StockSheet

LABELS = "stock labels"


@click.group("stock")
def command() -> None:
    """Sheets and remnants on hand; book what a nest used and left; job log, copies, check, export.

    \b
    Example:
      flatgen stock add --material "2024-T3 clad" --thickness .040 --length "48 in" --width "48 in" --batch H-1947

    Each sheet has a mark of its own: write it on the metal. A remnant without mark and grain is scrap.
    """


@command.command("list")
@click.option("--all", "everything", is_flag=True, help="Also sheets that are cut up or given up.")
@click.option("--json", "json_wanted", is_flag=True, help="Print as JSON.")
@guarded
@at_the_book
def list_(everything: bool, json_wanted: bool, at: Place) -> None:
    """List sheets and remnants on hand.

    \b
    Example:
      flatgen stock list --shop examples/float-fittings/shop.toml
    """
    from dataclasses import asdict

    from flatgen.records.begun import begun_sheets
    from flatgen.records.book import open_book
    from flatgen.records.stock import sheets

    with open_book(at.book, writing=False) as opened:
        found = sheets(opened, everything)
        begun = begun_sheets(opened)
    if json_wanted:
        as_json([asdict(sheet) for sheet in found])
        return
    if found:
        _print(found, at)
    elif not begun:
        click.echo(f"Nothing on hand in {at.book}; flatgen stock add enters sheets.")
    for one in begun:
        sizes = ", ".join(f"{at.bare(r.rect[2])} x {at.bare(r.rect[3])}" for r in one.state.rests)
        click.echo(f'{one.mark}: begun for "{one.job}", cut to cut {one.done}; left of it {sizes} {at.units}')


def _print(found: tuple["StockSheet", ...], at: Place) -> None:
    rows = [
        (
            sheet.mark,
            sheet.material,
            at.bare(sheet.thickness),
            at.bare(sheet.measured) if sheet.measured is not None else "-",
            f"{at.bare(sheet.width)} x {at.bare(sheet.height)}",
            f"{sheet.grain:g}°" if sheet.grain else "length",
            sheet.batch or "-",
            sheet.cut_from or "-",
            sheet.recorded_at[:10],
            "on hand" if sheet.on_hand else "gone",
        )
        for sheet in found
    ]
    size = f"length x width, {at.units}"
    heads = ("mark", "alloy", f"T, {at.units}", "measured", size, "grain", "batch", "left from", "since", "state")
    click.echo(table(rows, heads, right=(2, 3, 4)))


def _size_of(sheet: "StockSheet", at: Place) -> str:
    """Id of the one sheet of the shop file that has this alloy, thickness, size and grain; "" where none or several."""
    same = [
        size.id
        for size in (at.shop.sheets if at.shop else ())
        if size.material == sheet.material
        and all(
            abs(a - b) < 0.01
            for a, b in (
                (size.thickness, sheet.thickness),
                (size.width, sheet.width),
                (size.height, sheet.height),
                (size.grain, sheet.grain),
            )
        )
    ]
    return same[0] if len(same) == 1 else ""


@dataclass(frozen=True, slots=True)
class Added:
    """Sheets that came in."""

    material: str = ask("--material", required=True, help="Alloy and temper.")
    thickness: str = ask("--thickness", required=True, help="Nominal thickness.")
    measured: str | None = ask("--measured", help="Thickness by micrometer: what parts are developed with.")
    length: str = ask("--length", required=True, help="Size along the grain.")
    width: str = ask("--width", required=True, help="Size across the grain.")
    short_grain: bool = ask(
        "--short-grain", is_flag=True, help="The grain does run along the shorter side: looked at on the metal."
    )
    grain: str = ask(
        "--grain", default="0", help="Of a remnant cut on the slant: degrees from its length.", show_default=True
    )
    batch: str = ask("--batch", default="", help="Heat or batch number, from the certificate.")
    mark: str = ask("--mark", default="", help="Mark to write on the sheet; the next free one by default.")
    stock_size: str = ask(
        "--stock-size",
        default="",
        help="Id of the sheet in shop.toml that this is one of; the one of its alloy and sizes by default.",
    )
    bad_areas: tuple[str, ...] = ask(
        "--bad-area", multiple=True, help="Rectangle to avoid: x, y, length, width from a corner."
    )
    copies: int = ask("--copies", type=int, default=1, show_default=True, help="How many.")
    cost: float | None = ask("--cost", type=click.FloatRange(min=0), help="Price of one.")
    note: str = ask("--note", default="", help="Remark.")
    by: str = ask("--by", default="", help="Who entered it.")


@command.command("add")
@form(Added)
@guarded
@at_the_book
def add(asked: Added, at: Place) -> None:
    """Enter sheets that came in; prints the marks to write on them.

    \b
    Example:
      flatgen stock add --material 6061-T6 --thickness .063 --length "48 in" --width "24 in" --batch 88-123 --copies 2
    """
    from flatgen.errors import InputError
    from flatgen.records.stock import StockSheet, add_sheets
    from flatgen.tables.load import material_key
    from flatgen.units import parse_angle, parse_length

    sheet = StockSheet(
        material=material_key(asked.material),
        thickness=parse_length(asked.thickness, at.units),
        measured=None if asked.measured is None else parse_length(asked.measured, at.units),
        width=parse_length(asked.length, at.units),
        height=parse_length(asked.width, at.units),
        grain=parse_angle(asked.grain),
        bad_areas=tuple(_bad_area(text, at) for text in asked.bad_areas),
        stock_size=asked.stock_size,
        batch=asked.batch,
        mark=asked.mark,
        cost=asked.cost,
        note=asked.note,
    )
    if sheet.width < sheet.height and not asked.short_grain:
        raise InputError(
            "the length, along the grain, is the shorter side here; say --short-grain if it is so on the metal, else"
            " length and width the other way round",
            where="--length",
        )
    if not sheet.stock_size:
        sheet = replace(sheet, stock_size=_size_of(sheet, at))
    marks = add_sheets(at.book, sheet, asked.copies, asked.by)
    kind = f', of "{sheet.stock_size}"' if sheet.stock_size else ""
    click.echo(f"Entered: {', '.join(marks)}{kind}. Write the mark and the grain on the metal.")


def _bad_area(text: str, at: Place) -> tuple[float, float, float, float]:
    from flatgen.errors import InputError
    from flatgen.units import parse_length

    sizes = [parse_length(size, at.units) for size in text.split(",")]
    if len(sizes) != 4:
        raise InputError(f'"{text}" is no bad area; write x, y, length, width with commas between', where="--bad-area")
    return sizes[0], sizes[1], sizes[2], sizes[3]


@command.command("book")
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--labels", type=FILE, help="Write labels for the remnants as a PDF.")
@click.option("--again", is_flag=True, help="The same nests were cut once more.")
@click.option("--by", default="", help="Who cut.")
@guarded
@at_the_book
def book_(
    out: Path,
    labels: Path | None,
    again: bool,
    by: str,
    at: Place,
) -> None:
    """Enter what the nests in OUT used and left, and what was made: OUT is the folder that flatgen make wrote.

    \b
    Example:
      flatgen stock book out/float-fittings --shop examples/float-fittings/shop.toml --labels out/labels.pdf

    Book after cutting. Sheets are taken by mark, else the oldest of that stock size, else as bought for the nest.
    """
    from flatgen.output.folder import finish
    from flatgen.output.single import check_file
    from flatgen.records.log import log_run
    from flatgen.records.runs import run_from_results

    if labels is not None:
        check_file(labels, "pdf", LABELS, at.inputs)
    finish(out)
    record = run_from_results(out)
    booking = log_run(at.book, record, by=by, again=again)
    click.echo(f'Entered: run {booking.run} of "{record.job}", sheets used {", ".join(booking.used)}')
    _tell_of_the_shop_file(record.nests, at)
    if booking.remnants:
        names = ", ".join(f"{letter} is {r.mark}" for letter, r in zip(booking.letters, booking.remnants, strict=True))
        click.echo(f"Off-cut {names}: write the number on the metal.")
        _print(booking.remnants, at)
        if labels:
            _labels(booking.remnants, at, labels)
        else:
            click.echo("Mark the remnants now; flatgen stock labels prints labels.")


def _tell_of_the_shop_file(nests: Iterable["Nest"], at: Place) -> None:
    """What the shop file still counts as on hand, which only its owner may change."""
    taken = Counter(nest.sheet.id for nest in nests)
    for sheet in at.shop.sheets if at.shop else ():
        if not taken[sheet.id] or sheet.copies is None:
            continue
        name = Path(at.shop.file).name if at.shop else ""
        if sheet.remnant and sheet.copies <= taken[sheet.id]:
            click.echo(f'{name}: take the remnant "{sheet.id}" out, it is cut up')
        else:
            left = max(0, sheet.copies - taken[sheet.id])
            click.echo(f'{name}: "{sheet.id}" has copies = {sheet.copies}; {left} are left, write copies = {left}')


@command.command("labels")
@click.argument("marks", nargs=-1)
@click.option("--out", type=FILE, default=Path("labels.pdf"), show_default=True, help="File to write.")
@guarded
@at_the_book
def labels_(marks: tuple[str, ...], out: Path, at: Place) -> None:
    """Print labels for sheets by their MARKS, or for all remnants on hand.

    \b
    Example:
      flatgen stock labels R001 R002 --out out/labels.pdf
    """
    from flatgen.errors import InputError
    from flatgen.records.book import open_book
    from flatgen.records.stock import find, sheets

    with open_book(at.book, writing=False) as opened:
        found = tuple(find(opened, mark) for mark in marks)
        found = found or tuple(sheet for sheet in sheets(opened) if sheet.remnant)
    if not found:
        raise InputError("there is no remnant on hand; name sheets by their marks", where=str(at.book))
    _labels(found, at, out)


def _labels(found: tuple["StockSheet", ...], at: Place, out: Path) -> None:
    from flatgen.draw.labels import Label, label_pages
    from flatgen.output.single import written_file
    from flatgen.tables.load import materials
    from flatgen.write import pdf

    labels = [
        Label(
            sheet.mark,
            materials()[sheet.material].name if sheet.material in materials() else sheet.material,
            sheet.thickness,
            sheet.width,
            sheet.height,
            sheet.grain,
            sheet.batch,
            sheet.recorded_at[:10],
            sheet.cut_from,
        )
        for sheet in found
    ]
    with written_file(out, "pdf", LABELS, at.inputs) as path:
        pdf.write_pages(label_pages(labels, at.units, at.paper), path)
    click.echo(f"Drawn: {out}, {len(labels)} labels", err=True)


@command.command("give-up")
@click.argument("mark")
@click.option("--reason", required=True, help="Why: scrapped, lost, sold.")
@click.option("--back", is_flag=True, help="The other way: it is there after all.")
@click.option("--by", default="", help="Who entered it.")
@guarded
@at_the_book
def give_up_(mark: str, reason: str, back: bool, by: str, at: Place) -> None:
    """Enter that the sheet with this MARK is no longer there, and why; its entries stay readable.

    \b
    Example:
      flatgen stock give-up R002 --reason "used for coupons"
    """
    from flatgen.records.stock import find_again, give_up

    (find_again if back else give_up)(at.book, mark, reason, by)
    click.echo(f"Entered: {mark} is {'on hand again' if back else 'no longer on hand'}")


@command.command("trace")
@click.argument("mark")
@guarded
@at_the_book
def trace(mark: str, at: Place) -> None:
    """Follow the sheet with this MARK back to the sheet and batch that came in.

    \b
    Example:
      flatgen stock trace R002
    """
    from flatgen.records.book import open_book
    from flatgen.records.stock import traced

    with open_book(at.book, writing=False) as opened:
        _print(traced(opened, mark), at)


@dataclass(frozen=True, slots=True)
class Logged:
    """What is asked of the log."""

    job: str = ask(click.argument("job"))
    out: Path | None = ask("--out", type=FILE, help="Write it with its photographs: a PDF to sign, or a page (.html).")
    note: str = ask("--note", default="", help="Enter a remark in the log first.")
    part: str = ask("--part", default="", help="Part that the remark is about.")
    by: str = ask("--by", default="", help="Who remarks.")


@command.command("log")
@form(Logged)
@book_options
@guarded
def log(asked: Logged, shop: Path | None, book: Path | None, units: str | None) -> None:
    """Print all that the book holds of JOB, a job file or its title: one record for the builder's log.

    \b
    Example:
      flatgen stock log examples/float-fittings/job.toml --out out/job-record.pdf

    By part number, from sheet to good pieces: runs, cuts, bends, rejects, decisions, measured pieces, test bends, and
    the photographs that were kept of them.
    """
    from flatgen.cli.log_sections import as_text, sections, shown_photos
    from flatgen.output.single import check_file, written_file
    from flatgen.records.book import open_book
    from flatgen.records.log import add_note, job_log

    if asked.job.endswith(".toml"):
        at = job_place(Path(asked.job), book, units)
        assert at.job is not None
        title = at.job.title
    else:
        at, title = place(shop, book, units), asked.job
    kind = "html" if asked.out is not None and asked.out.suffix.lower() in (".html", ".htm") else "pdf"
    if asked.out is not None:
        check_file(asked.out, kind, "stock log", at.inputs)
    if asked.note:
        add_note(at.book, title, asked.note, asked.part, asked.by)
    with open_book(at.book, writing=False) as opened:
        found = sections(job_log(opened, title), at)
        photographs = shown_photos(opened, title) if asked.out is not None else ()
    if asked.out is None:
        click.echo(as_text(found))
        return
    from flatgen.draw.job_log import log_pages, log_subject
    from flatgen.output.disk import put
    from flatgen.write import log_page, pdf

    about = f"sizes in {'inches' if at.units == 'in' else 'mm'}; from {at.book.name}"
    subject = log_subject(f"Job record: {title}", about, found, photographs)
    with written_file(asked.out, kind, "stock log", at.inputs) as path:
        if kind == "html":
            put(path, log_page.as_text(subject))
        else:
            pdf.write_pages(log_pages(subject, at.units, at.paper), path)
    click.echo(f"Drawn: {asked.out}", err=True)


for of_the_book in COMMANDS:
    command.add_command(of_the_book)
