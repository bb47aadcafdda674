"""The record of a job for the builder's log, from rows of plain text and photographs."""

from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.core.words import Units
from flatgen.draw.photo import photograph
from flatgen.page.content import Content, Entry, Heading, Picture, Subject, Table, Words
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


@dataclass(frozen=True, slots=True)
class Shown:
    """A photograph of the record: what is said of it, and its bytes; None where they are not there."""

    words: str
    data: bytes | None


def log_subject(title: str, subtitle: str, sections: Sequence[Section], photographs: Sequence[Shown]) -> Subject:
    """The record as page and paper have it, signed at its end."""
    contents: list[Content] = []
    for section in sections:
        if section.rows:
            contents.append(Table(section.title, section.heads, section.rows, shares=section.shares, shown=True))
        else:
            contents += [Heading(section.title, 2), Words(section.nothing)]
    if photographs:
        contents.append(Heading("Photographs", 2))
        contents += [_picture(one) for one in photographs]
    contents.append(Table("Signed", SIGNED, (tuple(Entry("", head, tall=12.0) for head in SIGNED),), shares=(1, 1, 1)))
    return Subject("log", title, tuple(contents), under=subtitle)


def _picture(one: Shown) -> Content:
    drawn = photograph(one.data) if one.data is not None else None
    if drawn is None:
        why = "its file is not beside the book" if one.data is None else "a format that is not shown here"
        return Words(f"{one.words}: {why}", "quiet")
    return Picture(drawn, one.words, tall=drawn.size[1], caption=one.words)


def log_pages(subject: Subject, units: Units, paper_name: str = "letter") -> tuple[Drawing, ...]:
    """The record as pages."""
    return pages([subject], on_paper(paper_name, subject.title, units, FOOT))
