"""``flatgen bend``: the bend calculator. Loads no drawing or geometry library unless a chart is asked for."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from flatgen.cli.say import guarded

if TYPE_CHECKING:
    from flatgen.cli.bend_input import BendInput
    from flatgen.model.material import Material
    from flatgen.model.shop import Brake, Shop

CHART_NAME = "bend-chart-METAL"  # stands for a name that is made from the metal's


@click.command("bend")
@click.option("--material", "-m", "alloy", help='Alloy and temper, as "2024-T3 clad".')
@click.option("--thickness", "-t", help="Nominal thickness of the sheet: it picks tables and records.")
@click.option("--measured", help="Thickness by micrometer: the bend is worked out with it.")
@click.option("--radius", "-r", help="Inside radius on the drawing; ? with --blank and --legs: find it.")
@click.option("--angle", "-a", default=None, help="Angle turned through, 1 to 180; 90 when left out.")
@click.option("--between", default=None, help="Angle between the legs, in place of --angle.")
@click.option("--legs", default="", help='Legs with commas, "1.000, 0.750"; ? for one of them with --blank: find it.')
@click.option(
    "--measured-to",
    type=click.Choice(["outside", "inside", "tangent"]),
    default="outside",
    show_default=True,
    help="What the legs are measured to: mould lines, inside faces or tangent lines.",
)
@click.option("--blank", default=None, help="Length of a blank: measured on a part already made, or wanted.")
@click.option("--fit", type=click.Path(path_type=Path), help="CSV of parts already made: fit the neutral-axis ratio.")
@click.option("--method", default="", help="Allowance method to use; the shop's or the handbook's when left out.")
@click.option("--neutral-axis-ratio", type=float, help="For the neutral-axis method.")
@click.option("--deduction", default=None, help="A deduction known for this bend.")
@click.option("--grain", default="90", show_default=True, help="Angle between bend line and rolling direction.")
@click.option("--length", default=None, help="Length of the bend, for the forces.")
@click.option("--table", default="", help="Table of least radii that governs; the most cautious when left out.")
@click.option("--shop", "shop_file", type=click.Path(path_type=Path), help="shop.toml: its noses, brake and records.")
@click.option("--brake", "brake_name", default="", help="Brake of the shop; the first when left out.")
@click.option(
    "--chart",
    is_flag=False,
    flag_value=CHART_NAME,
    metavar="[NAME]",
    help="Write a wall chart to NAME.pdf and NAME.svg; bend-chart and the metal's name when left out.",
)
@click.option("--units", type=click.Choice(["in", "mm"]), help="Unit of bare numbers and of the answer.")
@click.option("--json", "to_json", is_flag=True, help="Print everything as JSON, in mm and degrees.")
@guarded
def command(
    alloy: str | None,
    thickness: str | None,
    radius: str | None,
    angle: str | None,
    between: str | None,
    legs: str,
    measured: str | None,
    measured_to: str,
    blank: str | None,
    fit: Path | None,
    method: str,
    neutral_axis_ratio: float | None,
    deduction: str | None,
    grain: str,
    length: str | None,
    table: str,
    shop_file: Path | None,
    brake_name: str,
    chart: str | None,
    units: str | None,
    to_json: bool,
) -> None:
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
    Radii, deductions and over-bends are advisory until a test bend has shown them; the drawing and the designer
    decide. Keep hands clear of leaf and nose; edges are sharp.
    """
    from flatgen.cli import bend_text
    from flatgen.cli.bend_input import BendInput

    shop, brake = _shop(shop_file, brake_name)
    given = BendInput(units or (shop.units if shop else "in"))
    turned = given.angle(angle, between)
    if fit is not None:
        bend_text.say_fit(given.fit(fit, turned, thickness, radius), given.units, to_json)
        return
    metal = _metal(alloy)
    if chart is not None:
        _chart(chart, metal, given, shop, brake, thickness, table, method)
        return
    nominal = given.thickness(thickness)
    sheet = given.measured(measured, nominal)
    if blank is not None:
        found = given.inverse(
            blank, legs, measured_to, metal, (nominal, sheet), radius, turned, method, neutral_axis_ratio, shop
        )
        bend_text.say_found(found, given.units, to_json)
        return

    from flatgen.develop.bend_report import bend_report

    report = bend_report(
        material=metal,
        thickness=sheet,
        nominal=nominal,
        radius=given.length("--radius", radius, zero=True),
        angle=turned,
        legs=given.legs(legs),
        measured_to=measured_to,
        method=method,
        neutral_axis_ratio=neutral_axis_ratio,
        deduction=given.signed("--deduction", deduction),
        shop=shop,
        brake=brake,
        angle_to_grain=given.degrees("--grain", grain, 0.0, 90.0),
        length=given.length("--length", length) if length else None,
        table=given.table(table, metal),
    )
    bend_text.say_report(report, given.units, to_json)
    if report.forbidden:
        raise SystemExit(3)


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


def _chart(
    name: str,
    metal: "Material",
    given: "BendInput",
    shop: "Shop | None",
    brake: "Brake | None",
    thickness: str | None,
    table: str,
    method: str,
) -> None:
    from flatgen.develop.allowance import nose_options
    from flatgen.draw.bend_chart import bend_chart
    from flatgen.output.single import check_file, written_file
    from flatgen.write import pdf, svg

    target = Path(name if name != CHART_NAME else f"bend-chart-{metal.key}")
    stem = target.with_suffix("") if target.suffix in (".pdf", ".svg") else target
    noses = nose_options(brake) if brake else ()
    for kind in ("pdf", "svg"):
        check_file(stem.with_name(f"{stem.name}.{kind}"), kind, "bend")
    chart = bend_chart(
        metal,
        radii=tuple((option.name, option.radius) for option in noses),
        thicknesses=tuple(given.length("--thickness", word) for word in thickness.split(",")) if thickness else (),
        shop=shop,
        method=method,
        table=given.table(table, metal),
        units="in" if given.units == "in" else "mm",
        paper=shop.printer_paper if shop else "letter",
    )
    for writer, kind in ((pdf, "pdf"), (svg, "svg")):
        path = stem.with_name(f"{stem.name}.{kind}")
        with written_file(path, kind, "bend") as fresh:
            writer.write(chart, fresh)
        click.echo(f"written: {path}")
