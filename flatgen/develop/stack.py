"""Tolerance stack-up of a developed part: a row for every leg across a bend, and for overall sizes. Lengths mm.

Strips of flats with parallel bends are found on the blank and handed to ``core.tolerance``. Which leg of a bend the
brake gauges is given, or follows from the faces that mate: what mates lies against the stop.
"""

import itertools
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from flatgen.core.bend import MOULD_LINES_BELOW, outside_reach
from flatgen.core.points import cross, dot, sub, unit
from flatgen.core.tolerance import (
    ChainBend,
    Limits,
    Overall,
    Spread,
    free_leg,
    leg_spreads,
    overall_spread,
)
from flatgen.develop.allowed import allowed_angle, allowed_length
from flatgen.model.blank import BendLine, Blank, Dimension
from flatgen.model.part import Part
from flatgen.model.shop import Shop, Tolerances

SAME_SIZE = 1e-6  # mm
PARALLEL = 1e-3  # sine of the angle within which two bend lines count as parallel


@dataclass(frozen=True, slots=True)
class ToleranceRow:
    """Expected spread of one size of the formed part against what is allowed, all ± [mm].

    where : face, or the faces at both ends of an overall size
    kind : flange | web | overall
    size : to the outside mould lines [mm]
    gauged : whether the leg lies against the stop; False for the leg that takes what is left, None for overall sizes
    """

    where: str
    kind: str
    size: float
    worst: float
    rss: float
    limit: float
    gauged: bool | None
    spread: Spread

    @property
    def exceeds(self) -> bool:
        """Whether even the root sum square is more than is allowed."""
        return self.rss > self.limit


@dataclass(frozen=True, slots=True)
class Chain:
    """Flats in a row joined by parallel bends."""

    faces: tuple[str, ...]
    bends: tuple[BendLine, ...]
    base: int


def limits_of(tolerances: Tolerances) -> Limits:
    """The shop's tolerances as the stack-up wants them."""
    return Limits(
        stop=tolerances.stop,
        creep=tolerances.creep,
        cut=tolerances.cut,
        deduction=tolerances.deduction,
        radius=tolerances.radius,
        thickness=tolerances.thickness,
        angle=tolerances.angle,
    )


def tolerance_rows(
    part: Part, blank: Blank, shop: Shop, gauged: Iterable[str] | None = None
) -> tuple[ToleranceRow, ...]:
    """Spread of every leg and overall size of a part.

    Parameters
    ----------
    gauged : ids of faces that the brake plan holds against the stop; None: the faces that mate (``part.mating``)
    """
    limits = limits_of(shop.tolerances)
    wanted = set(part.mating if gauged is None else gauged)
    rows: list[ToleranceRow] = []
    seen: set[tuple[str, float]] = set()
    for chain in chains(part, blank):
        legs = [_leg(blank, chain, index) for index in range(len(chain.faces))]
        items = [ChainBend(b.signed_angle, b.bent.inside_radius, b.bent.neutral_axis_ratio) for b in chain.bends]
        free = free_leg(len(legs), [k for k, face in enumerate(chain.faces) if face in wanted])
        spreads = leg_spreads(items, limits, free)
        for index, (face, spread) in enumerate(zip(chain.faces, spreads, strict=True)):
            ends = [chain.bends[k].id for k in (index - 1, index) if 0 <= k < len(chain.bends)]
            mark = (face, round(_heading(chain.bends[0]), 3))
            if mark in seen:
                continue
            seen.add(mark)
            kind = "web" if len(ends) > 1 else "flange"
            allowed = allowed_length(part, shop, legs[index])
            rows.append(ToleranceRow(face, kind, legs[index], spread.worst, spread.rss, allowed, index != free, spread))
        if all(b.angle < MOULD_LINES_BELOW for b in chain.bends):
            whole = overall_spread(legs, items, blank.thickness, limits, free, chain.base)
            rows += _overall_rows(chain, whole, lambda size: allowed_length(part, shop, size))
    return tuple(rows)


def with_spreads(part: Part, blank: Blank, shop: Shop) -> Blank:
    """The blank with the expected spread beside each of its sizes, and with its overall sizes."""
    rows = tolerance_rows(part, blank, shop)
    legs = [row for row in rows if row.kind != "overall"]

    def spread_of(size: Dimension) -> Dimension:
        row = next((r for r in legs if r.where == size.where and abs(r.size - size.outside) < SAME_SIZE), None)
        return size if row is None else replace(size, likely=row.rss, worst=row.worst)

    overall = tuple(
        Dimension(row.where, "overall", row.size, row.size, likely=row.rss, worst=row.worst)
        for row in rows
        if row.kind == "overall"
    )
    return replace(blank, dimensions=tuple(spread_of(size) for size in blank.dimensions), overall=overall)


def _overall_rows(chain: Chain, whole: Overall, allowed: Callable[[float], float]) -> list[ToleranceRow]:
    ends = f"{chain.faces[0]} to {chain.faces[-1]}"
    return [
        ToleranceRow(
            f"{ends}, {axis} {chain.faces[chain.base]}", "overall", size, s.worst, s.rss, allowed(size), None, s
        )
        for axis, size, s in (
            ("along", whole.along, whole.along_spread),
            ("square to", whole.across, whole.across_spread),
        )
        if size > 1e-6
    ]


