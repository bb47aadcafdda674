"""What measured pieces say, as a table with the corrections to make now, as charts, as plain data."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flatgen.cli.say import table
from flatgen.cli.shop_book import Place
from flatgen.core.words import counted

if TYPE_CHECKING:
    from flatgen.model.inspection import Check, Checklist
    from flatgen.records.inspections import DimensionReport

Lists = Mapping[str, "Checklist"]
COMMAND = "inspect report"


@dataclass(frozen=True)
class Files:
    """Where charts are to go: into one PDF, as SVG into a folder, or nowhere."""

    pdf: Path | None
    folder: Path | None
    into: bool

    def check(self, at: Place) -> None:
        """Raise InputError for a place that may not be written to, before anything is computed."""
        from flatgen.output.folder import check_folder
        from flatgen.output.single import check_file

        if self.pdf is not None:
            check_file(self.pdf, "pdf", COMMAND, at.inputs)
        if self.folder is not None:
            check_folder(self.folder, into=self.into)


def check_of(one: "DimensionReport", lists: Lists) -> "Check | None":
    """The check on the sheet that a report is about; for a stop, the first that it sets; None when there is none."""
    if one.part:
        found = [
            c
            for c in lists[one.part].checks
            if str(c.number) == one.dimension.split(" ")[0] and c.kind == one.series.kind
        ]
    else:
        found = [c for sheet in lists.values() for c in sheet.checks if c.stop == one.dimension]
    return found[0] if found else None


def name_of(one: "DimensionReport", lists: Lists) -> str:
    """Part, number and words of a size; or the stop setting."""
    if not one.part:
        return one.dimension
    check = check_of(one, lists)
    return f"{one.part}, {one.dimension} {check.what if check else 'no longer on the sheet'}"


def action_text(one: "DimensionReport", lists: Lists, at: Place) -> str:
    """What to do now, by how much, and from which setting to which."""
    advice, kind = one.found.advice, one.series.kind
    action = advice.action.upper()
    if not advice.amount:
        return action
    text = f"{action} by {at.deviation(kind, advice.amount)} ± {at.deviation(kind, advice.half_width)[1:]}"
    check = check_of(one, lists)
    if check is None or not check.setting or advice.action == "change the blank":
        return text
    old, new = check.setting, check.setting + advice.amount
    if kind == "angle":
        return f"{text}: leaf from {old:.1f}° to {new:.1f}°"
    return f"{text}: from {at.length(old)} to {at.length(new)}"


def print_report(found: Sequence["DimensionReport"], lists: Lists, at: Place) -> None:
    """Table of means, spreads and capability; then, one by one, what to do and why."""
    rows = []
    for one in found:
        kind, r = one.series.kind, one.found
        bounds = r.capability
        many = r.mean.count > 1
        rows.append(
            (
                name_of(one, lists),
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
        click.echo(f"{name_of(one, lists)}: {action_text(one, lists, at)}")
        for line in (*one.found.advice.reasons, *one.found.signs):
            click.echo(f"  {line}")


def draw(
    found: Sequence["DimensionReport"],
    lists: Lists,
    at: Place,
    files: Files,
    pieces: int,
) -> None:
    """Charts as pages of a PDF and as SVG, where asked for."""
    if files.pdf is None and files.folder is None:
        return
    from flatgen.draw.run_chart import Chart, chart_drawing, report_pages
    from flatgen.drawings import file_name
    from flatgen.output.folder import written_folder
    from flatgen.output.single import written_file
    from flatgen.write import pdf, svg

    assert at.job is not None
    charts = [
        Chart(
            name_of(one, lists),
            one.series,
            one.found,
            action_text(one, lists, at),
            (*one.found.advice.reasons, *one.found.signs),
        )
        for one in found
    ]
    if files.pdf is not None:
        about = (
            f"{counted(pieces, 'piece')} measured  ·  deviations from nominal, {'inches' if at.units == 'in' else 'mm'}"
        )
        pages = report_pages(f"Inspection report: {at.job.title}", about, charts, at.units, at.paper)
        with written_file(files.pdf, "pdf", COMMAND, at.inputs) as path:
            pdf.write_pages(pages, path)
        click.echo(f"Drawn: {files.pdf}", err=True)
    if files.folder is not None:
        with written_folder(files.folder, COMMAND, into=files.into, inputs=at.inputs) as folder:
            for one, chart in zip(found, charts, strict=True):
                name = file_name(f"{one.part or 'stop'}-{one.dimension}")
                svg.write(chart_drawing(chart, at.units), folder / f"{name}.svg")
        click.echo(f"Drawn: {files.folder}", err=True)


def report_dict(one: "DimensionReport") -> dict[str, Any]:
    """A report as plain data; what a single value does not tell is null."""
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
