"""flatgen brake: survey of a brake, its answers, what it bends; check sheet and what to move."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from flatgen.cli.options import FILE, IN_MM, INTO, JOB, ask, form
from flatgen.cli.say import as_json, guarded, table

if TYPE_CHECKING:
    from collections.abc import Callable

    from flatgen.core.aligning import Moves
    from flatgen.core.words import Units
    from flatgen.jobs.brake import Bench
    from flatgen.jobs.brake_check import Strip
    from flatgen.model.material import Material
    from flatgen.model.survey import Measure

SHOP = click.argument("shop", type=FILE, required=False)
BRAKE = click.option("--brake", default="", help="Name of the brake; the shop's first by default.")
NOSE = click.option("--nose", default="", help="Name of the nose bar; the brake's first by default.")
UNITS = click.option("--units", type=IN_MM, help="Units of the numbers; the shop's by default.")
JSON = click.option("--json", "json_wanted", is_flag=True, help="Print as JSON.")


@click.group("brake")
def command() -> None:
    """The brake that there is: survey it, enter what was measured, see what it bends, bring it square.

    \b
    Example:
      flatgen brake survey examples/first-clips/shop.toml --out out/survey.pdf

    Keep hands clear of leaf and clamp; lock the leaf before you reach under it; wear eye protection.
    """


def at_shop(shop: Path | None, brake: str, nose: str) -> "Bench | None":
    """The brake of the shop file named, or of shop.toml here; None without one."""
    from flatgen.jobs.brake import bench

    file = shop or Path("shop.toml")
    return bench(file, brake, nose) if shop or file.is_file() else None


def needed(shop: Path | None, brake: str, nose: str = "") -> "Bench":
    """The same, where a shop file must be."""
    from flatgen.errors import InputError

    found = at_shop(shop, brake, nose)
    if found is None:
        raise InputError("there is no shop.toml here; name the shop file")
    return found


@command.command("survey")
@SHOP
@BRAKE
@NOSE
@click.option("--out", type=FILE, help="File; brake-survey.pdf by default.")
@UNITS
@guarded
def survey(shop: Path | None, brake: str, nose: str, out: Path | None, units: "Units | None") -> None:
    """Print two pages that show what to measure on a brake and how, with boxes.

    \b
    Example:
      flatgen brake survey examples/first-clips/shop.toml --out out/survey.pdf

    Without a shop file the pages are blank, to take along before a brake is bought.
    """
    from flatgen.jobs.brake import write_survey

    at = at_shop(shop, brake, nose)
    target = out or Path("brake-survey.pdf")
    count = write_survey(at, target, units or (at.shop.units if at else "in"))
    click.echo(f"{target}: {count} pages; measure, then flatgen brake enter SHOP --ask")


@command.command("enter")
@SHOP
@BRAKE
@NOSE
@click.option("--ask", is_flag=True, help="Ask for every figure of the survey; an empty answer leaves it as it is.")
@click.option(
    "--set", "given", multiple=True, metavar="KEY=VALUE", help='One figure, as "throat=6 in"; may come again.'
)
@UNITS
@guarded
def enter(shop: Path | None, brake: str, nose: str, ask: bool, given: tuple[str, ...], units: "Units | None") -> None:
    """Enter what was measured into the shop file; it is no guess any more. Comments in the file stay.

    \b
    Example:
      flatgen brake enter shop.toml --set "handle=18 in" --set "nose radius=0.121 in"
    """
    from flatgen.errors import InputError
    from flatgen.jobs import brake as jobs

    at = needed(shop, brake, nose)
    answers: dict[Measure, str] = {}
    for one in given:
        key, equals, value = one.partition("=")
        if not equals:
            raise InputError(f'"{one}" is not KEY=VALUE', where="--set")
        answers[jobs.measure_named(key.strip())] = value
    if ask:
        answers |= _asked(at, answers)
    if not any(answer.strip() for answer in answers.values()):
        raise InputError("nothing to enter: give --ask or --set")
    after = jobs.enter(at, answers)
    for measure, answer in answers.items():
        if answer.strip():
            click.echo(f"Measured: {'nose ' if measure.owner == 'nose' else ''}{measure.key} = {answer.strip()}")
    at = jobs.bench(Path(after.file), at.brake.name, at.nose.name)
    _print_bends(at, units or at.shop.units)


def _asked(at: "Bench", known: "dict[Measure, str]") -> "dict[Measure, str]":
    from flatgen import budget
    from flatgen.errors import FlatgenError
    from flatgen.jobs import brake as jobs
    from flatgen.model.survey import MEASURES, Measure

    text = budget.content(Path(at.shop.file)).decode("utf-8")
    answers: dict[Measure, str] = {}
    for measure in MEASURES:
        if measure in known:
            continue

        def check(answer: str, measure: Measure = measure) -> str:
            if answer.strip():
                try:
                    jobs.measured(at, {measure: answer}, text)
                except FlatgenError as error:
                    raise click.BadParameter(str(error)) from error
            return answer

        whose = f"nose bar {at.nose.name}, " if measure.owner == "nose" else ""
        what = f"{whose}{measure.ask} [{jobs.unit_of(measure, at.shop.units)}], or nothing"
        answers[measure] = click.prompt(what, value_proc=check, default="", show_default=False)
    return answers


@command.command("bends")
@SHOP
@BRAKE
@UNITS
@JSON
@guarded
def bends(shop: Path | None, brake: str, units: "Units | None", json_wanted: bool) -> None:
    """Show what a brake bends: the thickest sheet by metal and length, and the pull at the handle.

    \b
    Example:
      flatgen brake bends examples/first-clips/shop.toml

    The lesser of what its plate says and what two hands hold, the leaf's own weight included.
    """
    at = needed(shop, brake)
    if json_wanted:
        from dataclasses import asdict

        from flatgen.brake.effort import reaches

        as_json([asdict(one) | {"thickest": one.thickest} for one in reaches(at.brake, metals(at))])
    else:
        _print_bends(at, units or at.shop.units)


def metals(at: "Bench") -> "list[Material]":
    """Those of the shop's sheets, and mild steel; all known ones where the shop has no sheet."""
    from flatgen.tables.load import materials

    known = materials()
    own = [name for name in dict.fromkeys(sheet.material for sheet in at.shop.sheets) if name in known]
    return [known[name] for name in dict.fromkeys((*own, "mild-steel"))] if own else list(known.values())


