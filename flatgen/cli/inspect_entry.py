"""A measured piece from what a person writes: options, answers to questions, or a row of a CSV file."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from flatgen.cli.coupon_entry import csv_rows
from flatgen.cli.shop_book import Place
from flatgen.errors import InputError, InputErrors, nearest

if TYPE_CHECKING:
    from flatgen.model.inspection import Check, Checklist
    from flatgen.records.inspections import Piece

COLUMNS = ("part", "piece", "sheet", "note", "concede")


def read_size(check: "Check", text: str, place: Place) -> float:
    """A measured size from a text."""
    from flatgen.units import parse_angle, parse_length

    return parse_angle(text.strip()) if check.kind == "angle" else parse_length(text.strip(), place.units)


def sizes_of(checklist: "Checklist", texts: Mapping[str, str], place: Place, where: str) -> dict[int, float]:
    """Measured sizes by check number; InputErrors with all that cannot be read."""
    found, errors = {}, []
    for name, text in texts.items():
        try:
            number = int(name)
            check = checklist.check(number)
        except (ValueError, KeyError):
            last = len(checklist.checks)
            errors.append(InputError(f'no check "{name}"; the sheet has checks 1 to {last}', where=where))
            continue
        try:
            found[number] = read_size(check, text, place)
        except InputError as error:
            errors.append(InputError(error.message, where=f"{where}, check {number}"))
    if errors:
        raise InputErrors(errors)
    return found


def piece_of(
    checklist: "Checklist",
    number: int,
    values: Sequence[str],
    place: Place,
    *,
    concede: str = "",
    sheet_mark: str = "",
    by: str = "",
    note: str = "",
) -> "Piece":
    """A piece from NO=SIZE texts."""
    from flatgen.records.inspections import measured

    where = f'part "{checklist.part}", piece {number}'
    texts = {}
    for value in values:
        name, equals, text = value.partition("=")
        if not equals:
            raise InputError(f'"{value}" is not NO=SIZE, such as 1=1.004', where=where)
        texts[name.strip()] = text
    sizes = sizes_of(checklist, texts, place, where)
    assert place.job is not None
    return measured(checklist, place.job.title, number, sizes, note=note, sheet=sheet_mark, by=by, concession=concede)


def pieces_of_csv(file: Path, lists: Mapping[str, "Checklist"], place: Place, by: str) -> tuple["Piece", ...]:
    """Pieces of a CSV file, one a row: part, piece, and a column a check number; empty cells were not measured."""
    from flatgen.records.inspections import measured

    assert place.job is not None
    found, errors = [], []
    for line, row in csv_rows(file, COLUMNS, str.isdigit):
        try:
            part, number = (row.get("part") or "").strip(), (row.get("piece") or "").strip()
            if part not in lists:
                raise InputError(f'no part "{part}". {nearest(part, lists)}')
            if not number.isdigit():
                raise InputError(f'piece is "{number}"; it is a number from 1', where=f'part "{part}"')
            where = f'part "{part}", piece {number}'
            texts = {name: text for name, text in row.items() if name not in COLUMNS and (text or "").strip()}
            sizes = sizes_of(lists[part], texts, place, where)
            found.append(
                measured(
                    lists[part],
                    place.job.title,
                    int(number),
                    sizes,
                    note=row.get("note") or "",
                    sheet=row.get("sheet") or "",
                    by=by,
                    concession=row.get("concede") or "",
                )
            )
        except InputErrors as several:
            errors += [InputError(e.message, file=file, line=line, where=e.where) for e in several.errors]
        except InputError as error:
            errors.append(InputError(error.message, file=file, line=line, where=error.where))
    if errors:
        raise InputErrors(errors)
    return tuple(found)


def ask_pieces(checklist: "Checklist", place: Place, by: str, entered: Callable[[int, "Piece"], None]) -> None:
    """Ask for piece after piece of a part; each is safe in the book before the next is asked for."""
    import click

    from flatgen.records.book import open_book
    from flatgen.records.inspections import current_pieces, measured, record_pieces

    assert place.job is not None
    while True:
        with open_book(place.book, writing=False) as book:
            done = {piece.number for piece in current_pieces(book, place.job.title, checklist.part)}
        left = [number for number in checklist.samples if number not in done]
        usual = str(left[0]) if left else "stop"
        answer = click.prompt(f'Number of the piece, or "stop" ({len(left)} samples left)', default=usual)
        if not answer.strip().isdigit():
            return
        sizes = {}
        for check in checklist.checks:
            unit = "deg" if check.kind == "angle" else place.units

            def read(text: str, check: "Check" = check) -> float | None:
                if not text.strip():
                    return None
                try:
                    return read_size(check, text, place)
                except InputError as error:
                    raise click.BadParameter(error.message) from error

            size = click.prompt(
                f"  {check.number} {check.what} [{unit}]", default="", value_proc=read, show_default=False
            )
            if size is not None:
                sizes[check.number] = size
        try:
            piece = measured(checklist, place.job.title, int(answer), sizes, by=by)
            (entry,) = record_pieces(place.book, [piece])
        except InputError as error:
            click.echo(f"flatgen: {error}", err=True)
            continue
        entered(entry, piece)
