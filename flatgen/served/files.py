"""The job's files as the bench page changes them: the files stay the truth, and nobody's change is lost.

``Desk.change`` takes small changes that were made on a text of some revision. What others changed in the file meanwhile
is kept: where they changed other keys both stand, where they changed the same the answer is a ``Conflict`` that shows
both, and nothing is written. A text is read as a job before it is written, so that the files always hold together.
"""

import hashlib
import threading
import tomllib
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.errors import InputError
from flatgen.model.job import Job
from flatgen.output.single import new_files, replace_text
from flatgen.write import csv_edits, edits
from flatgen.write.edits import Append, Drop, Edit, Named, Place, Set

__all__ = ["Append", "Conflict", "Desk", "Document", "Drop", "Edit", "Named", "Pending", "Set"]

SUFFIXES = (".toml", ".csv")
LONGEST = 200  # name [characters]
OF_FILES = frozenset(("shop", "sizes", "profile", "book", "outline"))  # keys that name files
LISTS = frozenset(("part", "waive", "brake", "tool", "sheet", "drill"))
TABLES = frozenset(("parameter", "flange", "face", "printer", "tolerance", "minutes", "offcut"))
MOST_KEPT = 400  # revisions of texts that are remembered
MARK = "\ufeff"


@dataclass(frozen=True, slots=True)
class Document:
    """The text of a file, and its revision: another for every other text; "" for a file that is not there."""

    name: str
    text: str
    revision: str

    @property
    def tree(self) -> dict[str, Any]:
        """What the text says, less what is no list or table where one must be; empty where it cannot be read."""
        try:
            tree = _tree(self.name, self.text)
            return tree if self.name.endswith(".csv") else _shaped(tree)
        except (InputError, tomllib.TOMLDecodeError):
            return {}


@dataclass(frozen=True, slots=True)
class Conflict:
    """A change that was not made, since the same was changed in the file meanwhile.

    theirs : the file as it is now
    mine : what was wanted
    rows : for each place that both changed: what it was, what the file says now, what was wanted
    """

    theirs: Document
    mine: tuple[Edit, ...]
    rows: tuple[tuple[str, str, str, str], ...]

    def __str__(self) -> str:
        """One sentence."""
        places = "; ".join(row[0] for row in self.rows)
        return f"{self.theirs.name} was changed meanwhile, in the same place: {places}. Nothing was written"


@dataclass(frozen=True, slots=True)
class Pending:
    """What was typed and cannot be, with the sentence that says why; the file has what it had."""

    text: str
    sentence: str