def _print_bends(at: "Bench", units: "Units") -> None:
    from flatgen.brake.effort import condition, lift, reaches
    from flatgen.core.force import TWO_HANDS
    from flatgen.said import within
    from flatgen.units import format_force, format_length

    brake = at.brake
    rows = []
    for one in reaches(brake, metals(at)):
        sizes = ("-" if one.by_plate is None else format_length(one.by_plate, units),
                 format_length(one.by_hand, units) if one.by_hand else "none")  # fmt: skip
        rows.append((one.material, format_length(one.length, units), *sizes, format_force(one.pull, units)))
    heads = ("metal", f"over, {units}", "by plate", "by hand", "pull")
    click.echo(f'What brake "{brake.name}" bends: thickest sheet, {units}')
    click.echo(table(rows, heads, right=(1, 2, 3, 4)))
    guesses = [name for name in ("handle", "leaf_lift", "capacity_thickness") if getattr(brake, name) is None]
    if guesses:
        click.echo(f"Not measured: {', '.join(guesses)}")
    limit, bare = format_force(TWO_HANDS, units), lift(brake)
    if bare >= TWO_HANDS:
        click.echo(
            f"The bare leaf alone pulls {format_force(bare, units)}, two hands hold {limit}: balance it or lengthen the"
            " handle, then enter leaf_lift anew."
        )
    click.echo(f"By hand: what two hands hold, {limit}; estimates, for judging a brake, not for building one.")
    for text in condition(brake):
        click.echo(within(text, units), err=True)


@command.command("gauges")
@JOB
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder; gauges by default.")
@click.option("--scrap", is_flag=True, help="Lay them on remnants and on what the job's sheets leave, too.")
@INTO
@guarded
def gauges(job: Path, out: Path | None, scrap: bool, into: bool) -> None:
    """Write the gauges of JOB at true size, for the leaf and for its bends: pages, a DXF each, their places on scrap.

    \b
    Example:
      flatgen brake gauges examples/first-clips/job.toml --out out/gauges --scrap

    Scrap may be of any metal, 0.5 to 2 mm (.020 to .080 in) thick; the smallest pieces that hold them are taken.
    """
    from flatgen.jobs.gauges import write_gauges
    from flatgen.jobs.loading import load

    target = out or Path("gauges")
    files, left = write_gauges(load(job), target, scrap=scrap, into=into)
    click.echo(f"{target}: {', '.join(files)}; print at actual size and measure the bars")
    if left:
        click.echo(f"No scrap holds {', '.join(left)}: glue these to card", err=True)


METAL = click.option("--metal", default="", help="Of the strips; the shop's stiffest sheet by default.")
THICK = click.option("--thickness", default="", help="Of the strips, with --metal.")


@command.command("check")
@SHOP
@BRAKE
@NOSE
@METAL
@THICK
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="File; brake-check.pdf by default.")
@UNITS
@guarded
def check(
    shop: Path | None, brake: str, nose: str, metal: str, thickness: str, out: Path | None, units: "Units | None"
) -> None:
    """Print the check sheet: set-back and gaps, three narrow strips and one as long as the bar, boxes for what is read.

    \b
    Example:
      flatgen brake check examples/first-clips/shop.toml --out out/check.pdf

    Do it again whenever a nose bar was changed.
    """
    from flatgen.jobs.brake_check import write_sheet

    at = needed(shop, brake, nose)
    target = out or Path("brake-check.pdf")
    write_sheet(at, _strip(at, metal, thickness), target, units or at.shop.units)
    click.echo(f"{target}: bend the strips, then flatgen brake align SHOP --ask")


