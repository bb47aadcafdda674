"""Holes and openings near a bend."""

from collections.abc import Iterator

from flatgen.checks.edges import where
from flatgen.checks.rules import Seen, rule
from flatgen.core.shared import shared_area
from flatgen.develop.near_bend import clear_of_bend, tangent_distance
from flatgen.model.blank import BendLine, Blank, BlankHole
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import PRACTICE
from flatgen.said import said, size

HEAD_CLEAR = 0.03 * 25.4  # of a rivet head to the tangent line, common practice


def _near(hole: BlankHole, bend: BendLine) -> bool:
    return hole.hole.face in (bend.parent, bend.child)


@rule("hole-to-bend", severity=Severity.WARN, source=PRACTICE)
def hole_to_bend(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A hole's edge stays 2T (and 0.06 in) clear of the bend tangent line; nearer it draws oval, on it it cracks.

    One that the description has drilled after bending is nothing to decide.
    """
    need = clear_of_bend(part.thickness)
    for hole in blank.holes:
        for bend in blank.bends:
            if not _near(hole, bend):
                continue
            have = tangent_distance(bend, hole.center) - hole.diameter / 2.0
            place = f"{where(hole)}, bend {bend.id}"
            if have < -1e-9:
                text = said("the hole reaches ", size(-have), " into the bend")
                yield Seen(place, have, 0.0, text, Severity.FORBID, todo="move it clear of the bend")
            elif have < need - 1e-6 and hole.hole.drilled != "after":
                text = said(
                    "its edge is ", size(have), " from the tangent line; nearer than ", size(need), " it draws oval"
                )
                todo = 'drill it when the part is bent: write drilled = "after"'
                yield Seen(place, have, need, text, todo=todo)


@rule("head-to-bend", severity=Severity.WARN, source=PRACTICE)
def head_to_bend(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A rivet's head (diameter 2d) sits flat: its edge stays 0.03 in clear of the bend tangent line."""
    for hole in blank.holes:
        if hole.hole.kind != "rivet" or not hole.hole.fastener:
            continue
        need = hole.hole.fastener + HEAD_CLEAR
        for bend in blank.bends:
            have = tangent_distance(bend, hole.center)
            if _near(hole, bend) and have < need - 1e-6:
                text = said(
                    "rivet centre ",
                    size(have),
                    " from the tangent line; the head of a ",
                    size(hole.hole.fastener),
                    " rivet rides the curve below ",
                    size(need),
                )
                yield Seen(
                    f"{where(hole)}, bend {bend.id}", have, need, text, todo="move the hole out, or take a flush head"
                )


@rule("opening-across-bend", severity=Severity.WARN, source=PRACTICE)
def opening_across_bend(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """An opening that reaches into a bend weakens it and leaves it uneven."""
    for letter, cutout in blank.openings:
        for bend in blank.bends:
            area = shared_area(bend.outline, cutout)
            if area > 1e-6:
                place = f"opening {letter}, bend {bend.id}"
                text = "the opening reaches into the bend"
                todo = "move it, or cut it when the part is bent"
                yield Seen(place, area, 0.0, text, unit="mm²", todo=todo)
