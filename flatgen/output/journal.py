"""One run into a folder: staged beside what is there, then put in place file by file, and no step leaves a half file.

The stage is a folder of its own within OUT, so that it lies on the same disk even where OUT is a mount point. In it,
``files/`` holds what is to come, ``old/`` what it replaced, and the journal, written last, says that all is staged.
A run that is killed before the journal stands is undone by the next; after that it is finished. A run that fails is
undone at once. The page of a packet comes last, then what no run needs any more goes, then the list is renewed.
"""

import hashlib
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatgen.errors import InputError
from flatgen.output import disk, manifest
from flatgen.output.manifest import Manifest, Written
from flatgen.output.place import kind_of

STAGE = ".flatgen-new"
FILES, OLD, JOURNAL, LIST = "files", "old", "journal.json", "list.json"
LAST = "index.html"


@dataclass(frozen=True, slots=True)
class Run:
    """What a staged run will do to the folder ``out``: paths in it, in the order in which they come."""

    out: Path
    files: tuple[str, ...]
    gone: tuple[str, ...]  # written by an earlier run of the command and not any more
    folders: tuple[str, ...]  # to be made, outermost first
    left: tuple[str, ...]  # made by an earlier run; taken away where they are empty now

    @property
    def stage(self) -> Path:
        """The folder of ours within."""
        return self.out / STAGE

    def as_text(self) -> str:
        """The journal."""
        parts = {"files": self.files, "gone": self.gone, "folders": self.folders, "left": self.left}
        return json.dumps({"format": manifest.FORMAT, **parts}, indent=1) + "\n"


def open_stage(out: Path) -> Path:
    """A new folder to write into."""
    stage = out / STAGE
    disk.make_folder(stage)
    disk.make_folder(stage / FILES)
    disk.make_folder(stage / OLD)
    return stage / FILES


def staged(out: Path, by: str, old: Manifest, gone: Callable[[str], bool]) -> tuple[Run, Manifest]:
    """What the files in the stage come to: the steps, and the list as it will be.

    gone : whether a file that an earlier run of the same command wrote, and this one does not, is to go
    """
    here = out / STAGE / FILES
    found = [path.relative_to(here).as_posix() for path in sorted(here.rglob("*")) if path.is_file()]
    files = tuple(sorted(found, key=lambda name: (name == LAST, name)))
    wanted = {str(folder) for name in files for folder in Path(name).parents if folder != Path()}
    folders = tuple(name for name in sorted(wanted) if kind_of(out / name) == "nothing")
    unlisted = {name for name in old.of(by) - set(files) if gone(name)}
    kept = {name: entry for name, entry in old.files.items() if name not in unlisted}
    new = kept | {name: manifest.written(here / name, by) for name in files}
    stay = {str(folder) for name in new for folder in Path(name).parents}
    ours = {*old.folders, *folders}
    left = tuple(sorted(ours - stay, reverse=True))
    run = Run(out, files, tuple(n for n in sorted(unlisted) if _untouched(out / n, old.files[n])), folders, left)
    return run, Manifest(new, tuple(sorted(ours & stay)))


def _untouched(path: Path, entry: Written) -> bool:
    """Whether a file is still what was written; what somebody changed since is now his."""
    return kind_of(path) == "file" and manifest.written(path, entry.by) == entry


def commit(run: Run, new: Manifest) -> None:
    """Put what is staged in its place; when a step fails, all is as before and the error goes on."""
    for name in run.files:
        if kind_of(run.out / name) == "file":
            disk.like(run.stage / FILES / name, run.out / name)
    disk.put(run.stage / LIST, new.as_text())
    disk.put(run.stage / (JOURNAL + ".part"), run.as_text(), safe=True)
    disk.move(run.stage / (JOURNAL + ".part"), run.stage / JOURNAL)
    try:
        _forward(run)
    except BaseException:
        _back(run)
        raise
    disk.clear(run.stage)


