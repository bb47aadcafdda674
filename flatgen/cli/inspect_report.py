"""What measured pieces say, as a table with the corrections to make now, as charts, as plain data."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flatgen.cli.say import table
from flatgen.core.words import counted
from flatgen.jobs.inspecting import Lists, charts_of, name_of, signs_of
from flatgen.jobs.shop_place import Place

if TYPE_CHECKING:
    from flatgen.records.corrections import Instruction
    from flatgen.records.inspections import DimensionReport

COMMAND = "inspect report"
STOPS_AND_LEAF = ("back stop", "front stop", "sight line", "leaf")  # these have a setting; a part may be named "1"


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


def print_report(found: Sequence["DimensionReport"], said: Sequence[tuple[str, str, tuple[str, ...]]], lists: Lists,
                 at: Place) -> None:  # fmt: skip
    """Table of means, spreads and capability; then for each part the one thing to do and why."""
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
    for part, action, reasons in said:
        click.echo()
        click.echo(f"{part}: {action}")
        for line in (*reasons, *signs_of(part, found, lists)):
            click.echo(f"  {line}")


def draw(
    found: Sequence["DimensionReport"],
    said: Sequence[tuple[str, str, tuple[str, ...]]],
    lists: Lists,
    at: Place,
    files: Files,
    pieces: int,
) -> None:
    """Charts as pages of a PDF and as SVG, where asked for."""
    if files.pdf is None and files.folder is None:
        return
    from flatgen.draw.run_chart import chart_drawing, report_pages
    from flatgen.drawings import file_name
    from flatgen.output.folder import written_folder
    from flatgen.output.single import written_file
    from flatgen.write import pdf, svg

    assert at.job is not None
    charts = charts_of(found, said, lists)
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
                name = file_name(f"{one.part}-{one.dimension}")
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


def instruction_dict(one: "Instruction", text: str) -> dict[str, Any]:
    """An instruction as plain data: what is changed by how much, in words too, and what the sizes come to."""
    told = one.told
    return {
        "part": one.part,
        "action": one.advice.action,
        "change": told.cause.kind if told else None,
        "setup": int(told.cause.name) if told and told.cause.kind in STOPS_AND_LEAF else None,
        "amount": one.advice.amount,
        "half_width": one.advice.half_width,
        "text": text,
        "then": [{"check": number, "now": now, "then": then} for number, now, then in one.then],
        "later": [later.cause.kind for later in one.later],
    }
