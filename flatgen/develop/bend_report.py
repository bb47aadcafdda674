"""Everything there is to say of one bend, every method side by side: what ``flatgen bend`` prints.

Lengths mm, angles deg, moments N·mm/mm, forces N. Several legs are taken as joined by equal bends. Positions run from
the free edge of the first leg.
"""

import math
from collections.abc import Container, Iterator
from dataclasses import dataclass, replace

from flatgen.core import bend, force, springback
from flatgen.core.making import Making, making, sight_from_clamped
from flatgen.develop.allowance import allowance_of, choose_nose, hardening_laws, nose_options, overbend
from flatgen.develop.least_radius import RadiusVerdict, radius_verdict, smallest_allowed
from flatgen.develop.methods import METHODS, Case
from flatgen.develop.methods.measured import springback_record
from flatgen.errors import CannotMake, InputError
from flatgen.model.material import Material
from flatgen.model.shop import Brake, Shop

TABLES_ARE_SQUARE = "tables of least radii are printed for bends of 90°; bend a coupon as far as the part first"
SQUARE = 0.05  # a bend within this of 90 is square [deg]


@dataclass(frozen=True, slots=True)
class MethodRow:
    """One method's answer; ``deduction`` between mould lines is infinite at 180 deg, ``outside_deduction`` never.

    lines : of each bend; without legs of one bend, from its first tangent line
    """

    name: str
    title: str
    allowance: float
    deduction: float
    outside_deduction: float
    neutral_axis_ratio: float
    developed: float | None
    lines: tuple["Lines", ...]
    meant_for: str
    trust: str
    source: str


@dataclass(frozen=True, slots=True)
class Lines:
    """Where lines lie on the blank, from the free edge of the first leg [mm].

    sight_low, sight_high : line to set under the nose tip with the first or the second side of the bend clamped
    """

    tangents: tuple[float, float]
    middle: float
    sight_low: float
    sight_high: float


@dataclass(frozen=True, slots=True)
class HardeningRow:
    """Spring-back with one hardening law: leaf angle, radius after release, difference from the closed form."""

    law: str
    leaf_angle: float
    released_radius: float
    difference: float


@dataclass(frozen=True, slots=True)
class Springback:
    """Over-bend: range and best; closed form and integrals beside it; the record's source when it replaced them."""

    low: float
    best: float
    high: float
    closed_form: float
    radius_before: float
    radius_after: float
    laws: tuple[HardeningRow, ...]
    record: str


@dataclass(frozen=True, slots=True)
class Effort:
    """Moment per length; for a bend of a given length the forces; against the brake what it may bend."""

    moment: float
    length: float | None
    leaf_force: float | None
    clamp_force: float | None
    capacity_thickness: float | None
    capacity_note: str


@dataclass(frozen=True, slots=True)
class BendReport:
    """One bend in full. ``flats`` are there when legs are given.

    smallest_nose : smallest radius on the brake that the tables allow outright; None: none, or no brake given [mm]
    """

    material: str
    material_name: str
    thickness: float
    nominal: float
    angle: float
    between_legs: float
    kind: str
    radius: float
    drawing_radius: float
    nose: str
    grain: str
    setback_factor: float
    outside_setback: float
    inside_setback: float
    outer_strain: float
    smallest_nose: float | None
    methods: tuple[MethodRow, ...]
    spread: float
    used: str
    why: str
    legs: tuple[float, ...]
    measured_to: str
    flats: tuple[float, ...]
    springback: Springback | None
    radius_verdict: RadiusVerdict
    effort: Effort
    notes: tuple[str, ...]

    @property
    def row(self) -> MethodRow:
        """The row of the method that is used."""
        return next(row for row in self.methods if row.name == self.used)

    @property
    def forbidden(self) -> bool:
        """Whether the radius lies below every table."""
        return self.radius_verdict.status == "below"


def bend_kind(angle: float) -> str:
    """What the trade calls a bend of this angle.

    >>> [bend_kind(a) for a in (30, 90, 120, 180)]
    ['open', 'square', 'closed', 'hem']
    """
    if abs(angle - 90.0) <= SQUARE:
        return "square"
    if angle < 90.0:
        return "open"
    return "hem" if angle > 180.0 - SQUARE else "closed"


@dataclass(frozen=True, slots=True)
class Question:
    """One bend to be told of in full.

    case : the bend at the drawing's radius; with a shop the nose that is on hand decides
    legs : sizes of the legs, none or at least two [mm]
    measured_to : what they are sized to: outside, inside or tangent
    method : asked for; "": the shop's, else the handbook's
    angle_to_grain : between bend line and rolling direction [deg]
    length : of the bend, for the forces [mm]
    table : named table of least radii; "": the shop's choice, else the most cautious
    """

    case: Case
    legs: tuple[float, ...] = ()
    measured_to: str = "outside"
    method: str = ""
    brake: Brake | None = None
    angle_to_grain: float = 90.0
    length: float | None = None
    table: str = ""

    def __post_init__(self) -> None:
        """Raise InputError for an angle outside 1 to 180, and for one leg only."""
        angle = self.case.angle
        if not 1.0 <= angle <= 180.0:
            raise InputError(f"the bend angle is {angle:g}; it must be from 1 to 180 deg, turned through from flat")
        if len(self.legs) == 1:
            raise InputError("one leg makes no bend; give two or more")


