"""A part laid flat: the tree of faces is walked once round, strip by strip, into one exact outline.

Read in this order: ``unfold`` (the whole), ``_walk`` (the outline), ``_placements`` (where each face lies).
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import combinations

from flatgen.core.clip import TooNear, encloses
from flatgen.core.meets import self_crossings
from flatgen.core.outline import (
    Outline,
    Segment,
    area,
    bounds,
    circle,
    counter_clockwise,
    distance_to,
    moved,
    tidy,
)
from flatgen.core.points import (
    STILL,
    Motion,
    Point,
    after,
    along,
    mirrors,
    move,
    right,
    scale,
    shifted,
    sub,
    turn,
    unit,
)
from flatgen.core.shared import shared_area
from flatgen.develop.cutting import Cut, Laid, cut_by, overlapping, strip
from flatgen.develop.drilled import blank_holes, relief_holes
from flatgen.develop.flats import Flat, flat_of
from flatgen.develop.fold import center_of_gravity, formed_size, frames
from flatgen.develop.measure import NOTHING, described_dimensions, net_areas
from flatgen.develop.mitres import mitre_ends
from flatgen.develop.reliefs import ReliefCut, joined, relief_cuts
from flatgen.develop.runs import EdgeRun, edge_run
from flatgen.develop.setback import Setback, no_mould_lines, setback
from flatgen.develop.skirts import SQUARE, Ends
from flatgen.develop.whiskers import tips
from flatgen.errors import CannotMake
from flatgen.model.blank import BendLine, BentRadius, Blank, BlankHole, FlatFace, Line
from flatgen.model.part import Bend, Part, Relief
from flatgen.said import Text, after_head, extent, said, spot


@dataclass(frozen=True, slots=True)
class Placed:
    """A flat with the motion that carries its own axes into the blank's."""

    flat: Flat
    motion: Motion

    def segments(self) -> list[tuple[Segment, str]]:
        """Segments in blank axes, counter-clockwise, each with the bend that joins there."""
        flip = mirrors(self.motion)
        found = []
        for run in self.flat.runs:
            p, q = move(self.motion, run.start), move(self.motion, run.end)
            found.append((((q, p, run.bulge) if flip else (p, q, run.bulge)), run.bend))
        return found[::-1] if flip else found

    def outline(self) -> Outline:
        """The flat in blank axes."""
        return moved(self.flat.flat_outline(), self.motion)


def _apart(part: str, outline: Outline, openings: list[Outline], holes: Sequence[BlankHole]) -> None:
    """Raise CannotMake for openings that run into one another, into a hole or over the edge: cut so, the area and the
    path of the tool would be wrong. (Holes that run into holes are a finding.)"""
    if not openings:
        return
    wanted = [(o, "another opening") for o in openings]
    wanted += [(circle(hole.center, hole.diameter), f"hole {hole.number} ({hole.label})") for hole in holes]
    boxes = [bounds([o]) for o, _ in wanted]
    for k, opening in enumerate(openings):
        mine = boxes[k]
        for (other, what), box in zip(wanted[k + 1 :], boxes[k + 1 :], strict=True):
            if mine[2] <= box[0] or box[2] <= mine[0] or mine[3] <= box[1] or box[3] <= mine[1]:
                continue
            if shared_area(opening, other) > NOTHING:
                x, y = 0.5 * (mine[0] + mine[2]), 0.5 * (mine[1] + mine[3])
                raise CannotMake(
                    said(
                        f'part "{part}": the opening about ',
                        spot(x, y),
                        f" of the blank runs into {what}; move them apart or draw them as one outline",
                    )
                )
        if abs(shared_area(outline, opening) - abs(area(opening))) > NOTHING:
            raise CannotMake(f'part "{part}": an opening runs into a notch or relief; draw them as one outline')


