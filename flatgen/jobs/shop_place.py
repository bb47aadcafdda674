"""The shop's book with the units to speak in: found from a shop file, a job, or by itself."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from flatgen.core.words import Units
from flatgen.errors import InputError

if TYPE_CHECKING:
    from flatgen.model.job import Job
    from flatgen.model.shop import Shop


@dataclass(frozen=True)
class Place:
    """The book's file, display units, the shop if one was read, and the printer's paper."""

    book: Path
    units: Units
    shop: "Shop | None" = None
    job: "Job | None" = None

    @property
    def inputs(self) -> tuple[Path, ...]:
        """Files that no output may replace: the book, and what shop and job were read from."""
        from flatgen.jobs.make import inputs_of

        own = inputs_of(self.job) if self.job else (Path(self.shop.file),) if self.shop else ()
        return (self.book, *own)

    @property
    def paper(self) -> str:
        """Paper to print on."""
        return self.shop.printer_paper if self.shop else "letter"

    def length(self, mm: float) -> str:
        """A length in words, with its unit."""
        from flatgen.units import format_length

        return format_length(mm, self.units, unit=True)

    def bare(self, mm: float) -> str:
        """A length in words, without its unit."""
        from flatgen.units import format_length

        return format_length(mm, self.units)

    def deviation(self, kind: str, value: float) -> str:
        """A deviation with its sign and unit; a tenth finer than the drawing's sizes, since means are."""
        from flatgen.units import format_length

        sign = "-" if value < 0 else "+"
        if kind == "angle":
            return f"{sign}{abs(value):.2f}°"
        places = 4 if self.units == "in" else 3
        return f"{sign}{format_length(abs(value), self.units, places=places, unit=True)}"


def place(shop: Path | None, book: Path | None, units: str | None) -> Place:
    """The book that the options point to."""
    from flatgen.read.shop import read_shop
    from flatgen.records.book import book_path

    file = shop or (Path("shop.toml") if book is None or Path("shop.toml").is_file() else None)
    if file is None:
        return Place(book or Path(), _units(units, "in"))
    if shop is None and not file.is_file():
        raise InputError("there is no shop.toml here; name the shop file with --shop, or the book with --book")
    found = read_shop(file)
    return Place(book or book_path(found), _units(units, found.units), found)


def job_place(job: Path, book: Path | None, units: str | None) -> Place:
    """The same from a job file."""
    from flatgen.jobs.loading import load
    from flatgen.records.book import book_path

    found = load(job, book=book)
    return Place(book or book_path(found.shop), _units(units, found.units), found.shop, found)


def _units(asked: str | None, usual: str) -> Units:
    return "in" if (asked or usual) == "in" else "mm"
