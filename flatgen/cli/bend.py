"""``flatgen bend``: the bend calculator. Loads no drawing or geometry library unless a chart is asked for."""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from flatgen.cli.options import IN_MM, ask, form
from flatgen.cli.say import guarded

if TYPE_CHECKING:
    from flatgen.cli.bend_input import BendInput
    from flatgen.develop.methods import Case
    from flatgen.model.material import Material
    from flatgen.model.shop import Brake, Shop

CHART_NAME = "bend-chart-METAL"  # stands for a name that is made from the metal's


@dataclass(frozen=True, slots=True)
class Asked:
    """What the calculator is asked."""

    alloy: str | None = ask("--material", "-m", help='Alloy and temper, as "2024-T3 clad".')
    thickness: str | None = ask(
        "--thickness", "-t", help="Nominal thickness of the sheet: it picks tables and records."
    )
    measured: str | None = ask("--measured", help="Thickness by micrometer: the bend is worked out with it.")
    radius: str | None = ask("--radius", "-r", help="Inside radius on the drawing; ? with --blank and --legs: find it.")
    angle: str | None = ask("--angle", "-a", help="Angle turned through, 1 to 180; 90 when left out.")
    between: str | None = ask("--between", help="Angle between the legs, in place of --angle.")
    legs: str = ask(
        "--legs", default="", help='Legs with commas, "1.000, 0.750"; ? for one of them with --blank: find it.'
    )
    measured_to: str = ask(
        "--measured-to",
        type=click.Choice(["outside", "inside", "tangent"]),
        default="outside",
        show_default=True,
        help="What the legs are measured to: mould lines, inside faces or tangent lines.",
    )
    blank: str | None = ask("--blank", help="Length of a blank: measured on a part already made, or wanted.")
    fit: Path | None = ask(
        "--fit", type=click.Path(path_type=Path), help="CSV of parts already made: fit the neutral-axis ratio."
    )
    method: str = ask(
        "--method", default="", help="Allowance method to use; the shop's or the handbook's when left out."
    )
    neutral_axis_ratio: float | None = ask("--neutral-axis-ratio", type=float, help="For the neutral-axis method.")
    deduction: str | None = ask("--deduction", help="A deduction known for this bend.")
    grain: str = ask("--grain", default="90", show_default=True, help="Angle between bend line and rolling direction.")
    length: str | None = ask("--length", help="Length of the bend, for the forces.")
    table: str = ask("--table", default="", help="Table of least radii that governs; the most cautious when left out.")
    shop_file: Path | None = ask(
        "--shop", type=click.Path(path_type=Path), help="shop.toml: its noses, brake and records."
    )
    brake_name: str = ask("--brake", default="", help="Brake of the shop; the first when left out.")
    chart: str | None = ask(
        "--chart",
        is_flag=False,
        flag_value=CHART_NAME,
        metavar="[NAME]",
        help="Write a wall chart to NAME.pdf and NAME.svg; bend-chart and the metal's name when left out.",
    )
    units: str | None = ask("--units", type=IN_MM, help="Unit of bare numbers and of the answer.")
    to_json: bool = ask("--json", is_flag=True, help="Print everything as JSON, in mm and degrees.")


@click.command("bend")
@form(Asked)
@guarded
def command(asked: Asked) -> None:
    """One bend by every method side by side, spring-back, least radius and effort.

    \b
    Examples:
      flatgen bend -m 2024-T3 -t 0.040 -r 5/32 --legs "1.000, 0.750"
      flatgen bend -m 6061-T6 -t 0.063 -r 1/8 --between 120
      flatgen bend -m 2024-T3 -t 0.040 -r 5/32 --legs "1.000, ?" --blank 1.631
      flatgen bend -m 2024-T3 -t 0.040 -r 5/32 --legs "1.002, 0.751" --blank 1.631
      flatgen bend -t 0.040 -r 5/32 --fit made.csv
      flatgen bend --chart -m 2024-T3 --shop shop.toml

    Legs are joined by equal bends. The angle is turned through from flat: "120 between the legs" is a bend of 60.
    Radii, deductions and over-bends are advisory until a test bend has proved them; the drawing and the designer
    decide. Keep hands clear of leaf and nose; edges are sharp.
    """
    from flatgen.cli import bend_text
    from flatgen.cli.bend_input import BendInput
    from flatgen.develop.bend_inverse import find
    from flatgen.develop.bend_report import Question, bend_report

    shop, brake = _shop(asked.shop_file, asked.brake_name)
    given = BendInput(asked.units or (shop.units if shop else "in"))
    turned = given.angle(asked.angle, asked.between)
    if asked.fit is not None:
        fitted = given.fit(asked.fit, turned, asked.thickness, asked.radius)
        bend_text.say_fit(fitted, given.units, asked.to_json)
        return
    metal = _metal(asked.alloy)
    if asked.chart is not None:
        _chart(asked, metal, given, shop, brake)
        return
    case = _case(asked, given, turned, metal, shop)
    if asked.blank is not None:
        legs = given.legs_but_one(asked.legs)
        found = find(given.length("--blank", asked.blank), legs, asked.measured_to, case, asked.method)
        bend_text.say_found(found, given.units, asked.to_json)
        return
    report = bend_report(
        Question(
            case,
            given.legs(asked.legs),
            asked.measured_to,
            asked.method,
            brake,
            given.degrees("--grain", asked.grain, 0.0, 90.0),
            given.length("--length", asked.length) if asked.length else None,
            given.table(asked.table, metal),
        )
    )
    bend_text.say_report(report, given.units, asked.to_json)
    if report.forbidden:
        raise SystemExit(3)


