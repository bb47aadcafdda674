"""A job as the tally needs it: by the order that the book keeps where that was read from these very files, else anew.

So that counting at the bench does not wait for parts to be built, the order in the book carries the digests of the
files that it was read from.
"""

import hashlib
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flatgen import budget
from flatgen.errors import FlatgenError, InputError, nearest
from flatgen.model.tally import Counts, Event, Ordered

if TYPE_CHECKING:
    from flatgen.model.job import Job
    from flatgen.records.book import Book


@dataclass(frozen=True, slots=True)
class Place:
    """A job's tally: its title, the shop's book, the order and what that was read from.

    spoilage : the shop's own guess of the share of pieces that are spoiled
    """

    title: str
    book: Path
    order: tuple[Ordered, ...]
    basis: dict[str, Any]
    spoilage: float
    units: str
    file: Path

    def part(self, name: str) -> Ordered:
        """The part of this number; InputError with the nearest when there is none."""
        known = {one.part: one for one in self.order}
        if name not in known:
            raise InputError(f'there is no part "{name}". {nearest(name, known)}', file=self.file)
        return known[name]

    def counts(self, book: "Book") -> tuple[Counts, ...]:
        """How far each part is."""
        from flatgen.records.tally import tally

        return tally(book, self.title, self.order, self.spoilage)


def tally_place(path: Path, book: Path | None = None) -> Place:
    """Where the tally of a job is kept, and its order."""
    found = _kept(path, book)
    return found if found is not None else _read(path, book)


WHAT = ("cut", "drilled", "bent", "good", "rejected", "conceded")
COLUMNS = ("what", "part", "pieces", "place", "why", "note")


def event_of(row: Mapping[str, str | None], by: str) -> Event:
    """One entry from named texts; InputError says what of them cannot be read."""
    told = {key: (row.get(key) or "").strip() for key in COLUMNS}
    if told["what"] not in WHAT:
        raise InputError(f'what is "{told["what"]}". {nearest(told["what"], WHAT)}')
    if not (told["pieces"].isdecimal() and len(told["pieces"]) < 7):
        raise InputError(f'pieces is "{told["pieces"]}"; it is a number from 1')
    if told["what"] in ("rejected", "conceded") and not told["why"]:
        raise InputError(f"{told['what']} needs a reason in why")
    pieces, place = int(told["pieces"]), told["place"]
    return Event(told["what"], told["part"], pieces, place, why=told["why"], note=told["note"], by=by)


def entered(at: Place, events: Sequence[Event]) -> list[str]:
    """Enter events of a job, all or none; a sentence for each, with how far its part is then."""
    from flatgen.records.book import open_book
    from flatgen.records.tally import enter

    for event in events:
        at.part(event.part)
    numbers = enter(at.book, at.title, events, at.order, basis=at.basis)
    with open_book(at.book, writing=False) as opened:
        counts = {one.part: one for one in at.counts(opened)}
    return [f"{n}, {event.part}. {stand(counts[event.part])}" for n, event in zip(numbers, events, strict=True)]


def stand(one: Counts) -> str:
    """How far a part is, in a sentence."""
    done = [f"{station} {n}" for station, n in one.done]
    said = [f"{one.wanted} wanted", f"{one.cut} cut", *done, f"{one.good} good", f"{one.rejected} rejected"]
    return f"Now {', '.join(said)}; {one.to_cut} to cut"


def cut_sheet(at: Place, sheet: str, upto: int | None, out: Path, by: str) -> list[str]:
    """Enter a sheet of the packet in ``out``, or one that was begun, as cut up to a cut; what came of it, in sentences.

    sheet : its number in the packet, or the mark of one that was begun
    """
    from flatgen.output.folder import finish
    from flatgen.records.begun import cut_on
    from flatgen.records.begun import cut_sheet as cut_of
    from flatgen.records.book import open_book
    from flatgen.records.runs import run_from_results
    from flatgen.records.tally import keep_order

    packet = None
    if sheet.isdecimal():
        finish(out)
        packet = run_from_results(out).packet
        if packet is None or packet.job != at.title:
            raise InputError(f'this is the packet of "{packet.job if packet else ""}"', file=out)
    with open_book(at.book) as opened, opened.entering():
        keep_order(opened, at.title, at.order, at.basis)
        if packet is None:
            made = cut_on(opened, at.title, sheet, upto, by)
        else:
            made = cut_of(opened, packet, int(sheet), upto, by)
    blanks = ", ".join(f"{n} {part}" for part, n in made.blanks.items()) or "no blank yet"
    first = f"{made.entry}, sheet {made.mark} to cut {made.done}: {blanks}. Write {made.mark} on what is left."
    letters = made.offcuts.items()
    return [first, *(f"Off-cut {letter} is {rest.mark}: write the number on the metal." for letter, rest in letters)]


