"""flatgen new: a starter shop and job, from questions or options."""

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

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
SPOILED = (
    "Of 100 pieces, how many go wrong? So many spares are cut, until the entries of the shop tell its own rate; usual"
    " are 5, for beginners 10"
)
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
@click.option("--spoiled", type=click.IntRange(0, 50), help="Of 100 pieces, those that go wrong: a guess, for spares.")
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
    from flatgen.jobs.starter import usual

    if ask:
        click.echo("Answer, or press Enter for what stands in brackets. Everything can be changed in the files later.")
    question = "Do you work in inches or millimetres (in, mm)?"
    units: Units = "in" if _answer(given, ask, Question("units", question, _unit), "in") == "in" else "mm"
    base = usual(units)
    questions = _questions(base, units, ask)
    return replace(base, **{one.key: _answer(given, ask, one, getattr(base, one.key)) for one in questions})


class Question(NamedTuple):
    """One thing to know: its key, how it is asked for, what makes a value of the text, what stands in brackets."""

    key: str
    text: str
    check: Callable[[Any], Any]
    shown: str = ""


def _questions(base: "Wishes", units: Units, ask: bool) -> tuple[Question, ...]:
    from flatgen.jobs.starter import positive, read_sheet

    def length(text: str) -> str:
        positive(text, units)
        return text.strip()

    def lengths(text: str | tuple[str, ...]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(length(word) for word in (text.split(",") if isinstance(text, str) else text)))

    def widths(text: str) -> tuple[str, ...] | None:
        if text.strip().lower() == UNKNOWN:
            return None
        return () if text.strip() == "0" else tuple(length(word.strip()) for word in text.split(","))

    def sheets(text: str | tuple[str, ...]) -> Any:
        read = tuple(read_sheet(one, units) for one in (text.split(";") if isinstance(text, str) else text))
        return tuple(_grain_asked(sheet, units) if ask else sheet for sheet in read)

    first, fingers = base.sheets[0], f"Widths of its fingers, with commas (0: one solid bar; {UNKNOWN}: not measured)?"
    example = f"{first.material}, {first.thickness}, {first.length}, {first.width}"
    wanted = "Sheet: alloy, thickness, length along the grain, width across it (more with ;)?"
    return (
        Question("title", "What is the job called?", _words),
        Question("brake", "What is your brake called?", _words),
        Question("brake_length", "How long is it?", length),
        Question("noses", "Radii of its nose bars, with commas?", lengths, ", ".join(base.noses)),
        Question("fingers", fingers, widths, UNKNOWN),
        Question("back_stop", "Has it a back stop (yes, no)?", _yes, "yes"),
        Question("cutting", f"What do you cut with ({', '.join(CUTTING)})?", _choice(CUTTING)),
        Question("sheets", wanted, sheets, example),
        Question("paper", f"Paper in the printer ({', '.join(PAPERS)})?", _choice(PAPERS)),
        Question("profile", "Profile of the first part (flatgen profiles)?", _profile),
        Question("part", "Its part number?", _words),
        Question("quantity", "How many of it?", _count),
        Question("spoiled", f"{SPOILED} (a guess)?", _share),
    )


def _answer(given: dict[str, Any], ask: bool, one: Question, default: Any) -> Any:
    """An option, an answer or the default; what cannot be read is asked again, or refused when nobody is asked."""
    said = given[one.key]
    if said is not None and said != ():
        try:
            return one.check(said)
        except InputError as error:
            name = ONE.get(one.key, one.key).replace("_", "-")
            raise InputError(error.message, where=f"--{name}") from None
    return _asked(one.text, one.shown or str(default), one.check) if ask else default


def _choice(names: tuple[str, ...]) -> Callable[[str], str]:
    def check(text: str) -> str:
        return click.Choice(names, case_sensitive=False).convert(text.strip(), None, None)

    return check


def _unit(text: str) -> str:
    return _choice(("in", "mm"))(UNIT_WORDS.get(text.strip().lower(), text))


def _yes(text: str | bool) -> bool:
    return text if isinstance(text, bool) else _choice(("yes", "no"))(text) == "yes"


def _profile(text: str) -> str:
    from flatgen.read.profile import find_profile

    find_profile(text.strip())
    return text.strip()


def _share(text: Any) -> int:
    return int(click.IntRange(0, 50).convert(text, None, None))


def _count(text: Any) -> int:
    return int(click.IntRange(1, 100_000).convert(text, None, None))


def _words(text: str) -> str:
    if not text.strip():
        raise click.BadParameter("an empty text will not do")
    return text.strip()


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
