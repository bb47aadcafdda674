"""What a command says when it is done: what was made, what is doubtful, what to do next."""

from pathlib import Path

import click

from flatgen.cli.say import table
from flatgen.model.finding import Finding, Severity
from flatgen.model.results import Results
from flatgen.units import format_length


def print_summary(results: Results, folder: Path | None) -> None:
    """Parts, sheets, findings and the next step."""
    from flatgen.write.results_json import totals

    units = results.job.units
    rows = []
    for made in results.parts:
        blank = made.blank
        size = f"{format_length(blank.width, units)} x {format_length(blank.height, units)}"
        state = "STOPPED" if made.stopped else ""
        rows.append((made.part.id, str(made.part.quantity), str(made.pieces), made.part.material.key, size, state))
    click.echo(results.job.title)
    click.echo(table(rows, ("part", "wanted", "cut", "material", f"blank, {units}", ""), right=(1, 2)))
    total = totals(results)
    for report in results.nests:
        used = ", ".join(f"{n.sheet.id} {n.utilisation:.0%}" for n in report.nests)
        click.echo(f"{report.material} {format_length(report.thickness, units)} {units}, {report.tool}: {used}")
    cost = "" if total["cost"] is None else f", {results.job.shop.currency}{total['cost']:.2f}"
    click.echo(f"{total['pieces']} pieces on {sum(total['sheets'].values())} sheets{cost}")
    print_findings(results.findings)
    if folder is not None:
        click.echo(f"Open {folder / 'index.html'}")


def print_findings(findings: tuple[Finding, ...]) -> None:
    """Findings, the stopping ones first, to standard error."""
    order = {Severity.FORBID: 0, Severity.WARN: 1, Severity.NOTE: 2}
    for finding in sorted(findings, key=lambda f: (not f.stops, order[f.severity])):
        state = "waived" if finding.waived else str(finding.severity)
        click.echo(f"{state:7} {finding.part}, {finding.where}: {finding.message} [{finding.rule}]", err=True)
        if finding.waived:
            click.echo(f"        because: {finding.waived}", err=True)
    stops = sum(finding.stops for finding in findings)
    open_ = sum(finding.severity is Severity.WARN and not finding.waived for finding in findings)
    if findings:
        click.echo(f"{stops} findings forbid going on, {open_} ask for a decision", err=True)
