"""Sheets and remnants on hand, each with a mark of its own, so that a piece can be traced to its sheet and batch.

A sheet comes in, is cut up by a run, leaves remnants that are sheets again. What is on hand is the sum of entries;
nothing is ever removed. Lengths mm. ``width`` is a sheet's length, along the grain, and ``height`` its width across
it; a remnant cut on the slant has its grain in degrees from the length.
"""

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from flatgen.core.nominal import measured_of, same_nominal
from flatgen.errors import InputError, RecordError, nearest
from flatgen.model.plan import Nest
from flatgen.model.shop import Sheet
from flatgen.records.book import Book, now, open_book


@dataclass(frozen=True, slots=True)
class StockSheet:
    """One sheet or remnant. ``cut_from`` is the mark of the sheet it was left over from.

    thickness : nominal; ``measured`` None: not measured
    bad_areas : x, y, length, width of each, from the corner
    """

    mark: str
    material: str
    thickness: float
    width: float
    height: float
    grain: float = 0.0
    batch: str = ""
    stock_size: str = ""
    cost: float | None = None
    cut_from: str = ""
    note: str = ""
    recorded_at: str = ""
    on_hand: bool = True
    id: int = 0
    bad_areas: tuple[tuple[float, float, float, float], ...] = ()
    measured: float | None = None

    @property
    def remnant(self) -> bool:
        """Whether it was left over from another sheet."""
        return bool(self.cut_from) or self.mark.startswith("R")


def add_sheets(path: Path | str, sheet: StockSheet, copies: int = 1, by: str = "") -> tuple[str, ...]:
    """Enter sheets that came in; ``sheet.mark`` empty: marks are given in turn. Returns the marks to write on them.

    Raises
    ------
    InputError : a size or the number of copies is not above 0, or the mark is taken
    """
    where = f'sheet "{sheet.mark}"' if sheet.mark else "sheet"
    for key, value in (("thickness", sheet.thickness), ("length", sheet.width), ("width", sheet.height)):
        if not 0.0 < value < 1e5:
            raise InputError(f"{key} is {value:g} mm; a length above 0 is needed", where=where)
    if sheet.measured is not None and not measured_of(sheet.thickness, sheet.measured):
        raise InputError(
            f"measured is {sheet.measured:g} mm, more than a tenth off the nominal {sheet.thickness:g} mm", where=where
        )
    if not sheet.material:
        raise InputError("material is missing", where=where)
    for x, y, width, height in sheet.bad_areas:
        on_it = x < sheet.width and y < sheet.height and x + width > 0.0 and y + height > 0.0
        if min(width, height) <= 0.0 or not on_it:
            raise InputError("a bad area lies beside it; give x, y, length, width from its corner", where=where)
    if copies < 1 or (sheet.mark and copies > 1):
        raise InputError("copies must be 1 or more, and 1 where a mark is given", where=where)
    with open_book(path) as book, book.entering():
        marks = []
        for _ in range(copies):
            mark = sheet.mark or next_mark(book, "S")
            if book.rows("SELECT 1 FROM sheet WHERE mark = ?", (mark,)):
                raise InputError("this mark is taken; marks are never used twice", where=f'sheet "{mark}"')
            number = enter_sheet(book, sheet, mark, by, None)
            move(book, number, 1, "received", by, None, sheet.note)
            marks.append(mark)
        return tuple(marks)


def give_up(path: Path | str, mark: str, reason: str, by: str = "") -> None:
    """Enter that a sheet is no longer there (scrapped, lost, sold), and why."""
    _settle(path, mark, -1, "given up", reason, by)


def find_again(path: Path | str, mark: str, reason: str, by: str = "") -> None:
    """Enter that a sheet is there after all, and why."""
    _settle(path, mark, 1, "found again", reason, by)


def _settle(path: Path | str, mark: str, change: int, why: str, reason: str, by: str) -> None:
    if not reason.strip():
        raise InputError("this needs a reason in writing", where=f'sheet "{mark}"')
    with open_book(path) as book, book.entering():
        sheet = find(book, mark)
        if sheet.on_hand != (change < 0):
            raise InputError(f"is {'' if sheet.on_hand else 'not '}on hand already", where=f'sheet "{mark}"')
        move(book, sheet.id, change, why, by, None, reason)


def sheets(book: Book, everything: bool = False) -> tuple[StockSheet, ...]:
    """Sheets and remnants on hand, in the order they came; ``everything``: also those that are gone."""
    rows = book.rows(
        """SELECT s.id, s.recorded_at, s.mark, s.material, s.thickness, s.width, s.height, s.grain, s.batch,
        s.stock_size, s.cost, s.note, s.bad_areas, s.measured, coalesce(f.mark, '') AS cut_from,
        (SELECT coalesce(sum(change), 0) FROM stock_entry WHERE sheet = s.id) > 0 AS on_hand
        FROM sheet s LEFT JOIN sheet f ON f.id = s.cut_from ORDER BY s.id"""
    )
    found = [
        StockSheet(**(dict(row) | {"on_hand": bool(row["on_hand"]), "bad_areas": _areas(row["bad_areas"])}))
        for row in rows
    ]
    return tuple(sheet for sheet in found if everything or sheet.on_hand)


