"""A guillotine pattern as a tree: a blank, or a block split edge to edge into smaller ones.

Sizes carry the kerf: every block is one kerf wider and higher than the metal it stands for, so that blocks may touch.
Lengths in mm.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from flatgen.nest.kinds import Kind, Member

EPS = 1e-6


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle of a pattern, from its low corner.

    kind, turn : which blank lies here and how (kind -1: a split)
    along : "x" for blocks side by side, "y" for blocks one above the other
    parts : the blocks of a split, from the low end; what they do not fill is waste
    """

    width: float
    height: float
    kind: int = -1
    turn: int = 0
    along: str = ""
    parts: tuple["Block", ...] = ()


def row(blocks: list[Block]) -> Block:
    """Blocks side by side along x; one alone stays itself."""
    if len(blocks) == 1:
        return blocks[0]
    return Block(math.fsum(b.width for b in blocks), max(b.height for b in blocks), along="x", parts=tuple(blocks))


def column(blocks: list[Block]) -> Block:
    """Blocks one above the other along y; one alone stays itself."""
    if len(blocks) == 1:
        return blocks[0]
    return Block(max(b.width for b in blocks), math.fsum(b.height for b in blocks), along="y", parts=tuple(blocks))


def join(along: str, blocks: list[Block]) -> Block:
    """A row or a column."""
    return row(blocks) if along == "x" else column(blocks)


def transposed(block: Block) -> Block:
    """The pattern mirrored on the diagonal; turns keep their number, so the caller must have swapped sizes himself."""
    along = {"x": "y", "y": "x", "": ""}[block.along]
    return replace(
        block,
        width=block.height,
        height=block.width,
        along=along,
        parts=tuple(transposed(part) for part in block.parts),
    )


def leaves(block: Block, x: float = 0.0, y: float = 0.0) -> Iterator[tuple[int, int, float, float]]:
    """Every blank in the pattern: (kind, turn, x, y of its low corner)."""
    if block.kind >= 0:
        yield block.kind, block.turn, x, y
        return
    for part in block.parts:
        yield from leaves(part, x, y)
        if block.along == "x":
            x += part.width
        else:
            y += part.height


def members_of(block: Block, kinds: Sequence[Kind], x: float, y: float) -> list[Member]:
    """Every blank in the pattern, whose low corner is at x, y."""
    found = []
    for kind, turn, at_x, at_y in leaves(block, x, y):
        m = kinds[kind].turns[turn].member
        found.append(replace(m, x=m.x + at_x, y=m.y + at_y))
    return found


def tidy(block: Block) -> Block:
    """The same pattern with splits of one direction flattened and the blocks of each split sorted, largest first.

    Equal sizes come to lie beside each other, so that one gauge setting serves them all.
    """
    if block.kind >= 0:
        return block
    parts: list[Block] = []
    for part in block.parts:
        part = tidy(part)
        if part.along == block.along:
            parts.extend(part.parts)
        else:
            parts.append(part)
    if len(parts) == 1:
        return parts[0]
    parts.sort(key=lambda part: _order(part, block.along))
    return join(block.along, parts)


def _order(block: Block, along: str) -> tuple[float, float, int, int]:
    main, other = (block.width, block.height) if along == "x" else (block.height, block.width)
    return (-round(main, 6), -round(other, 6), block.kind, block.turn)


def depth(block: Block, stage: int = 1) -> int:
    """Cutting stages of a pattern, trims not counted."""
    if block.kind >= 0:
        return stage - 1
    return max(depth(part, stage + 1) for part in block.parts)
