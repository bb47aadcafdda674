"""A folder that is written into: whose it is, what stays, what is replaced, what is refused."""

import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from snapshots import snapshot, somebody_elses

from flatgen.errors import FlatgenError, InputError
from flatgen.output import disk, manifest
from flatgen.output.folder import written_folder

TURNS = """
import sys
from pathlib import Path
from flatgen.output.folder import written_folder
for k in range(40):
    with written_folder(Path(sys.argv[1]), "make", gone=lambda name: True) as fresh:
        for n in range(5):
            (fresh / f"{n}.txt").write_text(f"{sys.argv[2]} {k}")
"""


def write(out: Path, by: str = "make", into: bool = False, inputs: tuple[Path, ...] = (), **texts: str) -> None:
    """Write files, named with _ for / and the ending txt; what an earlier run wrote and this one does not goes."""
    with written_folder(out, by, into=into, inputs=inputs, gone=lambda name: True) as fresh:
        for name, text in texts.items():
            path = fresh / (name.replace("_", "/") + ".txt")
            path.parent.mkdir(exist_ok=True)
            path.write_text(text)


def names(folder: Path) -> list[str]:
    return sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*"))


def test_what_the_user_put_there_stays_and_what_we_wrote_is_replaced(tmp_path: Path) -> None:
    out = tmp_path / "a" / "out"
    write(out, a="1", blanks_b="1", old_c="1")
    (out / "notes.txt").write_text("mine")
    (out / "old" / "mine.txt").write_text("mine")
    (out / "empty").mkdir()
    (out / "a.txt").chmod(0o640)
    write(out, a="2", blanks_d="2")
    assert names(out) == [manifest.NAME, "a.txt", "blanks", "blanks/d.txt", "empty", "notes.txt", "old", "old/mine.txt"]
    assert (out / "a.txt").read_text() == "2" and (out / "a.txt").stat().st_mode & 0o777 == 0o640
    assert (out / "notes.txt").read_text() == "mine"


def test_the_list_names_each_file_with_its_digest(tmp_path: Path) -> None:
    """SHA-256 of "abc": FIPS 180-4, example of NIST."""
    write(tmp_path / "out", blanks_a="abc")
    data = json.loads((tmp_path / "out" / manifest.NAME).read_text())
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert data["files"] == {"blanks/a.txt": {"sha256": digest, "size": 3, "by": "make"}}
    assert data["folders"] == ["blanks"]


def test_a_file_that_somebody_changed_is_made_anew_and_kept_where_it_is_not(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, a="1", b="1")
    for name in ("a.txt", "b.txt"):
        (out / name).write_text("changed")
    write(out, a="2")
    assert (out / "a.txt").read_text() == "2" and (out / "b.txt").read_text() == "changed"
    with pytest.raises(InputError, match=r"b\.txt: flatgen did not write this"):
        write(out, b="3")


def test_a_folder_of_somebody_else_stays_as_it_is(tmp_path: Path) -> None:
    """Refused; where it may be written into, each file in the way of ours is refused, whatever it is."""
    out = somebody_elses(tmp_path / "theirs")
    before = snapshot(out)
    with pytest.raises(InputError, match="holds files that flatgen did not write"):
        write(out, new="1")
    assert snapshot(out) == before
    for name in ("index.html", "packet.pdf", "templates.pdf", "empty", "nests/x", "lost", "deep/er/notes.txt/x"):
        with pytest.raises(InputError, match="move"), written_folder(out, "make", into=True) as fresh:
            (fresh / name).parent.mkdir(parents=True, exist_ok=True)
            (fresh / name).write_text("1")
        assert snapshot(out) == before


def test_files_are_put_beside_those_of_somebody_else(tmp_path: Path) -> None:
    out = somebody_elses(tmp_path / "theirs")
    before = snapshot(out)
    write(out, into=True, blanks_new="1", fresh="1")
    after = snapshot(out)
    assert {"blanks/new.txt", "fresh.txt", manifest.NAME} == set(after) - set(before)
    assert all(after[name] == before[name] for name in before if name not in (".", "blanks"))
    write(out, fresh="2")
    assert "blanks/new.txt" not in snapshot(out) and (out / "blanks" / "TF-101.dxf").exists()


def test_a_file_of_another_command_is_not_replaced(tmp_path: Path) -> None:
    write(tmp_path / "out", a="1", b="1")
    write(tmp_path / "out", "blank", c="2")
    with pytest.raises(InputError, match=r"a\.txt: flatgen make wrote this file"):
        write(tmp_path / "out", "blank", a="2")
    write(tmp_path / "out", a="3")
    assert names(tmp_path / "out") == [manifest.NAME, "a.txt", "c.txt"]


