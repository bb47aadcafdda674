"""What to do to make a part, in order and with figures, from the sheet to the last drill. Lengths mm."""

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from flatgen.core.outline import bounds, moved
from flatgen.core.points import turned
from flatgen.core.words import Units, numbers
from flatgen.develop.across import toward_child
from flatgen.develop.datum import datum_edges, datum_note
from flatgen.develop.formed_length import FORMED
from flatgen.draw.card_tables import corner_words, drill_name
from flatgen.draw.router import bit_passes, missed_words
from flatgen.draw.setting_words import strokes
from flatgen.draw.words import radius_note
from flatgen.model.blank import BendLine, Blank, BlankHole, ReliefHole
from flatgen.model.handling import closing_words
from flatgen.model.part import Part
from flatgen.model.plan import Operation, Setup
from flatgen.model.shop import CuttingTool
from flatgen.model.tally import SawList
from flatgen.page.content import Step, Table
from flatgen.units import format_angle, format_length


@dataclass(frozen=True, slots=True)
class Source:
    """Where the blanks of a part come from: the tool that cuts them, the sheets that they lie on by number."""

    tool: CuttingTool
    sheets: tuple[int, ...] = ()

    @property
    def routed(self) -> bool:
        """Whether the tool cuts the outline with its holes."""
        return not self.tool.edge_to_edge

    def drills(self, hole: BlankHole | ReliefHole) -> bool:
        """Whether a hole is marked and drilled by hand: of a tool that follows outlines what its bit does not pass, or
        all where it has no bit and the shop's words tell of no beam and no holes in its files."""
        if not self.routed or hole.after_bending:
            return True
        bit = self.tool.router_bit
        return not bit_passes(hole, bit) if bit else not (self.tool.kerf or self.tool.holes)

    @property
    def named(self) -> str:
        """Sheets in words, with a comma before them."""
        if not self.sheets:
            return ""
        return f" from sheet{'s' if len(self.sheets) > 1 else ''} {numbers(self.sheets)}"


def cutting_steps(
    blanks: Sequence[Blank],
    source: Source,
    units: Units,
    hands: Sequence[str] = (),
    behind: Collection[str] = (),
) -> list[str]:
    """From the sheet to the deburred flat; of several blanks, which a table of sizes tells apart, what all need.

    hands : names of the hand in the picture and of the other one, whose blank is the same seen in a mirror
    behind : tables that stand on another page, by ``kind_of`` their titles
    """
    blank, several = blanks[0], len(blanks) > 1
    size = f"{format_length(blank.width, units)} × {format_length(blank.height, units, unit=True)}"
    size = f"each to its size in the table{on_page('sizes', behind)}" if several else size
    first = [hole for one in blanks for hole in one.drilled if not hole.after_bending]
    drilled = [hole for hole in first if source.drills(hole)]
    openings = _plural("opening", [name for name, _ in blank.openings])
    openings += on_page("openings", behind) if openings else ""
    if source.routed:
        steps = _routed(
            blank,
            source,
            units,
            f"{size}{'' if several else ' over all'}",
            ["the outline", openings, _plural("hole", sorted({hole.number for hole in first if hole not in drilled}))],
            on_page("corners", behind),
        )
    else:
        steps = [f"Shear{source.named}: {size}."]
    steps.append(_marking(blank, source, hands, behind))
    reliefs, holes = ([hole for hole in drilled if isinstance(hole, kind)] for kind in (ReliefHole, BlankHole))
    steps += [f"Drill {text} first: reliefs." for text in _drilled(reliefs, units)]
    if not source.routed:
        steps.append(f"{corner_words(blank, units) or 'Cut to the outline' + on_page('corners', behind)}.")
        steps += [f"Cut {openings}."] if openings else []
    steps += [f"Drill {text}." for text in _drilled(holes, units)]
    steps.append("Deburr both faces and every hole; break the edges at the bends. Peel the film at the bends.")
    return steps


BEHIND = " (page 000)"  # stands for the page of a table until that is known; no number is wider