def light_place(path: Path, book: Path | None = None) -> tuple[str, Path] | None:
    """Title and book of a job without reading all of it; None where there is no book, or the files say too little."""
    try:
        job = tomllib.loads(budget.text(path))
        shop_file = path.parent / str(job.get("shop", "shop.toml"))
        shop = tomllib.loads(budget.text(shop_file))
        own = shop_file.with_name(str(shop["book"])) if "book" in shop else None
    except (FlatgenError, OSError, ValueError, RecursionError):
        return None  # reading in full says what is wrong
    file = book or own or shop_file.with_name(f"{shop_file.stem}-book.sqlite")
    title = str(job.get("title", ""))
    if not title or not file.exists():
        return None
    return title, file


def _kept(path: Path, book: Path | None) -> Place | None:
    """The order as the book keeps it; None where any file that it was read from is another now."""
    from flatgen.records.book import open_book
    from flatgen.records.tally import last_order, order_of

    place = light_place(path, book)
    if place is None:
        return None
    title, file = place
    with open_book(file, writing=False) as opened:
        last = last_order(opened, title)
        if last is None or last.facts["basis"].get("book") != _state(opened):
            return None
    for name, digest in last.facts["basis"]["files"].items():
        if _digest(path.parent / name) != digest:
            return None
    return Place(
        title,
        file,
        order_of(last),
        last.facts["basis"],
        float(last.facts["basis"]["spoilage"]),
        last.facts["basis"]["units"],
        path,
    )


def _read(path: Path, book: Path | None) -> Place:
    """The order from the job's files, every part developed, so that what its blanks are cut to is known."""
    from flatgen.develop.develop import develop
    from flatgen.errors import CannotMake
    from flatgen.jobs.loading import load
    from flatgen.records.book import book_path, open_book
    from flatgen.tally.order import ordered

    job = load(path, book=book)
    methods = dict(job.allowance)
    order = []
    for part in job.parts:
        try:
            order.append(ordered(part, develop(part, job.shop, methods.get(part.id, job.shop.allowance))))
        except CannotMake:
            order.append(ordered(part))
    file = book or book_path(job.shop)
    with open_book(file, writing=False) as opened:
        state = _state(opened)
    return Place(job.title, file, tuple(order), basis_of(job, state), job.shop.spoilage, job.units, path)


def basis_of(job: "Job", state: list[int]) -> dict[str, Any]:
    """Digests of the files that a job was read from, named from its folder, and how far the book was then."""
    own = job.file.parent.absolute()
    files = {}
    for source in job.sources:
        name = source.absolute()
        files[str(name.relative_to(own)) if name.is_relative_to(own) else str(name)] = _digest(source)
    return {"files": files, "book": state, "spoilage": job.shop.spoilage, "units": job.units}


def _state(book: "Book") -> list[int]:
    """Last entries of what blanks are developed by: test bends and sheets."""
    return [book.rows(f"SELECT coalesce(max(id), 0) AS n FROM {table}")[0]["n"] for table in ("coupon", "sheet")]


def _digest(file: Path) -> str:
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError:
        return ""


def take_ticks(at: Place, file: Path, folder: Path | None, by: str) -> tuple[list[str], list[str]]:
    """Enter what a saved file of the page says beyond the book, all or nothing; what was entered, and what did not fit.

    folder : of the packet that was ticked; without it boxes of sheets are left out
    """
    from flatgen.records.begun import cut_sheet
    from flatgen.records.book import open_book
    from flatgen.records.runs import run_from_results
    from flatgen.records.tally import enter_in, keep_order, sums, words
    from flatgen.records.ticks import cut_to, events_of, read_saved

    saved = read_saved(file, at.title)
    packet = run_from_results(folder).packet if folder is not None else None
    sheets, said, unfit = cut_to(saved), [], []
    if sheets and (packet is None or packet.digest != saved.digest):
        why = "name its packet with --packet" if packet is None else "it is not of the packet in this folder"
        unfit += [f"cuts of sheet {number}: {why}" for number in sheets]
        sheets = {}
    with open_book(at.book) as book, book.entering():
        keep_order(book, at.title, at.order, at.basis)
        for number, upto in sheets.items():
            assert packet is not None
            try:
                made = cut_sheet(book, packet, number, upto, by)
            except FlatgenError as error:
                unfit.append(f"cuts of sheet {number}: {error}")
                continue
            said.append(f"sheet {made.mark} to cut {made.done}")
        events, more = events_of(saved, at.order, sums(book, at.title), by)
        for event in events:
            enter_in(book, at.title, [event], at.order, at.basis)
            said.append(f"{event.part}: {words(event)}")
    return said, unfit + more