@dataclass(slots=True)
class Desk:
    """The files of one job for one session of the page.

    job_path : the job's file, which need not be there yet
    news : what was undone or made once more last, for the next page that is shown
    """

    job_path: Path
    pending: dict[tuple[str, Place], Pending] = field(default_factory=dict)
    news: str = ""
    _texts: OrderedDict[str, tuple[str, str]] = field(default_factory=OrderedDict)
    _done: list[tuple[str, str, str]] = field(default_factory=list)
    _undone: list[tuple[str, str, str]] = field(default_factory=list)
    _lock: threading.RLock = field(default_factory=threading.RLock)
    _job: tuple[Any, Job] | None = None

    @property
    def folder(self) -> Path:
        """Where the job's files lie; nothing outside it is read or written by name."""
        return self.job_path.parent

    @property
    def job_name(self) -> str:
        """The job's file, as a name of this desk."""
        return self.job_path.name

    @property
    def shop_name(self) -> str:
        """The job's shop file, as a name of this desk."""
        return str(self.text(self.job_name).tree.get("shop", "shop.toml"))

    def path(self, name: str) -> Path:
        """The file of a name; InputError for anything that is no description within the job's folder."""
        path = self.folder / name
        if self._leads_out(name) or Path(name).is_absolute() or ".." in name:
            raise InputError("this lies outside the job's folder; change it there by hand", file=name)
        if path.suffix.lower() not in SUFFIXES or any(part.startswith(".") for part in Path(name).parts):
            raise InputError("the page changes descriptions (.toml) and tables of sizes (.csv) only", file=name)
        return path

    def _leads_out(self, name: str) -> bool:
        """Whether a name, or a link on its way, leads out of the job's folder, or nowhere."""
        try:
            return len(name) > LONGEST or not (self.folder / name).resolve().is_relative_to(self.folder.resolve())
        except (OSError, RuntimeError, ValueError):  # links in a ring; a null character
            return True

    def text(self, name: str) -> Document:
        """A file as it is on disk now."""
        path = self.path(name)
        try:
            text = budget.content(path).decode("utf-8") if path.exists() else ""
        except UnicodeDecodeError as error:
            raise InputError(f"this is not UTF-8 text (byte {error.start})", file=name) from None
        found = Document(name, text, _revision(text) if path.exists() else "")
        self._keep(found)
        return found

    def as_of(self, name: str, revision: str) -> Document:
        """A file as it was at a revision that was shown in this session; as it is now where that is not known."""
        own, text = self._texts.get(revision, ("", ""))
        return Document(name, text, revision) if own == name else self.text(name)

    def job(self) -> Job:
        """The job as its files and the shop's book say now, with or without parts; InputError where that fails."""
        from flatgen.jobs.loading import load

        with self._lock:
            if self._job is not None and self._job[0] == self._state(self._job[1]):
                return self._job[1]
            job = load(self.job_path, begun=True)
            self._job = (self._state(job), job)
            return job

    def change(self, name: str, revision: str, edits: Sequence[Edit]) -> Document | Conflict:
        """Make changes of a file's keys that were thought of on its text of this revision.

        Raises
        ------
        InputError : the job could not be read with these changes; nothing was written
        """
        with self._lock:
            now = self.text(name)
            if not (now.revision or revision):
                raise InputError("there is no such file", file=name)
            self.stay_inside(name, edits)
            wanted = tuple(edits)
            if now.revision != revision:
                found = self._met(now, revision, wanted)
                if isinstance(found, Conflict):
                    return found
                wanted = found
            written = self._write(now, _applied(name, now.text, wanted))
            if written is None:
                return self.change(name, revision, edits)
            for edit in edits:
                self.pending.pop((name, edit.path), None)
            return written

    def put(self, name: str, revision: str, text: str) -> Document | Conflict:
        """Write a whole file, new where the revision is ""; a Conflict where it is another by now."""
        with self._lock:
            now = self.text(name)
            if now.revision not in (revision, _revision(text)):
                return Conflict(now, (Set((), text),), (("the whole file", "", now.text, text),))
            return self._write(now, text) or self.put(name, revision, text)

    def stay_inside(self, name: str, edits: Sequence[Edit]) -> None:
        """Raise InputError where a change would have files outside the folder read, or written."""
        for edit in edits:
            given = {edit.path[-1]: edit.value} if isinstance(edit, Set) else getattr(edit, "table", {})
            for key in OF_FILES & given.keys():
                outside = self._leads_out(str(given[key]))
                if outside and (key == "book" or budget.is_there(self.folder / str(given[key]))):
                    raise InputError(
                        "this lies outside the job's folder; name it there by hand", file=name, where=str(key)
                    )

    def keep(self, name: str, place: Place, text: str, sentence: str) -> None:
        """Remember what was typed and cannot be."""
        self.pending[name, place] = Pending(text, sentence)

    def undo(self) -> Document | Conflict | None:
        """Take the last change of this session back; None when there is none."""
        return self._step(self._done, self._undone, "Undone")

    def redo(self) -> Document | Conflict | None:
        """Make the last change that was taken back once more; None when there is none."""
        return self._step(self._undone, self._done, "Made once more")

    @property
    def can(self) -> tuple[bool, bool]:
        """Whether there is something to undo, and to redo."""
        return bool(self._done), bool(self._undone)

    def check(self, texts: dict[str, str]) -> None:
        """Raise InputError where the job cannot be read with these texts in place of its files."""
        from flatgen.jobs.loading import load

        held = {self.path(name): text.removeprefix(MARK) for name, text in texts.items()}
        for name, text in texts.items():
            _tree(name, text)
        with budget.instead(held):
            if budget.is_there(self.job_path):
                load(self.job_path, begun=True)

    def _state(self, job: Job) -> tuple[Any, ...]:
        from flatgen.records.book import book_path

        book = book_path(job.shop)
        watched = (self.job_path, *job.sources, book, book.with_name(f"{book.name}-wal"))
        return tuple((str(path), budget.stamp(path)) for path in watched)

    def _keep(self, document: Document) -> None:
        if document.revision not in self._texts:
            self._texts[document.revision] = (document.name, document.text)
            while len(self._texts) > MOST_KEPT:
                self._texts.popitem(last=False)

    def _met(self, now: Document, revision: str, wanted: tuple[Edit, ...]) -> tuple[Edit, ...] | Conflict:
        """The changes by names, so that they hit the same things in the text of now; or where they meet others'."""
        own, text = self._texts.get(revision, (now.name, ""))
        before = Document(now.name, text if own == now.name else "", revision).tree
        others = edits.differences(before, now.tree)
        rows: list[tuple[str, str, str, str]] = []
        named: list[Edit] = []
        for edit in wanted:
            place = edits.touched(before, edit)
            value = edit.value if isinstance(edit, Set) else edit.table if isinstance(edit, Append) else None
            for other, (old, new) in others.items():
                if edits.meet(place, other) and not (place == other and new == value):
                    rows.append((edits.said(place), _shown(old), _shown(new), _shown(value)))
            named.append(_moved(edit, place))
        return Conflict(now, wanted, tuple(rows)) if rows else tuple(named)

    def _write(self, now: Document, text: str) -> Document | None:
        """The file written; None where others changed it while the text was looked at, and nothing was written."""
        if text == now.text:
            return now
        self.check({now.name: text})
        if self.text(now.name) != now:
            return None
        self._put_down(now, text)
        if now.revision:
            self._done.append((now.name, now.text, text))
            self._undone.clear()
        return self.text(now.name)

    def _put_down(self, now: Document, text: str) -> None:
        path = self.path(now.name)
        if now.revision:
            replace_text(path, text)
        else:
            new_files({path: text})

    def _step(
        self, taken: list[tuple[str, str, str]], given: list[tuple[str, str, str]], word: str
    ) -> Document | Conflict | None:
        """The last change taken back, also where others changed the file since; it is put on the other pile."""
        with self._lock:
            if not taken:
                return None
            name, before, after = taken[-1]
            now = self.text(name)
            text = before
            if now.text != after:
                wanted = tuple(edits.back(_tree(name, before), _tree(name, after)))
                found = self._met(now, self._known(name, after), wanted)
                if isinstance(found, Conflict):
                    return found
                text = _applied(name, now.text, found)
            self.check({name: text})
            if self.text(name) != now:
                return self._step(taken, given, word)
            self._put_down(now, text)
            taken.pop()
            given.append((name, now.text, text))
            self.news = _news(word, name, edits.differences(now.tree, _tree(name, text)))
            return self.text(name)

    def _known(self, name: str, text: str) -> str:
        document = Document(name, text, _revision(text))
        self._keep(document)
        return document.revision


