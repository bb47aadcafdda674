"""Flanges and what the brake can hold, bends that end inside an edge, parts of a blank that overlap."""

import math
from collections.abc import Iterator

from flatgen.checks.rules import Seen, rule
from flatgen.core.outline import contains
from flatgen.core.points import Point, along, distance, dot, right, sub, unit
from flatgen.develop.unfold import overlaps
from flatgen.model.blank import BendLine, Blank, FlatFace
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop, least_land
from flatgen.model.source import DERIVED, PRACTICE
from flatgen.said import extent, said, size
from flatgen.tables.load import source

LONG = "bend it long and trim"
RELIEVE = "cut a relief there (relief)"


def flat_beyond(bend: BendLine, face: FlatFace, child: bool) -> float:
    """Largest depth of a flat measured square to a bend's tangent line [mm]."""
    start, end = bend.tangents[1 if child else 0]
    out = right(unit(sub(end, start)))
    way = 1.0 if child else -1.0
    return max(way * dot(sub((x, y), start), out) for x, y, _ in face.outline)


@rule("flange-too-short", severity=Severity.FORBID, source=PRACTICE)
def flange_too_short(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A flange leaves enough flat beyond the bend for the leaf: the brake's own limit, else 0.19 in and 3T."""
    brake = shop.brake()
    children = {bend.child for bend in blank.bends}
    parents = {bend.parent for bend in blank.bends}
    for bend in blank.bends:
        for face_id, child in ((bend.parent, False), (bend.child, True)):
            # a flat between two bends is gauged by the reach of the tools, which the brake's plan looks at
            if (child and face_id in parents) or (not child and (face_id in children or _bends_on(blank, face_id) > 1)):
                continue
            flat = flat_beyond(bend, blank.face(face_id), child)
            outside = flat + bend.bent.setback_outside
            if brake.smallest_flange is not None:
                if outside < brake.smallest_flange - 1e-6:
                    text = said(
                        "the flange is ",
                        size(outside),
                        f' outside; brake "{brake.name}" holds no less than ',
                        size(brake.smallest_flange),
                    )
                    guess = "smallest_flange" in brake.guessed
                    if guess:
                        text = said("smallest_flange is a guess. Up to ", size(outside), " it goes; ", text)
                    todo = "measure smallest_flange of the brake first" if guess else LONG
                    severity = Severity.WARN if guess else None
                    yield Seen(face_id, outside, brake.smallest_flange, text, severity, todo=todo)
                continue
            need = least_land(part.thickness)
            land = outside - bend.bent.deduction if bend.angle < 165 else flat
            if land < need - 1e-6 or flat < 2.0 * part.thickness - 1e-6:
                text = said(
                    size(land),
                    " of the flange lie on the leaf, ",
                    size(flat),
                    " of it flat; it needs ",
                    size(need),
                )
                yield Seen(face_id, land, need, text, todo=LONG)


def _bends_on(blank: Blank, face: str) -> int:
    return sum((bend.parent == face) + (bend.child == face) for bend in blank.bends)


@rule("bend-without-relief", severity=Severity.WARN, source=source("faa-h-8083-31", "ch. 4, folding a box", "read"))
def bend_without_relief(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A bend that ends against metal has a relief there, as has a corner where two bends meet, or the metal tears."""
    for bend in blank.bends:
        for line, face_id in zip(bend.tangents, (bend.parent, bend.child), strict=True):
            if any(_metal_beyond(blank, bend, blank.face(face_id), end, other) for end, other in (line, line[::-1])):
                text = f"the bend ends inside an edge of {face_id} with no relief cut beside it"
                yield Seen(f"bend {bend.id}", 0.0, part.thickness, text, todo=RELIEVE)
    for face in blank.faces:
        for one, two in _uncut_corners(blank, face):
            text = f"the two bends meet at a corner of {face.id} with no relief hole where their tangent lines cross"
            yield Seen(f"bend {one}, {two}", 0.0, part.thickness, text, todo=RELIEVE)


def _metal_beyond(blank: Blank, bend: BendLine, face: FlatFace, end: Point, other: Point) -> bool:
    """Whether a face goes on beside the end of a bend's tangent line, just inside the face."""
    line = bend.tangents[0 if face.id == bend.parent else 1]
    inward = right(unit(sub(line[1], line[0])))
    sign = -1.0 if face.id == bend.parent else 1.0
    spot = along(along(end, unit(sub(end, other)), 0.05), inward, sign * 0.05)
    return contains(blank.outline, spot) and contains(face.outline, spot)


def _uncut_corners(blank: Blank, face: FlatFace) -> Iterator[tuple[str, str]]:
    """Bends whose tangent lines meet at a corner that the blank still has."""
    lines = [(b.id, b.tangents[0 if b.parent == face.id else 1]) for b in blank.bends if face.id in (b.parent, b.child)]
    for k, (one, first) in enumerate(lines):
        for two, second in lines[:k]:
            ends = [p for p in first if any(distance(p, q) < 1e-6 for q in second)]
            if any(distance(p, v[:2]) < 1e-6 for p in ends for v in blank.outline):
                yield two, one


@rule("overlap-when-flat", severity=Severity.FORBID, source=DERIVED)
def overlap_when_flat(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """No two parts of the blank lie on the same metal."""
    for one, two, area in overlaps(blank):
        overlap = said(
            f"{one} and {two} overlap by ", extent(area), " when laid flat: one piece of metal cannot be both"
        )
        text = overlap if area else f"the edge of the blank meets itself at {one} and {two}"
        todo = "shorten, notch or mitre one of them" if area else "cut a relief or move them apart"
        yield Seen(f"{one}, {two}", area, 0.0, text, unit="mm²", todo=todo)


@rule("tapered-free-edge", severity=Severity.NOTE, source=PRACTICE)
def tapered_free_edge(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A free edge that is not parallel to its bend has no front stop; it is bent by back stop or sight line."""
    parents = {bend.parent for bend in blank.bends}
    for bend in blank.bends:
        if bend.child in parents:
            continue
        start, end = bend.tangents[1]
        along_bend = unit(sub(end, start))
        out = right(along_bend)
        corners = [(dot(sub((x, y), start), out), (x, y)) for x, y, _ in blank.face(bend.child).outline]
        reach = max(height for height, _ in corners)
        tilts = []
        outline = blank.face(bend.child).outline
        for (x, y, bulge), (x2, y2, _) in zip(outline, (*outline[1:], outline[0]), strict=True):
            way = sub((x2, y2), (x, y))
            # the long straight side opposite the bend
            if bulge == 0.0 and dot(sub((x, y), start), out) > reach / 2.0 < dot(sub((x2, y2), start), out):
                tilts.append((abs(dot(way, along_bend)), abs(dot(way, out))))
        if not tilts:
            continue
        run, rise = max(tilts)
        if run > 0 and rise > 1e-6 * run:
            lean = math.degrees(math.atan2(rise, run))
            text = f"the free edge leans {lean:.1f}° from its bend"
            todo = "use the back stop or the sight line, no front stop"
            yield Seen(bend.child, lean, 0.0, text, unit="deg", todo=todo)
