"""Which sizes of a part are to be measured, with what, on which pieces. Lengths mm, angles deg."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from flatgen.core.acceptance import SOURCE, sampling, spread_out
from flatgen.core.correction import Kind
from flatgen.core.outline import bounds, moved
from flatgen.core.points import Point, distance, left, sub, turned, unit
from flatgen.core.words import numbers
from flatgen.develop.across import across
from flatgen.develop.allowed import allowed_hole, allowed_length
from flatgen.develop.stack import angle_limits
from flatgen.model.blank import BendLine, Blank, Dimension
from flatgen.model.inspection import Check, Checklist
from flatgen.model.part import Part
from flatgen.model.plan import Setup
from flatgen.model.shop import Shop
from flatgen.units import format_length

LEVEL = 2.5  # acceptance quality level [%]; common practice, no source
SAME_SIZE = 0.02
STEEP = 150.0  # a bend so far closed has no mould line to measure to [deg]


def checklists(
    parts: Iterable[Part],
    blanks: Mapping[str, Blank],
    shop: Shop,
    setups: Sequence[Setup] = (),
    units: str = "mm",
    level: float = LEVEL,
) -> tuple[Checklist, ...]:
    """A checklist for every part that is made (coupons are measured on a sheet of their own)."""
    return tuple(
        checklist(part, blanks[part.id], shop, setups, units, level)
        for part in parts
        if part.kind == "part" and part.id in blanks
    )


def checklist(
    part: Part,
    blank: Blank,
    shop: Shop,
    setups: Sequence[Setup] = (),
    units: str = "mm",
    level: float = LEVEL,
) -> Checklist:
    """What to measure on one part: legs and webs, angles, hole rows, blank; limits from the drawing or the shop.

    The first article and then pieces spread evenly to the last are measured, as many as the published plan asks for.
    """
    checks = (
        *_leg_checks(part, blank, shop, stop_labels(part, blank, setups, units)),
        *_other_checks(part, blank, shop),
    )
    plan = sampling(part.quantity, level)
    bad = f"at most {plan.accept} bad" if plan.accept else "none bad"
    words = (
        f"every piece ({part.quantity}), as {SOURCE} asks of a batch this small"
        if plan.everything
        else f"{plan.size} of {part.quantity}; {bad} among them, else measure every piece. "
        f"{SOURCE}; quality level {level:g} %"
    )
    return Checklist(
        part=part.id,
        title=part.handed_title,
        drawing=part.drawing,
        revision=part.revision,
        material=part.material.name,
        thickness=part.thickness,
        quantity=part.quantity,
        checks=tuple(replace(check, number=k) for k, check in enumerate(checks, 1)),
        samples=spread_out(part.quantity, plan.size),
        accept=plan.accept,
        plan=words,
    )


def _check(what: str, kind: Kind, nominal: float, tolerance: float, tool: str, **more: Any) -> Check:
    """A check that has no number yet."""
    return Check(0, what, kind, nominal, nominal - tolerance, nominal + tolerance, tool, **more)


def _leg_checks(
    part: Part, blank: Blank, shop: Shop, stops: Mapping[tuple[str, ...], tuple[str, float]]
) -> Iterator[Check]:
    sizes = [size for size in blank.dimensions if size.kind in ("flange", "web")]
    tool = "caliper, near the bend" if len(sizes) > 2 else "caliper or height gauge"
    for size in sizes:
        leg = (size.where, *size.ends)
        label, setting = stops.get(leg, ("", 0.0))
        allowed = allowed_length(part, shop, size.outside)
        reached = _reached(blank, size)
        what = f"{size.where}, outside" + (", to its highest point" if reached < size.outside else "")
        yield _check(what, "length", reached, allowed, tool, stop=label, setting=setting, leg=leg)


def _reached(blank: Blank, size: Dimension) -> float:
    """How far a flange's metal reaches from its mould line: less than the drawing's size where that runs to a corner
    which a radius rounds away [mm]."""
    line = blank.bend(size.ends[0])
    if size.kind != "flange" or line.angle >= STEEP:
        return size.outside
    tangent = line.tangents[0 if line.parent == size.where else 1]
    normal = left(unit(sub(tangent[1], tangent[0])))
    low, high = bounds(
        [moved(blank.face(size.where).outline, turned(-math.degrees(math.atan2(normal[1], normal[0]))))]
    )[::2]
    at = normal[0] * tangent[0][0] + normal[1] * tangent[0][1]
    reached = max(high - at, at - low) + line.bent.setback_outside
    return reached if SAME_SIZE < size.outside - reached else size.outside


def _other_checks(part: Part, blank: Blank, shop: Shop) -> Iterator[Check]:
    angles = angle_limits(part, blank, shop)
    for line in blank.bends:
        more: dict[str, Any] = {"bend": line.id, "setting": line.overbend_to}
        yield _check(f"{line.id}, angle from flat", "angle", line.angle, angles[line.id], "protractor", **more)
    for what, nominal in hole_rows(blank):
        yield _check(what, "length", nominal, allowed_hole(part, shop, nominal), "caliper and pin")
    for one in () if part.cut_from else across(blank):  # that blank is cut and bent as another part
        legs_of = (size.outside for size in blank.dimensions if size.ends and set(size.ends) <= set(one.bends))
        # the stops set all legs but one, and what the blank is off goes into that one
        least = min((allowed_length(part, shop, size) for size in legs_of), default=0.0)
        what = f"blank before bending, across {', '.join(one.bends)}"
        tolerance = least or allowed_length(part, shop, one.size)
        yield _check(what, "length", one.size, tolerance, "caliper", across=one.bends)
    for what, nominal in () if blank.bends else (("blank, width", blank.width), ("blank, height", blank.height)):
        yield _check(what, "length", nominal, allowed_length(part, shop, nominal), "caliper")


def stop_labels(
    part: Part, blank: Blank, setups: Sequence[Setup], units: str = "mm"
) -> dict[tuple[str, ...], tuple[str, float]]:
    """Leg (face and bends) whose outside size a stop sets -> label of that stop setting, and where it stands [mm]."""
    sizes = [size for size in blank.dimensions if size.kind in ("flange", "web")]
    labels: dict[tuple[str, ...], tuple[str, float]] = {}
    for place, setup in enumerate(setups, 1):
        for operation in setup.operations:
            for size in sizes:
                if operation.part != part.id or operation.leg != size.where or operation.bend not in size.ends:
                    continue
                stop = f"{setup.stop_side} stop {format_length(setup.stop_shown, units, unit=True)}"
                label = f"setting {setup.number or place}, {stop}"
                labels.setdefault((size.where, *size.ends), (label, setup.stop_shown))
    return labels


def hole_rows(blank: Blank) -> list[tuple[str, float]]:
    """Distance of each row of holes from the outside mould line of the bend nearest to it [mm]."""
    rows: dict[tuple[str, str, float], list[int]] = {}
    for hole in blank.holes:
        near = nearest_bend(blank, hole.hole.face, hole.center)
        if near is None:
            continue
        line, away = near
        size = away + line.bent.setback_outside
        if not math.isfinite(size):
            continue
        key = next((k for k in rows if k[:2] == (hole.hole.face, line.id) and abs(k[2] - size) < SAME_SIZE), None)
        key = key or (hole.hole.face, line.id, size)
        rows.setdefault(key, []).append(hole.number)
    return [
        (f"{'holes' if len(found) > 1 else 'hole'} {numbers(found)} in {face} to mould line {bend}", size)
        for (face, bend, size), found in rows.items()
    ]


def nearest_bend(blank: Blank, face: str, point: Point) -> tuple[BendLine, float] | None:
    """The bend of a face nearest to a point on it, and the distance to its tangent line [mm]."""
    found = []
    for line in blank.bends:
        for owner, tangent in ((line.parent, line.tangents[0]), (line.child, line.tangents[1])):
            if owner == face and distance(*tangent) > 1e-9:
                normal = left(unit(sub(tangent[1], tangent[0])))
                away = sub(point, tangent[0])
                found.append((abs(away[0] * normal[0] + away[1] * normal[1]), line))
    if not found:
        return None
    away_least, line = min(found, key=lambda pair: pair[0])
    return line, away_least
