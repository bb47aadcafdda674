"""flatgen new: a starter shop and job, from questions or options."""

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from flatgen.cli.options import FOLDER, IN_MM
from flatgen.cli.say import folded, guarded, styled
from flatgen.core.words import Units
from flatgen.errors import InputError

if TYPE_CHECKING:
    from flatgen.jobs.starter import Begun, FirstSheet, Wishes

T = TypeVar("T")
ONE = {"noses": "nose", "sheets": "sheet"}  # options that are given once for each
CUTTING = ("shear", "router", "snips")
UNIT_WORDS = dict.fromkeys(("inch", "inches"), "in") | dict.fromkeys(("millimetres", "millimeters"), "mm")
UNKNOWN = "unknown"
PAPERS = ("letter", "legal", "tabloid", "a4", "a3")


@click.command("new")
@click.argument("folder", type=FOLDER, default=".")
@click.option("--units", type=IN_MM, help="Units that you work in.")
@click.option("--title", help="What the job is.")
@click.option("--brake", help="What the brake is called.")
@click.option("--brake-length", help="Its usable length.")
@click.option("--nose", "noses", multiple=True, help="Measured radius of a nose bar; once for each bar.")
@click.option("--fingers", help="Widths of its fingers, with commas; 0 for one solid bar; a guess when left out.")
@click.option("--back-stop/--no-back-stop", default=None, help="Whether it has a back stop.")
@click.option("--cut", "cutting", type=click.Choice(CUTTING), help="How blanks leave the sheet.")
@click.option(
    "--sheet",
    "sheets",
    multiple=True,
    help='"alloy, thickness, length (along the grain), width, price"; once for each size.',
)
@click.option("--paper", type=click.Choice(PAPERS), help="Paper in the printer.")
@click.option("--profile", help="Profile of the first part; flatgen profiles lists them.")
@click.option("--part", help="Its part number.")
@click.option("--quantity", type=click.IntRange(1, 100_000), help="Pieces wanted.")
@click.option("--yes", is_flag=True, help="Ask nothing: the usual values for what is not given.")
@guarded
def command(folder: Path, yes: bool, **given: Any) -> None:
    """Write a commented shop.toml and job.toml into FOLDER, ready for flatgen make.

    \b
    Examples:
      flatgen new my-fittings --yes
      flatgen new metric-job --yes --units mm --nose 3 --nose 5 --sheet "6061-T6, 1.2, 1250, 625"

    Without --yes it asks for what the options do not say. Measure nose bars, sheet and brake; do not take them from a
    catalogue. A shop.toml that is there already is kept and used.
    """
    from flatgen.jobs.starter import begin

    _report(begin(folder, _wishes(given, ask=not yes)), folder)


