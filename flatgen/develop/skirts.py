"""Outline of a flange that spans its bend, from the two ends of the bend and the cuts that mitre it. Lengths mm."""

from typing import NamedTuple

from flatgen.core.outline import Outline
from flatgen.errors import CannotMake
from flatgen.model.part import Face
from flatgen.said import said, size

SHORTEST = 1e-6


class Cut(NamedTuple):
    """Line a·x + b·y = c in a face's axes that an end of a flange is cut along."""

    a: float
    b: float
    c: float

    def at(self, y: float) -> float:
        """x of the line at a height."""
        return (self.c - self.b * y) / self.a


Ends = tuple[Cut | None, Cut | None]  # low, high
SQUARE: Ends = (None, None)


def skirt_outline(face: Face, span: tuple[float, float], ends: Ends = SQUARE) -> Outline:
    """Outline of a flange that spans its bend; CannotMake when its sides cross."""
    assert face.skirt is not None
    s = face.skirt
    low, high = span
    corners = [(low, low + s.inset_low, s.height_low), (high, high - s.inset_high, s.height_high)]
    for k, cut in enumerate(ends):
        if cut is not None:
            corners[k] = (cut.at(0.0), cut.at(corners[k][2]), corners[k][2])
    (low, free_low, height_low), (high, free_high, height_high) = corners
    if free_low >= free_high - SHORTEST:
        raise CannotMake(
            said(
                f'face "{face.id}": its free edge has no length left (',
                size(high - low),
                " of bend, ends inset by ",
                size(free_low - low),
                " and ",
                size(high - free_high),
                ")",
            ),
            face.id,
            "inset",
        )
    return ((low, 0.0, 0.0), (high, 0.0, 0.0), (free_high, height_high, 0.0), (free_low, height_low, 0.0))
