"""Tables of sizes in CSV: one row a size, columns are keys of the part and parameters of its profile.

What spreadsheets write is read as it is: comma, semicolon or tab between the cells, a byte-order mark, quoted inch
marks. A decimal comma is understood only where the cells are parted by something else.
"""

import csv
import io
from dataclasses import dataclass
from pathlib import Path

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
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise InputError("there is no such table of sizes", file=path) from None
    except UnicodeDecodeError as error:
        raise InputError(
            f"this is not UTF-8 text (byte {error.start}); save the sheet as CSV UTF-8", file=path
        ) from None
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", file=path) from None
    except ValueError:  # of a name with a null character
        raise InputError(f"{str(path)!r} is no name of a file") from None
    if "\0" in text:
        raise InputError("this is no text; save the sheet as CSV", file=path)
    head = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    mark = max(";\t,", key=head.count)
    columns: tuple[str, ...] = ()
    rows = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True, skipinitialspace=True)
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells) or (cells[0].startswith("#") and not columns):
                continue
            if not columns:
                columns = _columns(path, reader.line_num, cells)
                continue
            if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
                raise InputError(
                    f"this row has {len(cells)} cells under {len(columns)} columns; a number with a decimal comma needs"
                    " cells parted by semicolons",
                    file=path,
                    line=reader.line_num,
                )
            filled = {c: cell.strip() for c, cell in zip(columns, cells, strict=False) if c and cell.strip()}
            rows.append(SizeRow(reader.line_num, filled))
            if len(rows) > MOST_ROWS:
                raise InputError(f"there are more than {MOST_ROWS} rows", file=path)
    except csv.Error as error:
        raise InputError(
            f'this row cannot be read ({error}); write inches as 1-3/16 or double the quote: "1-3/16"""',
            file=path,
            line=reader.line_num,
        ) from None
    if not columns:
        raise InputError("the table is empty; its first row names the columns", file=path)
    return SizeTable(path, columns, tuple(rows), mark != "," and units == "mm")


def _columns(path: Path, line: int, cells: list[str]) -> tuple[str, ...]:
    names = tuple(cell.strip() for cell in cells)
    for name in names:
        if name and names.count(name) > 1:
            raise InputError(f'two columns are called "{name}"', file=path, line=line)
    if "id" not in names:
        raise InputError(f'there is no column "id"; it has {", ".join(n for n in names if n)}', file=path, line=line)
    return names
