"""A measured piece from what a person writes: options, answers, fields of a page, or a row of a CSV file."""

import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from flatgen.errors import InputError, InputErrors, nearest
from flatgen.jobs.coupon_entry import csv_rows
from flatgen.jobs.shop_place import Place

if TYPE_CHECKING:
    from flatgen.model.inspection import Check, Checklist, Where
    from flatgen.records.inspections import Piece, Words

COLUMNS = ("part", "piece", "sheet", "note", "concede", "why")
LETTERS: dict[str, "Where"] = {"L": "left", "M": "middle", "R": "right"}
SIZE_NAME = re.compile(r"(\d+)\s*([LMR]?)", re.IGNORECASE)


def read_size(check: "Check", text: str, place: Place) -> float:
    """A measured size from a text."""
    from flatgen.units import parse_angle, parse_length

    return parse_angle(text.strip()) if check.kind == "angle" else parse_length(text.strip(), place.units)


def sizes_of(
    checklist: "Checklist", texts: Iterable[tuple[str, str]], place: Place, where: str
) -> "dict[int | tuple[int, Where], float]":
    """Measured sizes by check number, or by number and place along the bend ("3L" left, "3M" middle, "3R" right).

    InputErrors with all that cannot be read, is no such check, or was given twice.
    """
    found: dict[int | tuple[int, Where], float] = {}
    errors = []
    for name, text in texts:
        try:
            key, check = _named(checklist, name)
            if key in found:
                raise InputError("was given twice; the ends of a bend are entered as L, M and R, such as 3L and 3R")
            found[key] = read_size(check, text, place)
        except InputError as error:
            errors.append(InputError(error.message, where=f"{where}, check {name}"))
    if errors:
        raise InputErrors(errors)
    return found


def _named(checklist: "Checklist", name: str) -> "tuple[int | tuple[int, Where], Check]":
    """The check that a name such as "3" or "3L" means, and its key; InputError when there is none."""
    told = SIZE_NAME.fullmatch(name[:9])  # a sheet has no longer name
    try:
        check = checklist.check(int(told[1]) if told else 0)
    except KeyError:
        last = len(checklist.checks)
        raise InputError(f'no check "{name}"; the sheet has checks 1 to {last}') from None
    letter = told[2].upper() if told else ""
    if not letter:
        return check.number, check
    # a leg may be entered at its ends too, so that one end of the bar that drifts is told from all of it
    if LETTERS[letter] not in check.places and not check.leg:
        raise InputError(f"{check.what} is measured once; write {check.number} alone")
    return (check.number, LETTERS[letter]), check


def piece_of(
    checklist: "Checklist",
    number: int,
    values: Sequence[str],
    place: Place,
    words: "Words",
) -> "Piece":
    """A piece from NO=SIZE texts."""
    from flatgen.records.inspections import measured

    where = f'part "{checklist.part}", piece {number}'
    texts = []
    for value in values:
        name, equals, text = value.partition("=")
        if not equals:
            raise InputError(f'"{value}" is not NO=SIZE, such as 1=1.004', where=where)
        texts.append((name.strip(), text))
    sizes = sizes_of(checklist, texts, place, where)
    assert place.job is not None
    return measured(checklist, place.job.title, number, sizes, words)


def pieces_of_csv(file: Path, lists: Mapping[str, "Checklist"], place: Place, by: str) -> tuple["Piece", ...]:
    """Pieces of a CSV file, one a row: part, piece, and a column a check number; empty cells were not measured."""
    from flatgen.records.inspections import Words, measured

    assert place.job is not None
    found, errors = [], []
    for line, row in csv_rows(file, COLUMNS, lambda name: SIZE_NAME.fullmatch(name) is not None):
        try:
            part, number = (row.get("part") or "").strip(), (row.get("piece") or "").strip()
            if part not in lists:
                raise InputError(f'no part "{part}". {nearest(part, lists)}')
            if not (number.isdecimal() and len(number) < 7):
                raise InputError(f'piece is "{number}"; it is a number from 1', where=f'part "{part}"')
            where = f'part "{part}", piece {number}'
            texts = [(name, text) for name, text in row.items() if name not in COLUMNS and (text or "").strip()]
            sizes = sizes_of(lists[part], texts, place, where)
            note, mark, concede, why = ((row.get(key) or "").strip() for key in ("note", "sheet", "concede", "why"))
            words = Words(note, mark, by, concede, why)
            found.append(measured(lists[part], place.job.title, int(number), sizes, words))
        except InputErrors as several:
            errors += [InputError(e.message, file=file, line=line, where=e.where) for e in several.errors]
        except InputError as error:
            errors.append(InputError(error.message, file=file, line=line, where=error.where))
    if errors:
        raise InputErrors(errors)
    return tuple(found)
