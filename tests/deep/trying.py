"""Try mistakes on tests that are collected already, each in a forked process where only that code is another."""

import gc
import json
import os
import pickle
import pkgutil
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))

from mistakes import Mistake

ROOT = Path(__file__).resolve().parents[2]
NOT_ASKED = ("tests/demo/test_pictures.py", "tests/deep/", "tests/test_readme.py")  # fall at any change of the source
ELSEWHERE = 2.0  # s that a test of another room may be quicker without coming first
MEMORY = 6 << 30  # bytes that a mistake may take
PASSED, FELL, LATE = "passed", "fell", "late"


@dataclass(frozen=True)
class Planted:
    """A mistake in a file of the package."""

    path: Path
    mistake: Mistake

    @property
    def room(self) -> str:
        return self.path.parts[1]

    @property
    def lines(self) -> tuple[int, int]:
        """First and last line of what is replaced."""
        sound = (ROOT / self.path).read_bytes()
        return sound.count(b"\n", 0, self.mistake.start) + 1, sound.count(b"\n", 0, self.mistake.end) + 1

    def told(self) -> str:
        """Where it is, and its line before and after."""
        sound = (ROOT / self.path).read_bytes()
        old, new = (
            text.decode().splitlines()[self.mistake.line - 1].strip() for text in (sound, self.mistake.planted(sound))
        )
        return f"{self.path}:{self.mistake.line} {self.mistake.kind}\n    - {old}\n    + {new}"


Say = Callable[[Planted, str, str], None]  # a mistake, what became of it, the test where


@dataclass(frozen=True)
class Asked:
    """A test: what it costs by itself, and what it shares with others, which the first to ask pays."""

    name: str
    seconds: float
    shared: tuple[str, ...]


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
        """Tests that run one of the lines of a file, the quickest first; those of another room a little later."""
        wanted = ((1 << (last - first + 1)) - 1) << first
        found: list[Asked] = []
        for name, (lines, seconds, _) in self.notes.items():
            if "::" not in name or name.startswith(NOT_ASKED) or name in self.failed:
                continue
            shared = self.shared_by(name)
            if any(one.get(path, 0) & wanted for one in (lines, *(self.notes[s][0] for s in shared))):
                found.append(Asked(name, seconds, tuple(sorted(shared))))

        def rank(one: Asked) -> tuple[float, str]:
            near = one.name.startswith((f"tests/{path.partition('/')[0]}/", f"flatgen/{path}"))
            cost = one.seconds + sum(self.notes[s][1] for s in one.shared)
            return (cost if near or Path(path).stem in one.name else cost + ELSEWHERE), one.name

        return sorted(found, key=rank)


def around() -> dict[str, str]:
    path = os.pathsep.join(str(ROOT / name) for name in ("", "tests", "tests/deep"))
    return {**os.environ, "PYTHONPATH": path}


def survey_lines(folder: Path, workers: int) -> None:
    """Run the whole suite once and keep in the folder which lines each test ran."""
    folder.mkdir(parents=True, exist_ok=True)
    words = [sys.executable, "-m", "pytest", "-p", "covered", "-q", "-rfE", "--tb=no", f"-n{workers}"]
    words += ["--dist=loadfile", *(f"--ignore={name}" for name in NOT_ASKED)]
    told = around() | {"COVERED": str(folder)}
    said = subprocess.run(words, cwd=ROOT, env=told, capture_output=True, text=True, check=False).stdout
    fallen = [row.split()[1] for row in said.splitlines() if row.startswith(("FAILED ", "ERROR "))]
    (folder / "failed.txt").write_text("\n".join(fallen), encoding="utf-8")


def functions() -> dict[tuple[str, str, int], list[FunctionType]]:
    """Every function of the package that lives, wrapped ones and those within others too, by where it was written."""
    import flatgen

    for found in pkgutil.walk_packages(flatgen.__path__, "flatgen."):
        if not found.name.endswith("__main__"):
            import_module(found.name)
    living: dict[tuple[str, str, int], list[FunctionType]] = {}
    for one in gc.get_objects():
        if type(one) is FunctionType:
            living.setdefault(key_of(one.__code__), []).append(one)
    return living


def key_of(code: CodeType) -> tuple[str, str, int]:
    return code.co_filename, code.co_qualname, code.co_firstlineno


def codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for one in code.co_consts:
        if isinstance(one, CodeType):
            yield from codes(one)


def plant(planted: Planted, living: dict[tuple[str, str, int], list[FunctionType]]) -> None:
    """Give the functions of a file the code that they would have with the mistake."""
    path = ROOT / planted.path
    mistaken = compile(planted.mistake.planted(path.read_bytes()), str(path), "exec")
    for code in codes(mistaken):
        for one in living.get(key_of(code), ()):
            if one.__code__ != code:
                one.__code__ = code


