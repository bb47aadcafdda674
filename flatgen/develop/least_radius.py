"""Whether a radius is large enough for a metal: every named table is read, one of them governs. Lengths mm, angles deg.

Tables differ by up to two to one, so all are read. The most cautious governs unless the shop chose one by name. Between
the governing value and the sharpest of any table a coupon decides; below every table the bend is forbidden.
"""

import math
from dataclasses import dataclass
from typing import Literal

from flatgen.core.nominal import same_nominal
from flatgen.model.material import Material, RadiusTable
from flatgen.model.shop import Work
from flatgen.model.source import Source

Status = Literal["ok", "along-grain", "between", "below", "no-table"]
# printed for aircraft work or after an airframe maker's specification
AIRCRAFT_TABLES = ("airframe-chart", "repair-advisory", "design-office", "stockist")
ALONG_GRAIN = 30.0  # a bend line nearer than this to the rolling direction counts as along it [deg]
ALONG_FACTOR = 1.5  # radius wanted along the grain over that across it (common practice)


@dataclass(frozen=True, slots=True)
class Reading:
    """One table read at one thickness [mm]; ``how`` is row | next thicker row | thinner than its first row."""

    table: str
    title: str
    radius: float  # infinite: not recommended
    low: float
    rounding: float
    how: str
    source: Source


@dataclass(frozen=True, slots=True)
class RadiusVerdict:
    """What the tables say of a radius.

    limit : radius wanted by the governing table, along-grain factor included; None: no table [mm]
    across : the same for a bend across the grain [mm]
    lowest : sharpest that any table allows across the grain [mm]
    governing : the reading that the limit is from
    notes : tables chosen but not usable, thickness outside a table
    """

    status: Status
    radius: float
    limit: float | None
    across: float | None
    lowest: float | None
    governing: Reading | None
    readings: tuple[Reading, ...]
    along_grain: bool
    notes: tuple[str, ...] = ()


def read_table(table: RadiusTable, thickness: float) -> Reading | None:
    """A table at a thickness, the way it is meant: the row of that size, else the next thicker one; None beyond it.

    Nothing is interpolated between printed radii. Below its first row a table is held at that row, which is cautious,
    and the reading says so; above its last row it says nothing.
    """
    for index, row in enumerate(table.rows):
        same = same_nominal(row.thickness, thickness)
        if not same and row.thickness < thickness:
            continue
        how = "row" if same else "next thicker row" if index else "thinner than its first row"
        scale = 1.0
        if table.between == "multiple" and not same:
            scale = thickness / row.thickness
        return Reading(table.name, table.title, row.radius * scale, row.low * scale, row.rounding, how, row.source)
    return None


def radius_verdict(
    material: Material,
    thickness: float,
    radius: float,
    angle_to_grain: float | None = None,
    table: str = "",
    work: Work = "aircraft",
) -> RadiusVerdict:
    """Judge an inside radius.

    Parameters
    ----------
    thickness : nominal [mm]
    radius : [mm]
    angle_to_grain : between bend line and rolling direction, 90 is square across; None: grain not known [deg]
    table : name of the table that the shop chose; "": the most cautious of those that cover the thickness
    work : in general work aircraft tables govern only where there is no other, and then the least cautious of them

    Returns
    -------
    verdict; a radius within half of the last digit that a table prints still meets it

    References
    ----------
    [1] trade-manual for the order of tables and the factor along the grain (common practice, no source)
    """
    readings = tuple(found for one in material.radius_tables if (found := read_table(one, thickness)) is not None)
    inside = tuple(reading for reading in readings if reading.how != "thinner than its first row")
    notes: list[str] = []
    along = angle_to_grain is not None and angle_to_grain < ALONG_GRAIN
    usable = inside or readings
    if not usable:
        return RadiusVerdict("no-table", radius, None, None, None, None, readings, along, ())
    if not inside:
        notes.append("the sheet is thinner than every table; the first row is taken, which is cautious")
    governing = _governing(usable, work)
    if table:
        chosen = next((reading for reading in readings if reading.table == table), None)
        if chosen is not None:
            governing = chosen
            if chosen not in inside:
                notes.append(f'the sheet is thinner than table "{table}"; its first row is taken, which is cautious')
        elif any(one.name == table for one in material.radius_tables):
            notes.append(f'the sheet is thicker than table "{table}"; the most cautious other table is taken')
        else:
            notes.append(f'table "{table}" has no entry for {material.name}; the most cautious other table is taken')
    lowest = min(usable, key=lambda reading: reading.low - reading.rounding)
    limit = governing.radius * (ALONG_FACTOR if along else 1.0)
    if radius < lowest.low - lowest.rounding:
        status: Status = "below"
    elif radius < governing.radius - governing.rounding:
        status = "between"
    elif radius < limit - governing.rounding:
        status = "along-grain"
    else:
        status = "ok"
    return RadiusVerdict(status, radius, limit, governing.radius, lowest.low, governing, readings, along, tuple(notes))


def _governing(usable: tuple[Reading, ...], work: Work) -> Reading:
    if work == "aircraft":
        return max(usable, key=lambda reading: reading.radius)
    others = tuple(reading for reading in usable if reading.table not in AIRCRAFT_TABLES)
    if others:
        return max(others, key=lambda reading: reading.radius)
    return min(usable, key=lambda reading: reading.radius)


def smallest_allowed(
    radii: tuple[float, ...],
    material: Material,
    thickness: float,
    angle_to_grain: float | None = None,
    table: str = "",
    work: Work = "aircraft",
) -> float | None:
    """Smallest of the radii on hand that the tables allow outright; None when none does [mm]."""
    return next(
        (
            radius
            for radius in sorted(radii)
            if radius_verdict(material, thickness, radius, angle_to_grain, table, work).status == "ok"
        ),
        None,
    )


def finite(radius: float | None) -> float | None:
    """A limit as it goes into a finding: None where a table does not recommend the bend at all."""
    return radius if radius is not None and math.isfinite(radius) else None
