"""Try the tests that run a planted line, the quickest first, in a forked process with the libraries already loaded."""

import importlib
import json
import os
import pickle
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
# far slower to load than our own modules, and never mistaken: loaded once, before the forks
LIBRARIES = (
    *("numpy", "scipy.stats", "shapely", "ezdxf", "fpdf", "fontTools.ttLib", "pint", "svgwrite", "svgelements"),
    *("tomlkit", "highspy", "click.testing", "hypothesis", "sqlite3", "xml.etree.ElementTree"),
)
NOT_ASKED = ("tests/demo/test_pictures.py", "tests/deep/", "tests/test_readme.py")  # fail at any change of the source
MEMORY = 6 << 30  # bytes that a mistake may take


@dataclass(frozen=True)
class Asked:
    """A test: what it costs by itself, and what it shares with others, which the first to ask pays."""

    name: str
    seconds: float
    shared: tuple[str, ...]


def copied(folder: Path) -> Path:
    """A copy of all files of the repository, compiled, to plant mistakes in."""
    listed = subprocess.run(
        ["git", "ls-files", "-coz", "--exclude-standard"], cwd=ROOT, check=True, capture_output=True, text=True
    )
    for name in filter(None, listed.stdout.split("\0")):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, folder / name)
    subprocess.run([sys.executable, "-m", "compileall", "-q", "flatgen"], cwd=folder, check=True)
    return folder


def surroundings(copy: Path) -> dict[str, str]:
    path = os.pathsep.join(str(copy / name) for name in ("", "tests", "tests/deep"))
    return {**os.environ, "PYTHONPATH": path}


class Covered:
    """Which tests run which line, as a run of the whole suite noted it (``covered.py``)."""

    def __init__(self, folder: Path) -> None:
        self.notes: dict[str, tuple[dict[str, int], float, set[str]]] = {}
        for file in folder.glob("*.pickle"):
            self.notes |= pickle.loads(file.read_bytes())
        self.failed = set((folder / "failed.txt").read_text("utf-8").splitlines())

    def shared_by(self, name: str) -> set[str]:
        """All that a test asks for from what tests share, and what making that asks for."""
        found, open_names = set(), list(self.notes[name][2])
        while open_names:
            one = open_names.pop()
            if one in self.notes and one not in found:
                found.add(one)
                open_names += self.notes[one][2]
        return found

    def tests_of(self, path: str, first: int, last: int) -> list[Asked]:
        """Tests that run one of the lines of a file, those first that run little else in little time."""
        wanted = ((1 << (last - first + 1)) - 1) << first
        found = []
        for name, (lines, seconds, _) in self.notes.items():
            if "::" not in name or name.startswith(NOT_ASKED) or name in self.failed:
                continue
            shared = self.shared_by(name)
            if any(one.get(path, 0) & wanted for one in (lines, *(self.notes[s][0] for s in shared))):
                found.append(Asked(name, seconds, tuple(sorted(shared))))
        cost = {one: sum(self.notes[s][1] for s in one.shared) for one in found}
        return sorted(found, key=lambda one: (one.seconds + cost[one], one.name))


def survey_lines(copy: Path, folder: Path, workers: int) -> None:
    """Run the whole suite once in the copy and keep what it ran in the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    words = [sys.executable, "-m", "pytest", "-p", "covered", "-q", "-rfE", "--tb=no", f"-n{workers}"]
    words += ["--dist=loadfile", *(f"--ignore={name}" for name in NOT_ASKED)]
    around = surroundings(copy) | {"COVERED": str(folder)}
    said = subprocess.run(words, cwd=copy, env=around, capture_output=True, text=True, check=False).stdout
    (folder / "said.txt").write_text(said, encoding="utf-8")
    fallen = [row.split()[1] for row in said.splitlines() if row.startswith(("FAILED ", "ERROR "))]
    (folder / "failed.txt").write_text("\n".join(fallen), encoding="utf-8")


class Chosen:
    """A plugin of pytest: the asked tests in their order, each within its time, and what fell first."""

    def __init__(self, tests: list[Asked], limit: float, say: Path) -> None:
        self.order = {one.name: k for k, one in enumerate(tests)}
        self.tests, self.limit, self.say = tests, limit, say
        self.paid: set[str] = set()
        signal.signal(signal.SIGVTALRM, lambda *_: pytest.fail("took far longer than it should"))

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted((one for one in items if one.nodeid in self.order), key=lambda one: self.order[one.nodeid])

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        if time.process_time() > self.limit:
            self.tell("late", item.nodeid)
            os._exit(9)
        asked = self.tests[self.order[item.nodeid]]
        signal.setitimer(signal.ITIMER_VIRTUAL, 40 + 10 * asked.seconds)
        try:
            return (yield)
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            self.tell("failed", report.nodeid)

    def pytest_collectreport(self, report: Any) -> None:
        if report.failed:
            self.tell("failed", report.nodeid)

    def tell(self, what: str, name: str) -> None:
        if not self.say.exists():
            self.say.write_text(json.dumps([what, name]), encoding="utf-8")


def load_libraries() -> None:
    for name in LIBRARIES:
        importlib.import_module(name)


def tried(copy: Path, tests: list[Asked], limit: float) -> tuple[str, str]:
    """``passed``, ``failed`` or ``late`` (no answer in so many seconds of processor), and the test where that was."""
    if not tests:
        return "passed", ""
    with tempfile.TemporaryDirectory() as base:
        say = Path(base) / "said.json"
        child = os.fork()
        if not child:
            run_here(copy, tests, limit, say, Path(base))
        deadline = time.monotonic() + 20 * limit
        while os.waitpid(child, os.WNOHANG)[0] == 0:
            if time.monotonic() > deadline:
                os.killpg(child, signal.SIGKILL)
            time.sleep(0.05)
        what, name = json.loads(say.read_text("utf-8")) if say.exists() else ("late", "the process ended")
        return what, name


def run_here(copy: Path, tests: list[Asked], limit: float, say: Path, base: Path) -> None:
    """In the forked process: run the tests; never returns."""
    os.setsid()
    os.chdir(copy)
    with (base / "printed").open("w") as printed:
        os.dup2(printed.fileno(), 1)
        os.dup2(printed.fileno(), 2)
    os.environ |= surroundings(copy) | {"PYTHONDONTWRITEBYTECODE": "1"}
    sys.dont_write_bytecode = True
    sys.path[:0] = [str(copy), str(copy / "tests"), str(copy / "tests" / "deep")]
    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY))
    files = list(dict.fromkeys(one.name.partition("::")[0] for one in tests))
    words = ["-x", "-q", "-p", "no:cacheprovider", "--tb=no", f"--basetemp={base / 'temp'}"]
    words += ["-W", "ignore::pytest.PytestAssertRewriteWarning", *files]  # a library was loaded before
    try:
        chosen = Chosen(tests, time.process_time() + limit, say)
        if pytest.main(words, plugins=[chosen]) == 0:
            chosen.tell("passed", "")
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(0)
