"""Test bends in the book: checked, entered, corrected, gathered by combination, handed to develop as frozen rows.

A combination is alloy and temper, thickness, nose radius, grain and angle. Nothing is carried from one thickness to
another. Lengths mm, angles deg.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path

from flatgen.core import bend
from flatgen.core.coupon import BendEstimate, Strip, estimate_bend, reduce_coupon
from flatgen.core.nominal import same_nominal
from flatgen.develop.methods import METHODS, Case
from flatgen.errors import InputError, InputErrors, RecordError
from flatgen.model.material import Material
from flatgen.model.shop import BendProof, Shop, ShopBend
from flatgen.records.book import Book, now, open_book

SAME_NOSE = 0.05
SAME_ANGLE = 0.5
USUAL_RATIO = (0.30, 0.50)  # outside it a measurement is doubtful; common practice, no source
READING_ERROR = 0.15  # of one deduction, from three readings of a caliper; from memory [mm]
THICKNESS_DOUBT = 0.05  # measured against nominal; common practice, no source [mm]


@dataclass(frozen=True, slots=True)
class Coupon:
    """One test bend as entered. ``thickness`` is the nominal one, ``angle`` the one that was wanted.

    leg_a, leg_b : outside, to the mould point, clamped and free leg; grain : of the sheet against the bend line
    """

    material: str
    thickness: float
    nose_radius: float
    angle: float
    grain: str
    blank_length: float
    leg_a: float
    leg_b: float
    measured_thickness: float
    leaf_angle: float
    released_angle: float
    inside_radius: float | None = None
    stop: float | None = None
    mark: str = ""
    brake: str = ""
    job: str = ""
    batch: str = ""
    sheet: str = ""
    note: str = ""
    cracked: str = ""  # "no" or "yes" under a 10x glass; empty: not told
    recorded_by: str = ""
    recorded_at: str = ""
    id: int = 0

    @property
    def strip(self) -> Strip:
        """What the reckoning needs of it."""
        return Strip(
            thickness=self.measured_thickness,
            nose_radius=self.nose_radius,
            blank_length=self.blank_length,
            leg_a=self.leg_a,
            leg_b=self.leg_b,
            leaf_angle=self.leaf_angle,
            released_angle=self.released_angle,
            inside_radius=self.inside_radius,
            stop=self.stop,
        )

    @property
    def name(self) -> str:
        """How messages call it."""
        return f'coupon "{self.mark}"' if self.mark else (f"coupon {self.id}" if self.id else "coupon")


Say = Callable[[float], str]  # a length in words, with its unit


def plainly(mm: float) -> str:
    """A length in mm."""
    return f"{mm:.3f} mm"


def faults(coupon: Coupon, say: Say = plainly) -> list[str]:
    """What cannot be true of a measured coupon, one clause each; empty when it can be entered."""
    found = []
    for key in ("material", "grain"):
        if not getattr(coupon, key):
            found.append(f"{key} is missing")
    for key in ("thickness", "blank_length", "leg_a", "leg_b", "measured_thickness", "stop", "inside_radius"):
        size = getattr(coupon, key)
        if size is not None and not (0.0 < size < 10_000.0 or (key == "inside_radius" and size == 0.0)):
            found.append(f"{key} is {say(size)}; a length above 0 is needed")
    if not 0.0 <= coupon.nose_radius < 1000.0:
        found.append(f"nose_radius is {say(coupon.nose_radius)}; it must not be below 0")
    for key in ("angle", "leaf_angle", "released_angle"):
        size = getattr(coupon, key)
        if not 0.0 < size < 180.0:
            found.append(f"{key} is {size:.6g} deg; it is turned through from flat, between 0 and 180")
    if coupon.grain not in ("across", "along"):
        found.append(f'grain is "{coupon.grain}"; it is "across" or "along" the bend line')
    if coupon.cracked not in ("", "no", "yes"):
        found.append(f'cracked is "{coupon.cracked}"; it is "no" or "yes"')
    if found:
        return found
    if coupon.released_angle > coupon.leaf_angle + 1.0:
        found.append(
            f"released_angle {coupon.released_angle:.6g} is more than leaf_angle {coupon.leaf_angle:.6g}: metal "
            "springs back, so the released angle is the smaller. Is one of them the angle between the legs?"
        )
    elif coupon.released_angle < 0.6 * coupon.leaf_angle:
        found.append(
            f"released_angle {coupon.released_angle:.6g} is far below leaf_angle {coupon.leaf_angle:.6g}: both are "
            "turned through from flat. Is one of them the angle between the legs?"
        )
    if abs(coupon.measured_thickness - coupon.thickness) > 0.25 * coupon.thickness:
        found.append(
            f"measured_thickness {say(coupon.measured_thickness)} is not near thickness {say(coupon.thickness)}"
        )
    if not found:
        found.extend(_impossible_lengths(coupon, say))
    return found


def _impossible_lengths(coupon: Coupon, say: Say) -> list[str]:
    """The strip and its legs must leave a neutral line that lies in the metal, give or take a slip of the caliper."""
    numbers = reduce_coupon(coupon.strip, coupon.angle)
    slack = 0.6 / (math.radians(coupon.released_angle) * coupon.measured_thickness)  # 0.6 mm of reading error
    if -slack <= numbers.neutral_axis_ratio <= 1.0 + slack:
        return []
    return [
        f"leg_a + leg_b - blank_length is {say(numbers.measured_deduction)}, which no bend of this thickness and "
        f"radius gives (neutral-axis ratio {numbers.neutral_axis_ratio:.2f}). Are the legs outside sizes?"
    ]


def unusual_ratio(ratio: float, angle: float, thickness: float, count: int = 1) -> bool:
    """Whether a neutral-axis ratio lies farther outside the usual range than reading errors explain.

    In thin sheet a slip of the caliper moves the ratio a lot: by reading error over the bend's angle times thickness.
    """
    slack = READING_ERROR / (math.radians(angle) * thickness * math.sqrt(count))
    return not USUAL_RATIO[0] - slack <= ratio <= USUAL_RATIO[1] + slack


def doubts(coupon: Coupon, say: Say = plainly) -> list[str]:
    """What is unusual about a coupon that can be entered all the same."""
    numbers = reduce_coupon(coupon.strip, coupon.angle)
    found = []
    low, high = USUAL_RATIO
    if unusual_ratio(numbers.neutral_axis_ratio, coupon.angle, coupon.thickness):
        found.append(
            f"neutral-axis ratio {numbers.neutral_axis_ratio:.2f} is outside {low:.2f} to {high:.2f}, where bends "
            "usually are: measure blank and legs again"
        )
    if abs(coupon.measured_thickness - coupon.thickness) > THICKNESS_DOUBT:
        found.append(
            f"measured thickness {say(coupon.measured_thickness)} differs from nominal {say(coupon.thickness)} by "
            f"more than {say(THICKNESS_DOUBT)}: is it the right sheet?"
        )
    if abs(coupon.released_angle - coupon.angle) > 5.0:
        found.append(
            f"the released angle {coupon.released_angle:.4g} is more than 5 deg from the wanted {coupon.angle:.4g}: "
            "carrying the deduction that far is rough"
        )
    return found


def record_coupons(path: Path | str, coupons: Sequence[Coupon], say: Say = plainly) -> tuple[int, ...]:
    """Enter coupons, all or none, and return their numbers once they are safe on the disk.

    Raises
    ------
    InputErrors : some coupon cannot be true, or is in the book already; RecordError : the book cannot be written
    """
    _refuse(coupons, say)
    with open_book(path) as book, book.entering():
        _refuse_doubles(coupons, current_coupons(book))
        return tuple(_enter(book, coupon) for coupon in coupons)


def correct_coupon(path: Path | str, number: int, coupon: Coupon, reason: str, say: Say = plainly) -> int:
    """Enter a coupon that stands in place of an earlier entry; the earlier one stays readable."""
    _refuse([coupon], say)
    with open_book(path) as book, book.entering():
        _need_current(book, number, reason)
        _refuse_doubles([coupon], [other for other in current_coupons(book) if other.id != number])
        return _enter(book, coupon, replaces=number, reason=reason)


def withdraw_coupon(path: Path | str, number: int, reason: str) -> int:
    """Enter that an earlier coupon no longer counts, and why."""
    with open_book(path) as book, book.entering():
        old = _need_current(book, number, reason)
        return _enter(book, old, replaces=number, reason=reason, withdrawn=1)


def _refuse(coupons: Sequence[Coupon], say: Say) -> None:
    errors: list[InputError] = []
    for k, coupon in enumerate(coupons, 1):
        name = coupon.name if coupon.mark or len(coupons) == 1 else f"coupon {k} of {len(coupons)}"
        errors.extend(InputError(fault, where=name) for fault in faults(coupon, say))
    if errors:
        raise InputErrors(errors)


def _refuse_doubles(coupons: Sequence[Coupon], known: Sequence[Coupon]) -> None:
    """A strip counts once: entered again it would make the mean look surer than it is."""
    errors: list[InputError] = []
    seen: dict[object, list[Coupon]] = {}
    for other in known:
        seen.setdefault(other.mark or other.strip, []).append(other)
    for coupon in coupons:
        alike = seen.setdefault(coupon.mark or coupon.strip, [])
        double = next((other for other in alike if _same_strip(coupon, other)), None)
        if double is not None:
            entry = f"entry {double.id}" if double.id else "an earlier row"
            way = "correct that entry" if double.id else "leave one of them out"
            hint = "; if it is another strip, give it a mark of its own"
            errors.append(InputError(f"is entered already ({entry}); {way}{hint}", where=coupon.name))
        else:
            alike.append(coupon)
    if errors:
        raise InputErrors(errors)


def _same_strip(a: Coupon, b: Coupon) -> bool:
    """Whether two entries of one mark, or unmarked ones of the same sizes, are of one combination and job."""
    same = same_combination(a.material, a.thickness, a.nose_radius, a.grain, a.angle, b)
    return same and (a.job == b.job or not (a.job and b.job))


COLUMNS = tuple(f.name for f in fields(Coupon) if f.name not in ("id", "recorded_at"))


def _enter(book: Book, coupon: Coupon, **correction: object) -> int:
    return book.enter(
        "coupon",
        **{name: getattr(coupon, name) for name in COLUMNS},
        recorded_at=coupon.recorded_at or now(),
        **correction,
    )


def _need_current(book: Book, number: int, reason: str) -> Coupon:
    if not reason.strip():
        raise InputError("a correction needs a reason in writing", where=f"coupon {number}")
    for coupon in current_coupons(book):
        if coupon.id == number:
            return coupon
    raise RecordError(f"{book.path}: there is no coupon {number} that still counts; flatgen coupon show lists them")


def current_coupons(book: Book) -> tuple[Coupon, ...]:
    """Coupons that count: neither replaced nor withdrawn, in the order of entry."""
    rows = book.rows(
        f"""SELECT id, recorded_at, {", ".join(COLUMNS)} FROM coupon
        WHERE withdrawn = 0 AND id NOT IN (SELECT replaces FROM coupon WHERE replaces IS NOT NULL) ORDER BY id"""
    )
    return tuple(Coupon(**dict(row)) for row in rows)


@dataclass(frozen=True, slots=True)
class Combination:
    """All coupons of one combination and what they say together."""

    material: str
    thickness: float
    nose_radius: float
    grain: str
    angle: float
    coupons: tuple[Coupon, ...]
    found: BendEstimate

    @property
    def odd(self) -> tuple[Coupon, ...]:
        """Coupons that stand out; they count all the same."""
        return tuple(self.coupons[k] for k in self.found.odd)


def same_combination(
    material: str, thickness: float, nose_radius: float, grain: str, angle: float, other: Coupon | BendProof
) -> bool:
    """Whether a coupon belongs to a combination, within what a person would call the same size."""
    return (
        material == other.material
        and grain == other.grain
        and same_nominal(thickness, other.thickness)
        and abs(nose_radius - other.nose_radius) <= SAME_NOSE
        and abs(angle - other.angle) <= SAME_ANGLE
    )


def combinations(coupons: Iterable[Coupon]) -> tuple[Combination, ...]:
    """Coupons gathered by combination, sorted by it; the first coupon of each lends it its nominal sizes."""
    groups: list[list[Coupon]] = []
    for coupon in coupons:
        for group in groups:
            first = group[0]
            if same_combination(first.material, first.thickness, first.nose_radius, first.grain, first.angle, coupon):
                group.append(coupon)
                break
        else:
            groups.append([coupon])
    found = []
    for group in groups:
        first = group[0]
        found.append(
            Combination(
                first.material,
                first.thickness,
                first.nose_radius,
                first.grain,
                first.angle,
                tuple(group),
                estimate_bend([coupon.strip for coupon in group], first.angle),
            )
        )
    return tuple(sorted(found, key=lambda c: (c.material, c.thickness, c.nose_radius, c.grain, c.angle)))


def deduction_by_table(combination: Combination, metal: Material, shop: Shop | None = None) -> tuple[str, float]:
    """Method and deduction [mm] that a blank would go by without the shop's records."""
    case = Case(combination.angle, combination.nose_radius, combination.thickness, metal)
    method = "handbook"
    if shop is not None and shop.allowance in METHODS and shop.allowance not in ("deduction", "shop-record"):
        method = shop.allowance
        case = replace(case, neutral_axis_ratio=shop.neutral_axis_ratio)
    found = METHODS[method].allowance(case)
    if found is None:
        method = "handbook"
        found = METHODS[method].allowance(case)
    assert found is not None
    return method, bend.bend_deduction(case.angle, case.inside_radius, case.thickness, found[0])


