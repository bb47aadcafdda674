"""What a job orders of each part, and what its blanks are cut to. Lengths mm."""

import hashlib
import json
from typing import TYPE_CHECKING, Any

from flatgen.model.tally import Figures, Ordered

if TYPE_CHECKING:  # counting starts without what builds parts
    from flatgen.model.blank import Blank
    from flatgen.model.part import Part


def ordered(part: "Part", blank: "Blank | None" = None) -> Ordered:
    """One part of an order; with its blank also what that is cut to."""
    hand = part.hand if part.hand in ("left", "right") else ""
    bends = () if part.cut_from else tuple(bend.id for bend in part.bends)  # those were bent as a formed length
    figures = figures_of(part, blank) if blank else None
    saw = tuple((row.times, tuple((name, many) for name, _, many in row.pieces)) for row in part.cut_list)
    return Ordered(part.id, part.quantity, bends, bool(part.holes), hand, figures, saw, part.cut_from)


def figures_of(part: "Part", blank: "Blank") -> Figures:
    """Revision, thickness and shape of a blank, lengths to a micrometre."""
    rings = [blank.outline, *blank.cutouts]
    shape = [[[_rounded(v) for v in vertex] for vertex in ring] for ring in rings]
    digest = hashlib.sha256(json.dumps(shape).encode()).hexdigest()[:16]
    sizes = (_rounded(blank.thickness), _rounded(blank.width), _rounded(blank.height))
    return Figures(part.revision, *sizes, digest)


def _rounded(value: float) -> float:
    return round(float(value), 3) + 0.0


def same_metal(a: dict[str, Any], b: dict[str, Any]) -> bool:
    """Whether blanks cut to two sets of figures are the same metal, whatever their revision."""
    return all(a.get(key) == b.get(key) for key in ("shape", "thickness", "combination"))


def facts_of(part: "Part", blank: "Blank") -> dict[str, Any]:
    """The same as an event keeps it; of a test bend with the combination that it proves."""
    facts = figures_of(part, blank).as_dict()
    return facts | {"combination": combination(part)} if part.kind == "coupon" else facts


def combination(strip: "Part") -> list[Any]:
    """What a test bend proves: alloy, nominal thickness, nose radius, grain, angle [mm, deg]."""
    bend = strip.bends[0]
    grain = "across" if strip.grain == 90.0 else "along"
    return [strip.material.key, _rounded(strip.nominal), _rounded(bend.radius or 0.0), grain, bend.angle]
