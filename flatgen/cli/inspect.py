"""flatgen inspect: sheets to measure by, recording of measured pieces, drift, capability, the correction to make."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flatgen.cli.say import as_json, guarded, table
from flatgen.cli.shop_book import FILE, Place, job_place

if TYPE_CHECKING:
    from flatgen.model.inspection import Checklist
    from flatgen.records.inspections import DimensionReport, Piece


@click.group("inspect")
def command() -> None:
    """Inspection sheets, recording of measured pieces, drift and capability.

    \b
    Example:
      flatgen inspect sheet examples/float-fittings/job.toml --out out/inspection.pdf

    The drawing, the designer and the inspector decide what is good; flatgen lists, keeps and reckons.
    """


def _checklists(at: Place, parts: tuple[str, ...]) -> tuple["Checklist", ...]:
    from flatgen.brake.plan import plan_job
    from flatgen.make import chosen, develop_all
    from flatgen.records.checklist import checklists

    assert at.job is not None
    # stops are shared between parts, so that the whole job is planned even for one of them
    made = develop_all(at.job)
    blanks = {one.part.id: one.blank for one in made}
    setups = plan_job([one.part for one in made], blanks, at.job.shop, pictures=False).setups
    return checklists(chosen(at.job, parts).parts, blanks, at.job.shop, setups, say=at.length)


@command.command("sheet")
@click.argument("job", type=FILE)
@click.argument("parts", nargs=-1)
@click.option("--out", type=FILE, default=Path("inspection.pdf"), show_default=True, help="File to write.")
@click.option("--units", type=click.Choice(["in", "mm"]), help="Units to print; the job's by default.")
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
    from flatgen.write import pdf

    at = job_place(job, None, units)
    found = _checklists(at, parts)
    assert at.job is not None
    if json_wanted:
        as_json([asdict(one) for one in found])
        return
    pages = inspection_pages(at.job.title, found, at.units, at.paper)
    out.parent.mkdir(parents=True, exist_ok=True)
    pdf.write_pages(pages, out)
    click.echo(f"{out}: {len(pages)} pages, {sum(len(one.samples) for one in found)} pieces to measure")


@command.command("record")
@click.argument("job", type=FILE)
@click.option("--part", "part_id", help="Part number.")
@click.option("--piece", "number", type=int, help="Number of the piece in the order of making, 1 the first.")
@click.option("--value", "values", multiple=True, metavar="NO=SIZE", help="Measured size of a check; give it often.")
@click.option("--csv", "csv_file", type=FILE, help="Pieces from a CSV file: part, piece, then a column a check number.")
@click.option("--ask", is_flag=True, help="Ask piece by piece, size by size.")
@click.option("--concede", default="", help="Let a piece outside its limits pass: who allows it, in writing.")
@click.option("--sheet", "sheet_mark", default="", help="Mark of the sheet that it was cut from.")
@click.option("--by", default="", help="Who measured.")
@click.option("--note", default="", help="Remark.")
@click.option("--replaces", type=int, help="Number of an earlier entry that this one corrects.")
@click.option("--withdraw", type=int, help="Number of an earlier entry that no longer counts.")
@click.option("--reason", default="", help="Why an entry is corrected or withdrawn.")
@click.option("--book", type=FILE, help="The shop's book; the one of the shop file by default.")
@click.option("--units", type=click.Choice(["in", "mm"]), help="Units of bare numbers; the job's by default.")
@guarded
def record(
    job: Path,
    part_id: str | None,
    number: int | None,
    values: tuple[str, ...],
    csv_file: Path | None,
    ask: bool,
    replaces: int | None,
    withdraw: int | None,
    reason: str,
    book: Path | None,
    units: str | None,
    **more: str,
) -> None:
    """Enter measured pieces of JOB: one by options, many by --ask or from a CSV file.

    \b
    Example:
      flatgen inspect record examples/float-fittings/job.toml --part TF-101 --piece 1 --value 1=1.004 --value 3=89.8

    A piece outside its limits is rejected and comes on the list to make again, unless it is conceded in writing.
    """
    from flatgen.cli.inspect_entry import ask_pieces, piece_of, pieces_of_csv
    from flatgen.errors import InputError
    from flatgen.records import inspections as entries

    at = job_place(job, book, units)
    if withdraw is not None:
        entry = entries.withdraw_piece(at.book, withdraw, reason)
        click.echo(f"Entered: {entry}, entry {withdraw} no longer counts")
        return
    if ask:
        if not part_id:
            raise InputError("name the part with --part")
        ask_pieces(_checklists(at, (part_id,))[0], at, more["by"], _say_entered)
        return
    given: tuple[Piece, ...]
    if csv_file is not None:
        given = pieces_of_csv(csv_file, {one.part: one for one in _checklists(at, ())}, at, more["by"])
    elif not part_id or number is None:
        raise InputError("name the piece with --part and --piece, or give --csv or --ask")
    else:
        given = (piece_of(_checklists(at, (part_id,))[0], number, values, at, **more),)
    if replaces is not None:
        _say_entered(entries.correct_piece(at.book, replaces, given[0], reason), given[0])
        return
    for entry, piece in zip(entries.record_pieces(at.book, given), given, strict=True):
        _say_entered(entry, piece)


def _say_entered(entry: int, piece: "Piece") -> None:
    outside = [m.dimension for m in piece.measurements if not m.inside]
    tail = f" (check {', '.join(outside)} outside its limits)" if outside else ""
    click.echo(f"Entered: {entry}, {piece.part} piece {piece.number}: {piece.verdict.upper()}{tail}")


@command.command("report")
@click.argument("job", type=FILE)
@click.argument("parts", nargs=-1)
@click.option("--out", type=FILE, help="Write the charts and their reasons as a PDF.")
@click.option("--svg", "svg_folder", type=click.Path(path_type=Path, file_okay=False), help="Folder for charts as SVG.")
@click.option("--book", type=FILE, help="The shop's book; the one of the shop file by default.")
@click.option("--units", type=click.Choice(["in", "mm"]), help="Units to print; the job's by default.")
@click.option("--json", "json_wanted", is_flag=True, help="Print as JSON.")
@guarded
def report(
    job: Path,
    parts: tuple[str, ...],
    out: Path | None,
    svg_folder: Path | None,
    book: Path | None,
    units: str | None,
    json_wanted: bool,
) -> None:
    """Say what the measured pieces of JOB tell: mean, spread, capability, drift, and what to correct now.

    \b
    Example:
      flatgen inspect report examples/float-fittings/job.toml --out out/report.pdf

    Deviations are from nominal. Cp and Cpk with their 95 % bounds; below about 25 pieces Cpk's bounds are rough.
    """
    from flatgen.records.book import open_book
    from flatgen.records.inspections import current_pieces, dimension_reports, remake_list, stop_reports

    at = job_place(job, book, units)
    assert at.job is not None
    lists = {one.part: one for one in _checklists(at, parts)}
    with open_book(at.book, writing=False) as opened:
        pieces = [p for p in current_pieces(opened, at.job.title) if p.part in lists]
    found = [*dimension_reports(pieces, _springback(at, lists), at.deviation), *stop_reports(pieces, at.deviation)]
    again = remake_list(at.book, at.job.title)
    if json_wanted:
        as_json({"reports": [_report_dict(one) for one in found], "make_again": again})
        return
    if not found:
        click.echo(f'No measured pieces of "{at.job.title}" in {at.book} yet; flatgen inspect record enters them.')
        return
    _print(found, lists, at)
    if again:
        click.echo("To make again: " + ", ".join(f"{part} x {count}" for part, count in again.items()))
    _draw(found, lists, at, out, svg_folder, len(pieces))


def _springback(at: Place, lists: dict[str, "Checklist"]) -> dict[tuple[str, str], float]:
    """Released over leaf angle of each angle that is measured, as the set-up sheets have it."""
    from flatgen.make import develop_all

    assert at.job is not None
    blanks = {one.part.id: one.blank for one in develop_all(at.job)}
    ratios = {}
    for part, one in lists.items():
        for check in one.checks:
            if check.bend:
                line = blanks[part].bend(check.bend)
                if line.overbend_to > 0:
                    ratios[part, str(check.number)] = line.angle / line.overbend_to
    return ratios


def _name(one: "DimensionReport", lists: dict[str, "Checklist"]) -> str:
    if not one.part:
        return one.dimension
    try:
        what = lists[one.part].check(int(one.dimension)).what
    except (KeyError, ValueError):
        what = "no longer on the sheet"
    return f"{one.part}, {one.dimension} {what}"


def _print(found: list["DimensionReport"], lists: dict[str, "Checklist"], at: Place) -> None:
    rows = []
    for one in found:
        kind, r = one.series.kind, one.found
        bounds = r.capability
        many = r.mean.count > 1
        rows.append(
            (
                _name(one, lists),
                str(r.mean.count),
                at.deviation(kind, r.mean.mean),
                at.deviation(kind, r.mean.half_width)[1:] if many else "-",
                at.deviation(kind, r.mean.spread)[1:] if many else "-",
                f"{bounds.spread_index:.2f} ({bounds.spread_low:.2f} to {bounds.spread_high:.2f})" if bounds else "-",
                f"{bounds.index:.2f} ({bounds.index_low:.2f} to {bounds.index_high:.2f})" if bounds else "-",
                str(r.outside) if r.outside else "-",
            )
        )
    heads = ("what", "n", "mean off by", "± 95 %", "spread", "Cp", "Cpk", "outside")
    click.echo(table(rows, heads, right=(1, 2, 3, 4, 7)))
    for one in found:
        click.echo()
        click.echo(f"{_name(one, lists)}: {action_text(one, at)}")
        for line in (*one.found.advice.reasons, *one.found.signs):
            click.echo(f"  {line}")


def action_text(one: "DimensionReport", at: Place) -> str:
    """What to do now, with the amount and which way."""
    advice, kind = one.found.advice, one.series.kind
    if not advice.amount:
        return advice.action.upper()
    amount = f"{at.deviation(kind, advice.amount)} ± {at.deviation(kind, advice.half_width)[1:]}"
    return f"{advice.action.upper()} by {amount}"


def _draw(
    found: list["DimensionReport"],
    lists: dict[str, "Checklist"],
    at: Place,
    out: Path | None,
    svg_folder: Path | None,
    pieces: int,
) -> None:
    if out is None and svg_folder is None:
        return
    from flatgen.draw.run_chart import Chart, chart_drawing, report_pages
    from flatgen.drawings import file_name
    from flatgen.write import pdf, svg

    assert at.job is not None
    charts = [
        Chart(
            _name(one, lists),
            one.series,
            one.found,
            action_text(one, at),
            (*one.found.advice.reasons, *one.found.signs),
        )
        for one in found
    ]
    if out is not None:
        about = f"{pieces} pieces measured  ·  deviations from nominal, {'inches' if at.units == 'in' else 'mm'}"
        out.parent.mkdir(parents=True, exist_ok=True)
        pages = report_pages(f"Inspection report: {at.job.title}", about, charts, at.units, at.paper)
        pdf.write_pages(pages, out)
        click.echo(f"Drawn: {out}", err=True)
    if svg_folder is not None:
        svg_folder.mkdir(parents=True, exist_ok=True)
        for one, chart in zip(found, charts, strict=True):
            name = file_name(f"{one.part or 'stop'}-{one.dimension}")
            svg.write(chart_drawing(chart, at.units), svg_folder / f"{name}.svg")
        click.echo(f"Drawn: {svg_folder}", err=True)


def _report_dict(one: "DimensionReport") -> dict[str, Any]:
    from dataclasses import asdict

    data = asdict(one.found)
    if one.found.mean.count == 1:
        data["mean"] |= {"error": None, "low": None, "high": None}
    return {
        "part": one.part,
        "dimension": one.dimension,
        "kind": one.series.kind,
        "nominal": one.nominal,
        "stop": one.series.on_stop,
        "pieces": list(one.series.places),
        "deviations": list(one.series.deviations),
        **data,
    }
