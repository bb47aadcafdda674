"""A table of sizes on one card: the blank drawn once with letters for the ordinates that differ, and the figures of
each size in a table. Lengths mm.
"""

from collections.abc import Mapping, Sequence
from typing import Literal

from flatgen.core.words import Units
from flatgen.draw.card_groups import CardPart
from flatgen.draw.card_tables import corner_words, drill_name, hole_use, line_tables, parted
from flatgen.draw.card_view import Named, ordinate_rows
from flatgen.model.blank import BlankHole
from flatgen.model.shop import Drill
from flatgen.page.content import Table
from flatgen.units import format_length

AXES: tuple[Literal["x", "y"], ...] = ("x", "y")


def families(made: Sequence[CardPart], units: Units) -> dict[str, tuple[CardPart, ...]]:
    """Parts that share a card with others of their table of sizes, by part number; the one that is drawn first."""
    groups: list[list[CardPart]] = []
    for one in made:
        group = next((group for group in groups if _alike(group[0], one, units)), None)
        if group is None:
            groups.append([one])
        else:
            group.append(one)
    found: dict[str, tuple[CardPart, ...]] = {}
    for group in groups:
        if len(group) > 1:
            drawn = max(group, key=lambda one: (len(one.blank.drilled), one.blank.area))
            found |= {one.part.id: (drawn, *(other for other in group if other is not drawn)) for one in group}
    return found


def _alike(one: CardPart, two: CardPart, units: Units) -> bool:
    """Whether two parts are rows of one table that differ in sizes only, all of which a table can say."""
    a, b = one.part, two.part
    if not a.family or (a.family, a.hand, a.title, a.revision) != (b.family, b.hand, b.title, b.revision):
        return False
    if (a.material, a.thickness) != (b.material, b.thickness) or one.source.tool != two.source.tool:
        return False
    return _kind(one, units) == _kind(two, units)


def _kind(one: CardPart, units: Units) -> tuple[object, ...]:
    """What parts must have in common to share a card; a blank that needs more than ordinates shares with none."""
    blank = one.blank
    corners = corner_words(blank, units)
    if not corners or blank.openings or blank.reliefs or line_tables(blank, one.faces, units):
        return (one.part.id,)
    bends = tuple((b.id, b.direction, round(b.angle, 3), one.faces[b.id]) for b in blank.bends)
    radii = tuple(round(b.bent.inside_radius, 4) for b in blank.bends)
    drills = {(hole.label, hole.diameter, hole.after_bending) for hole in blank.holes}
    rows = tuple(len(row) for row in ordinate_rows(blank, one.faces, _plain(units)))
    return (bends, radii, corners, rows, blank.grain, frozenset(drills) if len(drills) < 2 else one.part.id)


def _plain(units: Units) -> Named:
    return lambda value, axis: format_length(value, units)


def _figures(one: CardPart, units: Units) -> dict[tuple[str, int], str]:
    """Ordinates by axis and place in their row."""
    rows = ordinate_rows(one.blank, one.faces, _plain(units))
    return {(axis, k): e.text for axis, row in zip(AXES, rows, strict=True) for k, e in enumerate(row)}


def _letters(group: Sequence[CardPart], units: Units) -> dict[tuple[str, int], str]:
    """Names of the ordinates that differ from part to part: x1, x2 from B, y1, y2 from A."""
    every = [_figures(one, units) for one in group]
    found: dict[tuple[str, int], str] = {}
    for axis in AXES:
        differ = [key for key in every[0] if key[0] == axis and len({figures[key] for figures in every}) > 1]
        found |= {key: f"{axis}{k}" for k, key in enumerate(differ, 1)}
    return found


def lettered(group: Sequence[CardPart], units: Units) -> Named:
    """How the ordinates of the part that is drawn are written."""
    rows = ordinate_rows(group[0].blank, group[0].faces, _plain(units))
    letters = _letters(group, units)

    def write(value: float, axis: Literal["x", "y"]) -> str:
        row = rows[AXES.index(axis)]
        k = min(range(len(row)), key=lambda k: abs(row[k].place - value))
        return letters.get((axis, k), format_length(value, units))

    return write


def sizes_table(group: Sequence[CardPart], units: Units) -> Table:
    """Pieces to cut, the rectangle to shear and the lettered ordinates of each part."""
    letters = _letters(group, units)
    heads = ("part", "to cut", "shear", *letters.values())
    rows = []
    for one in group:
        figures, blank = _figures(one, units), one.blank
        size = f"{format_length(blank.width, units)} × {format_length(blank.height, units)}"
        rows.append((one.part.name, str(one.counts.to_cut), size, *(figures[key] for key in letters)))
    numbers = tuple(range(1, len(heads)))
    return Table("Sizes, x from B, y from A", heads, tuple(rows), numbers, shown=True)


def holes_table(group: Sequence[CardPart], drills: Sequence[Drill], units: Units) -> list[Table]:
    """Holes by number, their places on each part."""
    holes: dict[int, dict[str, BlankHole]] = {}
    for one in group:
        for hole in one.blank.holes:
            holes.setdefault(hole.number, {})[one.part.id] = hole
    rows = []
    for number, places in sorted(holes.items()):
        some = next(iter(places.values()))
        cells = (_place(places, one, units) for one in group)
        rows.append((str(number), drill_name(some, units), *cells, hole_use(some, drills)))
    return parted("Holes, from B, from A", ("no.", "drill", *(one.part.name for one in group), "what"), rows)


def _place(places: Mapping[str, BlankHole], one: CardPart, units: Units) -> str:
    hole = places.get(one.part.id)
    return ", ".join(format_length(v, units) for v in hole.center) if hole else ""