def _wishes(given: dict[str, Any], ask: bool) -> "Wishes":
    """What the options say, then what the person answers, then the usual."""
    from flatgen.jobs.starter import positive, read_sheet, usual
    from flatgen.read.profile import find_profile

    if ask:
        click.echo("Answer, or press Enter for what stands in brackets. Everything can be changed in the files later.")

    def value(key: str, question: str, default: T, check: Callable[[str], T], *, shown: str = "") -> T:
        """An option, an answer or the default; what cannot be read is asked again, or refused when nobody is asked."""
        said = given[key]
        if said is not None and said != ():
            try:
                return check(said)
            except InputError as error:
                raise InputError(error.message, where=f"--{ONE.get(key, key).replace('_', '-')}") from None
        if not ask:
            return default
        return _asked(question, shown or str(default), check)

    def choice(names: tuple[str, ...]) -> Callable[[str], str]:
        def check(text: str) -> str:
            return click.Choice(names, case_sensitive=False).convert(text.strip(), None, None)

        return check

    def unit(text: str) -> str:
        return choice(("in", "mm"))(UNIT_WORDS.get(text.strip().lower(), text))

    asked = value("units", "Do you work in inches or millimetres (in, mm)?", "in", unit)
    units: Units = "in" if asked == "in" else "mm"
    base = usual(units)

    def length(text: str) -> str:
        positive(text, units)
        return text.strip()

    def lengths(text: str | tuple[str, ...]) -> tuple[str, ...]:
        words = text.split(",") if isinstance(text, str) else text
        return tuple(dict.fromkeys(length(word) for word in words))

    def widths(text: str) -> tuple[str, ...] | None:
        if text.strip().lower() == UNKNOWN:
            return None
        return () if text.strip() == "0" else tuple(length(word.strip()) for word in text.split(","))

    def yes(text: str | bool) -> bool:
        return text if isinstance(text, bool) else choice(("yes", "no"))(text) == "yes"

    def sheets(text: str | tuple[str, ...]) -> Any:
        read = tuple(read_sheet(one, units) for one in (text.split(";") if isinstance(text, str) else text))
        return tuple(_grain_asked(sheet, units) if ask else sheet for sheet in read)

    def profile(text: str) -> str:
        find_profile(text.strip())
        return text.strip()

    def count(text: Any) -> int:
        return int(click.IntRange(1, 100_000).convert(text, None, None))

    def words(text: str) -> str:
        if not text.strip():
            raise click.BadParameter("an empty text will not do")
        return text.strip()

    first = base.sheets[0]
    example = f"{first.material}, {first.thickness}, {first.length}, {first.width}"
    return replace(
        base,
        title=value("title", "What is the job called?", base.title, words),
        brake=value("brake", "What is your brake called?", base.brake, words),
        brake_length=value("brake_length", "How long is it?", base.brake_length, length),
        noses=value("noses", "Radii of its nose bars, with commas?", base.noses, lengths, shown=", ".join(base.noses)),
        fingers=value(
            "fingers",
            f"Widths of its fingers, with commas (0: one solid bar; {UNKNOWN}: not measured)?",
            base.fingers,
            widths,
            shown=UNKNOWN,
        ),
        back_stop=value("back_stop", "Has it a back stop (yes, no)?", base.back_stop, yes, shown="yes"),
        cutting=value("cutting", f"What do you cut with ({', '.join(CUTTING)})?", base.cutting, choice(CUTTING)),
        sheets=value(
            "sheets",
            "Sheet: alloy, thickness, length along the grain, width across it (more with ;)?",
            base.sheets,
            sheets,
            shown=example,
        ),
        paper=value("paper", f"Paper in the printer ({', '.join(PAPERS)})?", base.paper, choice(PAPERS)),
        profile=value("profile", "Profile of the first part (flatgen profiles)?", base.profile, profile),
        part=value("part", "Its part number?", base.part, words),
        quantity=value("quantity", "How many of it?", base.quantity, count),
    )


def _grain_asked(sheet: "FirstSheet", units: Units) -> "FirstSheet":
    """The sheet turned round, unless its grain does run along the shorter side."""
    from flatgen.jobs.starter import grain_is_short

    if not grain_is_short(sheet, units):
        return sheet
    question = f"Does the grain of {sheet.material} run along its shorter side, {sheet.length}?"
    if click.confirm(question, default=False, err=True):
        return replace(sheet, short_grain=True)
    return replace(sheet, length=sheet.width, width=sheet.length)


def _asked(question: str, default: str, check: Callable[[str], T]) -> T:
    from flatgen.errors import FlatgenError

    while True:
        answer = click.prompt(question, default=default, err=True)
        try:
            return check(answer)
        except FlatgenError as error:
            click.echo(f"  {error}", err=True)
        except click.UsageError as error:
            click.echo(f"  {error.format_message()}", err=True)


def _report(begun: "Begun", folder: Path) -> None:
    from flatgen.cli.summary import print_findings

    for path in begun.written:
        click.echo(f"wrote {path}")
    for path in begun.kept:
        click.echo(f"kept {path} as it was")
    print_findings(begun.findings, begun.units, notes=False)
    click.echo(styled("Next", sys.stdout, bold=True))
    job = folder / "job.toml"
    click.echo(folded(f"Look through {job} and set the sizes of your drawing.", sys.stdout, "  1. "))
    click.echo(folded(f"flatgen make {_quoted(job)} --out {_quoted(folder / 'out')}", sys.stdout, "  2. "))


def _quoted(path: Path) -> str:
    import shlex

    return shlex.quote(str(path))
