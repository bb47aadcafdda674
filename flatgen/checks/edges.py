"""Holes and the edges of the blank."""

from collections.abc import Iterator

from flatgen.checks.rules import Seen, rule
from flatgen.core.outline import contains, distance_to
from flatgen.core.points import distance
from flatgen.model.blank import Blank, BlankHole
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.said import said, size
from flatgen.tables.load import source

MOVE = "move it in (at, edge_distance)"
DRIFT = 25.4 / 32.0  # drill drift to allow for at the drawing board, common practice
EDGE_DISTANCE = source("ac-43.13-1b", "rivet edge distance of 2 diameters, as quoted in reviews", "read")


def edge_distance(blank: Blank, hole: BlankHole) -> float:
    """Distance from a hole's centre to the nearest free edge or other opening [mm]."""
    others = [c for k, c in enumerate(blank.cutouts) if k != hole.cutout and k < len(blank.cutouts) - len(blank.holes)]
    return min(distance_to(outline, hole.center) for outline in (blank.outline, *others))


def where(hole: BlankHole) -> str:
    """A hole by its number, and its face."""
    return f"hole {hole.number}, {hole.hole.face}"


@rule("hole-to-edge", severity=Severity.FORBID, source=EDGE_DISTANCE)
def hole_to_edge(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A rivet or bolt keeps two diameters to the edge, and a little for the drill; any hole keeps one thickness."""
    for hole in blank.holes:
        have = edge_distance(blank, hole)
        fastener = hole.hole.fastener
        if fastener is None:
            need = hole.diameter / 2.0 + part.thickness
            if have < need - 1e-6:
                text = said(
                    "its centre is ",
                    size(have),
                    " from the edge; under ",
                    size(need),
                    " the web is thinner than the sheet",
                )
                yield Seen(where(hole), have, need, text, todo="move it, or make it smaller")
            continue
        if have < 2.0 * fastener - 1e-6:
            text = said(
                "edge distance ", size(have), f" is {have / fastener:.2f} diameters of a ", size(fastener), " fastener"
            )
            yield Seen(where(hole), have, 2.0 * fastener, text + "; it must be 2", todo=MOVE)
        elif have < 2.0 * fastener + DRIFT - 1e-6:
            text = said(
                "edge distance ", size(have), " leaves less than 1/32 in over 2 diameters for the drill to drift"
            )
            yield Seen(
                where(hole),
                have,
                2.0 * fastener + DRIFT,
                text,
                Severity.WARN,
                todo=f"{MOVE}, or drill it in a jig and waive this",
            )


@rule("hole-to-hole", severity=Severity.WARN, source=source("navy-airman", "rivet spacing, 3 diameters", "read"))
def hole_to_hole(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """Rivets and bolts stand three diameters apart; holes do not run into one another."""
    holes = sorted(blank.holes, key=lambda h: h.center)
    # how far the furthest pair of all can matter: a later hole may be larger than the one that ends a pair's own reach
    furthest = max((max(3.0 * (h.hole.fastener or 0.0), h.diameter) for h in holes), default=0.0)
    for i, one in enumerate(holes):
        for two in holes[i + 1 :]:
            if two.center[0] - one.center[0] > furthest:
                break
            apart = distance(one.center, two.center)
            touching = (one.diameter + two.diameter) / 2.0
            if apart <= touching:
                text = said(f"runs into hole {two.number} ({two.label}), ", size(apart), " away")
                yield Seen(where(one), apart, touching, text, Severity.FORBID, todo="move one of them")
            elif one.hole.fastener and two.hole.fastener:
                reach = 3.0 * max(one.hole.fastener, two.hole.fastener)
                if apart < reach - 1e-6:
                    text = said("pitch ", size(apart), f" to hole {two.number} is less than 3 diameters")
                    yield Seen(
                        where(one), apart, reach, text, todo="set them farther apart, or take a smaller fastener"
                    )


@rule("hole-on-blank", severity=Severity.FORBID, source=EDGE_DISTANCE)
def hole_on_blank(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """Every hole and opening lies wholly on the metal."""
    for hole in blank.holes:
        have = distance_to(blank.outline, hole.center)
        if not contains(blank.outline, hole.center) or have < hole.diameter / 2.0 - 1e-9:
            inside = contains(blank.outline, hole.center)
            text = "it breaks the edge" if inside else "its centre is off the blank"
            yield Seen(where(hole), have if inside else -have, hole.diameter / 2.0, text, todo="move it onto the metal")
