"""Runs that are killed at any step, disks that are full, read only or mounted: no file is half, none is missing."""

import errno
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from snapshots import snapshot

from flatgen.errors import FlatgenError
from flatgen.output import disk, manifest
from flatgen.output.disk import put
from flatgen.output.folder import finish, written_folder
from flatgen.output.single import written_file

CHANGES = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "os.chmod", "os.chown", "os.utime"}
OLD = ("a", "gone/d", "index.html", "stays/c")
NEW = ("a", "index.html", "new/b", "stays/c")


def first(out: Path) -> None:
    with written_folder(out, "make", gone=lambda name: True) as fresh:
        for name in OLD:
            (fresh / name).parent.mkdir(exist_ok=True)
            (fresh / name).write_text(f"old {name}")
    (out / "stays" / "mine").write_text("mine")
    (out / "stays" / "c").chmod(0o640)


def second(out: Path) -> None:
    with written_folder(out, "make", gone=lambda name: True) as fresh:
        for name in NEW:
            (fresh / name).parent.mkdir(exist_ok=True)
            put(fresh / name, f"new {name}")


def ended(work: Callable[[Path], None], out: Path, step: int) -> bool:
    """Whether a run was over before its change of the disk with this number; just before that it is ended, as by a
    power cut, in a process of its own that the system tells of every change."""
    child = os.fork()
    if not child:
        left = step

        def hook(event: str, args: tuple[object, ...]) -> None:
            nonlocal left
            flags = args[2] if event == "open" else 0
            writes = isinstance(flags, int) and flags & (os.O_WRONLY | os.O_RDWR)
            left -= event in CHANGES or bool(writes)
            if not left:
                os._exit(9)

        sys.addaudithook(hook)
        try:
            work(out)
        finally:
            os._exit(0)
    return os.waitpid(child, 0)[1] == 0


def contents(folder: Path) -> dict[str, str]:
    return {p.relative_to(folder).as_posix(): p.read_text() for p in folder.rglob("*") if p.is_file()}


def texts(folder: Path) -> dict[str, str]:
    """Files but those of a run that is under way."""
    return {name: text for name, text in contents(folder).items() if not name.startswith(".")}


def is_whole(out: Path, fresh: bool) -> None:
    """Each file is the old or the new one; the page is there, and is new only when all that it leads to is."""
    found = texts(out)
    assert all(text in (f"old {name}", f"new {name}", "mine") for name, text in found.items())
    assert fresh or (out / "index.html").is_file()
    if found.get("index.html") == "new index.html":
        assert {name: f"new {name}" for name in NEW}.items() <= found.items()


@pytest.mark.parametrize("fresh", [False, True])
def test_a_run_that_is_killed_at_any_step_is_finished_or_undone_by_the_next(tmp_path: Path, fresh: bool) -> None:
    """Killed once, and the next run, that only finishes, killed a few steps later too."""
    step, whole, states = 0, False, set()
    while not whole:
        step += 1
        out = tmp_path / f"out-{step}"
        if not fresh:
            first(out)
        whole = ended(second, out, step)
        if not out.exists():
            continue
        is_whole(out, fresh)
        whole = ended(finish, out, 1 + step % 5) and whole
        is_whole(out, fresh)
        finish(out)
        states.add(tuple(sorted(texts(out).items())))
        assert not (out / ".flatgen-new").exists()
        second(out)
        wanted = {name: f"new {name}" for name in NEW} | ({} if fresh else {"stays/mine": "mine"})
        assert texts(out) == wanted and set(manifest.read(out).files) == set(NEW)
        assert fresh or (out / "stays" / "c").stat().st_mode & 0o777 == 0o640
        assert not (out / "gone").exists()
    assert len(states) == 2  # the old packet or the new one, never something between
    assert step > (25 if fresh else 35)


def test_a_file_put_in_the_way_of_a_run_that_was_killed_stays(tmp_path: Path) -> None:
    step, out = 0, tmp_path / "out-0"
    while not (out / ".flatgen-new" / "journal.json").exists():
        step += 1
        out = tmp_path / f"out-{step}"
        first(out)
        ended(second, out, step)
    (out / "new").mkdir()
    (out / "new" / "b").write_text("mine")
    with pytest.raises(FlatgenError, match=r"new/b: flatgen did not write this"):
        finish(out)
    assert (out / "new" / "b").read_text() == "mine"


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EACCES, errno.EXDEV, errno.EDQUOT])
@pytest.mark.parametrize("step", ["put", "second_name", "move", "like", "make_folder", "remove_folder"])
def test_a_step_that_fails_names_the_file_and_all_is_as_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, number: int
) -> None:
    """Full, read only, forbidden, another disk, no more allowed: each kind of step, the first and every later one."""
    out, do = tmp_path / "out", getattr(disk, step)
    first(out)
    before, failed, nth = snapshot(out), True, 0
    while failed:
        nth += 1
        count = 0

        def fail(*paths: Path, at: int = nth, **more: bool) -> None:
            nonlocal count
            count += 1
            if count == at:
                raise OSError(number, os.strerror(number), *[str(path) for path in paths[:1]])
            do(*paths, **more)

        monkeypatch.setattr(disk, step, fail)
        try:
            second(out)
            failed = False
        except FlatgenError as error:
            assert re.search(rf"out\S*: cannot be written \({os.strerror(number)}\); what was there", str(error))
            assert snapshot(out) == {**before, **{k: v for k, v in snapshot(out).items() if k in ("stays", "gone")}}
    assert nth > 1


@pytest.fixture
def disk_of_its_own(tmp_path: Path) -> Iterator[Path]:
    """A mount point, half a megabyte large; a common folder where the system does not let us mount one."""
    place = tmp_path / "disk"
    place.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=512k", "none", str(place)], check=False)
    yield place
    if not mounted.returncode:
        subprocess.run(["umount", str(place)], check=True)


def test_the_folder_may_be_a_mount_point(disk_of_its_own: Path) -> None:
    first(disk_of_its_own)
    before = snapshot(disk_of_its_own)
    if disk_of_its_own.is_mount():
        full = pytest.raises(FlatgenError, match=r"big/b: cannot be written \(No space left on device\)")
        with full, written_folder(disk_of_its_own, "make") as fresh:
            (fresh / "big").mkdir()
            put(fresh / "big" / "b", bytes(600_000))
        assert snapshot(disk_of_its_own) == before
    second(disk_of_its_own)
    assert texts(disk_of_its_own) == {name: f"new {name}" for name in NEW} | {"stays/mine": "mine"}


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES])
@pytest.mark.parametrize("step", ["put", "move"])
def test_a_file_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, number: int) -> None:
    def fail(path: Path, *_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number), str(path))

    monkeypatch.setattr(disk, step, fail)
    with (
        pytest.raises(FlatgenError, match=rf"new/x\.pdf: cannot be written \({os.strerror(number)}"),
        written_file(tmp_path / "new" / "x.pdf", "pdf", "setup") as path,
    ):
        disk.put(path, b"%PDF-")
    assert [] == list(tmp_path.iterdir())