def _news(word: str, name: str, changed: Mapping[Place, tuple[Any, Any]]) -> str:
    """What a step back or forth changed, in one sentence."""
    shown = []
    for place, (_, new) in changed.items():
        now = "gone" if new is None else "back" if isinstance(new, Mapping | list) else f"{new} again"
        shown.append(f"{edits.said(place)} is {now}")
    more = f"; and {len(shown) - 2} more" if len(shown) > 2 else ""
    return f"{word} in {name}: {'; '.join(shown[:2])}{more}." if shown else f"{word} in {name}: a remark."


def _moved(edit: Edit, place: Place) -> Edit:
    if isinstance(edit, Append):
        return Append(place[:-1], edit.table)
    return Set(place, edit.value) if isinstance(edit, Set) else Drop(place)


def _applied(name: str, text: str, wanted: Sequence[Edit]) -> str:
    make: Callable[[str, Sequence[Edit]], str] = csv_edits.applied if name.endswith(".csv") else edits.applied
    return make(text, wanted)


def _tree(name: str, text: str) -> dict[str, Any]:
    """What a text says; InputError where it cannot be read."""
    if name.endswith(".csv"):
        return dict(csv_edits.rows_of(text))
    from flatgen.read.keys import open_toml

    return open_toml(Path(name), text.removeprefix(MARK)).data


def _shaped(tree: dict[str, Any]) -> dict[str, Any]:
    """A description whose lists hold tables and whose tables are some; what is neither stands for nothing."""
    for key, value in list(tree.items()):
        named = key == "tool" and isinstance(value, str)  # a job's, of the shop's
        if (key in LISTS and not (edits.is_rows(value) or named)) or (key in TABLES and not isinstance(value, dict)):
            del tree[key]
    for outer, inner in (("brake", "nose"), ("part", "holes"), ("part", "fits")):
        for row in tree.get(outer, []):
            if not edits.is_rows(row.get(inner, [])):
                del row[inner]
    if tree.get("units", "in") not in ("in", "mm"):
        del tree["units"]
    return tree


def _revision(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:20]


def _shown(value: Any) -> str:
    return "nothing" if value is None else str(value)
