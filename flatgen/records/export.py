"""The whole book as CSV files, a table each."""

from pathlib import Path

from flatgen.errors import RecordError
from flatgen.output.csv_text import csv_text
from flatgen.output.disk import put
from flatgen.output.folder import written_folder
from flatgen.records.book import open_book


def export_csv(path: Path | str, folder: Path | str, *, into: bool = False) -> tuple[Path, ...]:
    """Every table of the book as a CSV file of its name, replaced and withdrawn entries included.

    into : the user allows a folder that holds files of others

    Raises
    ------
    RecordError : there is no book
    InputError : the folder is somebody else's
    """
    path, folder = Path(path), Path(folder)
    if not path.exists():
        raise RecordError(f"{path}: there is no book yet, so there is nothing to export")
    with open_book(path, writing=False) as book:
        names = [
            row["name"]
            for row in book.rows("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT GLOB 'sqlite_*'")
        ]
        texts = {}
        for name in sorted(names):
            rows = book.rows(f"SELECT * FROM {name} ORDER BY rowid")
            columns = [column["name"] for column in book.rows(f"PRAGMA table_info({name})")]
            texts[f"{name}.csv"] = csv_text([columns, *(tuple(row) for row in rows)])
    with written_folder(folder, "stock export", into=into, inputs=[path]) as fresh:
        for file, text in texts.items():
            put(fresh / file, text)
    return tuple(folder / file for file in texts)