def unfold(part: Part, bents: Mapping[str, BentRadius], overbend: Mapping[str, float] | None = None) -> Blank:
    """Develop a part with the radius and allowance chosen for each bend.

    Raises CannotMake where the description has no flat pattern: flats of less than nothing, bends off their edge,
    reliefs that cut the blank apart. Parts of the blank that overlap are raised only where something cannot be cut for
    it; else ``overlaps`` finds them.
    """
    placements = _placements(part, bents, {})
    if part.mitres:
        lines = tuple(_bend_lines(part, placements, bents, {}, _strips(part, placements)))
        spans = {bend.child: placements[bend.parent].flat.spans[bend.id] for bend in part.bends}
        motions = {key: place.motion for key, place in placements.items()}
        ends = mitre_ends(part, motions, frames(part.base, lines, part.thickness), spans)
        placements = _placements(part, bents, ends)
    try:
        return _cut_out(part, placements, bents, overbend or {})
    except CannotMake as error:
        raise _explained(part, placements, error) from error


def _explained(part: Part, placements: dict[str, Placed], error: CannotMake) -> CannotMake:
    """The error with the part's name, and whether the flat crosses itself, a likely cause."""
    head = f'part "{part.id}": '
    reason: Text = after_head(error.message, head)
    regions = [(key, place.outline()) for key, place in placements.items()]
    regions += [(f"bend {key}", strip) for key, strip in _strips(part, placements).items()]
    found = overlapping(regions)
    if not found:
        for x, y in self_crossings(_raw(part, placements))[:1] if isinstance(error, TooNear) else ():
            reason = said("the edge of the flat meets itself about ", spot(x, y), ", and ", reason)
        return CannotMake(said(head, reason))
    one, two, shared = max(found, key=lambda item: item[2])
    also = "; shorten, notch or move one of them" if isinstance(error, TooNear) else said(", and ", reason)
    return CannotMake(
        said(
            f'{head}the flat crosses itself: "{one}" and "{two}" overlap by ',
            extent(shared),
            " when laid flat, before anything is cut from them",
            also,
        )
    )


def _raw(part: Part, placements: dict[str, Placed]) -> Outline:
    """The blank's edge before anything is cut from it."""
    return tidy([(*p, b) for (p, _, b) in _walk(part, placements, part.base, "")])


def _cut_out(
    part: Part, placements: dict[str, Placed], bents: Mapping[str, BentRadius], overbend: Mapping[str, float]
) -> Blank:
    """The blank of faces laid side by side, less reliefs, notches and openings."""
    raw = _raw(part, placements)
    reliefs = _reliefs(part, placements, bents)
    windows, notches = _openings(part, placements, raw)
    left = _left(part, _laid(part, placements, raw), windows, [*_cuts(part, placements, reliefs), *notches])
    x0, y0, x1, y1 = bounds([left.outline])
    home = shifted(-x0, -y0)
    placements = {key: Placed(place.flat, after(home, place.motion)) for key, place in placements.items()}
    outline = moved(left.outline, home)
    strips = {key: moved(strip, home) for key, strip in left.strips.items()}
    bends = _bend_lines(part, placements, bents, overbend, strips)
    faces = _flat_faces(part, placements, {key: moved(flat, home) for key, flat in left.flats.items()}, bends)
    cutouts = [moved(w, home) for w in [*windows, *left.windows]]
    holes = blank_holes(part, {key: place.motion for key, place in placements.items()}, bends, len(cutouts))
    _apart(part.id, outline, cutouts, holes)
    cutouts += [circle(hole.center, hole.diameter) for hole in holes]
    centers = [(relief, move(home, cut.center)) for relief, cut in reliefs if cut.center is not None]
    net = area(outline) - math.fsum(area(c) for c in cutouts)
    weight = center_of_gravity(faces, tuple(bends), part.thickness, net_areas(faces, tuple(bends), cutouts))
    return Blank(
        part=part.id,
        outline=outline,
        cutouts=tuple(cutouts),
        holes=tuple(holes),
        bends=tuple(bends),
        faces=faces,
        width=x1 - x0,
        height=y1 - y0,
        area=net,
        grain=part.grain,
        thickness=part.thickness,
        mass=net * part.thickness * part.material.density,
        formed_size=formed_size(faces, tuple(bends), part.thickness),
        center_of_gravity=weight,
        dimensions=described_dimensions(part, bents),
        reliefs=relief_holes(centers, moved(raw, home), len(holes) + 1),
    )


