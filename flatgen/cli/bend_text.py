"""How ``flatgen bend`` says its results: as text in display units, or as JSON in millimetres and degrees."""

import math
from typing import TYPE_CHECKING

import click

from flatgen.cli.say import as_json, table

if TYPE_CHECKING:
    from flatgen.core.fit import RatioFit
    from flatgen.develop.bend_inverse import Found
    from flatgen.develop.bend_report import BendReport
    from flatgen.develop.least_radius import RadiusVerdict

HOW = {
    "row": "the row of this thickness",
    "next thicker row": "the next thicker row",
    "thinner than its first row": "its first row, which is thicker",
}
MM_PER_INCH = 25.4
NEWTON_PER_POUND = 4.4482216
CAUTION = "Advisory until a test bend has shown it; the drawing and the designer decide. Keep hands clear of the leaf."
VERDICTS = {
    "ok": "large enough",
    "along-grain": "enough across the grain only: turn the part, take a larger radius or bend a coupon along it",
    "between": "between the tables: coupon first, check every part for cracks",
    "below": "FORBIDDEN, below every table",
    "no-table": "not judged: no table covers this metal and thickness; coupon first, check every part for cracks",
}


def size(mm: float, units: str) -> str:
    """A length to a tenth of a thousandth of an inch or a thousandth of a millimetre; a dash where it has no end."""
    if not math.isfinite(mm):
        return "–"
    return f"{mm / MM_PER_INCH:.4f}" if units == "in" else f"{mm:.3f}"


def _as_json(value: object) -> None:
    from flatgen.write.results_json import plain  # not wanted by who reads the text

    as_json(plain(value))


def say_report(report: "BendReport", units: str, to_json: bool) -> None:
    """Print one bend."""
    if to_json:
        _as_json(report)
        return
    lines = [*_head(report, units), "", *_methods(report, units), "", *_positions(report, units)]
    lines += [*_springback(report, units), "", _radius(report.radius_verdict, units), *_readings(report, units), ""]
    lines += _effort(report, units)
    lines += [f"note: {note}" for note in report.notes]
    click.echo("\n".join([*lines, CAUTION]))


def _head(report: "BendReport", units: str) -> list[str]:
    def s(mm: float) -> str:
        return size(mm, units)

    thick = s(report.thickness)
    if report.nominal != report.thickness:
        thick = f"{thick} (nominal {s(report.nominal)})"
    head = f"{report.material_name}, {thick} {units} thick, inside radius {s(report.radius)} {units}"
    lines = [
        head,
        f"{report.kind} bend: {report.angle:g}° turned through, {report.between_legs:g}° between the legs",
    ]
    if report.nose:
        lines.append(f"bent over {report.nose}" + _other_radius(report, units))
    lines.append(
        f"setback factor {_factor(report.setback_factor)}, outside setback {s(report.outside_setback)},"
        f" inside setback {s(report.inside_setback)} {units}"
    )
    lines.append(f"the outer face is stretched by about {100.0 * report.outer_strain:.0f} %")
    return lines


def _factor(value: float) -> str:
    return f"{value:.4f}" if math.isfinite(value) else "without end"


def _other_radius(report: "BendReport", units: str) -> str:
    if report.radius == report.drawing_radius:
        return ""
    from flatgen.develop.nose_change import nose_change

    change = nose_change(report.angle, report.drawing_radius, report.radius)
    return (
        f" in place of the drawing's {size(report.drawing_radius, units)}: outside sizes stay, blank shorter by"
        f" {size(change.shorter_blank, units)}, each flat and each hole's way to the curve by"
        f" {size(change.shorter_flat, units)} {units}"
    )


def _methods(report: "BendReport", units: str) -> list[str]:
    rows: list[tuple[str, ...]] = []
    for row in report.methods:
        mark = ">" if row.name == report.used else " "
        blank = size(row.developed, units) if row.developed is not None else "–"
        rows.append(
            (
                f"{mark} {row.name}",
                size(row.allowance, units),
                size(row.outside_deduction, units),
                f"{row.neutral_axis_ratio:.3f}",
                blank,
            )
        )
    heads = ("  method", "allowance", "deduction", "neutral-axis ratio", "blank")
    spread = report.spread / MM_PER_INCH * 1000.0
    return [
        table(rows, heads, right=(1, 2, 3, 4)),
        f"spread between them {spread:.1f} thousandths of an inch, {report.spread:.3f} mm",
        f"> used: {report.used}, {report.why} ({report.row.source})",
        "how far to trust each:",
        *(f"  {row.name}: {row.meant_for}; {row.trust}" for row in report.methods),
    ]


def _positions(report: "BendReport", units: str) -> list[str]:
    """Lines of the first bend by every method; of further bends by the method used."""
    lines = []
    start = "its first tangent line"
    if report.legs:
        legs = ", ".join(size(leg, units) for leg in report.legs)
        flats = ", ".join(size(flat, units) for flat in report.flats)
        lines.append(f"legs {legs} measured to the {report.measured_to}; flats {flats} {units}")
        start = "the free edge of the first leg"
    rows = [(f"{'>' if row.name == report.used else ' '} {row.name}", row.lines[0]) for row in report.methods]
    rows += [(f"> {report.used}, bend {k + 2}", line) for k, line in enumerate(report.row.lines[1:])]
    cells: list[tuple[str, ...]] = [
        (name, *(size(at, units) for at in (*line.tangents, line.middle, line.sight_low, line.sight_high)))
        for name, line in rows
    ]
    heads = (
        "  lines by",
        "first tangent",
        "second tangent",
        "middle",
        "sight, first side clamped",
        "second side clamped",
    )
    return [*lines, f"where the lines lie, from {start} [{units}]:", table(cells, heads, right=(1, 2, 3, 4, 5)), ""]


