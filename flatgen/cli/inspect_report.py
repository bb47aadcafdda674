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
    from flatgen.model.plan import Setup
    from flatgen.records.corrections import Instruction, Told
    from flatgen.records.inspections import DimensionReport

Lists = Mapping[str, "Checklist"]
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


def check_of(one: "DimensionReport", lists: Lists) -> "Check | None":
    """The check on the sheet that a report is about; None when there is none any more."""
    found = [c for c in lists[one.part].checks if str(c.number) == one.dimension.split(" ")[0]]
    return next((c for c in found if c.kind == one.series.kind), None)


def name_of(one: "DimensionReport", lists: Lists) -> str:
    """Part, number and words of a size."""
    check = check_of(one, lists)
    return f"{one.part}, {one.dimension} {check.what if check else 'no longer on the sheet'}"


def told_text(one: "Told", planned: Mapping[str, "Setup"], at: Place) -> str:
    """What a setting is to be changed by, and its direction in words.

    `planned` has by number the settings that stand as planned: of these it also says from where to where. What was
    changed since stands where the bench has put it, which is not in the book.
    """
    advice, kind, name = one.advice, one.series.kind, one.cause.name
    amount = f"{at.deviation(kind, abs(advice.amount))[1:]} ± {at.deviation(kind, advice.half_width)[1:]}"
    more = advice.amount > 0.0
    if one.cause.kind == "cut":
        size = "longer" if more else "shorter"
        return f"CUT THE NEXT BLANKS {amount} {size} across {', '.join(one.cause.of)}, to the size that is printed"
    if one.cause.kind == "deduction":
        return f"TAKE {amount} {'less' if more else 'more'} as the deduction of each bend; the blanks' cut is right"
    if one.cause.kind == "blank":
        size = "longer" if more else "shorter"
        way = "less" if more else "more"
        return f"CUT THE NEXT BLANKS {amount} {size} for each bend (its deduction is as much {way})"
    where, setup = f"of setting {name}", planned.get(name)
    stands = ", from where it stands now"
    if one.cause.kind == "leaf":
        if setup is not None:
            stands = f": from {setup.overbend_to:.1f}° to {setup.overbend_to + advice.amount:.1f}°"
        return f"TAKE THE LEAF {where} {amount} {'further' if more else 'less far'}{stands}"
    if one.cause.kind == "sight line":
        return f"MOVE THE SIGHT LINE {where} {amount} {'away from' if more else 'toward'} the gauged edge"
    mark = "nose" if one.cause.kind == "back stop" else "bed"
    side = f"away from the {mark}" if more else f"toward the {mark}"
    if setup is not None:
        stands = f": from {at.length(setup.stop)} to {at.length(setup.stop + advice.amount)}"
    return f"MOVE THE {one.cause.kind.upper()} {where} {side} by {amount}{stands}"


def instruction_lines(
    one: "Instruction", lists: Lists, planned: Mapping[str, "Setup"], at: Place
) -> tuple[str, tuple[str, ...]]:
    """The one thing to do for a part; then why, what its sizes come to, and what waits."""
    if one.told is None:
        return one.advice.action.upper(), one.advice.reasons
    lines = list(one.advice.reasons)
    sheet = lists[one.part]
    for number, now, then in one.then:
        check = sheet.check(number)
        stays = abs(then - now) < 1e-6
        change = "stays" if stays else f"comes from {at.deviation(check.kind, now)} to"
        lines.append(f"{number} {check.what}: {change} {at.deviation(check.kind, then)} off nominal")
    for later in one.later:
        lines.append(f"not yet: {told_text(later, planned, at)}; measure three pieces made after the change first")
    return told_text(one.told, planned, at), tuple(lines)


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


def signs_of(part: str, found: Sequence["DimensionReport"], lists: Lists) -> list[str]:
    """Odd values and other signs, by size."""
    signs = [f"{name_of(one, lists)}: {sign}" for one in found if one.part == part for sign in one.found.signs]
    return [*signs, *_ends(part, found)]


END_WORDS = {
    "left": "its left end drifts, not its right: the nose or the hinge moves there, see flatgen brake check",
    "right": "its right end drifts, not its left: the nose or the hinge moves there, see flatgen brake check",
    "all": "both ends drift alike: leaf stop, stop or sheet",
}


def _ends(part: str, found: Sequence["DimensionReport"]) -> list[str]:
    """For each angle that was taken at the left and the right: whether one end drifts, or all of it."""
    from flatgen.core.ends import drifting

    series = {one.dimension: dict(zip(one.series.places, one.series.deviations, strict=True)) for one in found
              if one.part == part}  # fmt: skip
    told = []
    for name, left in series.items():
        number, _, place = name.partition(" ")
        right = series.get(f"{number} right", {})
        both = sorted(left.keys() & right.keys()) if place == "left" else []
        end = drifting(both, [left[k] for k in both], [right[k] for k in both]) if both else ""
        if end:
            told.append(f"{part}, {number}: {END_WORDS[end]}")
    return told


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
    from flatgen.draw.run_chart import Chart, chart_drawing, report_pages
    from flatgen.drawings import file_name
    from flatgen.output.folder import written_folder
    from flatgen.output.single import written_file
    from flatgen.write import pdf, svg

    assert at.job is not None
    todo = {part: (action, reasons) for part, action, reasons in said}
    told: set[str] = set()
    charts = []
    for one in found:
        action, reasons = todo[one.part]
        # the reasons stand once for each part
        why = () if one.part in told else reasons
        told.add(one.part)
        charts.append(Chart(name_of(one, lists), one.series, one.found, action, (*why, *one.found.signs)))
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
