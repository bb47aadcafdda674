"""Rows as CSV text (RFC 4180, lines end in LF) that a spreadsheet takes for text and numbers, never for a formula."""

import csv
import io
import re
from collections.abc import Iterable, Sequence

# what opens a formula in one spreadsheet or another, by the OWASP page on CSV injection (from memory)
OPENERS = tuple("=+-@\t\r\n＝＋－＠")
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """The text of a CSV file."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([plain(cell) for cell in row] for row in rows)
    return out.getvalue()


def plain(cell: object) -> object:
    """A cell that is no formula: an apostrophe before a text that would be one; numbers stay numbers.

    >>> plain("=1+1"), plain("-0.25"), plain(-0.25), plain("-2 ft")
    ("'=1+1", '-0.25', -0.25, "'-2 ft")
    """
    if isinstance(cell, str) and cell.startswith(OPENERS) and not NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell
