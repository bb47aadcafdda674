"""What a book holds, by its file: each opens it once, as a command does."""

from collections.abc import Iterable
from pathlib import Path

from flatgen.model.shop import BendProof, Sheet, ShopBend
from flatgen.records.book import open_book
from flatgen.records.coupons import bend_proofs, combinations, current_coupons, shop_bends
from flatgen.records.inspections import remakes
from flatgen.records.stock import stock_sheets


def bends_in(path: Path) -> tuple[ShopBend, ...]:
    with open_book(path, writing=False) as book:
        return shop_bends(combinations(current_coupons(book)))


def proofs_in(path: Path) -> tuple[BendProof, ...]:
    with open_book(path, writing=False) as book:
        return bend_proofs(combinations(current_coupons(book)))


def sheets_in(path: Path, sizes: Iterable[Sheet] = ()) -> tuple[Sheet, ...]:
    with open_book(path, writing=False) as book:
        return stock_sheets(book, sizes)


def to_make_again(path: Path, job: str) -> dict[str, int]:
    with open_book(path, writing=False) as book:
        return remakes(book, job)
