"""What a command says when it is done: what was made, what is doubtful, what to do next."""

import math
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from flatgen.cli.say import folded, styled, table
from flatgen.core.words import counted
from flatgen.jobs.again import Made
from flatgen.model.finding import Finding
from flatgen.model.results import Results
from flatgen.units import format_length

STYLES: dict[str, dict[str, Any]] = {
    "stop": {"fg": "red", "bold": True},
    "decide": {"fg": "yellow", "bold": True},
    "note": {"fg": "blue"},
    "waived": {"dim": True},
}


def print_summary(results: Results, folder: Path | None, *, bending: bool = True) -> None:
    """Parts, sheets, findings and the next steps."""
    from flatgen.page.findings import doubts
    from flatgen.write.packet_words import key_figures, next_steps

    _print_parts(results)
    _print_nests(results, whole=folder is None)
    click.echo()
    for name, lines in key_figures(results):
        if name not in ("Doubtful", "Sheets"):
            click.echo(folded("; ".join(lines), sys.stdout, f"{name}: "))
    if bending and results.plan is not None:
        planned, plain = results.plan.planned, results.plan.plain
        click.echo(f"Brake: {counted(planned.settings, 'setting')}; part by part it would be {plain.settings}")
    print_findings(results.findings, results.job.units, notes=False)
    click.echo(folded(doubts(results.findings, results.job.units), sys.stdout, "Doubtful: "))
    if folder is None:
        return
    click.echo(styled("Next", sys.stdout, bold=True))
    click.echo(folded(f"Open {folder / 'index.html'} (or print what lies beside it).", sys.stdout, "  1. "))
    for number, step in enumerate(next_steps(results), 2):
        click.echo(folded(step, sys.stdout, f"  {number}. "))


def print_changes(made: Made, folder: Path) -> None:
    """What a make changed against the packet that was there, in a few lines."""
    if not made.changes:
        click.echo(f"Nothing has changed: {folder} is as it was.")
    for line in made.changes or ():
        if line.startswith("STOP "):
            click.echo(folded(line.removeprefix("STOP "), sys.stdout, styled("STOP    ", sys.stdout, **STYLES["stop"])))
        else:
            click.echo(folded(line, sys.stdout))
    click.echo(folded(made.doubts, sys.stdout, "Doubtful: "))


def _print_parts(results: Results) -> None:
    units, nested = results.job.units, results.nested
    rows = []
    for made in results.parts:
        blank = made.blank
        size = f"{format_length(blank.width, units)} x {format_length(blank.height, units)}"
        words = [str(len(blank.bends)), made.part.material.name, format_length(blank.thickness, units), size]
        far = (str(made.counts.good), str(made.counts.in_work)) if made.counts else ("", "")
        row = (made.part.id, str(made.part.quantity), *far, str(nested[made.part.id]), *words)
        rows.append((*row, "STOP" if made.stopped else "done" if made.finished else ""))
    click.echo(folded(results.job.title, sys.stdout))
    heads = ("part", "want", "good", "in work", "cut", "bends", "material", f"T, {units}", f"blank, {units}", "")
    begun = any(made.counts and made.counts.cut for made in results.parts)
    shown = [k for k in range(len(heads)) if begun or k not in (2, 3)]
    right = tuple(n for n, k in enumerate(shown) if k in (1, 2, 3, 4, 5, 7))
    click.echo(table([tuple(row[k] for k in shown) for row in rows], tuple(heads[k] for k in shown), right=right))


def _print_nests(results: Results, *, whole: bool) -> None:
    """Sheets with their use; ``whole``: with all that is known of how good the nests are."""
    from flatgen.write.nest_words import nest_facts, nest_title

    units = results.job.units
    rows = []
    for report in results.nests:
        sheets: dict[str, list[float]] = {}
        for nest in report.nests:
            sheets.setdefault(nest.sheet.id, []).append(nest.utilisation)
        for sheet, used in sheets.items():
            share = f"{math.fsum(used) / len(used):.0%}"
            rows.append((sheet, str(len(used)), report.tool, format_length(report.thickness, units), share))
    if rows:
        click.echo()
        click.echo(table(rows, ("sheet", "number", "cut with", f"T, {units}", "used"), right=(1, 3, 4)))
    remarks: dict[str, list[str]] = {}
    for report in results.nests:
        title, said = nest_title(results, report), nest_facts(results, report)
        for _, text in (fact for fact in said if fact[0] in ("Kept", "Note")):
            remarks.setdefault(text, []).append(title)
        if whole:
            click.echo("\n" + folded(title, sys.stdout))
            for name, text in said:
                click.echo(folded(text, sys.stdout, f"  {name}: "))
    for text, titles in () if whole else remarks.items():
        which = "all nests" if len(titles) == len(results.nests) else "; ".join(titles)
        click.echo(folded(f"{which}: {text}", sys.stdout, "note    "))


def print_findings(findings: Iterable[Finding], units: str, *, notes: bool = True) -> None:
    """Findings to standard error, one line a cause, the stopping ones first."""
    from flatgen.page.findings import lines, told

    found = lines(findings, units)
    shown = [line for line in found if notes or line.state != "note"]
    for line in shown:
        what = line.state
        mark = styled(f"{what.upper() if what == 'stop' else what:7}", sys.stderr, **STYLES[what])
        click.echo(folded(f"{told(line)} [{line.rule}]", sys.stderr, f"{mark} "), err=True)
    if len(shown) < len(found):
        click.echo(f"note    {counted(len(found) - len(shown), 'note')} more: flatgen check prints them", err=True)
