"""results.json: all that was computed, for other programs. Lengths mm, angles deg, areas mm², masses g.

The shape is fixed by its ``schema``; keys are only ever added. A number that is infinite is null.
"""

import dataclasses
import json
import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

from flatgen.model.blank import BendLine, Blank
from flatgen.model.finding import Finding
from flatgen.model.handling import handling
from flatgen.model.part import Sawn
from flatgen.model.plan import OFFCUT, Leg, Nest, Operation, Setup
from flatgen.model.results import Developed, NestReport, Results
from flatgen.model.shop import Minutes
from flatgen.model.spent import time_spent, to_bend, to_cut, to_set
from flatgen.said import within
from flatgen.tally.order import facts_of

SCHEMA = "flatgen-results/2"


def as_dict(results: Results) -> dict[str, Any]:
    """The whole contract as plain lists and dictionaries."""
    job = results.job
    kerfs = {tool.name: tool.kerf for tool in job.shop.tools}
    return {
        "schema": SCHEMA,
        "job": job.title,
        "units": job.units,
        "input_digest": job.digest,
        "parts": [part_dict(made, results.legs(made.part.id)) for made in results.parts],
        "findings": [finding_dict(finding, results.job.units) for finding in results.findings],
        "nests": [nest_dict(nest, report.kept, kerfs[nest.tool]) for report in results.nests for nest in report.nests],
        "nest_reports": [_nest_report(report, results) for report in results.nests],
        "setups": [_setup(setup, results.job.shop.minutes) for setup in results.setups],
        "totals": totals(results),
    }