def bend_report(asked: Question) -> BendReport:
    """Reckon one bend by every method that has something to go by; InputError for a leg too short for its bends."""
    drawn, shop, brake = asked.case, asked.case.shop, asked.brake
    bent, nose, notes = _nose(drawn, brake)
    case = replace(drawn, inside_radius=bent, grain="along" if asked.angle_to_grain < 30.0 else "across")
    angle, thickness, material = case.angle, case.thickness, case.material
    used, _, _ = allowance_of(case, asked.method or (shop.allowance if shop else "handbook"))
    flats = _flats(asked.legs, case, asked.measured_to)
    spring = None if bend_kind(angle) == "hem" else _springback(case)
    rows = _rows(case, flats, spring.best if spring else angle)
    allowances = [row.allowance for row in rows]
    least, verdict = _least_radius(asked, bent)
    return BendReport(
        material=material.key,
        material_name=material.name,
        thickness=thickness,
        nominal=drawn.nominal or thickness,
        angle=angle,
        between_legs=180.0 - angle,
        kind=bend_kind(angle),
        radius=bent,
        drawing_radius=drawn.inside_radius,
        nose=nose,
        grain=case.grain,
        setback_factor=bend.setback_factor(angle),
        outside_setback=bend.outside_setback(angle, bent, thickness),
        inside_setback=bend.inside_setback(angle, bent),
        outer_strain=bend.outer_strain(bent, thickness),
        smallest_nose=least,
        methods=rows,
        spread=max(allowances) - min(allowances),
        used=used,
        why=_why(used, asked.method, shop),
        legs=asked.legs,
        measured_to=asked.measured_to,
        flats=flats,
        springback=spring,
        radius_verdict=verdict,
        effort=_effort(material, thickness, asked.length, brake),
        notes=(*notes, *_notes(angle, {row.name for row in rows}, spring, brake)),
    )


def _least_radius(asked: Question, bent: float) -> tuple[float | None, RadiusVerdict]:
    """The smallest nose at hand that the tables allow, and what they say of the radius that is bent [mm]."""
    case, shop, off = asked.case, asked.case.shop, asked.angle_to_grain
    table = asked.table or (shop.radius_table if shop else "")
    nominal = case.nominal or case.thickness
    noses = nose_options(asked.brake) if shop is not None and asked.brake is not None else ()
    radii = tuple(option.radius for option in noses)
    least = smallest_allowed(radii, case.material, nominal, off, table) if noses else None
    return least, radius_verdict(case.material, nominal, bent, off, table, shop.work if shop else "aircraft")


def _nose(case: Case, brake: Brake | None) -> tuple[float, str, tuple[str, ...]]:
    """The radius that is bent [mm], over which nose, and what there is to say of it."""
    radius = case.inside_radius
    if case.shop is None or brake is None:
        return radius, "", ()
    option = choose_nose(radius, brake, case.shop)
    if option is None:
        return radius, "", (f'no nose of brake "{brake.name}" is as large as the radius asked for',)
    same = abs(option.radius - radius) <= case.shop.nose_tolerance
    return radius if same else option.radius, option.name, ()


def _notes(angle: float, reckoned: Container[str], spring: Springback | None, brake: Brake | None) -> Iterator[str]:
    """What a figure cannot say."""
    for name in ("neutral-axis", "din-6935"):
        if name not in reckoned:
            yield f"{name} is left out: it needs {METHODS[name].needs}"
    if angle > 90.0 + SQUARE:
        yield TABLES_ARE_SQUARE
    if bend_kind(angle) == "hem":
        yield "a hem is bent as far as the leaf goes, then pressed shut over a strip or flat; soft metal only"
    elif spring is None:
        yield "so thin a sheet on so large a radius springs back flat"
    elif brake is not None and spring.best > brake.largest_angle:
        yield f'the leaf would have to go to {spring.best:.1f}°; brake "{brake.name}" ends at {brake.largest_angle:g}°'


def _why(used: str, method: str, shop: Shop | None) -> str:
    if used == "shop-record":
        return "test bends of this metal, thickness, nose and grain come before any formula"
    if used == "deduction":
        return "a deduction was given for this bend"
    if method:
        return "asked for"
    return "named in the shop file" if shop else "the default; test bends of your own would replace it"


