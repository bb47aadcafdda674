"""Small changes of a table of sizes, made in its text: remarks, order and the way that cells are parted stay.

A row goes by its id, ``(id, column)`` is a cell; a new row is appended to ``()``.
"""

import csv
import io
from collections.abc import Iterable

from flatgen.errors import InputError
from flatgen.write.edits import Append, Drop, Edit, Set


def rows_of(text: str) -> dict[str, dict[str, str]]:
    """Cells of every row by id and column."""
    _, columns, rows = _taken_apart(text)
    return {cells[0]: dict(zip(columns, cells[1], strict=False)) for cells in rows.values()}


def _taken_apart(text: str) -> tuple[str, list[str], dict[int, tuple[str, list[str]]]]:
    """What parts the cells, the columns, and each row's id and cells by the number of its line."""
    lines = text.removeprefix("\ufeff").splitlines()
    head = next((n for n, line in enumerate(lines) if line.strip() and line[0] != "#" and line[:4] != "sep="), 0)
    mark = (
        lines[0][4] if lines and lines[0].startswith("sep=") else max(";\t,", key=lines[head].count) if lines else ","
    )
    columns = [cell.strip() for cell in _cells(lines[head], mark)] if lines else []
    own = columns.index("id") if "id" in columns else 0
    rows = {}
    for n, line in enumerate(lines[head + 1 :], head + 1):
        cells = _cells(line, mark) if line.strip() else []
        if len(cells) > own and cells[own].strip() and not (line[0] == "#" and not any(c.strip() for c in cells[1:])):
            rows[n] = (cells[own].strip(), [cell.strip() for cell in cells])
    return mark, columns, rows


def _cells(line: str, mark: str) -> list[str]:
    return next(csv.reader([line], delimiter=mark, skipinitialspace=True), [])


def _line(cells: Iterable[str], mark: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=mark, lineterminator="").writerow(cells)
    return out.getvalue()


def applied(text: str, edits: Iterable[Edit]) -> str:
    """The table's text after these changes; InputError where a row or column of them is not there."""
    for edit in edits:
        text = _one(text, edit)
    return text


def _one(text: str, edit: Edit) -> str:
    mark, columns, rows = _taken_apart(text)
    lines = text.splitlines(keepends=True)
    ending = "\r\n" if "\r\n" in text else "\n"
    if isinstance(edit, Append):
        new = _line([str(edit.table.get(column, "")) for column in columns], mark)
        whole = text if not text or text.endswith("\n") else text + ending
        return f"{whole}{new}{ending}"
    place = next((n for n, (name, _) in rows.items() if name == edit.path[0]), None)
    if place is None:
        raise InputError(f'row "{edit.path[0]}" is not there any more')
    if isinstance(edit, Drop):
        del lines[place]
    else:
        assert isinstance(edit, Set)
        column = str(edit.path[1])
        if column not in columns:
            raise InputError(f'there is no column "{column}"')
        cells = rows[place][1] + [""] * (len(columns) - len(rows[place][1]))
        cells[columns.index(column)] = str(edit.value)
        lines[place] = _line(cells, mark) + ending
    return "".join(lines)