def kind_of(title: str) -> str:
    """What a table is of, by its title.

    >>> kind_of("Holes: all final"), kind_of("Corners of the outline, anticlockwise")
    ('holes', 'corners')
    """
    return title.partition(" ")[0].strip(":;,").lower()


def on_page(kind: str, behind: Collection[str]) -> str:
    """The page of a table that stands on another than its card's first."""
    return BEHIND if kind in behind else ""


def _routed(blank: Blank, source: Source, units: Units, size: str, what: Sequence[str], corners: str = "") -> list[str]:
    """What a tool cuts that follows outlines, and what its bit leaves to the file; ``corners``: their table's page."""
    *others, last = filter(None, what)
    cut = " and ".join(filter(None, (", ".join(others), last)))
    steps = [f"Cut {cut}{source.named} with the {source.tool.name}: {size}."]
    steps.append(f"{corner_words(blank, units) or f'Check it against the table of corners{corners}'}.")
    missed = missed_words(blank, source.tool.router_bit, units) if source.tool.router_bit else ""
    return steps + ([f"{missed[0].upper()}{missed[1:]}."] if missed else [])


def _plural(what: str, names: Sequence[int | str]) -> str:
    """Holes or openings by their names; nothing without any."""
    listed = [name for name in names if isinstance(name, int)]
    said = numbers(listed) if listed else ", ".join(map(str, names))
    return f"{what}{'s' if len(names) > 1 else ''} {said}" if names else ""


def sawing_steps(parts: Sequence[Part], blanks: Sequence[Blank], units: Units) -> list[str]:
    """From the formed length to the deburred piece, for parts that are sawn from one."""
    part, blank = parts[0], blanks[0]
    way = toward_child(blank.bends[0])
    level = moved(blank.outline, turned(-math.degrees(math.atan2(way[1], way[0]))))
    low, high = bounds([level])[1::2]
    size = "each to its length in the table" if len(parts) > 1 else f"to {format_length(high - low, units, unit=True)}"
    if part.process == "wide":
        legs = ", ".join(
            f"{size.where} {format_length(size.outside, units)}" for size in blank.dimensions if size.kind == "flange"
        )
        rip = f"Rip from {part.cut_from}, already bent, to the outside sizes: {legs}; saw wide of the line, file to it."
        steps = [rip, "Deburr the ripped edges."]
    else:
        steps = _sawn_steps(part, size)
    if len(blank.outline) > 4 or blank.openings:
        steps.append(f"{corner_words(blank, units) or 'Cut to the outline'}.")
    holes = [hole for one in blanks for hole in one.holes]
    return steps + [f"Drill {text}." for text in _drilled(holes, units)]


def _sawn_steps(part: Part, size: str) -> list[str]:
    return [
        f"Saw from formed length {part.cut_from}, already bent, {size}, in a block that fits inside; never shear it.",
        "Deburr the ends through the bend; file them square.",
    ]


def sawn_after(part: Part) -> list[str]:
    """What becomes of a formed length or a wider piece when it is bent."""
    if not part.cut_list:
        return []
    if part.profile == FORMED:
        return ["Saw when bent, by the list; square both ends first."]
    return [f"Rip when bent, as the card of {part.cut_list[0].pieces[0][0]} says."]


def cut_list(part: Part, saw: SawList, units: Units) -> Table:
    """What is still to be sawn from a formed length: a row a pattern, so many lengths with the pieces of each."""
    sizes = {name: size for row in part.cut_list for name, size, _ in row.pieces}
    rows = []
    for times, pattern in saw:
        pieces = (
            f"{f'{many} × ' if many > 1 else ''}{name} {format_length(sizes[name], units)}" for name, many in pattern
        )
        rows.append((str(times), ", ".join(pieces)))
    return Table("Saw list", ("lengths", f"each gives, {units}"), tuple(rows), (0,), (14.0, 90.0), shown=True)


