"""flatgen inspect: sheets to measure by, recording of measured pieces, drift, capability, the correction to make."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from flatgen.cli.options import FILE, FOLDER, IN_MM, INTO, ask, form
from flatgen.cli.say import as_json, guarded
from flatgen.cli.shop_book import Place, job_place
from flatgen.core.words import counted
from flatgen.model.inspection import FAULTS

if TYPE_CHECKING:
    from flatgen.model.inspection import Checklist
    from flatgen.records.inspections import Piece


@click.group("inspect")
def command() -> None:
    """Inspection sheets, recording of measured pieces, drift and capability.

    \b
    Example:
      flatgen inspect sheet examples/float-fittings/job.toml --out out/inspection.pdf

    The drawing, the designer and the inspector decide what is good; flatgen lists, keeps and computes.
    """


def _checklists(at: Place, parts: tuple[str, ...]) -> "tuple[Checklist, ...]":
    from flatgen.jobs.inspecting import planned

    return planned(at, parts)[0]


@command.command("sheet")
@click.argument("job", type=FILE)
@click.argument("parts", nargs=-1)
@click.option("--out", type=FILE, default=Path("inspection.pdf"), show_default=True, help="File to write.")
@click.option("--units", type=IN_MM, help="Units to print; the job's by default.")
@click.option("--json", "json_wanted", is_flag=True, help="Print the checks as JSON instead of a PDF.")
@guarded
def sheet(job: Path, parts: tuple[str, ...], out: Path, units: str | None, json_wanted: bool) -> None:
    """Print the inspection sheet of JOB, or of some PARTS of it.

    \b
    Example:
      flatgen inspect sheet examples/float-fittings/job.toml TF-101 --out out/inspection.pdf

    First article and every n-th piece by MIL-STD-105E (ISO 2859-1), general level II.
    """
    from dataclasses import asdict

    from flatgen.draw.inspection import inspection_pages
    from flatgen.output.single import check_file, written_file
    from flatgen.write import pdf

    at = job_place(job, None, units)
    check_file(out, "pdf", "inspect sheet", at.inputs)
    found = _checklists(at, parts)
    assert at.job is not None
    if json_wanted:
        as_json([asdict(one) for one in found])
        return
    pages = inspection_pages(at.job.title, found, at.units, at.paper)
    with written_file(out, "pdf", "inspect sheet", at.inputs) as path:
        pdf.write_pages(pages, path)
    measured = sum(len(one.samples) for one in found)
    click.echo(f"{out}: {counted(len(pages), 'page')}, {counted(measured, 'piece')} to measure")


@dataclass(frozen=True, slots=True)
class Recorded:
    """Measured pieces, as they are told."""

    job: Path = ask(click.argument("job", type=FILE))
    part_id: str | None = ask("--part", help="Part number.")
    number: int | None = ask("--piece", type=int, help="Number of the piece in the order of making, 1 the first.")
    values: tuple[str, ...] = ask(
        "--value",
        multiple=True,
        metavar="NO=SIZE",
        help="Measured size of a check; often. An angle or leg: 3L=, 3M=, 3R=.",
    )
    csv_file: Path | None = ask(
        "--csv", type=FILE, help="Pieces from a CSV file: part, piece, then a column a check number."
    )
    asking: bool = ask("--ask", is_flag=True, help="Ask piece by piece, size by size.")
    why: str = ask("--why", default="", help=f"Fault that rejects it: {', '.join(FAULTS)}, or words.")
    concede: str = ask("--concede", default="", help="Let a piece outside its limits pass: who allows it, in writing.")
    sheet_mark: str = ask("--sheet", default="", help="Mark of the sheet that it was cut from.")
    by: str = ask("--by", default="", help="Who measured.")
    note: str = ask("--note", default="", help="Remark.")
    replaces: int | None = ask("--replaces", type=int, help="Number of an earlier entry that this one corrects.")
    withdraw: int | None = ask("--withdraw", type=int, help="Number of an earlier entry that no longer counts.")
    reason: str = ask("--reason", default="", help="Why an entry is corrected or withdrawn.")
    book: Path | None = ask("--book", type=FILE, help="The shop's book; the one of the shop file by default.")
    units: str | None = ask("--units", type=IN_MM, help="Units of bare numbers; the job's by default.")


@command.command("record")
@form(Recorded)
@guarded
def record(asked: Recorded) -> None:
    """Enter measured pieces of JOB: one by options, many by --ask or from a CSV file.

    \b
    Example:
      flatgen inspect record examples/float-fittings/job.toml --part TF-101 --piece 1 --value 1=1.004 --value 3=89.8

    A piece outside its limits, or with a fault (--why), is rejected and comes on the list to make again, unless it is
    conceded in writing. Angles are entered along the bend, seen from the leaf: left, middle, right.
    """
    from flatgen.cli.inspect_entry import ask_pieces
    from flatgen.errors import InputError, of_file
    from flatgen.jobs.inspect_entry import piece_of, pieces_of_csv
    from flatgen.records import inspections as entries
    from flatgen.records.inspections import Words

    at = job_place(asked.job, asked.book, asked.units)
    if asked.withdraw is not None:
        entry = entries.withdraw_piece(at.book, asked.withdraw, asked.reason)
        click.echo(f"Entered: {entry}, entry {asked.withdraw} no longer counts")
        return
    if asked.asking:
        if not asked.part_id:
            raise InputError("name the part with --part")
        ask_pieces(_checklists(at, (asked.part_id,))[0], at, asked.by, _say_entered)
        return
    given: tuple[Piece, ...]
    if asked.csv_file is not None:
        given = pieces_of_csv(asked.csv_file, {one.part: one for one in _checklists(at, ())}, at, asked.by)
    elif not asked.part_id or asked.number is None:
        raise InputError("name the piece with --part and --piece, or give --csv or --ask")
    else:
        sheet = _checklists(at, (asked.part_id,))[0]
        words = Words(asked.note, asked.sheet_mark, asked.by, asked.concede, asked.why)
        given = (piece_of(sheet, asked.number, asked.values, at, words),)
    if asked.replaces is not None:
        _say_entered(entries.correct_piece(at.book, asked.replaces, given[0], asked.reason), given[0])
        return
    with of_file(asked.csv_file):
        numbers = entries.record_pieces(at.book, given)
    for entry, piece in zip(numbers, given, strict=True):
        _say_entered(entry, piece)


def _say_entered(entry: int, piece: "Piece") -> None:
    outside = [m.dimension for m in piece.measurements if not m.inside]
    reasons = [piece.why] if piece.why else []
    reasons += [f"check {', '.join(outside)} outside its limits"] if outside else []
    tail = f" ({'; '.join(reasons)})" if reasons else ""
    click.echo(f"Entered: {entry}, {piece.part} piece {piece.number}: {piece.verdict.upper()}{tail}")


@dataclass(frozen=True, slots=True)
class Reported:
    """What is to be reported on, and where to."""

    job: Path = ask(click.argument("job", type=FILE))
    parts: tuple[str, ...] = ask(click.argument("parts", nargs=-1))
    out: Path | None = ask("--out", type=FILE, help="Write the charts and their reasons as a PDF.")
    since: int = ask(
        "--since", type=int, default=1, help="First piece that counts: of those made since the last change."
    )
    svg_folder: Path | None = ask("--svg", type=FOLDER, help="Folder for charts as SVG.")
    into: bool = ask(INTO)
    book: Path | None = ask("--book", type=FILE, help="The shop's book; the one of the shop file by default.")
    units: str | None = ask("--units", type=IN_MM, help="Units to print; the job's by default.")
    json_wanted: bool = ask("--json", is_flag=True, help="Print as JSON.")


@command.command("report")
@form(Reported)
@guarded
def report(asked: Reported) -> None:
    """Say what the measured pieces of JOB tell: mean, spread, capability, drift, and what to correct now.

    \b
    Example:
      flatgen inspect report examples/float-fittings/job.toml --out out/report.pdf

    All legs and angles of a part are solved together for its stops, its leaf, and blank and deduction; one thing is
    said to do. Do it, measure three pieces more, and ask again with --since. Deviations are from nominal. Cp and Cpk
    with their 95 % bounds; below about 25 pieces Cpk's bounds are rough.
    """
    from flatgen.cli.inspect_report import Files, draw, instruction_dict, print_report, report_dict
    from flatgen.jobs.inspecting import reported

    at = job_place(asked.job, asked.book, asked.units)
    assert at.job is not None
    Files(asked.out, asked.svg_folder, asked.into).check(at)
    told = reported(at, asked.parts, asked.since)
    if asked.json_wanted:
        orders = [instruction_dict(one, text) for one, (_, text, _) in zip(told.todo, told.said, strict=True)]
        as_json({"reports": [report_dict(one) for one in told.found], "instructions": orders, "make_again": told.again})
        return
    if told.found:
        print_report(told.found, told.said, told.lists, at)
    else:
        click.echo(f'No measured pieces of "{at.job.title}" in {at.book} yet; flatgen inspect record enters them.')
    if told.again:
        click.echo()
        click.echo("To make again: " + ", ".join(f"{part} x {count}" for part, count in told.again.items()))
    if told.found:
        files = Files(asked.out, asked.svg_folder, asked.into)
        draw(told.found, told.said, told.lists, at, files, len(told.pieces))
