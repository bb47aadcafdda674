"""What a book holds, by its file: each opens it once, as a command does."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from flatgen.core.outline import rectangle
from flatgen.model.plan import Nest
from flatgen.model.shop import BendProof, Sheet, ShopBend
from flatgen.model.tally import Counts, Figures, Ordered
from flatgen.records.book import open_book
from flatgen.records.coupons import bend_proofs, combinations, current_coupons, shop_bends
from flatgen.records.runs import Packet
from flatgen.records.stock import stock_sheets
from flatgen.records.tally import tally
from flatgen.write.results_json import nest_dict


def bends_in(path: Path) -> tuple[ShopBend, ...]:
    with open_book(path, writing=False) as book:
        return shop_bends(combinations(current_coupons(book)))


def proofs_in(path: Path) -> tuple[BendProof, ...]:
    with open_book(path, writing=False) as book:
        return bend_proofs(combinations(current_coupons(book)))


def sheets_in(path: Path, sizes: Iterable[Sheet] = ()) -> tuple[Sheet, ...]:
    with open_book(path, writing=False) as book:
        return stock_sheets(book, sizes)


def counts_in(path: Path, job: str, part: str, wanted: int) -> Counts:
    with open_book(path, writing=False) as book:
        return tally(book, job, [Ordered(part, wanted)])[0]


def packet(job: str, digest: str, nests: Sequence[Nest]) -> Packet:
    """A packet whose blanks are all squares of 9 mm."""
    blank = {"outline": [list(vertex) for vertex in rectangle(0.0, 0.0, 9.0, 9.0)]}
    figures = Figures("B", 1.016, 9.0, 9.0, "square").as_dict()
    names = dict.fromkeys(p.part for nest in nests for p in nest.placements)
    parts = {name: {"id": name, "kind": "part", "blank": blank, "figures": figures} for name in names}
    return Packet(job, digest, tuple(nest_dict(nest) for nest in nests), parts)