def _case(asked: Asked, given: "BendInput", turned: float, metal: "Material", shop: "Shop | None") -> "Case":
    """The bend that is asked about; its radius is no number where it is to be found."""
    from flatgen.cli.bend_input import FIND
    from flatgen.develop.methods import Case

    nominal = given.thickness(asked.thickness)
    measured = given.measured(asked.measured, nominal)
    radius = math.nan if asked.radius == FIND else given.length("--radius", asked.radius, zero=True)
    deduction = given.signed("--deduction", asked.deduction)
    return Case(turned, radius, measured, metal, shop, asked.neutral_axis_ratio, deduction, nominal=nominal)


def _metal(word: str | None) -> "Material":
    from flatgen.errors import InputError
    from flatgen.tables.load import material

    if not word:
        raise InputError("missing; name the alloy and temper", where="--material")
    try:
        return material(word)
    except InputError as error:
        raise InputError(error.message, where="--material") from error


def _shop(file: Path | None, brake_name: str) -> tuple["Shop | None", "Brake | None"]:
    from flatgen.errors import InputError, nearest

    if file is None:
        if brake_name:
            raise InputError("a brake is chosen from a shop file; give --shop too", where="--brake")
        return None, None
    from flatgen.read.shop import read_shop

    shop = read_shop(file)
    from flatgen.records.book import book_path

    if book_path(shop).exists():
        from dataclasses import replace

        from flatgen.records.book import open_book
        from flatgen.records.coupons import combinations, current_coupons, shop_bends

        with open_book(book_path(shop), writing=False) as book:
            shop = replace(shop, records=shop_bends(combinations(current_coupons(book))))
    names = [brake.name for brake in shop.brakes]
    if brake_name and brake_name not in names:
        raise InputError(f'no brake "{brake_name}". {nearest(brake_name, names)}', where="--brake")
    return shop, shop.brake(brake_name)


def _chart(asked: Asked, metal: "Material", given: "BendInput", shop: "Shop | None", brake: "Brake | None") -> None:
    from flatgen.develop.allowance import nose_options
    from flatgen.draw.bend_chart import bend_chart
    from flatgen.output.single import check_file, written_file
    from flatgen.write import pdf, svg

    target = Path(asked.chart if asked.chart and asked.chart != CHART_NAME else f"bend-chart-{metal.key}")
    stem = target.with_suffix("") if target.suffix in (".pdf", ".svg") else target
    noses = nose_options(brake) if brake else ()
    for kind in ("pdf", "svg"):
        check_file(stem.with_name(f"{stem.name}.{kind}"), kind, "bend")
    chart = bend_chart(
        metal,
        radii=tuple((option.name, option.radius) for option in noses),
        thicknesses=tuple(given.length("--thickness", word) for word in (asked.thickness or "").split(",") if word),
        shop=shop,
        method=asked.method,
        table=given.table(asked.table, metal),
        units="in" if given.units == "in" else "mm",
        paper=shop.printer_paper if shop else "letter",
    )
    for writer, kind in ((pdf, "pdf"), (svg, "svg")):
        path = stem.with_name(f"{stem.name}.{kind}")
        with written_file(path, kind, "bend") as fresh:
            writer.write(chart, fresh)
        click.echo(f"written: {path}")
