"""What is wrong with a part, drawn where it is wrong: the bend, hole, opening or flat thick and red, a flag with its
number and a word beside it. Paper millimetres to a scale."""

import math
import re
from collections.abc import Iterator, Sequence

from flatgen.core.outline import Outline
from flatgen.core.points import scale
from flatgen.model.blank import Blank
from flatgen.model.finding import Finding
from flatgen.page.drawing import Anchor, Circle, Contour, Item, Line, Text
from flatgen.page.room import Room

HEIGHT = 2.5
LAYER = "fault"
AWAY = (3.0, 6.0, 10.0, 15.0, 21.0, 28.0)


def fault_items(faults: Sequence[Sequence[Finding]], blank: Blank, size: float, room: Room) -> list[Item]:
    """Every place of each cause marked, its flag where there is room; causes are numbered from 1."""
    items: list[Item] = []
    for number, cause in enumerate(faults, 1):
        word = f"{number} {cause[0].rule.replace('-', ' ')}"
        for where in dict.fromkeys(finding.where for finding in cause):
            marks = [mark for name in names(where) for mark in _marks(name, blank, size)]
            items += marks
            items += _flag(word, marks or [Contour(LAYER, _scaled(blank.outline, size))], room)
            word = str(number)  # said once, the other places by number
    return items


def names(where: str) -> list[str]:
    """The places that a finding names, one by one.

    >>> names("hole 3, leg_a, bend b1"), names("bend b1, b2")
    (['hole 3', 'bend b1'], ['bend b1', 'bend b2'])
    """
    found: list[str] = []
    split = where.split(", ")
    for k, name in enumerate(split):
        if k and split[0].startswith("hole ") and not re.match(r"(bend|hole) |b?\d+$", name):
            continue  # the face that a hole is in
        kind = re.match(r"(bend|hole) ", found[-1]) if found else None
        bare = re.fullmatch(r"b\d+" if kind and kind[1] == "bend" else r"\d+", name)
        found.append(f"{kind[1]} {name}" if kind and bare else name)
    return found


def _marks(name: str, blank: Blank, size: float) -> Iterator[Item]:
    """A place by its name as marked; of a hole's own face and of the blank as a whole nothing."""
    kind, _, rest = name.partition(" ")
    for bend in blank.bends:
        if kind == "bend" and bend.id == rest:
            yield Line(LAYER, *(scale(p, size) for p in bend.centerline))
    for hole in blank.drilled:
        if kind == "hole" and str(hole.number) == rest:
            yield Circle(LAYER, scale(hole.center, size), hole.diameter * size + 2.5)
    for letter, outline in blank.openings:
        if kind == "opening" and letter == rest:
            yield Contour(LAYER, _scaled(outline, size))
    if not rest and any(face.id == name for face in blank.faces):
        yield Contour(LAYER, _scaled(blank.face(name).outline, size))


def _scaled(outline: Outline, size: float) -> Outline:
    return tuple((x * size, y * size, bulge) for x, y, bulge in outline)


def _flag(word: str, marks: Sequence[Item], room: Room) -> list[Item]:
    """The number and word with a line to the mark that it is about: the smallest, as a hole on its face."""
    box = min((mark.box() for mark in marks), key=lambda b: math.dist(b[:2], b[2:]))
    x, y = (box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0
    choices = []
    for away in AWAY:
        for turn in range(0, 360, 30):
            way = (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
            at = (x + away * way[0], y + away * way[1] - HEIGHT / 2.0)
            anchor: Anchor = "left" if way[0] > 0.3 else "right" if way[0] < -0.3 else "middle"
            choices.append(Text(LAYER, at, word, HEIGHT, anchor, bold=True))
    text = room.settle(choices, 0.5) or choices[-1]
    end = (text.at[0], text.at[1] + HEIGHT / 2.0)
    return [text, Line("note", (x, y), end)]
