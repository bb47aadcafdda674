"""Blanks put one by one into the corners of free rectangles, each placing followed by an edge-to-edge split.

Quick, and good where few blanks share a sheet. Every state is a guillotine tree, so what comes out can be cut; how many
stages it takes is for the caller to check. Lengths in mm, sizes with the kerf.

References
----------
[1] J. Jylänki, "A thousand ways to pack the bin", 2010: fits and splits of the guillotine method (from memory)
"""

from collections.abc import Sequence

from flatgen.nest.guillotine.block import EPS, Block, join

Size = tuple[float, float]


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
    order: Sequence[int],
    sizes: Sequence[Sequence[tuple[int, float, float]]],
    width: float,
    height: float,
    fit: int,
    split: int,
) -> tuple[list[Room], list[list[int]]]:
    """Put blanks in the given order into sheets of one size, opening a sheet when none takes the blank.

    order : kind of each blank; sizes : (turn, width, height) choices of each kind
    fit : 0 least area left, 1 least short side left, 2 least long side left, 3 first sheet that takes it, least area
    split : 0 shorter rest to the far room, 1 longer, 2 always x, 3 always y, 4 larger free room as large as can be

    Returns the root room of every sheet and the kinds in each.
    """
    sheets: list[Room] = []
    inside: list[list[int]] = []
    free: list[list[Room]] = []
    for kind in order:
        best_score: tuple[float, float] | None = None
        best: tuple[int, int, int, float, float] | None = None
        for number, candidates in enumerate(free):
            for place, room in enumerate(candidates):
                rw, rh = room.width + EPS, room.height + EPS
                for turn, w, h in sizes[kind]:
                    if w > rw or h > rh:
                        continue
                    a, b = rw - w, rh - h
                    if fit == 1:
                        score = (a, b) if a < b else (b, a)
                    elif fit == 2:
                        score = (b, a) if a < b else (a, b)
                    else:
                        score = (rw * rh - w * h, min(a, b))
                    if best_score is None or score < best_score:
                        best_score, best = score, (number, place, turn, w, h)
            if fit == 3 and best is not None:
                break
        if best is None:
            root = Room(width, height)
            for turn, w, h in sizes[kind]:
                if w <= width + EPS and h <= height + EPS:
                    best = (len(sheets), 0, turn, w, h)
                    if (w >= h) == (width >= height):
                        break
            if best is None:
                raise ValueError("a blank is larger than the sheet")
            sheets.append(root)
            inside.append([])
            free.append([root])
        number, place, turn, w, h = best
        room = free[number].pop(place)
        right, above = room.width - w, room.height - h
        if split == 0:
            along = "x" if right > above else "y"
        elif split == 1:
            along = "x" if right <= above else "y"
        elif split == 2:
            along = "x"
        elif split == 3:
            along = "y"
        else:
            along = "x" if right * room.height > above * room.width else "y"
        free[number] += room.place(kind, turn, (w, h), along)
        inside[number].append(kind)
    return sheets, inside
