"""Photographs of pieces, coupons and rejects: copied beside the book under their digest, and entered in the tally."""

import hashlib
from pathlib import Path

from flatgen import budget
from flatgen.errors import InputError
from flatgen.model.tally import Event
from flatgen.output.disk import put as put_file
from flatgen.records.book import Book, open_book
from flatgen.records.tally import events, put

LARGEST = 64 * 1024 * 1024  # of one photograph [bytes]
HEADS = (b"\xff\xd8\xff", b"\x89PNG", b"RIFF", b"GIF8", b"II*\x00", b"MM\x00*")
HEIC = b"ftyp"


def folder_of(book: Path) -> Path:
    """Where the photographs of a book lie."""
    return book.with_name(f"{book.stem}-photographs")


def photos_of(book: Book, job: str) -> tuple[tuple[Event, bytes | None], ...]:
    """Photographs of a job in order, with their bytes; None where the copy is gone or another file."""
    found = []
    for event in events(book, job, "photo"):
        file = folder_of(Path(book.path)) / Path(event.facts["file"]).name
        data = budget.content(file, LARGEST) if file.is_file() else b""
        whole = hashlib.sha256(data).hexdigest() == event.facts["digest"]
        found.append((event, data if whole else None))
    return tuple(found)


def keep_photo(path: Path, job: str, part: str, file: Path, about: str, by: str, note: str) -> tuple[int, Path]:
    """Copy a photograph beside the book and enter it; its number and the copy. One that is there is not copied again.

    Raises
    ------
    InputError : it is no picture, or too large
    """
    data = budget.content(file, LARGEST)
    if not data.startswith(HEADS) and data[4:8] != HEIC:
        raise InputError("this is no photograph (JPEG, PNG, WebP, GIF, TIFF or HEIC)", file=file)
    digest = hashlib.sha256(data).hexdigest()
    kept = folder_of(path) / f"{digest}{file.suffix.lower()}"
    kept.parent.mkdir(exist_ok=True)
    if not kept.exists():
        put_file(kept, data, safe=True)
    facts = {"digest": digest, "file": kept.name}
    with open_book(path) as book, book.entering():
        why = f"of {about}" if about else ""
        return put(book, job, Event("photo", part, why=why, note=note or kept.name, by=by, facts=facts)), kept
