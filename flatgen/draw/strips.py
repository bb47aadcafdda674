"""What lies on the shear's table, cut by cut: found from a nest's cuts alone, by cutting the sheet in their order.

Cuts at one setting of the gauge in one piece of metal are a run; pieces in which the same is cut share one. Lengths mm.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from flatgen.core.outline import bounds, moved
from flatgen.core.points import Point
from flatgen.model.blank import Blank
from flatgen.model.plan import Cut, Nest
from flatgen.page.drawing import Box

NEAR = 0.2  # a cut and an edge nearer than this are one
FIRST = "strip for what is cut first"
WHOLE = "the sheet"


@dataclass(frozen=True, slots=True)
class Metal:
    """A rectangle of metal with its name; ``freed`` is the cut that made it a piece of its own, 0: the sheet."""

    name: str
    box: Box
    freed: int = 0


@dataclass(frozen=True, slots=True)
class Run:
    """Cuts at one gauge in one piece of metal, which lies with its gauged edge at the near end of ``axis``.

    axis : along which the metal is pushed, 0 x, 1 y; ``names`` : every metal in which the same is cut, with the numbers
    of its cuts; ``back`` : what becomes of the rest, empty where nothing is left
    """

    cuts: tuple[Cut, ...]
    metal: Metal
    axis: int
    back: str
    names: tuple[tuple[str, tuple[int, ...]], ...]

    @property
    def long(self) -> float:
        """Length of the metal from the gauged edge [mm]."""
        return self.metal.box[self.axis + 2] - self.metal.box[self.axis]

    @property
    def across(self) -> float:
        """Length of the cuts [mm]."""
        return self.metal.box[3 - self.axis] - self.metal.box[1 - self.axis]

    @property
    def places(self) -> tuple[float, ...]:
        """Of the cuts, from the gauged edge of the metal as it lies first [mm]."""
        return tuple(cut.start[self.axis] - self.metal.box[self.axis] for cut in self.cuts)

    @property
    def falls(self) -> tuple[tuple[str, int], ...]:
        """What falls off, with how often."""
        return tuple(Counter(cut.note for cut in self.cuts).items())


def runs(nest: Nest, blanks: Mapping[str, Blank]) -> tuple[Run, ...]:
    """A nest's cuts setting by setting of the gauge; at one setting piece by piece, those cut alike together."""
    pieces = [(one.part, bounds([moved(blanks[one.part].outline, one.motion)])) for one in nest.placements]
    found: list[Run] = []
    for _, setting in groupby(_laid(nest), key=lambda one: (round(one[0].gauge, 2), one[0].hold, one[0].trim)):
        metals: dict[int, list[tuple[Cut, Metal, Metal]]] = {}
        for one in setting:
            metals.setdefault(one[1].freed, []).append(one)
        found += _shared([_run(nest, pieces, listed) for listed in metals.values()])
    return tuple(found)


def _run(nest: Nest, pieces: Sequence[tuple[str, Box]], listed: Sequence[tuple[Cut, Metal, Metal]]) -> Run:
    cuts, metal, rest = tuple(cut for cut, _, _ in listed), listed[0][1], listed[-1][2]
    later = [cut for cut in nest.cuts if cut.order > cuts[-1].order]
    numbers = tuple(cut.order for cut in cuts)
    return Run(cuts, metal, axis_of(cuts[0]), _back(nest, pieces, rest, later), ((metal.name, numbers),))


def axis_of(cut: Cut) -> int:
    """Along which the metal is pushed for a cut: 0 x, 1 y."""
    return 0 if abs(cut.end[0] - cut.start[0]) < abs(cut.end[1] - cut.start[1]) else 1


def _laid(nest: Nest) -> Iterator[tuple[Cut, Metal, Metal]]:
    """Each cut with the metal that it goes through and what is left of that."""
    metals = [Metal(WHOLE, (0.0, 0.0, nest.sheet.width, nest.sheet.height))]
    for cut in nest.cuts:
        k = axis_of(cut)
        metal = min((one for one in metals if _through(one.box, cut, k)), key=lambda one: _area(one.box))
        metals.remove(metal)
        near, rest = _to(metal.box, k + 2, cut.start[k]), replace(metal, box=_to(metal.box, k, cut.start[k]))
        metals.append(rest)
        if not cut.trim:
            metals.append(Metal(piece_name(cut.note), near, cut.order))
        yield cut, metal, rest


def _through(box: Box, cut: Cut, k: int) -> bool:
    middle = (cut.start[1 - k] + cut.end[1 - k]) / 2.0
    return box[k] - NEAR < cut.start[k] < box[k + 2] + NEAR and box[1 - k] <= middle <= box[3 - k]


def _to(box: Box, side: int, at: float) -> Box:
    changed = list(box)
    changed[side] = at
    return changed[0], changed[1], changed[2], changed[3]


def _area(box: Box) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def piece_name(note: str) -> str:
    """What a cut's note calls the piece that falls off.

    >>> piece_name("strip 3.1: keep on cutting"), piece_name("TF-101: lay aside")
    ('strip 3.1', 'TF-101')
    """
    name = note.split(":")[0]
    return "first strip" if name == FIRST else name


def _back(nest: Nest, pieces: Sequence[tuple[str, Box]], rest: Metal, later: Sequence[Cut]) -> str:
    """What becomes of the rest after a run; after a last cut it may be a blank itself."""
    x0, y0, x1, y1 = rest.box
    if min(x1 - x0, y1 - y0) < NEAR:
        return ""
    if any(_through(rest.box, cut, axis_of(cut)) and _inside(rest.box, cut.start, cut.end) for cut in later):
        return "back under the blade"
    for offcut in nest.offcuts:
        if x0 - NEAR < offcut.x + offcut.width / 2.0 < x1 + NEAR and y0 - NEAR < offcut.y + offcut.height / 2.0 < y1:
            return f"off-cut {offcut.id}: mark it, keep it"
    return next((f"{part}: lay aside" for part, box in pieces if _inside(rest.box, box[:2], box[2:])), "scrap")


def _inside(box: Box, *points: Point) -> bool:
    return all(box[0] - NEAR < x < box[2] + NEAR and box[1] - NEAR < y < box[3] + NEAR for x, y in points)


def _shared(found: Sequence[Run]) -> list[Run]:
    """Runs that are alike but for the metal, as one."""
    alike: dict[tuple[object, ...], list[Run]] = {}
    for run in found:
        alike.setdefault(_looks(run), []).append(run)
    return [replace(same[0], names=tuple(name for run in same for name in run.names)) for same in alike.values()]


def _looks(run: Run) -> tuple[object, ...]:
    places = tuple(round(place, 1) for place in run.places)
    first = run.cuts[0]
    notes = tuple("" if piece_name(cut.note).startswith("strip") else cut.note for cut in run.cuts)
    return (places, notes, first.hold, first.trim, run.axis, round(run.across, 1), round(run.long, 1), run.back)
