"""What a stop can rest against: the cut edge of flat metal on the bed, the outside of a flange that stands square, or
nothing, in which case the bend is worked to its sight line. Lengths mm, section axes of ``brake.section``.
"""

import math
from dataclasses import dataclass
from typing import Literal

from flatgen.brake import stop
from flatgen.brake.layout import Layout
from flatgen.brake.section import Body, Laid, Piece
from flatgen.brake.tools import Setting
from flatgen.core.outline import segments
from flatgen.core.points import frame_after, placed

SQUARE = 0.02  # an edge or face may be out of parallel with the bend by this over its resting length [mm per 10 mm]
LOWER_PADS = (12.0, 9.0, 7.0, 5.0)  # a stop may be lower than the shop's usual one [mm]
LEAST_REST = 6.0  # straight edge that a stop needs at the least [mm]


@dataclass(frozen=True, slots=True)
class Rest:
    """A place for a stop: ``reach`` is its distance from the clamped tangent line on the drawing's sizes [mm].

    pad : height of the stop's face; a strip no thicker than the sheet for an edge, since it may lie under the nose
    """

    kind: Literal["edge", "face"]
    face: str
    reach: float
    pad: float


@dataclass(frozen=True, slots=True)
class StopSetting:
    """Stop distances of one bend for the over-bent leaf, the hinge and the radius after release [mm].

    behind : metal from the back stop to the clamped tangent line; ``bed``, ``nose`` : that stop's distances
    ahead : metal from the far tangent line to the free edge of ``front_face``; ``front`` : front stop from the bed's
        edge
    """

    rest: Rest | None
    behind: float | None = None
    bed: float | None = None
    nose: float | None = None
    front_face: str = ""
    ahead: float | None = None
    front: float | None = None


def gauge(body: Body, laid: Laid, setting: Setting) -> StopSetting:
    """Where the back and the front stop go for one bend, all legs made before being as they should."""
    rest, front, layout = _behind(body, laid, setting), _in_front(body, laid), Layout(body.blank)
    lead = laid.fold.lead
    near, far = beside(laid)
    behind = ahead = None
    # the section shows flats as developed and bends at the nose's radius
    if rest is not None:
        behind = rest.reach + layout.intended(lead, near, rest.face, body.made).out
    face = ""
    if front is not None:
        face, reach = front
        ahead = reach - lead.bent.allowance + layout.intended(lead, far, face, body.made).out
    return stop_setting(setting, rest, behind, face, ahead)


def stop_setting(
    setting: Setting, rest: Rest | None, behind: float | None, front_face: str, ahead: float | None
) -> StopSetting:
    """Distances of both stops, with what test bends have shown of hinge, worn tip and creep on top of the theory."""
    bed = nose = front = None
    radius, setback = setting.radius, setting.setback
    if behind is not None:
        bed = stop.back_stop_from_bed(behind, radius, setback) + setting.back_offset
        nose = bed - setback
    if ahead is not None:
        front = stop.front_stop_from_bed(ahead, setting.making.arc, radius, setback) + setting.front_offset
    return StopSetting(rest, behind, bed, nose, front_face, ahead, front)


def beside(laid: Laid) -> tuple[str, str]:
    """The faces on both sides of the bend that stands for all of a stroke: under the nose, and on the leaf."""
    lead = laid.fold.lead
    return (lead.parent, lead.child) if lead.parent in laid.clamped_faces else (lead.child, lead.parent)


def _behind(body: Body, laid: Laid, setting: Setting) -> Rest | None:
    """What the back stop meets: a thin strip meets flat metal's edge, a higher pad meets a flange that stands."""
    t = setting.thickness
    flat = [p for p in laid.still if _lies_flat(p, t)]
    back_flat = min((min(x for x, _ in p.section) for p in flat), default=math.inf)
    highest = setting.brake.stop_height
    for height in sorted({highest, *(h for h in LOWER_PADS if h < highest)}, reverse=True):
        seen = [(x, p) for p in laid.still if not _lies_flat(p, t) and (x := lowest_within(p, 0.0, height)) is not None]
        back = min((x for x, _ in seen), default=math.inf)
        if back > back_flat - 0.01:
            break
        face = next((p for x, p in seen if x < back + 0.01 and p.kind == "face"), None)
        if face is not None and _stands_square(face, back, height, t) and _long_enough(face, laid):
            return Rest("face", face.owner, -back, height)
    else:
        return None
    owner = next((p.owner for p in flat if min(x for x, _ in p.section) < back_flat + 0.01 and p.kind == "face"), None)
    if owner is None or not _edge_is_parallel(body, laid, owner, back_flat):
        return None
    return Rest("edge", owner, -back_flat, t)


