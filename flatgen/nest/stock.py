"""Stock as the nesters see it: what a sheet costs, and in which order sheets are taken."""

from collections.abc import Sequence

from flatgen.model.shop import Sheet

NO_PRICE = 6e-5  # of sheet whose price is not given, a guess [1/mm²]


def rank_of(sheet: Sheet) -> int:
    """0 remnants, 1 on hand, 2 to buy."""
    return 0 if sheet.remnant else (2 if sheet.copies is None else 1)


def prices(sheets: Sequence[Sheet]) -> tuple[float, ...]:
    """What each sheet counts for: its cost, 0 for a remnant; sheets without a price count by area.

    Where some sheets have a price and others not, the dearest price by area stands in for the missing ones.
    """
    known = [s.cost / (s.width * s.height) for s in sheets if s.cost is not None and not s.remnant]
    rate = max(known) if known else 1.0
    return tuple(0.0 if s.remnant else (s.cost if s.cost is not None else rate * s.width * s.height) for s in sheets)