def angle_limits(part: Part, blank: Blank, shop: Shop) -> dict[str, float]:
    """What every bend of the blank may be off, by its id [deg]; a tolerance class goes by the shorter leg."""
    by_class = part.tolerance is not None and part.tolerance.left_to_class("angle")
    legs = shorter_legs(part, blank) if by_class else {}
    return {bend.id: allowed_angle(part, shop, legs.get(bend.id, 0.0)) for bend in blank.bends}


def shorter_legs(part: Part, blank: Blank) -> dict[str, float]:
    """Outside size of the shorter of the two legs of every bend, by the bend's id [mm]."""
    found: dict[str, float] = {}
    for chain in chains(part, blank):
        legs = [_leg(blank, chain, index) for index in range(len(chain.faces))]
        for bend, pair in zip(chain.bends, itertools.pairwise(legs), strict=True):
            found.setdefault(bend.id, min(pair))
    return found


def chains(part: Part, blank: Blank) -> tuple[Chain, ...]:
    """Longest strips of flats with parallel bends, each from one end to the other; every bend is in at least one."""
    beside: dict[str, list[tuple[BendLine, str]]] = {}
    for bend in blank.bends:
        beside.setdefault(bend.parent, []).append((bend, bend.child))
        beside.setdefault(bend.child, []).append((bend, bend.parent))
    order = [face.id for face in part.faces]
    depth = _depths(part)
    found: list[Chain] = []
    covered: set[str] = set()
    for bend in blank.bends:
        if bend.id in covered:
            continue
        ahead = _walk(bend, bend.child, beside)
        behind = _walk(bend, bend.parent, beside)
        faces = [face for _, face in reversed(behind)] + [bend.parent, bend.child] + [face for _, face in ahead]
        bends = [b for b, _ in reversed(behind)] + [bend] + [b for b, _ in ahead]
        # in the order of the description, so that a channel reads the same whichever bend is met first
        if order.index(faces[0]) > order.index(faces[-1]) and len(faces) > 2:
            faces.reverse()
            bends.reverse()
        covered.update(b.id for b in bends)
        base = min(range(len(faces)), key=lambda k: (depth[faces[k]], k))
        found.append(Chain(tuple(faces), tuple(bends), base))
    return tuple(found)


def _walk(came_by: BendLine, face: str, beside: dict[str, list[tuple[BendLine, str]]]) -> list[tuple[BendLine, str]]:
    """Bends and faces onward from a face, straight across it, as long as bends stay parallel and on the far side."""
    steps: list[tuple[BendLine, str]] = []
    here, last = face, came_by
    while True:
        options = [
            (bend, other)
            for bend, other in beside.get(here, [])
            if bend.id != last.id and _parallel(bend, last) and _gap(last, bend, here) > 1e-6
        ]
        if not options:
            return steps
        # of several tabs on the far edge the first stands for all
        bend, other = options[0]
        steps.append((bend, other))
        here, last = other, bend


def _gap(one: BendLine, other: BendLine, face: str) -> float:
    """Distance between the tangent lines of two parallel bends on the face that they share; 0 on one edge [mm]."""
    return abs(_height(_tangent(one, face)[0], _tangent(other, face)))


def _tangent(bend: BendLine, face: str) -> tuple[tuple[float, float], tuple[float, float]]:
    return bend.tangents[0] if bend.parent == face else bend.tangents[1]


def _height(p: tuple[float, float], line: tuple[tuple[float, float], tuple[float, float]]) -> float:
    return cross(unit(sub(line[1], line[0])), sub(p, line[0]))


def _parallel(one: BendLine, other: BendLine) -> bool:
    u, v = (unit(sub(b.centerline[1], b.centerline[0])) for b in (one, other))
    return abs(cross(u, v)) < PARALLEL


def _heading(bend: BendLine) -> float:
    u = unit(sub(bend.centerline[1], bend.centerline[0]))
    return abs(dot(u, (1.0, 0.0)))


def _leg(blank: Blank, chain: Chain, index: int) -> float:
    """Outside size of one leg: its flat, and at each bent end the setback (to the outside tangent above 165 deg)."""
    face = chain.faces[index]
    ends = [chain.bends[k] for k in (index - 1, index) if 0 <= k < len(chain.bends)]
    if len(ends) > 1:
        flat = _gap(ends[0], ends[1], face)
    else:
        line = _tangent(ends[0], face)
        flat = max(abs(_height((x, y), line)) for x, y, _ in blank.face(face).outline)
    for bend in ends:
        flat += outside_reach(bend.angle, bend.bent.inside_radius, blank.thickness)
    return flat


def _depths(part: Part) -> dict[str, int]:
    depth = {part.base: 0}
    waiting = list(part.bends)
    while waiting:
        later = [bend for bend in waiting if bend.parent not in depth]
        for bend in waiting:
            if bend.parent in depth:
                depth[bend.child] = depth[bend.parent] + 1
        if len(later) == len(waiting):
            break
        waiting = later
    return depth
