"""Two runs into one folder, runs that are killed, folders that must not be swapped."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from flatgen.errors import InputError
from flatgen.make import make
from flatgen.write.packet import replaced

TURNS = """
import sys
from pathlib import Path
from flatgen.write.packet import replaced
for k in range(150):
    with replaced(Path(sys.argv[1])) as fresh:
        for n in range(5):
            (fresh / f"{n}.txt").write_text(f"{sys.argv[2]} {k}")
"""
WAITS = """
import signal, sys, time
from pathlib import Path
from flatgen import __main__, cli
def stuck(prog_name):
    from flatgen.write.packet import replaced
    with replaced(Path(sys.argv[1])) as fresh:
        print("in", flush=True)
        time.sleep(60)
cli.flatgen = stuck
__main__.main()
"""


def test_runs_at_once_take_turns(tmp_path: Path) -> None:
    def run(name: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-c", TURNS, str(tmp_path / "out"), name], capture_output=True, text=True, check=False
        )

    with ThreadPoolExecutor() as pool:
        done = list(pool.map(run, ("a", "b", "c")))
    assert [""] * 3 == [one.stderr for one in done]
    assert len({path.read_text() for path in (tmp_path / "out").glob("*.txt")}) == 1
    assert [tmp_path / "out"] == list(tmp_path.iterdir())


@pytest.mark.skipif(sys.platform == "win32", reason="no such signal there")
def test_a_run_told_to_stop_leaves_nothing_behind(tmp_path: Path) -> None:
    with replaced(tmp_path / "out") as fresh:
        (fresh / "a.txt").write_text("old")
    with subprocess.Popen(
        [sys.executable, "-c", WAITS, str(tmp_path / "out")], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    ) as run:
        assert run.stdout and run.stdout.readline() == b"in\n"
        run.send_signal(signal.SIGTERM)
    assert (tmp_path / "out" / "a.txt").read_text() == "old"
    assert [tmp_path / "out"] == list(tmp_path.iterdir())


def test_a_packet_set_aside_by_a_run_that_was_killed_comes_back(tmp_path: Path) -> None:
    """Killed between the two renames: the old packet is whole, but not in its place."""
    aside = tmp_path / ".out.old-abc" / "old"
    aside.mkdir(parents=True)
    (aside / "notes.txt").write_text("mine")
    left, young = tmp_path / ".out.new-abc", tmp_path / ".out.new-def"
    for folder in (left, young):
        folder.mkdir()
    long_ago = time.time() - 100_000
    os.utime(left, (long_ago, long_ago))
    with replaced(tmp_path / "out") as fresh:
        (fresh / "a.txt").write_text("new")
    assert (tmp_path / "out" / "notes.txt").read_text() == "mine"
    assert sorted([tmp_path / "out", young]) == sorted(tmp_path.iterdir())


def test_a_link_to_the_folder_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "real" / "inner").symlink_to(tmp_path)
    (tmp_path / "out").symlink_to(tmp_path / "real")
    with replaced(tmp_path / "out") as fresh:
        (fresh / "a.txt").write_text("new")
    assert (tmp_path / "out").is_symlink() and (tmp_path / "real" / "a.txt").read_text() == "new"
    assert (tmp_path / "real" / "inner").is_symlink()


def test_the_folder_of_the_job_is_not_swapped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its shop's book may be open, and all that lies there would be copied."""
    (tmp_path / "job.toml").write_text("")
    with pytest.raises(InputError, match="holds the job itself"):
        make(tmp_path / "job.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match="holds the folder you are in"), replaced(Path()):
        pass
