"""flatgen tally: how far a job is, what to do tonight; its other commands come from the files beside it."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flatgen.cli import tally_bags, tally_entries, tally_old
from flatgen.cli.options import FILE
from flatgen.cli.say import as_json, guarded, table
from flatgen.cli.tally_entry import BOOK, JOB
from flatgen.core.words import counted

if TYPE_CHECKING:
    from flatgen.jobs.tallying import Place


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
    from flatgen.said import within
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
        click.echo(f"decide  {within(one.text, at.units)}")


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


for other in (*tally_entries.COMMANDS, *tally_old.COMMANDS, *tally_bags.COMMANDS):
    command.add_command(other)