def _forward(run: Run) -> None:
    """The steps, each of them only where it has not been done yet."""
    for name in run.folders:
        if kind_of(run.out / name) == "nothing":
            disk.make_folder(run.out / name)
    for name in run.files:
        fresh, target = run.stage / FILES / name, run.out / name
        if kind_of(fresh) == "nothing":
            continue
        aside = _aside(run, name)
        if kind_of(target) == "file" and kind_of(aside) == "nothing":
            disk.second_name(target, aside)
        disk.move(fresh, target)
    for name in run.gone:
        if kind_of(run.out / name) == "file":
            disk.move(run.out / name, _aside(run, name))
    for name in run.left:
        disk.remove_folder(run.out / name)
    if kind_of(run.stage / LIST) == "file":
        if manifest.exists(run.out):
            disk.like(run.stage / LIST, run.out / manifest.NAME)
        disk.move(run.stage / LIST, run.out / manifest.NAME)


def _aside(run: Run, name: str) -> Path:
    """Where a file of before is kept until the run is over; not in folders, which would be steps of their own."""
    return run.stage / OLD / hashlib.sha256(name.encode()).hexdigest()


def _back(run: Run) -> None:
    """Undo the steps that were done, the last first."""
    for name in reversed(run.gone):
        aside = _aside(run, name)
        if kind_of(aside) == "file":
            (run.out / name).parent.mkdir(parents=True, exist_ok=True)
            disk.move(aside, run.out / name)
    for name in reversed(run.files):
        aside = _aside(run, name)
        if kind_of(run.stage / FILES / name) == "file":
            continue
        if kind_of(aside) == "file":
            disk.move(aside, run.out / name)
        elif kind_of(run.out / name) == "file":
            disk.remove(run.out / name)
    for name in reversed(run.folders):
        disk.remove_folder(run.out / name)
    disk.clear(run.stage)


def recover(out: Path) -> None:
    """Finish or undo what a run left that was killed; nobody else is at it now.

    Raises InputError where the folder of that name is not ours, or somebody put a file in the way meanwhile.
    """
    stage = out / STAGE
    kind = kind_of(stage)
    if kind == "nothing":
        return
    known = {FILES, OLD, JOURNAL, LIST, JOURNAL + ".part"}
    if kind != "folder" or not {path.name for path in stage.iterdir()} <= known:
        raise InputError(
            "flatgen stages files under this name, but this is not of its making; move it away", file=stage
        )
    run = _read(out)
    if run is not None:
        old = manifest.read(out)
        refuse_foreign(out, [n for n in run.files if kind_of(stage / FILES / n) == "file"], old)
        _forward(run)
    disk.clear(stage)


def _read(out: Path) -> Run | None:
    path = out / STAGE / JOURNAL
    if kind_of(path) != "file":
        return None
    try:
        data: Any = json.loads(path.read_bytes())
        lists = [tuple(manifest.inside(name) for name in data[key]) for key in ("files", "gone", "folders", "left")]
        return Run(out, *lists)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise InputError("this journal of a run that was ended is damaged; take its folder away", file=path) from error


def refuse_foreign(out: Path, names: Iterable[str], old: Manifest, by: str = "") -> None:
    """Raise InputError when something that flatgen, or this command, did not write stands where a file is to come."""
    for name in names:
        for folder in reversed(Path(name).parents[:-1]):
            if kind_of(out / folder) not in ("folder", "nothing"):
                raise InputError("a folder is to come here; move away what stands in its place", file=out / folder)
        kind = kind_of(out / name)
        if kind != "nothing" and (kind != "file" or name not in old.files):
            message = "flatgen did not write this and leaves it as it is; move it away, or name another folder"
            raise InputError(message, file=out / name)
        if kind == "file" and by and old.files[name].by != by:
            raise InputError(f"flatgen {old.files[name].by} wrote this file; name another folder", file=out / name)
