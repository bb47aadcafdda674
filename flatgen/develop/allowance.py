"""Chooses, for one bend, the radius that will really be bent and the way its metal is reckoned.

``bent_radius`` picks the nose, then the method: a deduction given for the bend, else the shop's own test bends, else
the method asked for. ``overbend`` tells how far the leaf must go. Lengths mm, angles deg.
"""

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from flatgen.core import bend, springback
from flatgen.develop.methods import METHODS, Case
from flatgen.develop.methods.measured import springback_record, stop_offset_record
from flatgen.errors import CannotMake, InputError, OutOfRange, nearest
from flatgen.model.material import Material
from flatgen.model.shop import Brake, NoseBar, Shop
from flatgen.model.source import Source
from flatgen.said import said, size

if TYPE_CHECKING:
    from flatgen.model.blank import BentRadius

SAME_LENGTH = 0.01  # a bend longer than the bar by less is not [mm]
UNCERTAIN = 0.5  # share of the over-bend by which the closed form may be off either way (common practice)


@dataclass(frozen=True, slots=True)
class NoseOption:
    """A radius that the brake can bend: a nose bar, bare or with one shoe [mm]."""

    name: str
    radius: float
    bar: NoseBar
    shoe: float = 0.0


def nose_options(brake: Brake) -> tuple[NoseOption, ...]:
    """Every radius on hand, by rising radius."""
    options = [NoseOption(bar.name, bar.radius, bar) for bar in brake.noses]
    for bar in brake.noses:
        for shoe in bar.shoes:
            options.append(NoseOption(brake.mounted(bar.name, (shoe,)), bar.radius + shoe, bar, shoe))
    return tuple(sorted(options, key=lambda option: (option.radius, option.shoe)))


def choose_nose(drawing_radius: float, brake: Brake, shop: Shop, length: float = 0.0) -> NoseOption | None:
    """The nose for a drawing radius: the nearest within the shop's tolerance, else the smallest larger; else None.

    length : of the bend [mm]; shorter bars are left out, unless none of the radius or a larger one is as long
    """
    options = nose_options(brake)
    long_enough = tuple(option for option in options if brake.usable(option.bar) >= length - SAME_LENGTH)
    chosen = _choose(drawing_radius, long_enough, shop)
    return chosen if chosen is not None else _choose(drawing_radius, options, shop)


def _choose(drawing_radius: float, options: tuple[NoseOption, ...], shop: Shop) -> NoseOption | None:
    same = [option for option in options if abs(option.radius - drawing_radius) <= shop.nose_tolerance]
    if same:
        # a bare bar before a shoe: one thing less to slip
        return min(same, key=lambda option: (option.shoe > 0.0, abs(option.radius - drawing_radius)))
    return next((option for option in options if option.radius > drawing_radius), None)


def bent_radius(asked: Case, method: str = "handbook", brake: Brake | None = None, length: float = 0.0) -> "BentRadius":
    """The radius that a bend will really have, and its allowance.

    Parameters
    ----------
    asked : the bend at the inside radius that the drawing asks for; the sign of its angle is ignored
    method : name of a method; the shop's own records come before it, a given deduction before both
    brake : None: the drawing's radius is taken, as it is without a shop
    length : of the bend, which the nose bar should have [mm]

    Returns
    -------
    radius, allowance, setback and deduction (both infinite at 180 deg), neutral-axis ratio, method, source; ``nose`` is
    empty when no nose on hand is large enough, and the drawing's radius is kept then

    Raises
    ------
    InputError : no such method; or the method has nothing to go by
    """
    # the bend calculator uses the rest of this module and shall not wait for the outlines that a blank needs
    from flatgen.model.blank import BentRadius

    angle, thickness, shop = abs(asked.angle), asked.thickness, asked.shop
    drawing_radius = radius = asked.inside_radius
    option = None
    if brake is not None and shop is not None:
        option = choose_nose(drawing_radius, brake, shop, length)
        if option is not None and abs(option.radius - drawing_radius) > shop.nose_tolerance:
            radius = option.radius
    case = replace(asked, angle=angle, inside_radius=radius)
    used, allowance, where = allowance_of(case, method)
    ratio = bend.neutral_axis_ratio(angle, radius, thickness, allowance) if angle > 0.0 else 0.0
    return BentRadius(
        inside_radius=radius,
        drawing_radius=drawing_radius,
        allowance=allowance,
        setback_outside=bend.outside_setback(angle, radius, thickness),
        deduction=bend.bend_deduction(angle, radius, thickness, allowance),
        neutral_axis_ratio=ratio,
        method=used,
        source=where,
        nose=option.name if option else "",
        bar=option.bar.name if option else "",
        shoes=(option.shoe,) if option and option.shoe else (),
        springback_in=METHODS[used].springback_in,
        stop_offset=stop_offset_record(case),
    )