def _areas(text: str) -> tuple[tuple[float, float, float, float], ...]:
    return tuple((x, y, w, h) for x, y, w, h in json.loads(text))


def cut_up(book: Book) -> Counter[str]:
    """How many sheets of each size of the shop file runs have cut up."""
    rows = book.rows(
        """SELECT s.stock_size, count(*) AS many FROM stock_entry e JOIN sheet s ON s.id = e.sheet
        WHERE e.why = 'cut up' AND s.stock_size <> '' GROUP BY s.stock_size"""
    )
    return Counter({row["stock_size"]: row["many"] for row in rows})


def find(book: Book, mark: str) -> StockSheet:
    """The sheet with this mark, on hand or not; InputError with the nearest mark when there is none."""
    known = {sheet.mark: sheet for sheet in sheets(book, everything=True)}
    if mark not in known:
        raise InputError(f'there is no sheet "{mark}" in the book. {nearest(mark, known)}')
    return known[mark]


def stock_sheets(book: Book, sizes: Iterable[Sheet] = ()) -> tuple[Sheet, ...]:
    """What is on hand as stock for nesting, one copy each, the mark as id.

    sizes : of shop.toml; a sheet of such a size keeps its margin, and so does what was left over from it, since an edge
        of the mill may still be on it
    """
    margins = {size.id: size.margin for size in sizes}
    origin = {sheet.mark: sheet for sheet in sheets(book, everything=True)}

    def margin(sheet: StockSheet) -> float:
        while sheet.cut_from:
            sheet = origin[sheet.cut_from]
        return margins.get(sheet.stock_size, 0.0)

    return tuple(
        Sheet(
            id=sheet.mark,
            material=sheet.material,
            thickness=sheet.thickness,
            width=sheet.width,
            height=sheet.height,
            margin=margin(sheet),
            copies=1,
            cost=sheet.cost,
            grain=sheet.grain,
            remnant=sheet.remnant,
            batch=sheet.batch,
            bad_areas=sheet.bad_areas,
            measured=sheet.measured,
            short_grain=True,  # it was asked when the sheet came in
        )
        for sheet in sheets(book)
    )


def next_mark(book: Book, letter: str) -> str:
    """The next free mark: S001 for sheets, R001 for remnants."""
    taken = [row["mark"] for row in book.rows("SELECT mark FROM sheet WHERE mark GLOB ?", (f"{letter}[0-9]*",))]
    numbers = [int(mark[1:]) for mark in taken if mark[1:].isdecimal()]
    return f"{letter}{max(numbers, default=0) + 1:03d}"


def sheet_for(book: Book, nest: Nest, by: str) -> StockSheet:
    """The sheet a nest was cut from: with that mark, else the oldest of that stock size, else one just bought."""
    wanted = nest.sheet
    known = sheets(book, everything=True)
    marked = next((sheet for sheet in known if sheet.mark == wanted.id), None)
    if marked is not None:
        if not marked.on_hand:
            raise RecordError(
                f"{book.path}: sheet {marked.mark} is not on hand any more, so this nest cannot have been cut from it"
            )
        return marked
    for sheet in known:
        if (
            sheet.on_hand
            and sheet.stock_size == wanted.id
            and sheet.material == nest.material
            and same_nominal(sheet.thickness, nest.thickness)
        ):
            return sheet
    bought = StockSheet(
        mark=next_mark(book, "S"),
        material=nest.material,
        thickness=nest.thickness,
        width=wanted.width,
        height=wanted.height,
        grain=wanted.grain,
        measured=wanted.measured,
        batch=wanted.batch,
        stock_size=wanted.id,
        cost=wanted.cost,
        bad_areas=wanted.bad_areas,
    )
    move(
        book, enter_sheet(book, bought, bought.mark, by, None), 1, "received", by, None, "with the nest it was cut for"
    )
    return find(book, bought.mark)


def enter_sheet(book: Book, sheet: StockSheet, mark: str, by: str, cut_from: int | None) -> int:
    """A sheet as an entry, inside a transaction; its number."""
    return book.enter(
        "sheet",
        recorded_at=sheet.recorded_at or now(),
        recorded_by=by,
        mark=mark,
        material=sheet.material,
        thickness=sheet.thickness,
        width=sheet.width,
        height=sheet.height,
        grain=sheet.grain,
        batch=sheet.batch,
        stock_size=sheet.stock_size,
        cost=sheet.cost,
        cut_from=cut_from,
        note=sheet.note,
        measured=sheet.measured,
        bad_areas=json.dumps(sheet.bad_areas),
    )


def move(book: Book, sheet: int, change: int, why: str, by: str, run: int | None, note: str = "") -> None:
    """A sheet that comes or goes, inside a transaction."""
    book.enter(
        "stock_entry", recorded_at=now(), recorded_by=by, sheet=sheet, change=change, why=why, run=run, note=note
    )


def traced(book: Book, mark: str) -> tuple[StockSheet, ...]:
    """A sheet and all that it was cut from, back to the one that came in."""
    chain = [find(book, mark)]
    while chain[-1].cut_from:
        chain.append(find(book, chain[-1].cut_from))
    return tuple(chain)
