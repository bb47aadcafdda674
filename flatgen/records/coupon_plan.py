"""Which test bends a job still needs, and the coupons as parts to be nested with it. Lengths mm, angles deg.

For each alloy, thickness, nose and grain that the job bends: strips at the greatest angle that it uses, which asks most
of the metal. A strip of the same at another angle counts too: its neutral-axis ratio is carried to the bend's angle.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count
from typing import Any

from flatgen.core.coupon import strips_wanted
from flatgen.core.nominal import same_nominal
from flatgen.develop.develop import grain_at
from flatgen.develop.least_radius import radius_verdict
from flatgen.develop.methods import METHODS, Case
from flatgen.model.blank import Blank
from flatgen.model.material import Material
from flatgen.model.part import SKIRT_EDGES, Bend, Face, Part, Skirt
from flatgen.model.shop import BendProof
from flatgen.records.coupons import SAME_ANGLE, SAME_NOSE, same_combination
from flatgen.tally.order import combination as tally_combination

LEG = {"in": 1.5 * 25.4, "mm": 38.0}  # least leg, outside
WIDTH = {"in": 25.4, "mm": 25.0}  # least width, and 8 thicknesses; common practice, no source
STEP = {"in": 0.125 * 25.4, "mm": 1.0}
FLAT = 25.0  # least flat of each leg to clamp, gauge and measure
LARGEST = 150.0  # beyond this a coupon bend is measured between outside tangents, which the record does not hold
MARK = "CP"
MEASURED = ("deduction", "shop-record")  # methods that go by what was measured


@dataclass(frozen=True, slots=True)
class Need:
    """One combination that a job bends, with what the book holds of it.

    thickness : nominal; ``metal`` : as the strip is developed
    """

    material: Material
    thickness: float
    nose: str
    nose_radius: float
    grain: str
    angle: float
    pieces: int  # bends of the job that depend on it
    recorded: int
    metal: float
    apart: float = 0.0  # how far the deductions of published tables lie apart
    may_crack: bool = False  # a table asks for a larger radius

    @property
    def wanted(self) -> int:
        """Coupons there should be: by the bends that depend on them, and how far the tables disagree."""
        return strips_wanted(self.pieces, self.apart, self.may_crack)

    @property
    def missing(self) -> int:
        """Coupons still to be bent."""
        return max(0, self.wanted - self.recorded)


def needs(parts: Iterable[Part], blanks: Mapping[str, Blank], recorded: Sequence[BendProof]) -> tuple[Need, ...]:
    """Combinations that the parts bend, sorted, each with the coupons that the book has of it.

    A bend that no nose on hand can make (its ``nose`` is empty) asks for none; nor do hems and bends beyond 150 deg.
    """
    found: list[Need] = []
    for part in parts:
        for one in _needs_of(part, blanks[part.id]) if part.id in blanks else ():
            k = next((k for k, known in enumerate(found) if _alike(known, one)), len(found))
            if k < len(found):
                known = found.pop(k)
                harder, doubt = max(known.angle, one.angle), one.may_crack or known.may_crack
                one = replace(known, angle=harder, pieces=known.pieces + one.pieces, may_crack=doubt)
            found.insert(k, one)
    found = [replace(one, may_crack=one.may_crack and not _harder(one, found)) for one in found]
    counted = (replace(one, recorded=_recorded(one, recorded), apart=_apart(one)) for one in found)
    return tuple(sorted(counted, key=lambda n: (n.material.key, n.thickness, n.nose_radius, n.grain, n.angle)))


def _needs_of(part: Part, blank: Blank) -> Iterator[Need]:
    """What each bend of a part depends on."""
    for line in () if part.kind != "part" or part.cut_from else blank.bends:
        bent, grain = line.bent, grain_at(part, line.id)
        if bent.nose and 0.0 < line.angle <= LARGEST:
            radius, many = bent.inside_radius, part.quantity
            verdict = radius_verdict(part.material, part.nominal, radius, blank.angle_to_grain(line))
            doubt = verdict.status not in ("ok", "no-table")
            yield Need(
                part.material, part.nominal, bent.nose, radius, grain, line.angle, many, 0, part.thickness, 0.0, doubt
            )


def waits(part: Part, blank: Blank, plan: Iterable[tuple[str, Need]]) -> tuple[str, ...]:
    """Marks of the test bends of a plan that are not all recorded and that the bends of a part go by."""
    own = tuple(_needs_of(part, blank))
    return tuple(mark for mark, need in plan if need.missing and any(_alike(need, one) for one in own))


def _harder(need: Need, others: Iterable[Need]) -> bool:
    """Whether strips along the grain are planned too, which hold where those across it do."""
    along = replace(need, grain="along")
    return need.grain == "across" and any(_alike(one, along) and one.angle >= need.angle for one in others)


def _recorded(need: Need, recorded: Iterable[BendProof]) -> int:
    """Strips of a combination that the book has, whatever their angle."""
    key = (need.material.key, need.thickness, need.nose_radius, need.grain)
    return sum(one.bent for one in recorded if same_combination(*key, one.angle, one))


def _apart(need: Need) -> float:
    """How far the deductions that published methods give for a combination lie apart [mm]."""
    case = Case(need.angle, need.nose_radius, need.metal, need.material)
    allowances = [METHODS[name].allowance(case) for name in METHODS.names() if name not in MEASURED]
    known = [found[0] for found in allowances if found is not None]
    return max(known, default=0.0) - min(known, default=0.0)


def _alike(a: Need, b: Need) -> bool:
    return (
        a.material.key == b.material.key
        and same_nominal(a.thickness, b.thickness)
        and abs(a.nose_radius - b.nose_radius) <= SAME_NOSE
        and a.grain == b.grain
    )


def marked(wanted: Iterable[Need], taken: Iterable[str] = ()) -> tuple[tuple[str, Need], ...]:
    """Each combination with its coupon mark: CP1, CP2 … in their order, marks that are ``taken`` left out.

    Combinations that lack nothing keep their mark, so that it does not move while coupons are being entered.
    """
    used = set(taken)
    free = (f"{MARK}{k}" for k in count(1))
    return tuple((next(mark for mark in free if mark not in used), need) for need in wanted)


def coupon_parts(plan: Iterable[tuple[str, Need]], units: str = "mm") -> tuple[Part, ...]:
    """One part of kind "coupon" for each combination of a plan that lacks coupons, as many pieces as are missing.

    plan : by ``marked``. A strip has two equal legs, long enough to clamp, gauge and measure.
    """
    return tuple(coupon_part(need, mark, units) for mark, need in plan if need.missing)


def same_as(strip: Part, combination: Sequence[Any]) -> bool:
    """Whether a strip proves a combination, as the tally keeps it."""
    material, thickness, radius, grain, angle = combination
    own = tally_combination(strip)
    return (
        own[0] == material
        and own[3] == grain
        and same_nominal(own[1], thickness)
        and abs(own[2] - radius) <= SAME_NOSE
        and abs(own[4] - angle) <= SAME_ANGLE
    )


def coupon_part(need: Need, part_id: str, units: str = "mm") -> Part:
    """The strip for one combination."""
    step = STEP[units]
    setback = (need.nose_radius + need.metal) * math.tan(math.radians(need.angle) / 2.0)
    leg = max(LEG[units], math.ceil((setback + FLAT) / step - 1e-9) * step)
    width = max(WIDTH[units], math.ceil(8.0 * need.thickness / step - 1e-9) * step)
    clamped = Face(
        "leg A",
        ((0.0, 0.0, 0.0), (width, 0.0, 0.0), (width, leg, 0.0), (0.0, leg, 0.0)),
        ("end", "right", "bend", "left"),
    )
    free = Face("leg B", (), SKIRT_EDGES, skirt=Skirt(leg, leg))
    bend = Bend("bend", "leg A", "bend", "leg B", SKIRT_EDGES[0], need.angle, need.nose_radius)
    return Part(
        id=part_id,
        title=f"coupon, {need.angle:g}° on {need.nose}, grain {need.grain}",
        profile="coupon",
        base="leg A",
        faces=(clamped, free),
        bends=(bend,),
        material=need.material,
        thickness=need.metal,
        nominal=need.thickness,
        quantity=need.missing,
        grain=90.0 if need.grain == "across" else 0.0,
        notes=(
            "Mark each strip: coupon, number, sheet, grain. File both ends square, take the burr off.",
            "Measure before bending: thickness at three places, length at both edges.",
        ),
        mark=part_id,
        kind="coupon",
        first=need.recorded + 1,
    )
