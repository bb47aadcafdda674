"""The shop's own test bends in words: a row a combination, and what to make of it."""

from flatgen.core.stats import Estimate
from flatgen.draw.coupon_chart import Against
from flatgen.jobs.shop_place import Place
from flatgen.records.coupons import Combination


def heads(at: Place) -> tuple[str, ...]:
    """Of the table of the shop's own deductions."""
    return (
        "alloy",
        f"T, {at.units}",
        f"nose R, {at.units}",
        "angle",
        "grain",
        "n",
        f"deduction, {at.units}",
        "±",
        "95 %",
        "table",
        "released/leaf",
        "leaf to",
    )


def row(c: Combination, at: Place) -> tuple[str, ...]:
    """One combination: its mean with its errors, beside the table's value."""
    from flatgen.records.coupons import deduction_by_table
    from flatgen.tables.load import materials
    from flatgen.units import format_length

    places = 4 if at.units == "in" else 3
    found = c.found
    metal = materials().get(c.material)
    by_table = format_length(deduction_by_table(c, metal, at.shop)[1], at.units, places=places) if metal else "-"
    return (
        c.material,
        at.bare(c.thickness),
        at.bare(c.nose_radius),
        f"{c.angle:g}",
        c.grain,
        str(len(c.coupons)),
        format_length(found.deduction.mean, at.units, places=places),
        format_length(found.deduction.error, at.units, places=places),
        format_length(found.deduction.half_width, at.units, places=places),
        by_table,
        f"{found.springback_ratio.mean:.4f} ± {found.springback_ratio.error:.4f}",
        f"{found.leaf_angle:.1f}° ± {found.leaf_angle_error:.1f}°",
    )


def remarks(c: Combination, at: Place) -> list[str]:
    """What the coupons of a combination say, a sentence each."""
    from flatgen.records.coupons import deduction_by_table, unusual_ratio
    from flatgen.tables.load import materials

    head = f"{c.material} {at.length(c.thickness)}, nose R {at.length(c.nose_radius)}, {c.angle:g}°, {c.grain}:"
    lines = []
    metal = materials().get(c.material)
    if metal is not None:
        method, by_table = deduction_by_table(c, metal, at.shop)
        change = by_table - c.found.deduction.mean
        size = "longer" if change > 0 else "shorter"
        sure = "" if c.found.deduction.low <= by_table <= c.found.deduction.high else ", more than chance"
        amount = at.deviation("length", abs(change))[1:]
        lines.append(f"{head} blanks come out {amount} {size} a bend than by {method}{sure}")
    if c.found.assumed_spread:
        lines.append(f"{head} one coupon has no spread of its own; the error shown is the usual one")
    ratio = c.found.neutral_axis_ratio.mean
    doubtful = " (unusual: measure again)" if unusual_ratio(ratio, c.angle, c.thickness, len(c.coupons)) else ""
    lines.append(
        f"{head} allowance {at.length(c.found.allowance.mean)}, neutral-axis ratio {ratio:.2f}{doubtful}, inside "
        f"radius {at.length(c.found.formed_radius)}"
    )
    own = offset(c, at)
    if own is not None:
        lines.append(f"{head} stop_offset = {at.bare(own.mean)} in the shop file makes leg A come out as wanted")
    for coupon in c.odd:
        lines.append(f"{head} {coupon.name} (entry {coupon.id}) stands out and counts; measure it again")
    return lines


def against_table(c: Combination, at: Place) -> Against | None:
    """A combination as it is plotted; None where no table knows its metal."""
    from flatgen.core.coupon import reduce_coupon
    from flatgen.records.coupons import deduction_by_table
    from flatgen.tables.load import materials

    metal = materials().get(c.material)
    if metal is None:
        return None
    table = deduction_by_table(c, metal, at.shop)[1]
    own = tuple(reduce_coupon(one.strip, one.angle).deduction - table for one in c.coupons)
    found = c.found.deduction
    sizes = f"{c.material} {at.length(c.thickness)}, nose R {at.length(c.nose_radius)}, {c.angle:g}°, {c.grain}"
    title = f"{sizes}: own {at.bare(found.mean)}, table {at.length(table)}"
    return Against(title, own, found.mean - table, found.low - table, found.high - table)


def offset(c: Combination, at: Place) -> Estimate | None:
    """What may be written as ``stop_offset`` of the brake that bent the coupons, as the plan itself counts it [mm]."""
    from dataclasses import replace

    from flatgen.brake.tools import own_offset

    found = c.found.stop_offset
    if found is None or at.shop is None or not at.shop.brakes:
        return found
    brake = at.shop.brake(c.coupons[0].brake)
    more = own_offset(brake, found.mean, c.found.leaf_angle, c.nose_radius, c.thickness) - found.mean
    return replace(found, mean=found.mean + more, low=found.low + more, high=found.high + more)
