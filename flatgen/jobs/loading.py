"""The job of a file with all that the shop's book holds for it; the book is opened once."""

import hashlib
import json
from contextlib import ExitStack
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING

from flatgen.errors import InputError, InputErrors, nearest
from flatgen.jobs.processes import with_formed
from flatgen.model.job import Job
from flatgen.model.shop import Shop
from flatgen.model.tally import BegunSheet
from flatgen.read.job import read_job
from flatgen.rules_reference import names as rule_names

if TYPE_CHECKING:
    from flatgen.records.book import Book


def load(path: Path, *, book: Path | None = None, whole: bool = False, begun: bool = False) -> Job:
    """The job of a file with what is left of it, its waivers checked against the rules that there are.

    book : in place of the shop's own
    whole : as if nothing had been made of it yet
    begun : a job that has no parts yet is one too
    """
    from flatgen.records.book import book_path, open_book

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

        job = read_job(path, stocked, begun=begun)
        job = with_formed(replace(job, digest=_with_rows(job.digest, bare[0], job.shop)))
        job = with_tally(job, opened[0] if opened and not whole else None)
    _check_waivers(job)
    return job


def with_tally(job: Job, book: "Book | None") -> Job:
    """The job with how far it is by the shop's book: what is left of parts, sheets and test bends."""
    from flatgen.tally.counts import left
    from flatgen.tally.order import ordered

    order = [ordered(part) for part in job.parts]
    if book is None:
        return replace(job, tally=left(order, (), job.shop.spoilage))
    from flatgen.records.begun import begun_sheets, strips_in_hand
    from flatgen.records.brake_checks import checked
    from flatgen.records.stale import lots_left
    from flatgen.records.tally import rate_of, sums, timed
    from flatgen.tally.sheets import rest_nests, rest_sheets
    from flatgen.tally.tonight import paces

    happened = sums(book, job.title)
    rate, _ = rate_of(book, job.shop.spoilage)
    own = paces(timed(book))
    sheets = [(one, one.state.rests) for one in begun_sheets(book, job.title)]
    begun = tuple(
        BegunSheet(
            one.mark,
            rest_nests(one.mark, one.nest, rests),
            rest_sheets(one.mark, one.nest.sheet, rests),
            dict(one.figures),
        )
        for one, rests in sheets
    )
    strips = strips_in_hand(book, job.title)
    digest, checks = job.digest, checked(book)
    if happened or begun or strips or checks:
        told = repr((sorted(map(repr, happened)), [(one.mark, one.done) for one, _ in sheets], strips, checks))
        digest = hashlib.sha256(f"{digest} {told}".encode()).hexdigest()
    job = replace(job, tally=left(order, happened, rate), begun=begun, strips=strips, digest=digest, checked=checks)
    return replace(job, paces=tuple(sorted(own.items())), lots=lots_left(book, job.title))


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
