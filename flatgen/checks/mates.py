"""Holes that two parts share."""

import math
from collections.abc import Iterator

from flatgen.checks.rules import Seen, rule
from flatgen.core.words import counted, numbers
from flatgen.model.blank import Blank, BlankHole
from flatgen.model.finding import Severity
from flatgen.model.part import Mate, Part
from flatgen.model.shop import Shop
from flatgen.model.source import PRACTICE
from flatgen.said import said, size

DRILLED_OFF = 0.010 * 25.4  # of a hole from where it belongs, common practice
BEND_OFF = 0.008 * 25.4  # more for a bend between the holes, common practice
FULL = 0.02  # under the fastener's nominal size by which a hole still counts as full size [mm]


@rule("full-size-in-both", severity=Severity.WARN, source=PRACTICE)
def full_size_in_both(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """Of two mating parts at most one is drilled full size first; the other gets pilots, drilled through when fitted.

    A pattern comes out within 0.010 in, and 0.008 in more a bend (root sum square); two that are both full size want
    half the clearance of the fastener in its hole.
    """
    patterns: dict[tuple[str, str, str, float], list[tuple[BlankHole, Mate, float]]] = {}
    for hole in blank.holes:
        for mate in hole.hole.mates:
            fastener = _fastener(hole, mate, shop)
            if fastener is not None and min(hole.diameter, mate.diameter) >= fastener - FULL:
                key = (mate.part, mate.pattern, hole.hole.face, fastener)
                patterns.setdefault(key, []).append((hole, mate, fastener))
    for (other, pattern, face, fastener), found in patterns.items():
        bends = _bends_across(part, blank, other)
        off = math.hypot(DRILLED_OFF, bends * BEND_OFF)
        play = min((hole.diameter + mate.diameter) / 2.0 - fastener for hole, mate, _ in found) / 2.0
        if off > play:
            names = f"{'hole' if len(found) == 1 else 'holes'} {numbers(hole.number for hole, _, _ in found)}"
            across = f" across {counted(bends, 'bend')}" if bends else ""
            sure = all(mate.sure for _, mate, _ in found)
            text = said(
                f'drilled full size here and in {other} (pattern "{pattern}")'
                f"{'' if sure else ', which may lie on it since the faces of both mate'}: each comes out within ±",
                size(off),
                f"{across}, and a ",
                size(fastener),
                " fastener has ±",
                size(max(play, 0.0)),
            )
            todo = "drill pilots in one of the two, and drill through both when they are fitted"
            severity = Severity.WARN if sure else Severity.NOTE
            yield Seen(f"{names}, {face}", off, play, text, severity, todo=todo)


def _fastener(hole: BlankHole, mate: Mate, shop: Shop) -> float | None:
    """The fastener through both, as described, or as the drill table has it for the larger of the two holes.

    Where both are alike they are taken for final ones, though the drill be another fastener's pilot.
    """
    stated = hole.hole.fastener or mate.fastener
    if stated is not None or hole.hole.kind in ("lightening", "tooling"):
        return stated
    larger = max(hole.diameter, mate.diameter)
    return next((row.diameter for row in shop.drills if abs(row.final - larger) < FULL), None)


def _bends_across(part: Part, blank: Blank, other: str) -> int:
    """The most bends between two faces of this part that share holes with another."""
    faces = {hole.hole.face for hole in blank.holes if any(mate.part == other for mate in hole.hole.mates)}
    up = {bend.child: bend.parent for bend in part.bends}

    def way(face: str) -> list[str]:
        found = [face]
        while found[-1] in up:
            found.append(up[found[-1]])
        return found

    ways = [set(way(face)) for face in faces]
    return max((len(a ^ b) for a in ways for b in ways), default=0)
