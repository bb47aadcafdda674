"""A part to its blank: radius and allowance for each bend, the flat, the other hand, the proof that it folds back."""

import math
from collections.abc import Mapping
from dataclasses import replace

from flatgen.core import springback
from flatgen.core.making import released_radius
from flatgen.core.outline import moved
from flatgen.core.points import MIRROR_X, Frame, Motion, after, move, shifted
from flatgen.develop.allowance import SAME_LENGTH, bent_radius, overbend
from flatgen.develop.measure import FOLDS_BACK, fold_back_error
from flatgen.develop.methods import Case
from flatgen.develop.methods.measured import springback_record, stop_offset_record
from flatgen.develop.runs import edge_run
from flatgen.develop.stack import with_spreads
from flatgen.develop.strokes import bend_groups
from flatgen.develop.unfold import unfold
from flatgen.errors import CannotMake, InputError, OutOfRange
from flatgen.model.blank import BendLine, BentRadius, Blank, FirstBend, Line
from flatgen.model.part import SKIRT_EDGES, Bend, Part
from flatgen.model.shop import Brake, Shop
from flatgen.said import said


def develop(part: Part, shop: Shop, method: str = "handbook") -> Blank:
    """Blank of a part as this shop will bend it.

    Raises CannotMake where the part has no flat pattern, and RuntimeError (our mistake) where the blank does not fold
    back to the description.
    """
    blank, bents, over = _over_long_enough_noses(part, shop, method)
    ranged = tuple(replace(b, overbend_range=(over[b.id][0], over[b.id][2])) for b in blank.bends)
    blank = replace(blank, bends=ranged)
    if shop.brakes and shop.brake().noses:
        blank = with_hems_begun(part, blank, shop, shop.brake())
    blank = with_spreads(part, blank, shop)
    off = fold_back_error(part, blank, bents)
    if off > FOLDS_BACK:
        raise RuntimeError(f"part {part.id}: the blank folds back {off:.2e} mm off its description")
    return mirrored(blank) if part.hand == "right" else blank


def _over_long_enough_noses(
    part: Part, shop: Shop, method: str
) -> tuple[Blank, dict[str, BentRadius], dict[str, tuple[float, float, float]]]:
    """Blank, radius and range of leaf angles of every bend.

    How long a stroke is shows on the blank: where the nose bar is shorter, the blank is laid out anew over a longer bar
    of the radius, else over the next radius that has one.
    """
    bars = {bar.name: bar for bar in shop.brake().noses} if shop.brakes else {}
    lengths: dict[str, float] = {}
    while True:
        bents, over = _bent(part, shop, method, lengths)
        blank = unfold(part, bents, {bend: best for bend, (_, best, _) in over.items()})
        short = {
            bend.id: fold.length
            for fold in bend_groups(blank)
            for bend in fold.bends
            if bend.bent.bar and shop.brake().usable(bars[bend.bent.bar]) < fold.length - SAME_LENGTH
        }
        if short.keys() <= lengths.keys():
            return blank, bents, over
        lengths |= short


def _bent(
    part: Part, shop: Shop, method: str, lengths: Mapping[str, float]
) -> tuple[dict[str, BentRadius], dict[str, tuple[float, float, float]]]:
    bents: dict[str, BentRadius] = {}
    over: dict[str, tuple[float, float, float]] = {}
    for bend in part.bends:
        case = _case(part, bend, shop)
        try:
            # a hem is pressed to the drawing's radius, so no nose decides it
            brake = None if bend.hem else shop.brake()
            bents[bend.id] = bent_radius(case, method, brake, lengths.get(bend.id, 0.0))
        except (InputError, OutOfRange) as error:
            text = error.message if isinstance(error, InputError) else str(error)
            raise CannotMake(said(f'part "{part.id}": bend "{bend.id}": ', text)) from error
        # a hem is pressed shut, so nothing springs back from a leaf angle
        radius = bents[bend.id].inside_radius
        over[bend.id] = (case.angle,) * 3 if bend.hem else overbend(replace(case, inside_radius=radius))
    return bents, over


def with_hems_begun(part: Part, blank: Blank, shop: Shop, brake: Brake) -> Blank:
    """The blank with what this brake makes of its hems before they are squeezed shut."""
    hems = {bend.id for bend in part.bends if bend.hem}
    if not hems:
        return blank
    firsts = {name: _first_bend(part, shop, brake, grain_at(part, name)) for name in hems}
    return replace(blank, bends=tuple(replace(b, first=firsts.get(b.id)) for b in blank.bends))