def _in_front(body: Body, laid: Laid) -> tuple[str, float] | None:
    """Free edge that a front stop on the leaf can meet: face and distance from the clamped tangent line, still flat."""
    t = body.blank.thickness
    flat = [p for p in laid.moving if _lies_flat(p, t)]
    far = max((max(x for x, _ in p.section) for p in flat), default=-math.inf)
    if any(max(x for x, _ in p.section) > far + 0.01 for p in laid.moving):
        return None  # bent metal stands or hangs beyond the flat
    owner = next((p.owner for p in flat if max(x for x, _ in p.section) > far - 0.01 and p.kind == "face"), None)
    if owner is None or not _edge_is_parallel(body, laid, owner, far):
        return None
    return owner, far


def _lies_flat(piece: Piece, t: float) -> bool:
    return all(-0.01 < z < t + 0.01 for _, z in piece.section)


def lowest_within(piece: Piece, low: float, high: float) -> float | None:
    """Least x of a section between two heights; None when it does not come between them."""
    found = []
    n = len(piece.section)
    for k in range(n):
        (x1, z1), (x2, z2) = piece.section[k], piece.section[(k + 1) % n]
        if low <= z1 <= high:
            found.append(x1)
        for level in (low, high):
            if (z1 - level) * (z2 - level) < 0:
                found.append(x1 + (x2 - x1) * (level - z1) / (z2 - z1))
    return min(found) if found else None


def _stands_square(piece: Piece, x: float, pad: float, t: float) -> bool:
    """Whether the section has an upright side at x, a millimetre of it or more within the pad's height.

    The cut end of metal that lies level above the bed is no such side: it is as high as the sheet is thick.
    """
    upright = [z for px, z in piece.section if abs(px - x) < SQUARE]
    if len(upright) < 2 or max(upright) - min(upright) < t + 0.1:
        return False
    return min(max(upright), pad) - max(min(upright), 0.0) > 1.0


def _long_enough(piece: Piece, laid: Laid) -> bool:
    return piece.span[1] - piece.span[0] >= _least_rest(laid)


def _edge_is_parallel(body: Body, laid: Laid, face_id: str, x: float) -> bool:
    """Whether straight edges parallel to the bend lie at x on a face, long enough together to rest on."""
    return math.fsum(high - low for low, high in _edges_at(body, laid, face_id, x)) >= _least_rest(laid)


def _least_rest(laid: Laid) -> float:
    low, high = laid.span
    return min(LEAST_REST, 0.3 * (high - low))


def _edges_at(body: Body, laid: Laid, face_id: str, x: float) -> list[tuple[float, float]]:
    """Stretches along the bend where a face has a straight edge parallel to it at x."""
    to_section, found = frame_after(laid.seat, body.frames[face_id]), []
    for p, q, bulge in segments(body.blank.face(face_id).outline):
        if bulge != 0.0:
            continue
        a, b = placed(to_section, (*p, 0.0)), placed(to_section, (*q, 0.0))
        run = abs(b[1] - a[1])
        if run < 1e-6 or abs(b[0] - a[0]) > SQUARE * run / 10.0 + 1e-6:
            continue
        if abs(a[0] - x) < 0.02 and abs(b[0] - x) < 0.02:
            found.append((min(a[1], b[1]), max(a[1], b[1])))
    return found


@dataclass(frozen=True, slots=True)
class Touch:
    """Where a stop touches the metal as it is drawn: its place before or behind the bend, and stretches along it."""

    x: float
    stretches: tuple[tuple[float, float], ...]


def back_touch(body: Body, laid: Laid, rest: Rest) -> Touch:
    """Where a back stop touches."""
    x = -rest.reach
    if rest.kind == "edge":
        return Touch(x, tuple(_edges_at(body, laid, rest.face, x)))
    pieces = [p for p in laid.still if p.owner == rest.face and p.kind == "face"]
    upright = [p.span for p in pieces if (at := lowest_within(p, 0.0, rest.pad)) is not None and at < x + 0.01]
    return Touch(x, tuple(upright))


def front_touch(body: Body, laid: Laid, face: str) -> Touch:
    """Where a front stop touches, while the sheet is flat."""
    x = max(x for p in laid.moving if p.owner == face and p.kind == "face" for x, _ in p.section)
    return Touch(x, tuple(_edges_at(body, laid, face, x)))