def _flat_faces(
    part: Part, placements: dict[str, Placed], flats: Mapping[str, Outline], bends: Sequence[BendLine]
) -> tuple[FlatFace, ...]:
    """Each flat where it lies, with the frame that forms it."""
    where = frames(part.base, tuple(bends), part.thickness)
    return tuple(FlatFace(key, flats[key], place.motion, where[key]) for key, place in placements.items())


def _left(part: Part, laid: Laid, windows: list[Outline], cuts: list[Outline]) -> Cut:
    """What the cuts leave, without tips too thin to stay where these can be cut away."""
    left = cut_by(part, laid, cuts)
    thin = tips(left.outline, [*windows, *left.windows], cuts)
    if thin:
        # what cannot be cut away cleanly stays, and the rule on thin metal tells of it
        with suppress(CannotMake):
            left = cut_by(part, laid, [*cuts, *thin])
    return left


def _cuts(part: Part, placements: dict[str, Placed], reliefs: Sequence[tuple[Relief, ReliefCut]]) -> list[Outline]:
    """What is cut away for reliefs, in blank axes; two bends that meet at a corner share one hole."""
    cuts: list[Outline] = []
    for _, cut in reliefs:
        if not any(_same(cut.outline, other) for other in cuts):
            cuts.append(cut.outline)
    return [*cuts, *_between(part, placements, reliefs)]


def _openings(part: Part, placements: dict[str, Placed], raw: Outline) -> tuple[list[Outline], list[Outline]]:
    """Openings within the flat and those that cut its edge, in blank axes; CannotMake for one that lies beside it."""
    windows, notches = [], []
    for cutout in part.cutouts:
        outline = moved(cutout.outline, placements[cutout.face].motion)
        if encloses(raw, outline):
            windows.append(counter_clockwise(outline))
            continue
        notches.append(outline)
        if shared_area(raw, outline) <= NOTHING:
            named = f'"{cutout.label}"' if cutout.label else "an opening"
            x, y = cutout.outline[0][:2]
            head = f'part "{part.id}": {named} of face "{cutout.face}", about '
            raise CannotMake(said(head, spot(x, y), " of that face, lies off the metal"))
    return windows, notches


def setbacks_of(part: Part, bents: Mapping[str, BentRadius]) -> dict[str, Setback]:
    """Setbacks by bend [mm]; CannotMake where a bend is measured to lines that it does not have."""
    found = {}
    for bend in part.bends:
        back = setback(bend.angle, bents[bend.id].inside_radius, part.thickness)
        if no_mould_lines(bend)[0]:
            raise CannotMake(f'part "{part.id}": bend "{bend.id}" {no_mould_lines(bend)[1]}')
        if "fold" in (bend.measured_parent, bend.measured_child) and abs(bend.angle) < 90.0:
            raise CannotMake(
                f'part "{part.id}": bend "{bend.id}" turns through {abs(bend.angle):g}°; only from 90° on is there a'
                " fold to measure over"
            )
        found[bend.id] = back
    return found