def _springback(report: "BendReport", units: str) -> list[str]:
    spring = report.springback
    if spring is None:
        return []
    lines = [
        f"over-bend: leaf to {spring.low:.1f}° … {spring.high:.1f}°, try {spring.best:.1f}° first"
        + (f" ({spring.record})" if spring.record else ""),
        f"  closed form without hardening: {spring.closed_form:.2f}°, radius {size(spring.radius_before, units)} in the"
        f" brake, {size(spring.radius_after, units)} {units} after release",
    ]
    for law in spring.laws:
        lines.append(
            f"  summed over the thickness, {law.law}: {law.leaf_angle:.2f}° ({law.difference:+.2f}°), radius after"
            f" release {size(law.released_radius, units)} {units}"
        )
    if not spring.laws:
        lines.append("  no hardening law is known for this metal")
    return lines


def _radius(verdict: "RadiusVerdict", units: str) -> str:
    text = f"radius {size(verdict.radius, units)} {units}: {VERDICTS[verdict.status]}"
    if verdict.governing is None or verdict.limit is None:
        return text
    wanted = f"{size(verdict.limit, units)} {units} wanted" if math.isfinite(verdict.limit) else "bend not recommended"
    factor = " (1.5 times, along the grain)" if verdict.along_grain else ""
    return f"{text}; {wanted}{factor} by table {verdict.governing.table}"


def _readings(report: "BendReport", units: str) -> list[str]:
    lines = []
    for reading in report.radius_verdict.readings:
        wanted = size(reading.radius, units) if math.isfinite(reading.radius) else "not recommended"
        low = f" (down to {size(reading.low, units)})" if reading.low < reading.radius else ""
        lines.append(f"  {reading.table}: {wanted}{low} by {HOW[reading.how]}; {reading.source}")
    lines += [f"  {note}" for note in report.radius_verdict.notes]
    if report.smallest_nose is not None:
        lines.append(f"  smallest nose on hand that is allowed outright: {size(report.smallest_nose, units)} {units}")
    elif report.nose:
        lines.append("  no nose on hand is allowed outright")
    return lines


def _effort(report: "BendReport", units: str) -> list[str]:
    effort = report.effort
    moment = effort.moment
    if units == "in":
        said = f"{moment / NEWTON_PER_POUND:.0f} lbf·in an inch of bend"
    else:
        said = f"{moment:.0f} N·mm a millimetre of bend"
    lines = [f"bending moment {said}"]
    if effort.leaf_force is not None and effort.clamp_force is not None and effort.length is not None:
        unit, per = ("lbf", NEWTON_PER_POUND) if units == "in" else ("N", 1.0)
        lines.append(
            f"over {size(effort.length, units)} {units}: about {effort.leaf_force / per:.0f} {unit} at the leaf's edge,"
            f" {effort.clamp_force / per:.0f} {unit} of clamping (estimates)"
        )
    if effort.capacity_thickness is not None:
        verdict = "within" if report.thickness <= effort.capacity_thickness else "MORE THAN"
        lines.append(
            f"{verdict} the brake's capacity of {size(effort.capacity_thickness, units)} {units} for this metal and"
            f" length; {effort.capacity_note}"
        )
    return lines


def say_found(found: "Found", units: str, to_json: bool) -> None:
    """Print what a blank told."""
    if to_json:
        _as_json(found)
        return

    def s(mm: float) -> str:
        return f"{size(mm, units)} {units}"

    by = f" by method {found.method}" if found.method else ", as measured"
    lines = [f"blank {s(found.blank)}, legs {', '.join(s(leg) for leg in found.legs)}, {found.angle:g}°"]
    lines.append(
        {"leg": "leg found", "radius": f"radius found {s(found.radius)}", "bend": "each bend"}[found.what] + by
    )
    lines.append(
        f"deduction {s(found.deduction)}, allowance {s(found.allowance)}, neutral-axis ratio"
        f" {found.neutral_axis_ratio:.3f}"
    )
    step = 0.005 * MM_PER_INCH if units == "in" else 0.1
    lines.append(f"an error of {s(step)} in the blank moves the ratio by {found.sensitivity * step:.3f}")
    if found.note:
        lines.append(f"note: {found.note}")
    click.echo("\n".join(lines))


def say_fit(fit: "RatioFit", units: str, to_json: bool) -> None:
    """Print a fitted neutral-axis ratio."""
    if to_json:
        _as_json(fit)
        return
    error = f" ± {fit.error:.3f} (standard error)" if math.isfinite(fit.error) else " (one part: no standard error)"
    lines = [f"neutral-axis ratio {fit.ratio:.3f}{error} from {fit.count} parts"]
    lines += [
        f"  part {k + 1}: blank longer than fitted by {size(rest, units)} {units}"
        for k, rest in enumerate(fit.residuals)
    ]
    click.echo("\n".join(lines))
