"""The job of a file with all that the shop's book holds for it; the book is opened once."""

import hashlib
import json
from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING

from flatgen.errors import InputError, InputErrors, nearest
from flatgen.model.job import Job
from flatgen.model.shop import Shop
from flatgen.read.job import read_job
from flatgen.rules_reference import names as rule_names

if TYPE_CHECKING:
    from flatgen.records.book import Book


def load(path: Path, *, book: Path | None = None, remake: bool = False) -> Job:
    """The job of a file, its waivers checked against the rules that there are.

    book : in place of the shop's own
    remake : only the pieces on the shop's list to make again
    """
    from flatgen.records.book import book_path, open_book
    from flatgen.records.inspections import remakes

    bare: list[Shop] = []
    opened: list[Book] = []
    with ExitStack() as until_read:

        def stocked(shop: Shop) -> Shop:
            bare.append(shop)
            shop = shop if book is None else replace(shop, book=str(book))
            if not book_path(shop).exists():
                return shop
            opened.append(until_read.enter_context(open_book(book_path(shop), writing=False)))
            return with_book(shop, opened[0])

        job = read_job(path, stocked)
        again = remakes(opened[0], job.title) if remake and opened else {}
    _check_waivers(job)
    job = replace(job, digest=_with_rows(job.digest, bare[0], job.shop))
    return _remade(job, again) if remake else job


def _check_waivers(job: Job) -> None:
    """Raise InputError for waivers of rules that there are not."""
    known = rule_names()
    wrong = [
        InputError(
            f'there is no rule "{waiver.rule}". {nearest(waiver.rule, known)}',
            file=job.file,
            where=f'waive, part "{waiver.part}"',
        )
        for waiver in job.waivers
        if waiver.rule not in known
    ]
    if wrong:
        raise wrong[0] if len(wrong) == 1 else InputErrors(wrong)


def _with_rows(digest: str, bare: Shop, shop: Shop) -> str:
    """The digest of the files taken further by what the shop's book gave; as it was where it gave nothing."""
    if (shop.records, shop.sheets) == (bare.records, bare.sheets):
        return digest
    rows = [[asdict(row) for row in some] for some in (shop.records, shop.proofs, shop.sheets)]
    return hashlib.sha256(f"{digest} {json.dumps(rows, sort_keys=True)}".encode()).hexdigest()


def with_book(shop: Shop, book: "Book") -> Shop:
    """The shop with what its book holds: its own deductions and spring-back, sheets and remnants on hand."""
    from flatgen.records.coupons import bend_proofs, combinations, current_coupons, shop_bends
    from flatgen.records.stock import cut_up, stock_sheets

    # a remnant is one piece of metal: what the book says was cut up is not there any more
    gone = cut_up(book)
    own = tuple(
        replace(sheet, copies=max(0, sheet.copies - gone[sheet.id]))
        if sheet.remnant and sheet.copies is not None and gone[sheet.id]
        else sheet
        for sheet in shop.sheets
    )
    bent = combinations(current_coupons(book))
    sheets = (*stock_sheets(book, shop.sheets), *own)
    return replace(shop, records=shop_bends(bent), proofs=bend_proofs(bent), sheets=sheets)


def _remade(job: Job, wanted: Mapping[str, int]) -> Job:
    """The job with only the pieces to make again, on remnants before whole sheets.

    Raises InputError when there is nothing to make again, or a rejected part is no longer in the job.
    """
    from flatgen.records.book import book_path

    if not wanted:
        raise InputError(f'there is nothing to make again of "{job.title}" in {book_path(job.shop)}', file=job.file)
    known = {part.id: part for part in job.parts}
    for part_id in wanted:
        if part_id not in known:
            raise InputError(f'part "{part_id}" is to be made again but not in the job', file=job.file)
    parts = tuple(replace(known[part_id], quantity=count) for part_id, count in wanted.items())
    first = sorted(job.shop.sheets, key=lambda sheet: not sheet.remnant)
    listed = ",".join(f"{part_id}={count}" for part_id, count in wanted.items())
    digest = hashlib.sha256(f"{job.digest} {listed}".encode()).hexdigest()
    shop = replace(job.shop, sheets=tuple(first), spoilage=0.0)
    return replace(job, shop=shop, parts=parts, coupons=False, remake=True, digest=digest)