def _flats(legs: tuple[float, ...], case: Case, measured_to: str) -> tuple[float, ...]:
    flats = []
    for index, leg in enumerate(legs):
        ends = 1 if index in (0, len(legs) - 1) else 2
        flat = bend.flat_of_leg(leg, case.angle, case.inside_radius, case.thickness, ends, measured_to)
        if flat < 0.0:
            raise InputError(
                f"leg {index + 1} is {leg:.4g} mm ({leg / 25.4:.4g} in); its bends take {leg - flat:.4g} mm"
                f" ({(leg - flat) / 25.4:.4g} in) of it, so that no flat is left"
            )
        flats.append(flat)
    return tuple(flats)


def _rows(case: Case, flats: tuple[float, ...], leaf: float) -> tuple[MethodRow, ...]:
    return tuple(row for row in (_row(name, case, flats, leaf) for name in METHODS.names()) if row is not None)


def _row(name: str, case: Case, flats: tuple[float, ...], leaf: float) -> MethodRow | None:
    method = METHODS[name]
    found = method.allowance(case)
    if found is None:
        return None
    allowance, source = found
    made = making(case.angle, leaf, case.inside_radius, case.thickness, allowance, springback_in=method.springback_in)
    return MethodRow(
        name=name,
        title=method.title,
        allowance=allowance,
        deduction=bend.bend_deduction(case.angle, case.inside_radius, case.thickness, allowance),
        outside_deduction=2.0 * bend.outside_reach(case.angle, case.inside_radius, case.thickness) - allowance,
        neutral_axis_ratio=bend.neutral_axis_ratio(case.angle, case.inside_radius, case.thickness, allowance),
        developed=math.fsum(flats) + (len(flats) - 1) * allowance if flats else None,
        lines=_lines(flats or (0.0, 0.0), made, allowance),
        meant_for=method.meant_for,
        trust=method.trust,
        source=str(source),
    )


def _lines(flats: tuple[float, ...], made: Making, allowance: float) -> tuple[Lines, ...]:
    """Lines of each bend; sight lines bring the clamped legs to size, and the last leg takes what the bends leave."""
    lines, at, count = [], 0.0, len(flats) - 1
    for k, flat in enumerate(flats[:-1]):
        low = at + flat
        high = low + allowance
        clamped = sight_from_clamped(low - made.shortens - k * made.excess, made.nose_radius)
        second = sight_from_clamped(-high - made.shortens - (count - 1 - k) * made.excess, made.nose_radius)
        lines.append(Lines((low, high), (low + high) / 2.0, clamped, -second))
        at = high
    return tuple(lines)


def _springback(case: Case) -> Springback | None:
    material, thickness, radius = case.material, case.thickness, case.inside_radius
    modulus, strength = material.elastic_modulus, material.yield_strength
    try:
        low, best, high = overbend(case)
    except CannotMake:
        return None
    record = springback_record(case)
    share = min(0.5, springback.elastic_share(radius, thickness, strength, modulus))
    ratio = springback.radius_ratio(share)
    released = radius / ratio if ratio > 0.0 else math.inf
    closed = springback.leaf_angle(case.angle, radius, released, thickness)
    laws = []
    for name, law in hardening_laws(material):
        moment = springback.bending_moment(radius, thickness, law)
        after = springback.released_radius_by_moment(radius, thickness, modulus, moment)
        leaf = springback.leaf_angle(case.angle, radius, after, thickness)
        laws.append(HardeningRow(name, leaf, after, leaf - closed))
    return Springback(low, best, high, closed, radius, released, tuple(laws), str(record[2]) if record else "")


def _effort(material: Material, thickness: float, length: float | None, brake: Brake | None) -> Effort:
    moment = force.bending_moment(thickness, force.flow_stress(material.yield_strength, material.ultimate_strength))
    leaf = clamp = capacity = None
    note = ""
    if length is not None and brake is not None:
        foot = brake.noses[0].depth if brake.noses else brake.leaf_land
        leaf = force.leaf_force(moment, length, brake.leaf_land)
        clamp = force.clamp_force(moment, length, brake.leaf_land, foot)
    if brake is not None and brake.capacity_thickness is not None:
        capacity, note = brake_capacity(material, brake, length or brake.length)
    return Effort(moment, length, leaf, clamp, capacity, note)


def brake_capacity(material: Material, brake: Brake, length: float) -> tuple[float, str]:
    """Thickest sheet of a metal that a brake bends over a length [mm], and how that follows from its stated capacity.

    The brake must state a capacity.
    """
    from flatgen.tables.load import material as known

    assert brake.capacity_thickness is not None
    mild = known("mild-steel")
    effort = force.effort_ratio(
        material.yield_strength, material.ultimate_strength, mild.yield_strength, mild.ultimate_strength
    )
    thickest = force.capacity_thickness(brake.capacity_thickness, effort, brake.length, length)
    note = (
        f"stated for mild steel at full length; {material.name} takes {effort:.2f} times its effort"
        " (by yield and flow stress, thickness squared, length)"
    )
    return thickest, note
