"""What a nesting run hands back: nests, what found no place, what to buy, and where the metal went. Lengths mm."""

from dataclasses import dataclass

from flatgen.model.plan import Nest, Unplaced


@dataclass(frozen=True, slots=True)
class Waste:
    """Where the metal of the sheets went, as areas that add up to ``sheets`` [mm²].

    gap : between profile-cut parts and around their openings; scrap : all that is too small to keep
    """

    sheets: float
    blanks: float
    margin: float
    kerf: float
    gap: float
    offcuts: float
    scrap: float


@dataclass(frozen=True, slots=True)
class NestResult:
    """Nests of one alloy and thickness.

    to_buy : (sheet id, how many) that the nests, and pieces without a place, need beyond the stock on hand
    cost : of the sheets used; where a sheet has no price its area stands in for one
    area_bound, bound : least cost of any nest of what is placed, by metal area alone and by stronger arguments
    figure : sheets used, less the largest share of one that an off-cut of it makes up
    settings : gauge settings over all sheets, in cutting order
    trims : (part, how many) that leave the shear as rectangles and must still be trimmed to their outline
    """

    nests: tuple[Nest, ...]
    unplaced: tuple[Unplaced, ...]
    to_buy: tuple[tuple[str, int], ...]
    cost: float
    area_bound: float
    bound: float
    waste: Waste
    figure: float
    settings: int
    trims: tuple[tuple[str, int], ...] = ()