def allowance_of(case: Case, method: str = "handbook") -> tuple[str, float, Source]:
    """Name of the method used, allowance [mm], source.

    The order: a deduction given, the shop's records, the method asked for.
    """
    if method not in METHODS:
        raise InputError(f'no allowance method "{method}". {nearest(method, METHODS.names())}')
    # a shop that asks for its records means: where there are any, else the handbook
    wanted = "handbook" if method == "shop-record" else method
    for name in ("deduction", "shop-record", wanted):
        found = METHODS[name].allowance(case)
        if found is not None:
            return name, *found
    raise InputError(f'allowance method "{wanted}" needs {METHODS[wanted].needs}')


def overbend(case: Case) -> tuple[float, float, float]:
    """How far the leaf must go so that the bend's angle is left after release: low, best, high [deg].

    The shop's own spring-back replaces the reckoning where its coupons match; its range is then two standard errors.
    Otherwise the best is the closed form without hardening, and the range half of the over-bend either way, widened to
    the result with hardening where the metal's law is known.

    Raises
    ------
    CannotMake : the sheet is so thin on so large a nose that it springs back flat
    """
    angle, inside_radius, thickness, material = abs(case.angle), case.inside_radius, case.thickness, case.material
    record = springback_record(replace(case, angle=angle))
    if record is not None:
        ratio, error, _ = record
        return angle / (ratio + 2.0 * error), angle / ratio, angle / max(ratio - 2.0 * error, 1e-6)
    modulus, strength = material.elastic_modulus, material.yield_strength
    try:
        released = springback.released_radius(inside_radius, thickness, strength, modulus)
    except OutOfRange as error_out:
        raise CannotMake(
            said(f"{material.name} of ", size(thickness), " springs back flat from a radius of ", size(inside_radius))
        ) from error_out
    best = springback.leaf_angle(angle, inside_radius, released, thickness)
    low, high = angle + (1.0 - UNCERTAIN) * (best - angle), angle + (1.0 + UNCERTAIN) * (best - angle)
    hardened = [
        springback.leaf_angle_by_law(angle, inside_radius, thickness, modulus, law, 64)
        for _, law in hardening_laws(material)
    ]
    finite = [leaf for leaf in hardened if math.isfinite(leaf)]
    return min([low, *finite]), best, max([high, *finite])


def hardening_laws(material: Material) -> tuple[tuple[str, springback.StressLaw], ...]:
    """The hardening laws known of a metal, by name; empty when the material file has none."""
    laws: list[tuple[str, springback.StressLaw]] = []
    if material.hardening_exponent is not None:
        law = springback.power_law(
            material.elastic_modulus, material.yield_strength, material.hardening_exponent, material.hardening_strength
        )
        laws.append(("power law", law))
    if material.ramberg_osgood is not None:
        law = springback.ramberg_osgood(material.elastic_modulus, material.yield_strength, material.ramberg_osgood)
        laws.append(("Ramberg-Osgood", law))
    return tuple(laws)
