"""results.json: all that was computed, for other programs. Lengths mm, angles deg, areas mm², masses g.

The shape is fixed by its ``schema``; keys are only ever added. A number that is infinite is null.
"""

import json
import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

from flatgen.core.outline import Outline
from flatgen.model.blank import BendLine, Blank, Dimension, FlatFace
from flatgen.model.finding import Finding
from flatgen.model.handling import handling
from flatgen.model.plan import OFFCUT, Leg, Nest, Operation, Setup
from flatgen.model.results import Developed, NestReport, Results
from flatgen.model.shop import Minutes
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
        "nest_reports": [_nest_report(report, results.job.shop.minutes) for report in results.nests],
        "setups": [_setup(setup) for setup in results.setups],
        "totals": totals(results),
    }


def as_text(results: Results) -> str:
    """The contract as JSON text; numbers keep all their digits."""
    return json.dumps(as_dict(results), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _outline(outline: Outline) -> list[list[float]]:
    return [list(vertex) for vertex in outline]


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None


def part_dict(made: Developed, legs: Sequence[Leg] = ()) -> dict[str, Any]:
    """One part as results.json has it; ``legs`` as it comes off the brake, where that is planned."""
    part, blank = made.part, made.blank
    methods = sorted({bend.bent.method for bend in blank.bends})
    return {
        "id": part.id,
        "kind": part.kind,
        "profile": part.profile,
        "title": part.title,
        "hand": part.hand if part.hand in ("left", "right") else None,
        "quantity": part.quantity,
        "pieces": made.pieces,
        "material": part.material.key,
        "thickness": part.thickness,
        "nominal": part.nominal,
        "method": ", ".join(methods) or made.method,
        "drawing": part.drawing,
        "revision": part.revision,
        "turn_over": part.turn_over,
        "stopped": made.stopped,
        "blank": _blank(blank),
        "bends": [_bend(bend) for bend in blank.bends],
        "faces": [_face(face) for face in blank.faces],
        "dimensions": [_dimension(size) for size in (*blank.dimensions, *blank.overall)],
        "formed": {"size": list(blank.formed_size), "center_of_gravity": list(blank.center_of_gravity)},
        "mass": blank.mass,
        "legs": [_leg(leg) for leg in legs],
        "figures": facts_of(part, blank),
        **({"counts": made.counts.as_dict()} if made.counts else {}),
    }


def _leg(leg: Leg) -> dict[str, Any]:
    """An outside size between mould lines or from one to a cut edge, as it comes out at the planned stops."""
    return {
        "name": leg.name,
        "bends": list(leg.ends),
        "nominal": leg.nominal,
        "expected": leg.expected,
        "spread": leg.spread,
        "set_by": leg.set_by,
    }


def _dimension(size: Dimension) -> dict[str, Any]:
    """A size of the formed part; ``likely`` and ``worst`` are ±, root sum square and worst case, null: not reckoned."""
    return {
        "where": size.where,
        "kind": size.kind,
        "outside": size.outside,
        "inside": size.inside,
        "likely": size.likely,
        "worst": size.worst,
    }


def _blank(blank: Blank) -> dict[str, Any]:
    return {
        "outline": _outline(blank.outline),
        "cutouts": [_outline(cutout) for cutout in blank.cutouts],
        "holes": [
            {
                "x": hole.center[0],
                "y": hole.center[1],
                "diameter": hole.diameter,
                "label": hole.label,
                "face": hole.hole.face,
                "cutout": hole.cutout,
                "number": hole.number,
                "after_bending": hole.after_bending,
            }
            for hole in blank.holes
        ],
        "reliefs": [
            {
                "x": hole.center[0],
                "y": hole.center[1],
                "diameter": hole.diameter,
                "label": hole.label,
                "bends": list(hole.bends),
                "number": hole.number,
            }
            for hole in blank.reliefs
        ],
        "width": blank.width,
        "height": blank.height,
        "area": blank.area,
        "grain_deg": blank.grain,
    }


def _bend(bend: BendLine) -> dict[str, Any]:
    bent = bend.bent
    return {
        "id": bend.id,
        "faces": [bend.parent, bend.child],
        "angle": bend.angle,
        "between_legs": 180.0 - bend.angle,
        "direction": bend.direction,
        "inside_radius": bent.inside_radius,
        "drawing_radius": bent.drawing_radius,
        "nose": bent.nose,
        "allowance": bent.allowance,
        "deduction": _number(bent.deduction),
        "outside_setback": _number(bent.setback_outside),
        "neutral_axis_ratio": bent.neutral_axis_ratio,
        "method": bent.method,
        "source": str(bent.source),
        "centerline": [list(p) for p in bend.centerline],
        "tangents": [[list(p) for p in line] for line in bend.tangents],
        "sight_lines": [[list(p) for p in line] for line in bend.sight_lines],
        "outline": _outline(bend.outline),
        "overbend_to": bend.overbend_to,
        "overbend_range": list(bend.overbend_range) if bend.overbend_range else None,
    }


def _face(face: FlatFace) -> dict[str, Any]:
    return {"id": face.id, "outline": _outline(face.outline), "frame": [list(row) for row in face.frame]}


def finding_dict(finding: Finding, units: str) -> dict[str, Any]:
    """One finding as the contract has it; ``waived`` holds the reason, or null."""
    return {
        "rule": finding.rule,
        "severity": str(finding.severity),
        "part": finding.part,
        "where": finding.where,
        "value": finding.value,
        "limit": finding.limit,
        "unit": finding.unit,
        "message": within(finding.message, units),
        "todo": within(finding.todo, units),
        "source": finding.source,
        "waived": finding.waived or None,
    }


def nest_dict(nest: Nest, kept: bool = False, kerf: float = 0.0) -> dict[str, Any]:
    """One nest as results.json has it; ``kept`` by nest.lock, ``kerf`` of its tool [mm]."""
    sheet = nest.sheet
    return {
        "material": nest.material,
        "thickness": nest.thickness,
        "method": nest.method,
        "tool": nest.tool,
        "kerf": kerf,
        "begun": nest.begun,
        "kept": kept,
        "sheet": {
            "id": sheet.id,
            "measured": sheet.measured,
            "width": sheet.width,
            "height": sheet.height,
            "margin": sheet.margin,
            "grain_deg": sheet.grain,
            "remnant": sheet.remnant,
            "batch": sheet.batch,
            "cost": sheet.cost,
            "bad_areas": [list(area) for area in sheet.bad_areas],
        },
        "placements": [
            {
                "part": p.part,
                "copy": p.copy,
                "x": p.x,
                "y": p.y,
                "rotation": p.rotation,
                "mirrored": p.mirrored,
            }
            for p in nest.placements
        ],
        "cuts": [
            {
                "order": c.order,
                "from": list(c.start),
                "to": list(c.end),
                "gauge": c.gauge,
                "stage": c.stage,
                "note": c.note,
                "trim": c.trim,
                "hold": c.hold,
            }
            for c in nest.cuts
        ],
        "utilisation": nest.utilisation,
        "first": list(nest.first),
        "first_lost": nest.first_lost,
        "offcuts": [{"id": o.id, "x": o.x, "y": o.y, "width": o.width, "height": o.height} for o in nest.offcuts],
    }


def _nest_report(report: NestReport, minutes: Minutes) -> dict[str, Any]:
    """How good the nests of one alloy, thickness and tool are; ``waste`` in shares of the sheets' area."""
    waste = dict(report.waste)
    cuts = sum(len(nest.cuts) for nest in report.nests)
    return {
        "material": report.material,
        "thickness": report.thickness,
        "tool": report.tool,
        "sheets": len(report.nests),
        "utilisation": waste["blanks"],
        "waste": {name: share for name, share in waste.items() if name != "blanks"},
        "cost": report.cost,
        "bound": report.bound,
        "area_bound": report.area_bound,
        "least_share": report.least_share,
        "figure": report.figure,
        "settings": report.settings,
        "cuts": cuts,
        "minutes": minutes.spent(report.settings, cuts),
        "to_buy": dict(report.to_buy),
        "trims": dict(report.trims),
        "unplaced": [{"part": u.part, "quantity": u.quantity, "reason": u.reason} for u in report.unplaced],
        "kept": report.kept,
        "note": report.note or None,
    }


def _setup(setup: Setup) -> dict[str, Any]:
    return {
        "brake": setup.brake,
        "nose": setup.nose,
        "nose_radius": setup.nose_radius,
        "stop": setup.stop,
        "stop_side": setup.stop_side,
        "offset": setup.offset,
        "stop_pad": setup.stop_pad,
        "nose_setback": setup.nose_setback,
        "overbend_to": setup.overbend_to,
        "operations": [_operation(operation) for operation in setup.operations],
    }


def _operation(op: Operation) -> dict[str, Any]:
    """One bend at a setting; ``sight`` is the sight line's distance from the gauged edge, null without such an edge."""
    return {
        "part": op.part,
        "bend": op.bend,
        "step": op.step,
        "flip": op.flip,
        "turn": op.turn,
        "pieces": op.pieces,
        "handling": handling(op),
        "clamped": op.clamped,
        "gauge": op.gauge_kind,
        "gauged_face": op.gauged_face,
        "released_radius": op.released_radius,
        "arc": op.arc,
        "behind": op.behind,
        "ahead": op.ahead,
        "leg": op.leg or None,
        "leg_size": op.leg_size,
        "sight": op.sight,
    }


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
        "pieces_wanted": sum(made.part.quantity for made in results.parts if made.part.kind == "part"),
        "pieces": results.nested.total(),
        "not_nested": results.not_nested,
        "sheets": dict(sorted(sheets.items())),
        "to_buy": dict(to_buy),
        "mass": math.fsum(made.blank.mass * made.part.quantity for made in results.parts),
        "cost": None if None in costs else math.fsum(cost for cost in costs if cost is not None),
        "brake": dict(results.figures),
    }
