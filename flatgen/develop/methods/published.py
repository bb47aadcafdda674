"""The published methods: handbook, neutral axis fixed or by a table, hardness rule, DIN 6935."""

from flatgen.core import bend
from flatgen.develop.methods import Case, method
from flatgen.model.source import Source
from flatgen.tables.load import source


@method(
    "handbook",
    title="aviation handbook, empirical",
    meant_for="aluminium sheet on a brake, 1 to 180 deg",
    trust="the default; a test bend may differ by a tenth of the thickness",
)
def handbook(case: Case) -> tuple[float, Source]:
    """(0.01743 R + 0.0078 T) a degree."""
    allowance = bend.allowance_handbook(case.angle, case.inside_radius, case.thickness)
    return allowance, source("sheet-metal-work-book", "bend deduction")


@method(
    "neutral-axis",
    title="neutral axis at a fixed depth",
    meant_for="any metal whose ratio is known from test bends",
    trust="as good as the ratio that is put in",
    needs="neutral_axis_ratio, on the part or in the shop file",
)
def neutral_axis(case: Case) -> tuple[float, Source] | None:
    """Arc at the given neutral-axis ratio; nothing to go by when neither bend nor shop gives one."""
    ratio = case.neutral_axis_ratio
    where = Source("given", "neutral-axis ratio given for this bend", trust="shop")
    if ratio is None and case.shop is not None:
        ratio = case.shop.neutral_axis_ratio
        where = Source("shop", "neutral-axis ratio of the shop file", trust="shop")
    if ratio is None:
        return None
    return bend.allowance_from_neutral_axis(case.angle, case.inside_radius, case.thickness, ratio), where


DIN_CURVE_FROM = 0.2  # least r/s that the source's curve is drawn for
# the table has one row for "soft and aluminium"
STEP_ROW = {"aluminium": "soft", "copper": "soft", "steel": "medium", "stainless": "hard", "other": "medium"}


@method(
    "ratio-table",
    title="neutral axis by R/T from a table",
    meant_for="air bending; soft and aluminium, medium, hard",
    trust="jumps where R/T passes 1 and 3",
)
def ratio_table(case: Case) -> tuple[float, Source]:
    """Arc at the neutral-axis ratio that a table of three steps gives."""
    row = "hard" if case.material.hardness == "hard" else STEP_ROW[case.material.family]
    ratio = bend.step_ratio_air_bending(case.inside_radius, case.thickness, row)
    allowance = bend.allowance_from_neutral_axis(case.angle, case.inside_radius, case.thickness, ratio)
    return allowance, source("air-bending-article", "table of ratios")


@method(
    "hardness-rule",
    title="0.55, 0.64 or 0.71 T by hardness",
    meant_for="bends made with simple tools or on the bench",
    trust="neutral axis at 0.35, 0.41 or 0.45 T whatever the radius",
)
def hardness_rule(case: Case) -> tuple[float, Source]:
    """(0.55, 0.64 or 0.71 T + 1.57 R) for each 90 deg."""
    allowance = bend.allowance_hardness_rule(case.angle, case.inside_radius, case.thickness, case.material.hardness)
    return allowance, source("machinery-31", "p. 1421, formulas 32 to 34")


@method(
    "din-6935",
    title="correction factor of DIN 6935",
    meant_for="cold-bent flat steel; for other metals it is borrowed",
    trust="neutral axis moves inward as the radius gets sharp",
    needs="a radius of at least 0.2 thicknesses, where its curve begins",
)
def din_6935(case: Case) -> tuple[float, Source] | None:
    """Neutral line at half of (0.65 + 0.5 log10(r/s)) of the thickness; nothing to go by off the end of its curve."""
    if case.inside_radius < DIN_CURVE_FROM * case.thickness:
        return None
    allowance = bend.allowance_din(case.angle, case.inside_radius, case.thickness)
    return allowance, source("din-6935-textbook", "bend development")
