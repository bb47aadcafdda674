"""What a bend looks like from the side before and after, with the tools around it, for the page of its setting."""

import math
from collections.abc import Sequence
from dataclasses import replace

from flatgen.brake.gauge import Touch, back_touch, front_touch
from flatgen.brake.order import Step
from flatgen.brake.section import Body, Laid, Piece, convex_hull
from flatgen.brake.simulate import carried, wrapped_strip
from flatgen.brake.tools import Setting, beam_section, bed_section, leaf_section, nose_section
from flatgen.core.outline import Outline, flatten, polygon
from flatgen.core.points import Point3, frame_after, placed
from flatgen.model.plan import BendPicture


def picture(step: Step, body: Body) -> BendPicture:
    """Sections of the metal before the stroke and with the leaf at its stop, the tools, and the part from above."""
    laid, setting = step.trial.laid, step.trial.setting
    before = [*laid.still, *carried(laid, setting, 0.0), *wrapped_strip(laid, setting, 0.0)]
    after = [
        *laid.still,
        *carried(laid, setting, setting.leaf_angle),
        *wrapped_strip(laid, setting, setting.leaf_angle),
    ]
    low, high = laid.span
    touch = _touch(step, body)

    def within(piece: Piece) -> bool:
        return piece.span[1] > low + 0.05 and piece.span[0] < high - 0.05

    return BendPicture(
        tuple(polygon(p.section) for p in before if within(p)),
        tuple(polygon(p.section) for p in after if within(p)),
        tuple(polygon(p.section) for p in after if not within(p)),
        tools(setting),
        None if touch is None else (touch.x, 0.0),
        seen_from_above(body, laid),
        _holes(body, laid),
        tuple(_above(slab.points, laid) for slab in body.slabs if slab.owner in laid.fold.ids),
        -setting.bed_edge,
        -setting.radius,
        None if touch is None else -touch.x,
        () if touch is None else touch.stretches,
    )


def stopped_picture(laid: Laid, setting: Setting, angle: float) -> BendPicture:
    """The stroke from the side with the leaf at an angle that it does not get past [deg]."""
    before = [*laid.still, *carried(laid, setting, 0.0), *wrapped_strip(laid, setting, 0.0)]
    after = [*laid.still, *carried(laid, setting, angle), *wrapped_strip(laid, setting, angle)]
    sections = [tuple(polygon(piece.section) for piece in pieces) for pieces in (before, after)]
    return BendPicture(sections[0], sections[1], (), tools(replace(setting, leaf_angle=angle)))


def seen_from_above(body: Body, laid: Laid) -> tuple[tuple[str, Outline], ...]:
    """Faces from above, the lowest first: flat ones by their outline, others and made bends by what they cover."""
    faces: list[tuple[float, str, Outline]] = []
    for face in body.blank.faces:
        frame = frame_after(laid.seat, body.frames[face.id])
        if abs(abs(frame[2][2]) - 1.0) < 1e-6:
            points = [placed(frame, (*p, 0.0)) for p in flatten(face.outline, 0.1)]
            faces.append((max(z for _, _, z in points), face.id, polygon([(y, -x) for x, y, _ in points])))
        else:
            corners = [placed(frame, (*p, z)) for p in flatten(face.outline, 0.1) for z in (0.0, -body.blank.thickness)]
            shadow = polygon(convex_hull([(y, -x) for x, y, _ in corners]))
            faces.append((max(z for _, _, z in corners), face.id, shadow))
    found = [(name, outline) for _, name, outline in sorted(faces, key=lambda entry: round(entry[0], 3))]
    made = [slab for slab in body.slabs if slab.kind != "face" and slab.owner not in laid.fold.ids]
    found += [("", _above(slab.points, laid)) for slab in made]
    return tuple(found)


def _above(points: Sequence[Point3], laid: Laid) -> Outline:
    seated = [placed(laid.seat, p) for p in points]
    return polygon(convex_hull([(y, -x) for x, y, _ in seated]))


def _holes(body: Body, laid: Laid) -> tuple[tuple[float, float, float], ...]:
    """Round holes in faces that lie flat, as seen from above."""
    found = []
    for hole in body.blank.holes:
        if hole.after_bending:
            continue
        frame = frame_after(laid.seat, body.frames[hole.hole.face])
        if abs(abs(frame[2][2]) - 1.0) < 1e-6:
            x, y, _ = placed(frame, (*hole.center, 0.0))
            found.append((y, -x, hole.diameter))
    return tuple(found)


def tools(setting: Setting) -> tuple[tuple[str, Outline], ...]:
    """Nose, beam and bed as they stand, and the leaf at its stop, in section axes."""
    nose, stack = setting.nose, math.fsum(setting.wraps)
    section = nose_section(nose, setting.radius, stack)
    tip, base = setting.radius, setting.thickness
    if nose.section and stack:
        tip, base = tip - stack, base + stack
    hx, hz = setting.hinge
    c, s = math.cos(math.radians(setting.leaf_angle)), math.sin(math.radians(setting.leaf_angle))
    leaf = [(x, z - setting.brake.hinge_up) for x, z in leaf_section(setting.brake)]
    return (
        ("nose bar", polygon([(tip - x, base + z) for x, z in section])),
        ("clamping beam", polygon([(tip - x, base + z) for x, z in beam_section(setting.brake, section)])),
        ("bed", polygon([(setting.bed_edge - x, z) for x, z in bed_section(setting.brake)])),
        ("leaf", polygon([(hx + c * x - s * z, hz + s * x + c * z) for x, z in leaf])),
    )


def _touch(step: Step, body: Body) -> Touch | None:
    """Where the stop's face meets the metal: behind on the bed, or in front on the leaf while it lies down."""
    laid, stops = step.trial.laid, step.trial.stops
    if step.side == "back" and stops.rest is not None:
        return back_touch(body, laid, stops.rest)
    return front_touch(body, laid, stops.front_face) if step.side == "front" else None