def _strip(at: "Bench", metal: str, thickness: str) -> "Strip":
    from flatgen.jobs.brake_check import strip_for
    from flatgen.units import parse_length

    return strip_for(at, metal, parse_length(thickness, at.shop.units) if thickness else 0.0)


ASKED = (
    ("gauge", "Set-back by the gauge strip: left, right", 2),
    ("gaps", "Gap under the nose at five places, left to right", 5),
    ("narrow_legs", "Narrow strips L, M, R: clamped legs", 3),
    ("narrow_angles", "Narrow strips L, M, R: angles", 3),
    ("long_legs", "Long strip: clamped leg at left, middle, right", 3),
    ("long_angles", "Long strip: angle at left, middle, right", 3),
)


def _readings(function: "Callable[..., None]") -> "Callable[..., None]":
    for key, what, _ in reversed(ASKED):
        function = click.option(f"--{key.replace('_', '-')}", key, default="", help=f"{what}, with commas.")(function)
    return function


@dataclass(frozen=True, slots=True)
class Aligned:
    """What the check sheet asks for."""

    shop: Path | None = ask(SHOP)
    brake: str = ask(BRAKE)
    nose: str = ask(NOSE)
    metal: str = ask(METAL)
    thickness: str = ask(THICK)
    asking: bool = ask("--ask", is_flag=True, help="Ask for every reading; an empty answer: not looked at.")
    moved: str | None = ask(
        "--moved", help='What was moved if not as told: "left=0.2, right=0, shim=0.1, twist=0, stop=0, leaf=0".'
    )
    anew: bool = ask(
        "--new", is_flag=True, help="The bar was changed or the brake taken apart: earlier rounds do not count."
    )
    by: str = ask("--by", default="", help="Who measured.")
    units: "Units | None" = ask(UNITS)


@command.command("align")
@form(Aligned)
@_readings
@guarded
def align(asked: Aligned, **texts: str) -> None:
    """Enter what the check sheet asks for; learn which end to move and how far, shims, leaf, or that the hinge is worn.

    \b
    Example:
      flatgen brake align shop.toml --gauge ".044, .051" --narrow-legs "1.5, 1.49, 1.48" --narrow-angles "90, 89, 88"

    What is told is taken as done before the next round, unless --moved says otherwise. Each round goes into the shop's
    book with its date, and makes the next advice better.
    """
    from flatgen.brake.effort import condition
    from flatgen.draw.check_sheet import about, advice
    from flatgen.jobs import brake as jobs
    from flatgen.jobs.brake_check import Read, counting, enter
    from flatgen.said import within

    at = needed(asked.shop, asked.brake, asked.nose)
    strip = _strip(at, asked.metal, asked.thickness)
    shown = asked.units or at.shop.units
    if asked.asking:
        for key, what, _ in ASKED:
            unit = "" if "angle" in key else f" [{at.shop.units}]"
            texts[key] = texts[key] or click.prompt(f"{what}{unit}, or nothing", default="", show_default=False)
    values = {key: _values(at, key, texts[key], count) for key, _, count in ASKED}
    gaps, changed = values.pop("gaps"), counting(at)[1]
    found = enter(at, strip, Read(**values), _moves(at, asked.moved), anew=asked.anew, by=asked.by)
    if gaps:
        shop = jobs.enter(at, {jobs.measure_named("nose_gaps"): texts["gaps"]})
        at = jobs.bench(Path(shop.file), at.brake.name, at.nose.name)
    for text in advice(found, strip.setup.stop_side):
        click.echo(within(text, shown))
    for text in (*condition(at.brake), about(found), *([f"{changed}: earlier rounds do not count"] if changed else [])):
        click.echo(within(text, shown), err=True)


def _values(at: "Bench", key: str, text: str, count: int) -> tuple[float, ...]:
    from flatgen.errors import InputError
    from flatgen.units import parse_angle, parse_length

    if not text.strip():
        return ()
    pieces = [one.strip() for one in text.split(",")]
    if len(pieces) != count:
        raise InputError(f'"{text}" is not {count} values with commas between them', where=f"--{key.replace('_', '-')}")
    return tuple(parse_angle(one) if "angle" in key else parse_length(one, at.shop.units) for one in pieces)


def _moves(at: "Bench", text: str | None) -> "Moves | None":
    from dataclasses import fields

    from flatgen.core.aligning import Moves
    from flatgen.errors import InputError, nearest
    from flatgen.units import parse_angle, parse_length

    if text is None:
        return None
    known, found = [one.name for one in fields(Moves)], {}
    for one in filter(None, (piece.strip() for piece in text.split(","))):
        name, _, value = (piece.strip() for piece in one.partition("="))
        if name not in known:
            raise InputError(
                f'there is nothing to move that is called "{name}". {nearest(name, known)}', where="--moved"
            )
        found[name] = parse_angle(value) if name in ("twist", "leaf") else parse_length(value, at.shop.units)
    return Moves(**found)
