"""Which parts share a card: left and right that are bent from the same blank, one of them turned over. Lengths mm."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from flatgen.core.outline import Outline
from flatgen.core.points import Point, distance
from flatgen.develop.develop import mirrored
from flatgen.draw.card_steps import Source
from flatgen.draw.view import sight_line
from flatgen.model.blank import BendLine, Blank
from flatgen.model.inspection import Checklist
from flatgen.model.part import HANDED, Part
from flatgen.model.plan import Setup
from flatgen.model.tally import Counts

SAME = 0.02  # finer than a line is drawn


@dataclass(frozen=True, slots=True)
class CardPart:
    """A part as its card needs it: developed, planned, with what is measured on it.

    faces : the clamped face of each bend; ``counts`` : how far it is
    waits : test bends that are not recorded yet
    """

    part: Part
    blank: Blank
    faces: dict[str, str]
    counts: Counts
    source: Source
    setups: tuple[Setup, ...]
    checks: Checklist | None
    waits: tuple[str, ...] = ()


def shared(made: Sequence[CardPart], families: Mapping[str, tuple[CardPart, ...]]) -> list[tuple[CardPart, ...]]:
    """Parts in order, a right hand with the left one whose blank it shares, a table of sizes together."""
    found: list[tuple[CardPart, ...]] = []
    taken: set[str] = set()
    for one in made:
        if one.part.id in taken:
            continue
        other = next((two for two in made if two.part.id not in taken and two is not one and pair(one, two)), None)
        group = (one, other) if other else families.get(one.part.id, (one,))
        taken |= {each.part.id for each in group}
        found.append(group)
    return found


def pair(one: CardPart, two: CardPart) -> bool:
    """Whether two parts are the hands of one, and their blanks the same when one is turned over."""
    a, b = one.part, two.part
    if {a.hand, b.hand} != {"left", "right"} or a.marked or b.marked:
        return False
    if (a.material, a.thickness, a.title, a.revision) != (b.material, b.thickness, b.title, b.revision):
        return False
    return one.source.tool == two.source.tool and _alike(one, two, mirrored(two.blank))


def _alike(one: CardPart, two: CardPart, blank: Blank) -> bool:
    """Whether a blank has all of another's contours, holes by number and lines by name."""
    mine = one.blank
    if max(abs(mine.width - blank.width), abs(mine.height - blank.height)) > SAME:
        return False
    if (mine.grain is None) != (blank.grain is None) or not _turned_alike(mine.grain or 0.0, blank.grain or 0.0):
        return False
    contours = [(mine.outline, blank.outline), *zip(mine.cutouts, blank.cutouts, strict=False)]
    if len(mine.cutouts) != len(blank.cutouts) or not all(_same_places(*each) for each in contours):
        return False
    holes = list(zip(mine.drilled, blank.drilled, strict=False))
    if len(mine.drilled) != len(blank.drilled):
        return False
    if any(distance(p.center, q.center) > SAME or p.label != q.label or p.number != q.number for p, q in holes):
        return False
    bends = {bend.id: bend for bend in blank.bends}
    return {bend.id for bend in mine.bends} == set(bends) and all(
        _same_bend(bend, one.faces[bend.id], bends[bend.id], two.faces[bend.id]) for bend in mine.bends
    )


def _turned_alike(a: float, b: float) -> bool:
    return abs((a - b + 90.0) % 180.0 - 90.0) < 0.1


def _same_bend(a: BendLine, face: str, b: BendLine, other: str) -> bool:
    lines = sight_line(a, face), sight_line(b, other)
    near = all(min(distance(p, q) for q in lines[1]) < SAME for p in lines[0])
    return face == other and a.direction == b.direction and abs(a.angle - b.angle) < 1e-6 and near


def _same_places(a: Outline, b: Outline) -> bool:
    points: list[Point] = [v[:2] for v in b]
    return len(a) == len(b) and all(min(distance(v[:2], q) for q in points) < SAME for v in a)


def turned_words(one: CardPart, two: CardPart) -> str:
    """What the hands are on a card that shows the blank of the first."""
    first, second = hands_of((one, two))
    bends = "; each bend goes UP or DOWN from it as written" if one.blank.bends else ""
    return (
        f"{first}: as in the picture. {second}: as the picture in a mirror, A at the foot, B at your RIGHT."
        f" Of both hands the marked side is the upper side{bends}."
    )


def hands_of(group: Sequence[CardPart]) -> tuple[str, ...]:
    """The hands that share a card, that of the picture first."""
    return () if by_sizes(group) or len(group) < 2 else tuple(HANDED[one.part.hand].strip() for one in group)


def names_of(group: Iterable[CardPart]) -> str:
    """Names of all parts of a card."""
    *others, last = (one.part.name for one in sorted(group, key=lambda one: one.part.id))
    return " and ".join(filter(None, (", ".join(others), last)))


def by_sizes(group: Sequence[CardPart]) -> bool:
    """Whether a card is that of a table of sizes, whose blanks differ."""
    return len(group) > 1 and {one.part.hand for one in group} != {"left", "right"}
