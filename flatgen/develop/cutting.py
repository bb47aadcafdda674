"""What reliefs, notches and openings leave of a blank, its flats and bend strips, proven against each other."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flatgen.core.clip import without
from flatgen.core.outline import SAME_POINT, Outline, area, polygon, segments
from flatgen.core.points import cross, distance, sub, unit
from flatgen.core.shared import shared_area
from flatgen.develop.measure import NOTHING
from flatgen.errors import CannotMake
from flatgen.model.blank import Line
from flatgen.model.part import Part

OVERLAP = 1e-6  # mm²


@dataclass(frozen=True, slots=True)
class Laid:
    """A blank before anything is cut from it: its edge, its flats by face, both tangent lines by bend."""

    raw: Outline
    flats: Mapping[str, Outline]
    sides: Mapping[str, tuple[Line, Line]]


CHIP = 0.01  # mm²: what reliefs leave loose and is smaller falls away


@dataclass(frozen=True, slots=True)
class Cut:
    """What tools leave of the blank: its edge, what they open inside, its flats and strips by face and bend."""

    outline: Outline
    windows: list[Outline]
    flats: dict[str, Outline]
    strips: dict[str, Outline]


def cut_by(part: Part, laid: Laid, tools: Sequence[Outline]) -> Cut:
    """The blank less reliefs and notches."""
    outers, windows = without(laid.raw, tools)
    if len(outers) > 1 and (chips := [polygon([v[:2] for v in outer]) for outer in outers if area(outer) < CHIP]):
        tools = [*tools, *chips]
        outers, windows = without(laid.raw, tools)
    strips, scraps = _trimmed_strips(part, laid.sides, tools)
    if scraps:
        # a corner of a strip that a relief leaves on one flat alone would stand in the bend's way
        tools = [*tools, *scraps]
        outers, windows = without(laid.raw, tools)
    if len(outers) != 1:
        into = f"cut the blank into {len(outers)} pieces" if outers else "take all of the blank away"
        raise CannotMake(f'part "{part.id}": its reliefs and notches {into}')
    flats = {key: _trimmed(key, flat, tools) for key, flat in laid.flats.items()}
    _proven(outers[0], windows, [*flats.values(), *strips.values()])
    return Cut(outers[0], windows, flats, strips)


def _proven(outline: Outline, windows: Sequence[Outline], regions: Sequence[Outline]) -> None:
    """Raise CannotMake where the blank, cut as a whole, is not what its flats and bends, cut one by one, add up to.

    Blanks that overlap themselves are left to ``overlaps``.
    """
    whole = area(outline) - math.fsum(area(window) for window in windows)
    # the outline of a flat does not show a window that lies wholly in it
    pieces = math.fsum(
        area(region) - math.fsum(shared_area(region, window) for window in windows) for region in regions
    )
    if abs(whole - pieces) > NOTHING and not overlapping([("", region) for region in regions]):
        raise CannotMake(
            f"its flats and bends add up to {pieces:.6f} mm² and its blank has {whole:.6f} mm²: an edge of a relief or"
            " notch lies too near another; let both run together or move them apart"
        )


def overlapping(regions: Sequence[tuple[str, Outline]]) -> list[tuple[str, str, float]]:
    """Every two regions that share area, and how much [mm²]."""
    found = []
    for i, (one, outline) in enumerate(regions):
        for other, second in regions[i + 1 :]:
            shared = shared_area(outline, second)
            if shared > OVERLAP:
                found.append((one, other, shared))
    return found


def _trimmed(face: str, outline: Outline, tools: Sequence[Outline]) -> Outline:
    """A flat less what is cut from it, in one piece."""
    outers, _ = without(outline, tools)
    if len(outers) == 1:
        return outers[0]
    if not outers:
        raise CannotMake(f'its reliefs and notches leave nothing of face "{face}"')
    raise CannotMake(
        f'its reliefs and notches cut face "{face}" into {len(outers)} pieces; make them smaller, or describe a flange'
        " for each piece, with its own span"
    )


def _trimmed_strips(
    part: Part, joints: Mapping[str, tuple[Line, Line]], tools: Sequence[Outline]
) -> tuple[dict[str, Outline], list[Outline]]:
    """Strips of the bends less what is cut from them, and the tips of strips that the cuts leave on one flat alone."""
    strips: dict[str, Outline] = {}
    tips: list[Outline] = []
    for bend in part.bends:
        sides = joints[bend.id]
        pieces, _ = without(strip(*sides), tools)
        whole = [piece for piece in pieces if all(_borders(piece, side) for side in sides)]
        if len(whole) != 1:
            what = f'cut bend "{bend.id}" into {len(whole)} pieces' if whole else f'leave nothing of bend "{bend.id}"'
            hint = f'; describe two flanges in place of "{bend.child}", each with its own span' if whole else ""
            raise CannotMake(f"its reliefs and notches {what}{hint}")
        strips[bend.id] = whole[0]
        tips += [piece for piece in pieces if piece is not whole[0]]
    return strips, tips


def _borders(outline: Outline, line: Line) -> bool:
    """Whether some side of an outline, longer than a point, lies along a line."""
    way = unit(sub(line[1], line[0]))
    return any(
        not bulge and distance(p, q) > SAME_POINT and all(abs(cross(way, sub(x, line[0]))) < SAME_POINT for x in (p, q))
        for p, q, bulge in segments(outline)
    )


def strip(near: Line, far: Line) -> Outline:
    """The strip between the tangent lines of a bend, as each face has them."""
    (p, q), (far_p, far_q) = near, far
    return (*q, 0.0), (*p, 0.0), (*far_q, 0.0), (*far_p, 0.0)
