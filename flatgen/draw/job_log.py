"""The printed record of a job for the builder's log, from rows of plain text."""

from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.core.words import Units
from flatgen.page.content import Content, Entry, Heading, Subject, Table, Words
from flatgen.page.drawing import Drawing
from flatgen.page.flow import on_paper, pages

FOOT = "A record of what was done; it does not say that a part is airworthy or strong enough. Inspector's stamp:"
SIGNED = ("Builder", "Date", "Inspector")


@dataclass(frozen=True, slots=True)
class Section:
    """One table of the record: heading, column heads with their share of the width, rows; or a line when empty."""

    title: str
    heads: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    nothing: str = "none"


def log_pages(
    title: str, subtitle: str, sections: Sequence[Section], units: Units, paper_name: str = "letter"
) -> tuple[Drawing, ...]:
    """The record as pages, signed at its end."""
    contents: list[Content] = []
    for section in sections:
        contents.append(Heading(section.title, 2))
        table = Table(section.title, section.heads, section.rows, shares=section.shares)
        contents.append(table if section.rows else Words(section.nothing))
    contents.append(Table("Signed", SIGNED, (tuple(Entry("", head, tall=12.0) for head in SIGNED),), shares=(1, 1, 1)))
    return pages([Subject("log", title, tuple(contents), under=subtitle)], on_paper(paper_name, title, units, FOOT))
