"""One nesting question: blanks of one metal, the stock of that metal, the tool that cuts. Lengths mm."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Minutes, Sheet
from flatgen.nest.guillotine.block import Block
from flatgen.nest.guillotine.cuts import Rect
from flatgen.nest.guillotine.knapsacks import Rules

Aim = Literal["money", "metal"]  # what of nests of equal cost counts: minutes and off-cuts, or off-cuts alone


@dataclass(frozen=True, slots=True)
class Opening:
    """A strip along an edge of a sheet from which the pieces are cut that come first.

    sheet : number in the stock; ``block`` is their pattern, its low corner at ``corner``
    along : "x" for a strip along the sheet's lower edge, "y" along its left one
    strip, rest : the metal of the strip, and the sheet without it
    """

    sheet: int
    block: Block
    corner: tuple[float, float]
    along: str
    strip: Rect
    rest: Rect


@dataclass(frozen=True, slots=True)
class Problem:
    """What is asked.

    pieces : blanks with the number of each; their rotations are for a sheet with its grain along the width
    stock : sheets of the metal; tool : how the blanks are cut out
    offcut : the least size of an off-cut worth keeping
    minutes : what setting the gauge and cutting take, weighed against the metal in off-cuts
    aim : "metal" for the least metal whatever setting the gauge costs, as a longer search always has it
    metal : alloy and thickness, by which a kept nest is named
    opening : where given, the last of the stock is the sheet that it opens, its strip spoilt for all other pieces
    """

    pieces: Sequence[Piece]
    stock: Sequence[Sheet]
    tool: CuttingTool
    offcut: tuple[float, float] = (150.0, 100.0)
    minutes: Minutes = Minutes()
    aim: Aim = "money"
    opening: Opening | None = None
    metal: tuple[str, float] = ("", 0.0)

    @property
    def on_hand(self) -> list[Sheet]:
        """The stock as it was before a sheet was opened."""
        if self.opening is None:
            return list(self.stock)
        stock, n = list(self.stock[:-1]), self.opening.sheet
        copies = stock[n].copies
        stock[n] = replace(stock[n], copies=None if copies is None else copies + 1)
        return stock

    @property
    def gap(self) -> float:
        """What is lost between two blanks: the kerf, or for profile cuts the web that is kept."""
        return self.tool.kerf if self.tool.edge_to_edge else self.tool.gap

    @property
    def rules(self) -> Rules:
        """What the tool asks of a pattern of edge-to-edge cuts."""
        if not self.tool.edge_to_edge:
            return Rules(stages=99)
        tool = self.tool
        return Rules(tool.max_stages, tool.smallest_strip + tool.kerf, tool.longest_cut or float("inf"))

    def opened(self, number: int) -> Opening | None:
        """The opening of a sheet by its number."""
        return self.opening if self.opening is not None and number == len(self.stock) - 1 else None