def _marking(blank: Blank, source: Source, hands: Sequence[str], behind: Collection[str]) -> str:
    """What is marked, from which edges, with what."""
    thick = ", the thick edges" if all(edge.exists for edge in datum_edges(blank)) else ""
    start = datum_note(blank) or f"Upper side up, mark from A (foot) and B (left){thick}:"
    if hands:
        said = datum_note(blank).replace("left side", f"left side ({hands[1]}: right side)")
        places = f"{hands[0]} B at your LEFT, {hands[1]} B at your RIGHT"
        start = " ".join(filter(None, (said, f"Upper side up, mark from A (foot) and B{thick}. {places}:")))
    what = []
    if not source.routed:
        what += [f"corners{on_page('corners', behind)}"] if len(blank.outline) > 4 else []
    what += [f"holes{on_page('holes', behind)}"] if any(map(source.drills, blank.drilled)) else []
    if blank.bends:
        what.append(f"sight lines{on_page('skew', behind)}, with a fine pen, never scribed")
    return f"{start} {', '.join(what)}." if what else start.removesuffix(":") + "."


def _drilled(holes: Iterable[BlankHole | ReliefHole], units: Units) -> list[str]:
    """Holes of each drill by number."""
    alike: dict[str, set[int]] = {}
    for hole in holes:
        alike.setdefault(drill_name(hole, units), set()).add(hole.number)
    return [f"hole{'s' if len(n) > 1 else ''} {numbers(n)}: {drill}" for drill, n in alike.items()]


def bend_words(bend: BendLine, units: Units, direction: str = "") -> str:
    """Way, angle, inside radius and leaf of a bend, in one fixed order."""
    text = f"BEND {(direction or bend.direction).upper()} {format_angle(bend.angle)}"
    return f"{text}, {radius_note(bend, units)}{' inside' if bend.bent.inside_radius > 0.0 else ', no inside radius'}"


def bending_steps(part: str, blank: Blank, setups: Sequence[Setup], units: Units) -> list[str]:
    """Bends in the order of the brake's settings; in the order of the blank where the brake is not planned."""
    made = [(op.step, setup, op, bends) for setup in setups for op, bends in strokes(setup) if op.part == part]
    if not made:
        return [
            f"{bend.id} {bend_words(bend, units)}, leaf to {format_angle(bend.overbend_to)}." for bend in blank.bends
        ]
    return [_bend(blank, setup, op, bends, units) for _, setup, op, bends in sorted(made, key=lambda one: one[0])]


def together(listed: Sequence[tuple[str, Sequence[str]]]) -> list[str]:
    """Steps of several parts by their names, step for step; what all do is said once, without a name."""
    found = []
    for k in range(max(len(steps) for _, steps in listed)):
        said: dict[str, list[str]] = {}
        for name, steps in listed:
            if k < len(steps):
                said.setdefault(steps[k], []).append(name)
        found += [text if len(said) == 1 else f"{', '.join(names)}: {text}" for text, names in said.items()]
    return found


def _bend(blank: Blank, setup: Setup, op: Operation, bends: Sequence[str], units: Units) -> str:
    names = ", ".join(bends)
    if op.squeezed:
        return f"{names} CLOSE, setting {setup.number}: {closing_words(op.gap or 0.0)}."
    leaf = f"leaf to {format_angle(setup.overbend_to)}"
    nose = f", {op.clamped} under the nose" if op.clamped else ""
    return f"{names} {bend_words(blank.bend(bends[0]), units)}, {leaf}: setting {setup.number}{nose}."


def last_steps(blanks: Iterable[Blank], units: Units) -> list[str]:
    """What is left when the parts are bent."""
    after = [hole for blank in blanks for hole in blank.holes if hole.after_bending]
    return [f"After bending drill {text}." for text in _drilled(after, units)]


def steps_of(texts: Sequence[str], part: str) -> tuple[Step, ...]:
    """Texts as steps, each with a box that keeps its tick."""
    return tuple(Step(text, f"card/{part}/{k}") for k, text in enumerate(texts, 1))