def overlaps(blank: Blank) -> list[tuple[str, str, float]]:
    """Pairs of faces or bends whose places on the flat blank overlap, with the area they share [mm²].

    Where none share any, but the edge of the blank meets itself, the two that lie there, with no area.
    """
    regions = [(f.id, f.outline) for f in blank.faces] + [(b.id, b.outline) for b in blank.bends]
    found = overlapping(regions)
    if not found and (meeting := self_crossings(blank.outline)):
        off = [(distance_to(outline, meeting[0]), key) for key, outline in regions]
        (_, one), (_, two) = sorted(off, key=lambda item: item[0])[:2] if len(off) > 1 else (off[0], off[0])
        found.append((one, two, 0.0))
    return found


def _placements(part: Part, bents: Mapping[str, BentRadius], ends: Mapping[str, Ends]) -> dict[str, Placed]:
    """Every face with its motion, parents before children; the base keeps its own axes. ``ends`` are mitres by face."""
    setbacks = setbacks_of(part, bents)
    placed: dict[str, Placed] = {}
    base = part.face(part.base)
    placed[base.id] = Placed(flat_of(part, base, setbacks, None), STILL)
    children: dict[str, list[Bend]] = {}
    for bend in part.bends:
        children.setdefault(bend.parent, []).append(bend)
    waiting = [base.id]
    while waiting:
        parent = waiting.pop(0)
        for bend in children.get(parent, ()):
            place = placed[parent]
            flat = place.flat
            run = edge_run(flat.outline, flat.edges.index(bend.parent_edge))
            arriving = bend.child_span if bend.child_span is not None else flat.spans[bend.id]
            child = part.face(bend.child)
            child_flat = flat_of(part, child, setbacks, arriving, ends.get(child.id, SQUARE))
            child_run = edge_run(child_flat.outline, child_flat.edges.index(bend.child_edge))
            back = setbacks[bend.id].of(bend, True) + setbacks[bend.id].of(bend, False)
            gap = bents[bend.id].allowance - back
            to_parent = _lay_beside(run, child_run, gap)
            placed[bend.child] = Placed(child_flat, after(place.motion, to_parent))
            waiting.append(bend.child)
    return placed


def _lay_beside(parent: EdgeRun, child: EdgeRun, gap: float) -> Motion:
    """Motion that lays a child's joining edge along the parent's, ``gap`` outside it, equal runs side by side."""
    direction, outward = parent.direction, parent.outward
    # child's run goes along the parent's, child's inward way is the parent's outward way
    c_dir, c_in = child.direction, scale(child.outward, -1.0)
    a = c_dir[0] * direction[0] + c_in[0] * outward[0]
    b = c_dir[0] * direction[1] + c_in[0] * outward[1]
    c = c_dir[1] * direction[0] + c_in[1] * outward[0]
    d = c_dir[1] * direction[1] + c_in[1] * outward[1]
    turned: Motion = (a, b, c, d, 0.0, 0.0)
    shift = sub(along(parent.origin, outward, gap), turn(turned, child.origin))
    return (a, b, c, d, shift[0], shift[1])


def _walk(part: Part, placements: dict[str, Placed], face: str, arrived: str) -> list[Segment]:
    """Segments of the blank's edge round one face and all beyond it, starting after the bend that leads back."""
    runs = placements[face].segments()
    if arrived:
        at = next(k for k, (_, bend) in enumerate(runs) if bend == arrived)
        runs = runs[at + 1 :] + runs[:at]
    found: list[Segment] = []
    for segment, bend_id in runs:
        if not bend_id:
            found.append(segment)
            continue
        bend = part.bend(bend_id)
        child = _walk(part, placements, bend.child, bend_id)
        p, q, _ = segment
        far = _joint(placements[bend.child], bend_id)
        found.append((p, far[1], 0.0))
        found += child
        found.append((far[0], q, 0.0))
    return found


def _joint(place: Placed, bend: str) -> Line:
    """The tangent line of a bend on one of its faces, counter-clockwise about that face."""
    run = next(run for run in place.flat.runs if run.bend == bend)
    p, q = move(place.motion, run.start), move(place.motion, run.end)
    return (q, p) if mirrors(place.motion) else (p, q)