def as_text(results: Results) -> str:
    """The contract as JSON text; numbers keep all their digits."""
    return json.dumps(as_dict(results), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def plain(value: Any) -> Any:
    """Dataclasses, tuples and numbers as JSON takes them; what has no end becomes null."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _of(thing: object, names: str, **more: Any) -> dict[str, Any]:
    """Fields of a thing under their own names, and what has another name or form."""
    return {**{name: plain(getattr(thing, name)) for name in names.split()}, **plain(more)}


def part_dict(made: Developed, legs: Sequence[Leg] = ()) -> dict[str, Any]:
    """One part as results.json has it; ``legs`` as it comes off the brake, where that is planned."""
    part, blank = made.part, made.blank
    methods = sorted({bend.bent.method for bend in blank.bends})
    return _of(
        part,
        "id kind profile title quantity thickness nominal drawing revision turn_over process",
        hand=part.hand if part.hand in ("left", "right") else None,
        pieces=made.pieces,
        material=part.material.key,
        method=", ".join(methods) or made.method,
        stopped=made.stopped,
        blank=_blank(blank),
        bends=[_bend(bend) for bend in blank.bends],
        faces=[_of(face, "id outline frame") for face in blank.faces],
        # likely and worst are ±, root sum square and worst case, null: not reckoned
        dimensions=[
            _of(size, "where kind outside inside likely worst") for size in (*blank.dimensions, *blank.overall)
        ],
        formed={"size": blank.formed_size, "center_of_gravity": blank.center_of_gravity},
        mass=blank.mass,
        # outside sizes between mould lines or from one to a cut edge, as they come out at the planned stops
        legs=[_of(leg, "name nominal expected spread set_by", bends=leg.ends) for leg in legs],
        figures=facts_of(part, blank),
        **({"waits_for": list(made.waits)} if made.waits else {}),
        **({"cut_from": part.cut_from} if part.cut_from else {}),
        **({"cut_list": [_sawn(row) for row in part.cut_list]} if part.cut_list else {}),
        **({"counts": made.counts.as_dict(), "cut_by_number": made.counts.loose} if made.counts else {}),
    )


def _sawn(row: Sawn) -> dict[str, Any]:
    """Formed lengths cut alike, and what each of them gives."""
    pieces = [{"part": part, "length": length, "pieces": many} for part, length, many in row.pieces]
    return {"lengths": row.times, "pieces": pieces}


def _blank(blank: Blank) -> dict[str, Any]:
    return _of(
        blank,
        "outline cutouts width height area",
        holes=[
            _of(h, "diameter label cutout number after_bending", x=h.center[0], y=h.center[1], face=h.hole.face)
            for h in blank.holes
        ],
        reliefs=[_of(h, "diameter label bends number", x=h.center[0], y=h.center[1]) for h in blank.reliefs],
        grain_deg=blank.grain,
    )


def _bend(bend: BendLine) -> dict[str, Any]:
    bent = bend.bent
    return _of(
        bend,
        "id angle direction centerline tangents sight_lines outline overbend_to",
        faces=[bend.parent, bend.child],
        between_legs=180.0 - bend.angle,
        outside_setback=bent.setback_outside,
        source=str(bent.source),
        overbend_range=bend.overbend_range or None,
        **_of(bent, "inside_radius drawing_radius nose allowance deduction neutral_axis_ratio method"),
    )


def finding_dict(finding: Finding, units: str) -> dict[str, Any]:
    """One finding as the contract has it; ``waived`` holds the reason, or null."""
    return _of(
        finding,
        "rule part where value limit unit source",
        severity=str(finding.severity),
        message=within(finding.message, units),
        todo=within(finding.todo, units),
        waived=finding.waived or None,
    )


def nest_dict(nest: Nest, kept: bool = False, kerf: float = 0.0) -> dict[str, Any]:
    """One nest as results.json has it; ``kept`` by nest.lock, ``kerf`` of its tool [mm]."""
    sheet = "id measured width height margin remnant batch cost bad_areas"
    return _of(
        nest,
        "material thickness method tool begun utilisation first first_lost",
        kerf=kerf,
        kept=kept,
        sheet=_of(nest.sheet, sheet, grain_deg=nest.sheet.grain),
        placements=[_of(laid, "part copy x y rotation mirrored") for laid in nest.placements],
        cuts=[
            _of(cut, "order gauge stage note trim hold") | {"from": list(cut.start), "to": list(cut.end)}
            for cut in nest.cuts
        ],
        offcuts=[_of(offcut, "id x y width height") for offcut in nest.offcuts],
    )


def _nest_report(report: NestReport, results: Results) -> dict[str, Any]:
    """How good the nests of one alloy, thickness and tool are; ``waste`` in shares of the sheets' area."""
    waste = dict(report.waste)
    blanks, minutes = {made.part.id: made.blank for made in results.parts}, results.job.shop.minutes
    return _of(
        report,
        "material thickness tool cost bound area_bound least_share figure settings kept",
        sheets=len(report.nests),
        utilisation=waste.pop("blanks"),
        waste=waste,
        cuts=sum(len(nest.cuts) for nest in report.nests),
        minutes=math.fsum(to_cut(nest, blanks, minutes) for nest in report.nests),
        to_buy=dict(report.to_buy),
        trims=dict(report.trims),
        unplaced=[_of(left, "part quantity reason") for left in report.unplaced],
        note=report.note or None,
    )


def _setup(setup: Setup, minutes: Minutes) -> dict[str, Any]:
    names = "brake nose nose_radius stop stop_side offset stop_pad nose_setback overbend_to"
    time = {"set": to_set(setup, minutes), "bend": to_bend(setup, minutes)}
    return _of(setup, names, minutes=time, operations=[_operation(operation) for operation in setup.operations])


def _operation(op: Operation) -> dict[str, Any]:
    """One bend at a setting; ``sight`` is the sight line's distance from the gauged edge, null without such an edge."""
    names = (
        "part bend step flip turn pieces clamped gauged_face released_radius arc behind ahead leg_size sight abreast"
    )
    return _of(op, names, handling=handling(op), gauge=op.gauge_kind, leg=op.leg or None)


def totals(results: Results) -> dict[str, Any]:
    """Pieces in nests and not, sheets by stock size, mass and cost; coupons have mass, but are not wanted."""
    sheets = Counter(
        nest.sheet.id for report in results.nests for nest in report.nests if not nest.sheet.id.startswith(OFFCUT)
    )
    costs = [report.cost for report in results.nests]
    to_buy: Counter[str] = Counter()
    for report in results.nests:
        to_buy.update(dict(report.to_buy))
    return {
        "pieces_wanted": sum(made.part.quantity for made in results.finished_parts),
        "pieces": results.nested.total(),
        "not_nested": results.not_nested,
        "sheets": dict(sorted(sheets.items())),
        "to_buy": dict(to_buy),
        "mass": math.fsum(made.blank.mass * made.part.quantity for made in results.parts if not made.part.cut_list),
        "cost": None if None in costs else math.fsum(cost for cost in costs if cost is not None),
        "brake": dict(results.figures),
        "minutes": dict(time_spent(results)),
    }
