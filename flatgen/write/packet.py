"""The folder of a job: written whole beside the old one, then put in its place.

What an earlier run wrote is known from its list of files; anything else in the folder is the user's and is kept.
"""

import glob
import importlib
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from flatgen.errors import FlatgenError, InputError
from flatgen.model.packet import Enclosure
from flatgen.model.results import Results

LISTED = ".written-by-flatgen"
LEFT_BEHIND = 86_400.0  # age at which an unfinished folder is nobody's any more [s]


def write_packet(results: Results, enclosures: Sequence[Enclosure], out: Path) -> None:
    """Everything that the job came to, as files under ``out``."""
    from flatgen.write import cut_list, packet_page, packet_pdf, results_json

    with replaced(out) as folder:
        for enclosure in enclosures:
            _write_drawings(enclosure, folder)
        (folder / "cut-list.csv").write_text(cut_list.as_text(results), encoding="utf-8")
        results_json.write(results, folder / "results.json")
        packet_pdf.write(results, enclosures, folder / "packet.pdf")
        (folder / "index.html").write_text(packet_page.as_text(results, enclosures), encoding="utf-8")


def _write_drawings(enclosure: Enclosure, folder: Path) -> None:
    """One file a format; the format's name is that of the module that writes it."""
    for name, ending in zip(enclosure.files, enclosure.formats, strict=True):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        exporter = importlib.import_module(f"flatgen.write.{ending}")
        if ending == "pdf":
            exporter.write_pages(enclosure.drawings, path)
        else:
            exporter.write(enclosure.drawings[0], path)


@contextmanager
def replaced(out: Path) -> Iterator[Path]:
    """A new folder to write into, which takes the place of ``out`` when all went well; else ``out`` stays as it was.

    Runs into the same folder take turns at putting theirs in its place: the last one to finish stays.
    """
    out = out.resolve()
    if not _may_be_a_folder(out):
        raise FlatgenError(f"{out} is a file; name a folder for the packet")
    if Path.cwd().is_relative_to(out):
        raise InputError(f"{out} holds the folder you are in; name a folder of its own for the packet")
    out.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=f".{out.name}.new-", dir=out.parent))
    try:
        fresh.chmod(0o755)
        yield fresh
        written = sorted(str(p.relative_to(fresh)) for p in fresh.rglob("*") if p.is_file())
        (fresh / LISTED).write_text("\n".join(written) + "\n", encoding="utf-8")
        with _alone(out):
            _mend(out)
            _put_in_place(fresh, out)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _may_be_a_folder(out: Path) -> bool:
    """Whether nothing but a folder stands here; asked once, since another run may be changing it just now."""
    try:
        return stat.S_ISDIR(out.stat().st_mode)
    except FileNotFoundError:
        return True


def _put_in_place(fresh: Path, out: Path) -> None:
    if not out.exists():
        fresh.replace(out)
        return
    _keep_what_is_not_ours(out, fresh)
    aside = Path(tempfile.mkdtemp(prefix=f".{out.name}.old-", dir=out.parent))
    out.replace(aside / "old")
    try:
        fresh.replace(out)
    except BaseException:  # an interruption too must leave the old packet in its place
        if not out.exists():
            (aside / "old").replace(out)
        raise
    finally:
        if out.exists():
            shutil.rmtree(aside, ignore_errors=True)


def _mend(out: Path) -> None:
    """Put back or clear away what a run left that was killed outright; nobody else is at it now."""
    for aside in out.parent.glob(f"{glob.escape(f'.{out.name}.old-')}*"):
        if not out.exists() and (aside / "old").is_dir():
            (aside / "old").replace(out)
        shutil.rmtree(aside, ignore_errors=True)
    for fresh in out.parent.glob(f"{glob.escape(f'.{out.name}.new-')}*"):
        with suppress(OSError):  # a run that failed clears its own away just now
            if time.time() - fresh.stat().st_mtime > LEFT_BEHIND:
                shutil.rmtree(fresh, ignore_errors=True)


@contextmanager
def _alone(out: Path) -> Iterator[None]:
    """Wait until no other run is putting its folder in the same place."""
    try:
        import fcntl
    except ImportError:  # a system without such locks does not rename a folder that is in use either
        yield
        return
    try:
        folder = os.open(out.parent, os.O_RDONLY)
    except OSError:  # may be written but not read: no way to wait here
        yield
        return
    try:
        with suppress(OSError):  # a disk far away may have no locks
            fcntl.flock(folder, fcntl.LOCK_EX)
        yield
    finally:
        os.close(folder)


def _keep_what_is_not_ours(out: Path, fresh: Path) -> None:
    """Copy files that no earlier run wrote into the new folder, where they have no namesake."""
    listed = out / LISTED
    ours = set(listed.read_text(encoding="utf-8").splitlines()) if listed.is_file() else set()
    for path in sorted(out.rglob("*")):
        name = str(path.relative_to(out))
        folder = path.is_dir() and not path.is_symlink()
        if folder or name in ours or name == LISTED or (fresh / name).exists():
            continue
        (fresh / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, fresh / name, follow_symlinks=False)
