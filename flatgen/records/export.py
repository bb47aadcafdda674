"""The whole book as CSV files, a table each."""

import csv
import io
from pathlib import Path

from flatgen.errors import RecordError
from flatgen.records.book import open_book


def export_csv(path: Path | str, folder: Path | str) -> tuple[Path, ...]:
    """Every table of the book as a CSV file of its name, replaced and withdrawn entries included.

    Raises
    ------
    RecordError : there is no book, or a file of that name exists already
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
            buffer = io.StringIO()
            writer = csv.writer(buffer, lineterminator="\n")
            writer.writerow(columns)
            writer.writerows(tuple(row) for row in rows)
            texts[folder / f"{name}.csv"] = buffer.getvalue()
    taken = [file for file in texts if file.exists()]
    if taken:
        raise RecordError(f"{taken[0]}: there is such a file already; nothing was written")
    folder.mkdir(parents=True, exist_ok=True)
    for file, text in texts.items():
        file.write_text(text, encoding="utf-8", newline="")
    return tuple(texts)