class Loop:
    """A plugin of pytest: in place of the tests' own loop, tries each mistake on the tests that run its line.

    work : for each mistake its tests; of no mistake, whether the test falls anyway
    """

    def __init__(
        self,
        plan: list[Planted],
        covered: Covered,
        limit: float,
        workers: int,
        say: Say,
    ) -> None:
        self.plan, self.covered, self.limit, self.workers, self.say = plan, covered, limit, workers, say
        self.items: dict[str, pytest.Item] = {}
        self.anyway: dict[str, bool] = {}
        self.fell = ""

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            self.fell = report.nodeid

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {item.nodeid: item for item in session.items}
        self.living = functions()
        gc.collect()
        gc.freeze()
        with tempfile.TemporaryDirectory(prefix="mistakes-") as base:
            open_ones: dict[int, tuple[Planted, list[Asked], Path]] = {}
            for number, planted in enumerate(self.plan):
                first, last = planted.lines
                tests = self.covered.tests_of(planted.path.relative_to("flatgen").as_posix(), first, last)
                tests = [one for one in tests if one.name in self.items]
                if not tests:
                    self.say(planted, "run by no test", "")
                    continue
                while len(open_ones) >= self.workers:
                    self.gather(open_ones)
                place = Path(base) / str(number)
                open_ones[self.begun(planted, tests, place)] = (planted, tests, place)
            while open_ones:
                self.gather(open_ones)
        return True

    def begun(self, planted: Planted | None, tests: list[Asked], place: Path) -> int:
        """The number of a process that tries the tests and writes into ``place`` what came of it."""
        place.mkdir()
        child = os.fork()
        if not child:
            try:
                self.try_here(planted, tests, place)
            finally:
                os._exit(0)
        return child

    def gather(self, open_ones: dict[int, tuple[Planted, list[Asked], Path]]) -> None:
        """Wait for one of the processes, and tell what came of its mistake."""
        number, _ = os.wait()
        planted, tests, place = open_ones.pop(number)
        came, name = result(place)
        if came == FELL and self.falls_anyway(name, place.with_name(f"{place.name}-sound")):
            rest = tests[1 + [one.name for one in tests].index(name) :]
            again = place.with_name(f"{place.name}-again-{len(rest)}")
            open_ones[self.begun(planted, rest, again)] = (planted, rest, again)
            return
        self.say(planted, {PASSED: "survived", FELL: "caught", LATE: "out of time"}[came], name)

    def falls_anyway(self, name: str, place: Path) -> bool:
        """Whether a test falls without a mistake too."""
        if name not in self.anyway:
            os.waitpid(self.begun(None, [Asked(name, 1.0, ())], place), 0)
            self.anyway[name] = result(place)[0] == FELL
        return self.anyway[name]

    def try_here(self, planted: Planted | None, tests: list[Asked], place: Path) -> None:
        """In the forked process."""
        with (place / "printed").open("w") as printed:
            os.dup2(printed.fileno(), 1)
            os.dup2(printed.fileno(), 2)
        resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (int(4 * self.limit) + 60, int(4 * self.limit) + 90))
        signal.signal(signal.SIGVTALRM, lambda *_: pytest.fail("took far longer than it should"))
        if planted:
            plant(planted, self.living)
        came = (PASSED, "")
        for one, following in zip(tests, [*tests[1:], None], strict=True):
            if time.process_time() > self.limit:
                came = (LATE, one.name)
                break
            item = self.items[one.name]
            vars(item.config)["_tmp_path_factory"]._given_basetemp = place / "temp"
            signal.setitimer(signal.ITIMER_VIRTUAL, 40 + 10 * one.seconds)
            nextitem = self.items[following.name] if following else None
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=nextitem)
            if self.fell:
                came = (FELL, one.name)
                break
        (place / "came.json").write_text(json.dumps(came), encoding="utf-8")


def result(place: Path) -> tuple[str, str]:
    """What a process wrote before it ended; one that wrote nothing was ended by its limits, or by the mistake."""
    written = place / "came.json"
    came, name = json.loads(written.read_text("utf-8")) if written.exists() else (LATE, "the process ended")
    shutil.rmtree(place, ignore_errors=True)
    return came, name


def tried(
    plan: list[Planted], covered: Path, limit: float, workers: int, say: Callable[[Planted, str, str], None]
) -> None:
    """Collect all tests once, then try each mistake; ``say`` is told what became of each."""
    os.chdir(ROOT)
    sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "deep")]
    words = ["-q", "-p", "no:cacheprovider", "--tb=no", "--capture=sys", *(f"--ignore={name}" for name in NOT_ASKED)]
    pytest.main(words, plugins=[Loop(plan, Covered(covered), limit, workers, say)])
