"""Blanks put one by one into the corners of free rectangles, each placing followed by an edge-to-edge split.

Quick, and good where few blanks share a sheet. Every state is a guillotine tree, so what comes out can be cut; how many
stages it takes is for the caller to check. Lengths in mm, sizes with the kerf.

References
----------
[1] J. Jylänki, "A thousand ways to pack the bin", 2010: fits and splits of the guillotine method (from memory)
"""

from collections.abc import Sequence
from enum import Enum, auto

from flatgen.nest.guillotine.block import EPS, Block, join

Size = tuple[float, float]
Choice = tuple[int, float, float]  # turn, width, height


class Fit(Enum):
    """Which free room a blank goes to: of the least area left, of the least short or long side left; or FIRST_SHEET,
    the least area on the first sheet that takes it.
    """

    AREA = auto()
    SHORT_SIDE = auto()
    LONG_SIDE = auto()
    FIRST_SHEET = auto()


class Split(Enum):
    """Which rest of a room, right of the blank or above it, stays whole from edge to edge."""

    SHORTER_REST = auto()
    LONGER_REST = auto()
    UPRIGHT = auto()
    LEVEL = auto()
    LARGER_ROOM = auto()


class Room:
    """A rectangle of a sheet: free, or holding a blank with the two rooms that its placing split off."""

    __slots__ = ("width", "height", "kind", "turn", "size", "along", "near", "far", "gone")

    def __init__(self, width: float, height: float) -> None:
        """A free room [mm]."""
        self.width = width
        self.height = height
        self.kind = -1
        self.turn = 0
        self.size: Size = (0.0, 0.0)
        self.along = ""
        self.near: Room | None = None
        self.far: Room | None = None

    def place(self, kind: int, turn: int, size: Size, along: str) -> list["Room"]:
        """Put a blank into the low corner and return the free rooms that come of it.

        along : "x" makes the room right of the blank full height, "y" the one above it full width
        """
        self.kind, self.turn, self.size, self.along = kind, turn, size, along
        right, above = self.width - size[0], self.height - size[1]
        if along == "x":
            self.near = Room(size[0], above)
            self.far = Room(right, self.height)
        else:
            self.near = Room(right, size[1])
            self.far = Room(self.width, above)
        return [room for room in (self.near, self.far) if room.width > EPS and room.height > EPS]

    def block(self) -> Block | None:
        """The pattern in this room; None when nothing was put here."""
        if self.kind < 0:
            return None
        block = Block(*self.size, self.kind, self.turn)
        other = "y" if self.along == "x" else "x"
        for along, room in ((other, self.near), (self.along, self.far)):
            more = room.block() if room is not None else None
            if more is not None:
                block = join(along, [block, more])
        return block


def pack(
    order: Sequence[int], sizes: Sequence[Sequence[Choice]], size: Size, fit: Fit, split: Split
) -> tuple[list[Room], list[list[int]]]:
    """Put blanks in the given order into sheets of one size, opening a sheet when none takes the blank.

    order : kind of each blank; sizes : the choices of each kind

    Returns the root room of every sheet and the kinds in each.
    """
    sheets: list[Room] = []
    inside: list[list[int]] = []
    free: list[list[Room]] = []
    for kind in order:
        best = _best(free, sizes[kind], fit)
        if best is None:
            sheets.append(Room(*size))
            inside.append([])
            free.append([sheets[-1]])
            best = (len(sheets) - 1, 0, _first(sizes[kind], size))
        number, place, (turn, w, h) = best
        room = free[number].pop(place)
        free[number] += room.place(kind, turn, (w, h), _along(room, w, h, split))
        inside[number].append(kind)
    return sheets, inside


def _best(free: Sequence[Sequence[Room]], choices: Sequence[Choice], fit: Fit) -> tuple[int, int, Choice] | None:
    """The free room that a blank fits best: its sheet, its place there, and how the blank lies."""
    best_score: tuple[float, float] | None = None
    best: tuple[int, int, Choice] | None = None
    short, long = fit is Fit.SHORT_SIDE, fit is Fit.LONG_SIDE
    for number, rooms in enumerate(free):
        for place, room in enumerate(rooms):
            rw, rh = room.width + EPS, room.height + EPS
            for choice in choices:
                _, w, h = choice
                if w > rw or h > rh:
                    continue
                a, b = rw - w, rh - h
                if short:
                    score = (a, b) if a < b else (b, a)
                elif long:
                    score = (b, a) if a < b else (a, b)
                else:
                    score = (rw * rh - w * h, min(a, b))
                if best_score is None or score < best_score:
                    best_score, best = score, (number, place, choice)
        if fit is Fit.FIRST_SHEET and best is not None:
            break
    return best


def _first(choices: Sequence[Choice], size: Size) -> Choice:
    """How a blank lies on an empty sheet: along its longer side where it can."""
    fitting = [(turn, w, h) for turn, w, h in choices if w <= size[0] + EPS and h <= size[1] + EPS]
    if not fitting:
        raise ValueError("a blank is larger than the sheet")
    level = size[0] >= size[1]
    return next((choice for choice in fitting if (choice[1] >= choice[2]) == level), fitting[-1])


def _along(room: Room, w: float, h: float, split: Split) -> str:
    """How a room is split about a blank: "x" leaves the room right of it full height."""
    right, above = room.width - w, room.height - h
    far_right = {
        Split.SHORTER_REST: right > above,
        Split.LONGER_REST: right <= above,
        Split.UPRIGHT: True,
        Split.LEVEL: False,
        Split.LARGER_ROOM: right * room.height > above * room.width,
    }
    return "x" if far_right[split] else "y"
