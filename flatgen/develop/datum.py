"""The two edges that everything on a blank is measured from: A at its foot, B at its left. Lengths mm.

A datum edge is one that exists, straight and long enough to square from. Where the blank has none at that side, the
side of the rectangle that is sheared first stands for it.
"""

from dataclasses import dataclass
from typing import Literal

from flatgen.core.outline import segments
from flatgen.core.points import Point, distance
from flatgen.model.blank import Blank

SQUARE = 25.4  # an edge that a small square sits on without rocking (common practice)
SHARE = 0.4  # of the side, for blanks smaller than two such edges
LEAST = 3.0  # of one piece of an edge in several pieces
ON = 1e-4


@dataclass(frozen=True, slots=True)
class DatumEdge:
    """Edge A (y = 0) or B (x = 0).

    pieces : straight pieces of the blank's own edge that lie on it, longest first; the side of the sheared rectangle
        where ``exists`` is False
    """

    letter: Literal["A", "B"]
    pieces: tuple[tuple[Point, Point], ...]
    exists: bool


def datum_edges(blank: Blank) -> tuple[DatumEdge, DatumEdge]:
    """Edges A and B of a blank."""
    return _edge(blank, "A", 1, blank.width), _edge(blank, "B", 0, blank.height)


def _edge(blank: Blank, letter: Literal["A", "B"], axis: int, side: float) -> DatumEdge:
    found = [
        (p, q) if p[1 - axis] <= q[1 - axis] else (q, p)
        for p, q, bulge in segments(blank.outline)
        if bulge == 0.0 and max(abs(p[axis]), abs(q[axis])) < ON and distance(p, q) >= LEAST
    ]
    pieces = tuple(sorted(found, key=lambda piece: -distance(*piece)))
    runs = [end[1 - axis] for piece in pieces for end in piece]
    # feet in one line square as well as one edge does
    if pieces and (distance(*pieces[0]) >= SQUARE or max(runs) - min(runs) >= SHARE * side):
        return DatumEdge(letter, pieces, True)
    far = (side, 0.0) if axis == 1 else (0.0, side)
    return DatumEdge(letter, (((0.0, 0.0), far),), False)


def datum_note(blank: Blank) -> str:
    """What to do first where a datum edge does not exist; nothing where both do."""
    missing = [edge for edge in datum_edges(blank) if not edge.exists]
    if not missing:
        return ""
    names = " and ".join(edge.letter for edge in missing)
    sides = " and ".join({"A": "foot", "B": "left side"}[edge.letter] for edge in missing)
    return (
        f"{names}: the blank has no straight edge there to square from. Shear the rectangle over all first, mark from"
        f" its {sides}, then cut the outline."
    )
