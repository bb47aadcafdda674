"""flatgen coupon: plan test bends, record what was measured, show the shop's own numbers."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flatgen.cli.options import FILE, FOLDER, INTO, ask, form
from flatgen.cli.say import as_json, guarded, table
from flatgen.cli.shop_book import Place, at_the_book, book_options, job_place, place
from flatgen.errors import of_file

if TYPE_CHECKING:
    from flatgen.records.coupons import Combination, Coupon


@click.group("coupon")
def command() -> None:
    """Plan test bends, record their measurements, show the shop's own deductions and spring-back.

    \b
    Example:
      flatgen coupon plan examples/float-fittings/job.toml --out out/coupons

    Keep hands clear of leaf and clamp; wear eye protection. A coupon speaks for its own sheet, nose and angle only.
    """


@command.command("plan")
@click.argument("job", type=FILE)
@click.option("--out", type=FOLDER, help="Folder for coupons.pdf, DXF and SVG.")
@INTO
@click.option("--book", type=FILE, help="The shop's book; the one of the shop file by default.")
@click.option("--json", "json_wanted", is_flag=True, help="Print the plan as JSON.")
@guarded
def plan(job: Path, out: Path | None, into: bool, book: Path | None, json_wanted: bool) -> None:
    """List the test bends that JOB needs and the book lacks, and draw them.

    \b
    Example:
      flatgen coupon plan examples/float-fittings/job.toml --out out/coupons

    One strip a combination of alloy, thickness, nose and grain where fewer than 12 bends depend on it, 2 below 50, else
    3; more where tables disagree or it may crack. A strip at another angle counts by its neutral-axis ratio.
    """
    from flatgen.jobs.developed import develop_all
    from flatgen.records.coupon_plan import coupon_part, marked, needs

    at = job_place(job, book, None)
    assert at.job is not None
    made = develop_all(at.job)
    blanks = {one.part.id: one.blank for one in made}
    wanted = needs([one.part for one in made], blanks, at.job.shop.proofs)
    named = marked(wanted, [part.id for part in at.job.parts])
    if json_wanted:
        as_json([_need_dict(mark, need) for mark, need in named])
    else:
        rows = [
            (
                mark,
                need.material.key,
                at.bare(need.thickness),
                need.nose,
                need.grain,
                f"{need.angle:g}",
                str(need.pieces),
                str(need.recorded),
                str(need.missing) if need.missing else "-",
            )
            for mark, need in named
        ]
        heads = ("coupon", "alloy", f"T, {at.units}", "nose", "grain", "angle", "bends", "recorded", "to bend")
        click.echo(table(rows, heads, right=(2, 5, 6, 7, 8)) if rows else "No part of this job is bent on a nose bar.")
    parts = tuple(coupon_part(need, mark, at.units) for mark, need in named if need.missing)
    if out is not None and parts:
        written = _draw(at, parts, out, into)
        click.echo(f"Drawn: {written}", err=True)


def _need_dict(mark: str, need: Any) -> dict[str, Any]:
    return {
        "coupon": mark,
        "material": need.material.key,
        "thickness": need.thickness,
        "nose": need.nose,
        "nose_radius": need.nose_radius,
        "grain": need.grain,
        "angle": need.angle,
        "bends": need.pieces,
        "recorded": need.recorded,
        "missing": need.missing,
    }


def _draw(at: Place, parts: tuple[Any, ...], out: Path, into: bool) -> Path:
    from flatgen.develop.develop import develop
    from flatgen.draw.coupon import coupon_pages, coupon_pattern
    from flatgen.output.folder import written_folder
    from flatgen.write import dxf, pdf, svg

    assert at.shop is not None and at.job is not None
    blanks = {part.id: develop(part, at.shop, at.shop.allowance) for part in parts}
    with written_folder(out, "coupon plan", into=into, inputs=at.inputs) as folder:
        for part in parts:
            drawing = coupon_pattern(part, blanks[part.id], at.units)
            dxf.write(drawing, folder / f"{part.id}.dxf")
            svg.write(drawing, folder / f"{part.id}.svg")
        where = dict.fromkeys(blanks, "a remnant or off-cut of this metal, else a sheet")
        pages = coupon_pages(at.job.title, parts, blanks, at.units, (), where, at.paper)
        pdf.write_pages(pages, folder / "coupons.pdf")
    return out / "coupons.pdf"


def _coupon_options(function: Any) -> Any:
    from flatgen.jobs.coupon_entry import FIELDS

    for field in reversed(FIELDS):
        name = "--by" if field.key == "recorded_by" else f"--{field.key.replace('_', '-')}"
        function = click.option(name, field.key, help=f"{field.ask}.")(function)
    return function


@dataclass(frozen=True, slots=True)
class Recorded:
    """Measured coupons, as they are told."""

    job_file: Path | None = ask(
        "--job", type=FILE, help="Job whose plan knows the mark: alloy, nose, angle follow from it."
    )
    csv_file: Path | None = ask(
        "--csv", type=FILE, help="Coupons from a CSV file, a row each, columns named like options."
    )
    asking: bool = ask("--ask", is_flag=True, help="Ask for what is missing, one thing after the other.")
    replaces: int | None = ask("--replaces", type=int, help="Number of an earlier entry that this one corrects.")
    withdraw: int | None = ask("--withdraw", type=int, help="Number of an earlier entry that no longer counts.")
    reason: str = ask("--reason", default="", help="Why an entry is corrected or withdrawn.")


@command.command("record")
@form(Recorded)
@_coupon_options
@book_options
@guarded
def record(asked: Recorded, shop: Path | None, book: Path | None, units: str | None, **texts: str | None) -> None:
    """Enter measured coupons: by options, by --ask, or from a CSV file.

    \b
    Example:
      flatgen coupon record --shop shop.toml --mark CP1/1 --material "2024-T3 clad" --thickness .032 \\
        --nose "nose 1/8" --grain across --angle 90 --measured-thickness .0318 --blank-length 2.905 \\
        --leaf-angle 94 --released-angle 90.2 --leg-a 1.502 --leg-b 1.501

    Angles are turned through from flat; legs are outside sizes to the mould point. Nothing is ever removed from the
    book: a correction is a new entry with a reason.
    """
    from flatgen.cli.coupon_entry import ask_coupon
    from flatgen.jobs.coupon_entry import coupon_of, coupons_of_csv
    from flatgen.records import coupons as entries

    at = job_place(asked.job_file, book, units) if asked.job_file else place(shop, book, units)
    if asked.withdraw is not None:
        number = entries.withdraw_coupon(at.book, asked.withdraw, asked.reason)
        click.echo(f"Entered: {number}, coupon {asked.withdraw} no longer counts")
        return
    if asked.csv_file is not None:
        given = coupons_of_csv(asked.csv_file, at)
    elif asked.asking:
        given = (ask_coupon(texts, at),)
    else:
        given = (coupon_of(texts, at),)
    for coupon in given:
        for doubt in entries.doubts(coupon, at.length) if not entries.faults(coupon, at.length) else ():
            click.echo(f"doubtful: {coupon.name}: {doubt}", err=True)
    if asked.replaces is not None:
        numbers: tuple[int, ...] = (entries.correct_coupon(at.book, asked.replaces, given[0], asked.reason, at.length),)
    else:
        with of_file(asked.csv_file):
            numbers = entries.record_coupons(at.book, given, at.length)
    for number, coupon in zip(numbers, given, strict=True):
        click.echo(f"Entered: {number}, {coupon.name}, {_numbers(coupon, at)}")


def _numbers(coupon: "Coupon", at: Place) -> str:
    from flatgen.core.coupon import reduce_coupon

    found = reduce_coupon(coupon.strip, coupon.angle)
    return (
        f"deduction {at.length(found.deduction)} at {coupon.angle:g}°, neutral-axis ratio "
        f"{found.neutral_axis_ratio:.2f}, released/leaf {found.springback_ratio:.3f}"
    )


@command.command("show")
@click.option("--each", is_flag=True, help="List every coupon too, also replaced and withdrawn ones.")
@click.option("--json", "json_wanted", is_flag=True, help="Print as JSON.")
@guarded
@at_the_book
def show(each: bool, json_wanted: bool, at: Place) -> None:
    """Show the shop's own deductions and spring-back, with their errors, against the table.

    \b
    Example:
      flatgen coupon show --shop examples/float-fittings/shop.toml

    ± is the standard error of the mean; "95 %" half its confidence interval. Odd coupons are named, and count.
    """
    from flatgen.jobs.coupon_words import heads, remarks, row
    from flatgen.records.book import open_book
    from flatgen.records.coupons import combinations, current_coupons

    with open_book(at.book, writing=False) as opened:
        found = combinations(current_coupons(opened))
        history = opened.rows("SELECT * FROM coupon ORDER BY id") if each else []
    if json_wanted:
        as_json([_combination_dict(c, at) for c in found])
        return
    if not found:
        click.echo(f"No coupons in {at.book} yet; flatgen coupon plan JOB says which to bend.")
        return
    click.echo(table([row(c, at) for c in found], heads(at), right=tuple(range(1, 12))))
    for c in found:
        for line in remarks(c, at):
            click.echo(line)
    if each:
        click.echo()
        replaced = {row["replaces"] for row in history}
        rows = [
            (
                str(row["id"]),
                row["recorded_at"][:10],
                row["mark"],
                row["material"],
                at.bare(row["blank_length"]),
                at.bare(row["leg_a"]),
                at.bare(row["leg_b"]),
                f"{row['leaf_angle']:g}",
                f"{row['released_angle']:g}",
                row["batch"] or row["sheet"],
                _state(row, replaced),
            )
            for row in history
        ]
        own = ("entry", "date", "mark", "alloy", f"L, {at.units}", "A", "B", "leaf", "released", "sheet", "state")
        click.echo(table(rows, own, right=(0, 4, 5, 6, 7, 8)))


def _state(row: Any, replaced: set[Any]) -> str:
    if row["withdrawn"]:
        return f"withdraws {row['replaces']}: {row['reason']}"
    text = f"corrects {row['replaces']}: {row['reason']}" if row["replaces"] else ""
    return f"{text} (no longer counts)".strip() if row["id"] in replaced else text


def _combination_dict(c: "Combination", at: Place) -> dict[str, Any]:
    from flatgen.jobs.coupon_words import offset as offset_of
    from flatgen.records.coupons import deduction_by_table
    from flatgen.tables.load import materials

    found = c.found
    metal = materials().get(c.material)
    by_table = deduction_by_table(c, metal, at.shop)[1] if metal else None
    offset = offset_of(c, at)
    single = len(c.coupons) == 1

    def estimate(e: Any) -> dict[str, float | None]:
        kept = single and e.error == float("inf")
        return {"mean": e.mean, "error": None if kept else e.error, "low": None if kept else e.low,
                "high": None if kept else e.high}  # fmt: skip

    return {
        "material": c.material,
        "thickness": c.thickness,
        "nose_radius": c.nose_radius,
        "angle": c.angle,
        "grain": c.grain,
        "coupons": len(c.coupons),
        "deduction": estimate(found.deduction),
        "deduction_by_table": by_table,
        "allowance": estimate(found.allowance),
        "neutral_axis_ratio": estimate(found.neutral_axis_ratio),
        "springback_ratio": estimate(found.springback_ratio),
        "leaf_angle": found.leaf_angle,
        "leaf_angle_error": found.leaf_angle_error,
        "formed_radius": found.formed_radius,
        "stop_offset": estimate(offset) if offset else None,
        "odd": [coupon.id for coupon in c.odd],
        "spread_assumed": found.assumed_spread,
    }
