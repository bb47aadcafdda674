"""Tables of sizes in CSV: one row a size, columns are keys of the part and parameters of its profile.

What spreadsheets write is read as it is: comma, semicolon or tab between the cells, a byte-order mark, quoted inch
marks. A decimal comma is understood only where the cells are parted by something else.
"""

import codecs
import csv
import io
import re
from dataclasses import dataclass
from pathlib import Path

from flatgen import budget
from flatgen.errors import InputError

MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True)
class SizeRow:
    """One row: its line in the file and its cells by column."""

    line: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class SizeTable:
    """A table of sizes; ``decimal_comma`` tells whether its numbers may be written with one."""

    path: Path
    columns: tuple[str, ...]
    rows: tuple[SizeRow, ...]
    decimal_comma: bool


def read_sizes(path: Path, units: str) -> SizeTable:
    """Rows of a CSV file; InputError names file, row and column."""
    text = _text(path)
    columns: tuple[str, ...] = ()
    rows = []
    mark, hint, body = _parted(text)
    reader = csv.reader(io.StringIO(body, newline=""), delimiter=mark, strict=True, skipinitialspace=True)
    try:
        for cells in reader:
            line = reader.line_num + hint
            if not any(cell.strip() for cell in cells) or _is_remark(cells, bool(columns)):
                continue
            if not columns:
                columns = _columns(path, line, cells)
                continue
            rows.append(SizeRow(line, _filled(path, line, columns, cells)))
            if len(rows) > MOST_ROWS:
                raise InputError(f"there are more than {MOST_ROWS} rows", file=path)
    except csv.Error as error:
        raise InputError(
            f'this row cannot be read ({error}); write inches as 1-3/16 or double the quote: "1-3/16"""',
            file=path,
            line=reader.line_num + hint,
        ) from None
    if not columns:
        raise InputError("the table is empty; its first row names the columns", file=path)
    if not rows:
        raise InputError("the table has no row below the names of its columns", file=path)
    return SizeTable(path, columns, tuple(rows), mark != "," and units == "mm")


def _text(path: Path) -> str:
    """The file as text: UTF-8 with or without its mark, or UTF-16 with it."""
    raw = budget.content(path, missing="there is no such table of sizes")
    try:
        text = raw.decode("utf-16" if raw[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE) else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise InputError("this is not UTF-8 text; save the sheet as CSV UTF-8", file=path, line=line) from None
    if "\0" in text:
        raise InputError("this is no text; save the sheet as CSV", file=path)
    return text


def _parted(text: str) -> tuple[str, int, str]:
    """What parts the cells, how many lines say so themselves ("sep=;", as some spreadsheets write), and the rest."""
    if match := re.match(r"sep=(.)\r?\n", text):
        return match.group(1), 1, text[match.end() :]
    head = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    return max(";\t,", key=head.count), 0, text


def _is_remark(cells: list[str], below_head: bool) -> bool:
    """Whether a row is a remark; below the head only where nothing else stands in it: a part number may begin so."""
    return cells[0].startswith("#") and not (below_head and any(cell.strip() for cell in cells[1:]))


def _filled(path: Path, line: int, columns: tuple[str, ...], cells: list[str]) -> dict[str, str]:
    """The cells of a row that are not empty, by column."""
    if any(cell.strip() for cell in cells[len(columns) :]):
        raise InputError(
            f"this row has {len(cells)} cells under {len(columns)} columns; a number with a decimal comma needs"
            " cells parted by semicolons",
            file=path,
            line=line,
        )
    for k, (name, cell) in enumerate(zip(columns, cells, strict=False), 1):
        if cell.strip() and not name:
            raise InputError(f'column {k} has no name, but "{cell.strip()}" in this row', file=path, line=line)
    return {name: cell.strip() for name, cell in zip(columns, cells, strict=False) if cell.strip()}


def _columns(path: Path, line: int, cells: list[str]) -> tuple[str, ...]:
    names = tuple(cell.strip() for cell in cells)
    if len(names) > budget.MOST_COLUMNS:
        raise InputError(f"{len(names)} columns are more than {budget.MOST_COLUMNS}", file=path, line=line)
    for name in names:
        if name and names.count(name) > 1:
            raise InputError(f'two columns are called "{name}"', file=path, line=line)
    if "id" not in names:
        raise InputError(f'there is no column "id"; it has {", ".join(n for n in names if n)}', file=path, line=line)
    return names
