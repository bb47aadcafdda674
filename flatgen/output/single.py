"""A file that a person names, and the few files of the user's own that a command changes.

A named file that stands there already is replaced only where it bears flatgen's mark for its format: a PDF that another
program made is as safe as a job file.
"""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from flatgen.errors import InputError
from flatgen.output import disk, manifest
from flatgen.output.folder import is_ours
from flatgen.output.journal import STAGE
from flatgen.output.place import alone, kind_of, make_parents, real, refuse_inputs, told, unmake

SVG_MARK = HTML_MARK = "<!-- written by flatgen -->"
# format -> how such a file begins, and what it holds when it is of our making
MARKS: Mapping[str, tuple[bytes, bytes]] = {
    "pdf": (b"%PDF-", b"/Creator (flatgen)"),
    "svg": (b"<?xml", SVG_MARK.encode()),
    "html": (b"<!doctype html>", HTML_MARK.encode()),
}


@contextmanager
def written_file(out: Path, kind: str, by: str, inputs: Iterable[Path] = ()) -> Iterator[Path]:
    """A new file to write, which takes the place of ``out`` when all went well; else ``out`` stays as it was.

    kind : of MARKS
    by, inputs : as of a folder

    Raises InputError and FlatgenError as for a folder.
    """
    check_file(out, kind, by, inputs)
    out = real(out)
    aside = _aside(out)
    with told((aside, out)):
        made = make_parents(out.parent)
        try:
            with alone(out.parent):
                listed = bool(made) or is_ours(out.parent)
                with _put_in_place(aside, out):
                    yield aside
                if listed:
                    _list(out, by)
        except BaseException:
            unmake(made)
            raise


def check_file(out: Path, kind: str, by: str, inputs: Iterable[Path] = ()) -> None:
    """Raise InputError where ``written_file`` would, before anything is computed or entered."""
    out = real(out)
    refuse_inputs((out,), inputs)
    found = kind_of(out)
    if found == "nothing":
        return
    if found != "file":
        raise InputError("this is no ordinary file; name another", file=out)
    begins, holds = MARKS[kind]
    with told():
        content = out.read_bytes()
    if not (content.startswith(begins) and holds in content):
        raise InputError(f"there is a file already that is no {kind.upper()} of flatgen's; name another", file=out)
    entry = manifest.read(out.parent).files.get(out.name)
    if entry is not None and entry.by != by:
        raise InputError(f"flatgen {entry.by} wrote this file; name another", file=out)


def _list(out: Path, by: str) -> None:
    """Enter the file in the list of its folder."""
    old = manifest.read(out.parent)
    files = {**old.files, out.name: manifest.written(out, by)}
    replace_text(out.parent / manifest.NAME, manifest.Manifest(files, old.folders).as_text(), locked=True)


def replace_text(path: Path, text: str, *, locked: bool = False) -> None:
    """Write a text file of the user's or ours anew, whole or not at all; mode, owner and a link to it stay.

    locked : nobody else writes in the folder just now
    """
    path = path.resolve()
    aside = _aside(path)
    with told((aside, path)):
        if locked:
            with _put_in_place(aside, path):
                disk.put(aside, text, safe=True)
            return
        with alone(path.parent):
            replace_text(path, text, locked=True)


def new_files(texts: Mapping[Path, str]) -> None:
    """Write files that must not be there yet, all or none; they are the user's from then on."""
    for folder in dict.fromkeys(path.parent for path in texts):
        with told():
            make_parents(folder.resolve())
    done: list[Path] = []
    try:
        with told():
            for path, text in texts.items():
                disk.put(path, text)
                done.append(path)
    except BaseException:
        for path in done:
            disk.remove(path)
        raise


def take_away(path: Path) -> None:
    """Take a file of ours away."""
    with told():
        disk.remove(path)


def _aside(path: Path) -> Path:
    return path.with_name(f".{path.name}{STAGE}")


@contextmanager
def _put_in_place(aside: Path, target: Path) -> Iterator[None]:
    """What is written aside takes the target's place; what a killed run left there goes first."""
    if kind_of(aside) == "file":
        disk.remove(aside)
    try:
        yield
        if kind_of(target) == "file":
            disk.like(aside, target)
        disk.move(aside, target)
    finally:
        if kind_of(aside) == "file":
            disk.remove(aside)
