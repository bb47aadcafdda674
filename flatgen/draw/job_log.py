"""The printed record of a job for the builder's log, from rows of plain text."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.core.words import Units
from flatgen.draw.form import Block, Column, body_width, lines, pages, space, table_blocks
from flatgen.page.drawing import Drawing
from flatgen.page.paper import paper

FOOT = "A record of what was done; it does not say that a part is airworthy or strong enough. Inspector's stamp:"


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
    sheet = paper(paper_name)
    width = body_width(sheet)
    blocks: list[Block] = []
    for section in sections:
        blocks.append(lines([section.title], width, 2.8, bold=True, keep=True))
        if section.rows:
            total = math.fsum(section.shares)
            columns = [
                Column(head, width * share / total) for head, share in zip(section.heads, section.shares, strict=True)
            ]
            blocks += table_blocks(columns, section.rows, 2.0)
        else:
            blocks.append(lines([section.nothing], width))
        blocks.append(space(4.0))
    signed = [Column(head, width / 3.0) for head in ("Builder", "Date", "Inspector")]
    blocks += table_blocks(signed, [("", "", "")], least=12.0)
    return pages(title, subtitle, blocks, sheet, units, FOOT)