def shop_bends(gathered: Iterable[Combination]) -> tuple[ShopBend, ...]:
    """The shop's own deductions and spring-back as rows for develop."""
    return tuple(
        ShopBend(
            material=c.material,
            thickness=c.thickness,
            nose_radius=c.nose_radius,
            angle=c.angle,
            grain=c.grain,
            deduction=c.found.deduction.mean,
            deduction_error=c.found.deduction.error,
            springback_ratio=c.found.springback_ratio.mean,
            springback_error=c.found.springback_ratio.error,
            coupons=len(c.coupons),
            formed_radius=c.found.formed_radius,
            stop_offset=None if c.found.stop_offset is None else c.found.stop_offset.mean,
        )
        for c in gathered
    )


def bend_proofs(gathered: Iterable[Combination]) -> tuple[BendProof, ...]:
    """Which test bends of each combination cracked, which did not, and of which nobody said."""
    return tuple(
        BendProof(c.material, c.thickness, c.nose_radius, c.angle, c.grain, *(_marks(c, told) for told in CRACK_WORDS))
        for c in gathered
    )


CRACK_WORDS = ("no", "yes", "")  # sound, cracked, not told of


def _marks(combination: Combination, told: str) -> tuple[str, ...]:
    return tuple(c.mark or f"entry {c.id}" for c in combination.coupons if c.cracked == told)