def _first_bend(part: Part, shop: Shop, brake: Brake, grain: str) -> FirstBend:
    """A hem's first operation: over the sharpest bar at hand, as far as leaf and bar let it go.

    The shop's own spring-back and stop replace the computed ones where its coupons speak for what the bend comes to.
    """
    nose = min(brake.noses, key=lambda bar: bar.radius)
    leaf, t = brake.farthest(nose), part.thickness
    strength, modulus = part.material.yield_strength, part.material.elastic_modulus
    released = springback.released_radius(nose.radius, t, strength, modulus)
    if not math.isfinite(released):
        released = nose.radius
    comes_to = leaf * springback.angle_ratio(nose.radius, released, t)
    case = Case(comes_to, nose.radius, t, part.material, shop, grain=grain, nominal=part.nominal)
    record = springback_record(case)
    if record is None:
        return FirstBend(nose.name, nose.radius, released, leaf, comes_to)
    comes_to = leaf * record[0]
    released = released_radius(nose.radius, t, comes_to, leaf)
    return FirstBend(nose.name, nose.radius, released, leaf, comes_to, stop_offset_record(case))


def _case(part: Part, bend: Bend, shop: Shop) -> Case:
    """The bend as the drawing has it; what is stated for it goes before what is stated for the whole part."""
    ratio, deduction = bend.neutral_axis_ratio, bend.deduction
    return Case(
        abs(bend.angle),
        bend.radius,
        part.thickness,
        part.material,
        shop,
        part.neutral_axis_ratio if ratio is None else ratio,
        part.deduction if deduction is None else deduction,
        grain_at(part, bend.id),
        part.nominal,
    )


def grain_at(part: Part, bend_id: str) -> str:
    """Whether a bend on the base lies "across" or "along" the rolling direction; deeper bends follow their parents.

    Exact directions are known only on the blank (``checks`` measures there); this is to find a matching shop record.
    """
    if part.grain is None:
        return "across"
    bend = part.bend(bend_id)
    plumb = 0.0  # direction of the bend line in the base's axes, modulo 180, while edges run square
    while True:
        face = part.face(bend.parent)
        if face.skirt is None:
            way = edge_run(face.outline, face.edge(bend.parent_edge)).direction
            plumb += math.degrees(math.atan2(way[1], way[0]))
        elif bend.parent_edge in (SKIRT_EDGES[1], SKIRT_EDGES[3]):
            plumb += 90.0
        if face.id == part.base:
            break
        bend = next(b for b in part.bends if b.child == face.id)
    off = abs((plumb - part.grain + 90.0) % 180.0 - 90.0)
    return "along" if off < 30.0 else "across"


def mirrored(blank: Blank) -> Blank:
    """The other hand: outline, faces and frames mirrored in x; every bend keeps its direction and angle.

    The same blank turned over gives it too, with up and down exchanged, where nothing tells the two sides apart.
    """
    flip: Motion = after(shifted(blank.width, 0.0), MIRROR_X)
    x, y, z = blank.center_of_gravity
    return replace(
        blank,
        outline=moved(blank.outline, flip),
        cutouts=tuple(moved(c, flip) for c in blank.cutouts),
        holes=tuple(replace(h, center=move(flip, h.center)) for h in blank.holes),
        reliefs=tuple(replace(r, center=move(flip, r.center)) for r in blank.reliefs),
        bends=tuple(_mirrored_bend(b, flip) for b in blank.bends),
        faces=tuple(
            replace(
                f,
                outline=moved(f.outline, flip),
                motion=after(flip, f.motion),
                frame=_mirrored_frame(f.frame, blank.width),
            )
            for f in blank.faces
        ),
        grain=None if blank.grain is None else (180.0 - blank.grain) % 180.0,
        center_of_gravity=(blank.width - x, y, z),
    )


def _mirrored_frame(f: Frame, width: float) -> Frame:
    """Mirror in space, the frame, mirror back: both mirrors are in the blank's own x."""
    return (
        (f[0][0], -f[0][1], -f[0][2], width - f[0][0] * width - f[0][3]),
        (-f[1][0], f[1][1], f[1][2], f[1][0] * width + f[1][3]),
        (-f[2][0], f[2][1], f[2][2], f[2][0] * width + f[2][3]),
    )


def _mirrored_bend(b: BendLine, flip: Motion) -> BendLine:
    def line(chord: Line) -> Line:
        # ends exchanged, so that the face still lies to the left of its tangent line
        return move(flip, chord[1]), move(flip, chord[0])

    return replace(
        b,
        centerline=line(b.centerline),
        tangents=(line(b.tangents[0]), line(b.tangents[1])),
        sight_lines=(line(b.sight_lines[0]), line(b.sight_lines[1])),
        outline=moved(b.outline, flip),
    )