def _reliefs(
    part: Part, placements: dict[str, Placed], bents: Mapping[str, BentRadius]
) -> list[tuple[Relief, ReliefCut]]:
    """The cuts of all reliefs, in blank axes."""
    setbacks = setbacks_of(part, bents)
    found: list[tuple[Relief, ReliefCut]] = []
    for relief in part.reliefs:
        bend = part.bend(relief.bend)
        back = setbacks[bend.id].of(bend, True)
        place = placements[bend.parent]
        for cut in relief_cuts(relief, bend, place.flat, back):
            center = None if cut.center is None else move(place.motion, cut.center)
            found.append((relief, ReliefCut(moved(cut.outline, place.motion), center)))
    return found


def _between(
    part: Part, placements: dict[str, Placed], reliefs: Sequence[tuple[Relief, ReliefCut]]
) -> Iterator[Outline]:
    """What would hang by a whisker between the reliefs of two bends on one flat."""
    for (one, a), (two, b) in combinations(reliefs, 2):
        face = part.bend(one.bend).parent
        if one.bend != two.bend and face == part.bend(two.bend).parent and len(a.outline) > 2 < len(b.outline):
            between = joined(a.outline, b.outline, [v[:2] for v in placements[face].outline()])
            if between is not None:
                yield between


def _same(one: Outline, two: Outline) -> bool:
    return len(one) == len(two) and all(
        abs(a - b) < 1e-6 for v, w in zip(one, two, strict=True) for a, b in zip(v, w, strict=True)
    )


def _bend_lines(
    part: Part,
    placements: dict[str, Placed],
    bents: Mapping[str, BentRadius],
    overbend: Mapping[str, float],
    strips: Mapping[str, Outline],
) -> list[BendLine]:
    """Bend lines in the order of the tree, so that a parent's frame is known before its child's."""
    order: list[Bend] = []
    reached = [part.base]
    while reached:
        face = reached.pop(0)
        here = [bend for bend in part.bends if bend.parent == face]
        order += here
        reached += [bend.child for bend in here]
    lines = []
    for bend in order:
        bent = bents[bend.id]
        p, q = _joint(placements[bend.parent], bend.id)
        far_p, far_q = _joint(placements[bend.child], bend.id)
        n = right(unit(sub(q, p)))
        half = bent.allowance / 2.0
        middle = (_mid(p, far_q), _mid(q, far_p))
        # the middle of a slanted strip still lies half the allowance out
        assert abs((middle[0][0] - p[0]) * n[0] + (middle[0][1] - p[1]) * n[1] - half) < 1e-6
        line = BendLine(
            id=bend.id,
            parent=bend.parent,
            child=bend.child,
            angle=abs(bend.angle),
            direction=bend.direction,
            bent=bent,
            centerline=middle,
            tangents=((p, q), (far_q, far_p)),
            outline=strips[bend.id],
            overbend_to=overbend.get(bend.id, abs(bend.angle)),
            sight_lines=((p, q), (far_q, far_p)),
        )
        lines.append(replace(line, sight_lines=line.lines_to_clamped_size(part.thickness)))
    return lines


def _strips(part: Part, placements: Mapping[str, Placed]) -> dict[str, Outline]:
    """The strip between the tangent lines of each bend."""
    found: dict[str, Outline] = {}
    for bend in part.bends:
        found[bend.id] = strip(_joint(placements[bend.parent], bend.id), _joint(placements[bend.child], bend.id))
    return found


def _laid(part: Part, placements: Mapping[str, Placed], raw: Outline) -> Laid:
    """The blank's edge with its flats and the lines that its bends run between."""
    joints = {b.id: (_joint(placements[b.parent], b.id), _joint(placements[b.child], b.id)) for b in part.bends}
    return Laid(raw, {key: place.outline() for key, place in placements.items()}, joints)


def _mid(p: Point, q: Point) -> Point:
    return ((p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0)
