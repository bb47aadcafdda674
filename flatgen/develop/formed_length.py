"""A part's section, and the formed length of that section from which parts are sawn. Lengths mm, angles deg."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flatgen.core.outline import bounds, moved
from flatgen.core.points import cross, turned
from flatgen.develop.across import PARALLEL, toward_child
from flatgen.model.blank import BendLine, Blank
from flatgen.model.part import SKIRT_EDGES, Bend, Face, Part, Skirt

SAME = 1e-4  # [mm]
MOST_ANGLE = 150.0  # a fold closed by squeezing has no mould lines to describe it by
NOT_ONE_WAY = "its bends do not lie one way"
FORMED, WIDER = "formed length", "wider piece"  # what stands for the profile of what parts are sawn from
Key = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """What a part is across its bends: flats and bends in order, how long it is along them, its grain from them.

    flats : (face, flat between tangent lines, size to the outside mould lines)
    grain : rolling direction from the bends, 0 to 180; None: any
    """

    flats: tuple[tuple[str, float, float], ...]
    bends: tuple[tuple[str, float, float, float, float], ...]  # id, signed angle, drawing's radius, allowance, released
    length: float
    grain: float | None

    def key(self) -> Key:
        """Equal for sections that are the same metal, laid either way round."""
        widths = [round(flat, 3) for _, flat, _ in self.flats]
        turns = [(round(angle, 4), round(radius, 4), round(arc, 4)) for _, angle, radius, arc, _ in self.bends]
        ways = []
        for sign in (1.0, -1.0):
            signed = [(sign * angle, radius, arc) for angle, radius, arc in turns]
            ways += [(tuple(widths), tuple(signed)), (tuple(widths[::-1]), tuple(signed[::-1]))]
        grain = None if self.grain is None else round(min(self.grain, 180.0 - self.grain), 2)
        return (*min(ways), grain)


def section_of(part: Part, blank: Blank) -> Section | str:
    """The section of a part that is the same along its length, or why it has none.

    Holes, openings and shaped corners do not count: they are made in the pieces.
    """
    if not blank.bends:
        return "it is not bent"
    if any(bend.angle >= MOST_ANGLE or part.bend(bend.id).hem for bend in blank.bends):
        return "a fold is squeezed shut"
    way = toward_child(blank.bends[0])
    if any(abs(cross(way, toward_child(bend))) > PARALLEL for bend in blank.bends):
        return NOT_ONE_WAY
    own = [name for name, there in (("tabs", part.tabs), ("mitres", part.mitres), ("reliefs", part.reliefs)) if there]
    if own:
        return f"it has {' and '.join(own)}, which a length cannot have"
    # x across the bends, y along them
    level = turned(-math.degrees(math.atan2(way[1], way[0])))
    spans = {face.id: bounds([moved(face.outline, level)]) for face in blank.faces}
    low, high = min(box[1] for box in spans.values()), max(box[3] for box in spans.values())
    if any(abs(box[1] - low) > SAME or abs(box[3] - high) > SAME for box in spans.values()):
        return "its flats are not all as long as the part"
    faces = sorted(spans, key=lambda name: spans[name][0])
    bends = [_between(blank, a, b) for a, b in zip(faces, faces[1:], strict=False)]
    if any(bend is None for bend in bends) or len(bends) != len(blank.bends):
        return "its flats do not lie in a row"
    joined = [bend for bend in bends if bend is not None]
    flats = []
    for k, name in enumerate(faces):
        flat = spans[name][2] - spans[name][0]
        beside = [*joined[max(0, k - 1) : k], *joined[k : k + 1]]
        flats.append((name, flat, flat + math.fsum(bend.bent.setback_outside for bend in beside)))
    grain = None
    if blank.grain is not None:
        grain = (blank.grain - math.degrees(math.atan2(way[1], way[0])) - 90.0) % 180.0
    turns = tuple(
        (bend.id, bend.signed_angle, bend.bent.drawing_radius, bend.bent.allowance, bend.bent.inside_radius)
        for bend in joined
    )
    return Section(tuple(flats), turns, high - low, grain)


def _between(blank: Blank, a: str, b: str) -> BendLine | None:
    return next((bend for bend in blank.bends if {bend.parent, bend.child} == {a, b}), None)


def formed_part(part: Part, section: Section, name: str, length: float, quantity: int, members: Sequence[str]) -> Part:
    """The part that is a plain length of a section: a row of rectangles with the part's own bends."""
    faces, bends = [], []
    first = section.flats[0]
    corners = ((0.0, 0.0, 0.0), (length, 0.0, 0.0), (length, first[2], 0.0), (0.0, first[2], 0.0))
    faces.append(Face(first[0], corners, ("edge", "right", "bend", "left")))
    edge = "bend"
    for (parent, _, _), (child, _, tall), (bend, angle, radius, _, _) in zip(
        section.flats, section.flats[1:], section.bends, strict=False
    ):
        faces.append(Face(child, (), SKIRT_EDGES, skirt=Skirt(tall, tall)))
        own = part.bend(bend)
        one = Bend(bend, parent, edge, child, SKIRT_EDGES[0], angle, radius)
        bends.append(replace(one, neutral_axis_ratio=own.neutral_axis_ratio, deduction=own.deduction))
        edge = SKIRT_EDGES[2]
    return replace(
        part,
        id=name,
        mark=name,
        title=f"formed length for {', '.join(members)}",
        profile=FORMED,
        family="",
        base=first[0],
        faces=tuple(faces),
        bends=tuple(bends),
        quantity=quantity,
        hand="none",
        holes=(),
        cutouts=(),
        reliefs=(),
        fits=(),
        grain=section.grain,
        notes=(),
        marked="",
        turn_over=False,
        process="one by one",
        parameters=(),
    )