def test_a_folder_above_one_that_we_made_is_ours_too(tmp_path: Path) -> None:
    write(tmp_path / "out" / "blanks", a="1")
    write(tmp_path / "out", b="1")
    assert (tmp_path / "out" / "blanks" / "a.txt").exists()


def test_what_the_job_is_read_from_is_not_replaced(tmp_path: Path) -> None:
    """An outline drawn from a drawing of ours, also under a second name."""
    out = tmp_path / "out"
    write(out, outline="1")
    os.link(out / "outline.txt", tmp_path / "second.txt")
    for own in (out / "outline.txt", tmp_path / "second.txt"):
        with pytest.raises(InputError, match="is read for what is to be written"):
            write(out, inputs=(own,), outline="2")
    assert (out / "outline.txt").read_text() == "1"


def test_links_to_the_folder_are_followed_and_those_in_it_are_not(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "out").symlink_to(tmp_path / "real")
    write(tmp_path / "out", a="1", sub_b="1")
    assert (tmp_path / "out").is_symlink() and (tmp_path / "real" / "a.txt").read_text() == "1"
    (tmp_path / "real" / "a.txt").replace(tmp_path / "elsewhere.txt")
    (tmp_path / "real" / "a.txt").symlink_to(tmp_path / "elsewhere.txt")
    with pytest.raises(InputError, match="did not write this"):
        write(tmp_path / "out", a="2", sub_b="2")
    (tmp_path / "lost").symlink_to(tmp_path / "nowhere")
    with pytest.raises(InputError, match="leads nowhere"):
        write(tmp_path / "lost", a="1")
    assert (tmp_path / "elsewhere.txt").read_text() == "1" and not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("listed", ['{"format": "other"}', "[]", "{", '"files"', "\xff"])
def test_a_damaged_list_is_refused(tmp_path: Path, listed: str) -> None:
    write(tmp_path / "out", a="1")
    (tmp_path / "out" / manifest.NAME).write_text(listed, encoding="latin-1")
    with pytest.raises(InputError, match="list of what flatgen wrote is damaged"):
        write(tmp_path / "out", a="2")


@pytest.mark.parametrize("name", ["../x", "/x", "a/../../x", "", ".", "c:x", "a\\b", "a\0b"])
def test_a_list_cannot_lead_out_of_its_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError):
        manifest.inside(name)
    entry = {"sha256": "", "size": 0, "by": "make"}
    (tmp_path / manifest.NAME).write_text(
        json.dumps({"format": manifest.FORMAT, "files": {name: entry}, "folders": []})
    )
    with pytest.raises(InputError, match="damaged"):
        write(tmp_path, a="1")


def test_a_failure_leaves_all_as_it_was(tmp_path: Path) -> None:
    write(tmp_path / "out", a="1")
    before = snapshot(tmp_path)
    with pytest.raises(RuntimeError), written_folder(tmp_path / "out", "make") as fresh:
        (fresh / "a.txt").write_text("half")
        raise RuntimeError
    with pytest.raises(RuntimeError), written_folder(tmp_path / "new" / "er", "make") as fresh:
        raise RuntimeError
    assert snapshot(tmp_path)["out/a.txt"] == before["out/a.txt"] and set(snapshot(tmp_path)) == set(before)


def test_a_file_in_the_way_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("x")
    with pytest.raises(InputError, match="this is no folder"):
        write(tmp_path / "out", a="1")
    with pytest.raises(FlatgenError, match=r"cannot be written \(Not a directory\)"):
        write(tmp_path / "out" / "below", a="1")


@pytest.mark.parametrize("before", ["", "import sys; sys.modules['fcntl'] = None"])
def test_runs_at_once_take_turns(tmp_path: Path, before: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where the system has no locks on folders."""
    (tmp_path / "turns").mkdir()
    monkeypatch.setenv("TMPDIR", str(tmp_path / "turns"))

    def run(name: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-c", before + TURNS, str(tmp_path / "out"), name],
            capture_output=True,
            text=True,
            check=False,
        )

    with ThreadPoolExecutor() as pool:
        done = list(pool.map(run, ("a", "b", "c")))
    assert [""] * 3 == [one.stderr for one in done]
    assert len({path.read_text() for path in (tmp_path / "out").glob("*.txt")}) == 1
    assert {tmp_path / "out", tmp_path / "turns"} == set(tmp_path.iterdir())
    assert len(names(tmp_path / "out")) == 6 and bool(before) == any((tmp_path / "turns").iterdir())


def test_a_second_name_is_a_copy_where_the_disk_has_no_hard_links(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", none)
    write(tmp_path / "out", a="1")
    write(tmp_path / "out", a="2")
    assert (tmp_path / "out" / "a.txt").read_text() == "2"
    disk.put(tmp_path / "x", b"1")
    with pytest.raises(FileExistsError):
        disk.put(tmp_path / "x", b"2")
