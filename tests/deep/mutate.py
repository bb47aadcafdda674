"""Plant realistic mistakes one at a time in a copy of the program and see which ones the tests catch.

``python tests/deep/mutate.py [ROOM…] --count 40 --seed 1 --limit 600 --workers 1``

A table by room comes last; every survivor is told with its line before and after. The tree itself is never touched.
"""

import argparse
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import Queue

sys.path.insert(0, str(Path(__file__).resolve().parent))

from mistakes import Mistake, changes, mistakes

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("core", "develop", "checks", "brake", "nest", "draw", "write", "records", "read", "tally")
ALSO = {"develop": ["properties"], "draw": ["page", "packet"], "write": ["packet"], "tally": ["jobs"]}
COPIED = ("flatgen", "profiles", "tests", "examples", "pyproject.toml", "README.md", "DEVELOPERS.md", "CHANGELOG.md")
CAUGHT, SURVIVED, LATE, BROKEN = "caught", "survived", "out of time", "fails anyway"


@dataclass(frozen=True)
class Planted:
    """A mistake in a file of the package, and what became of it."""

    path: Path
    mistake: Mistake

    @property
    def room(self) -> str:
        return self.path.parts[1]

    def told(self) -> str:
        """Where it is, and its line before and after."""
        sound = (ROOT / self.path).read_bytes()
        old, new = (
            text.decode().splitlines()[self.mistake.line - 1].strip() for text in (sound, self.mistake.planted(sound))
        )
        return f"{self.path}:{self.mistake.line} {self.mistake.kind}\n    - {old}\n    + {new}"


def drawn(rooms: tuple[str, ...], count: int, seed: int) -> list[Planted]:
    """So many mistakes, as many in each room, drawn without regard to the tests."""
    chance, all_of = random.Random(seed), {}
    for room in rooms:
        paths = sorted(path.relative_to(ROOT) for path in (ROOT / "flatgen" / room).rglob("*.py"))
        all_of[room] = [Planted(path, one) for path in paths for one in mistakes((ROOT / path).read_bytes())]
        chance.shuffle(all_of[room])

    def next_of(room: str) -> Planted:
        one: Planted = all_of[room].pop()
        return one if changes((ROOT / one.path).read_bytes(), one.mistake) else next_of(room)

    return [next_of(rooms[k % len(rooms)]) for k in range(count)]


def copied(folder: Path) -> Path:
    """A copy of the tree to plant mistakes in."""
    folder.mkdir()
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "out"))
        elif (ROOT / name).exists():
            shutil.copy(ROOT / name, folder / name)
    return folder


def tests_of(path: Path, copy: Path) -> list[str]:
    """Tests that mirror a module: those that name it, then those of its room, then the demo and published values."""
    dotted = ".".join(path.with_suffix("").parts)
    folders = [path.parts[1], *ALSO.get(path.parts[1], ()), "demo", "reference"]
    found = [test for name in folders for test in sorted((copy / "tests" / name).glob("test_*.py"))]
    naming = re.compile(rf"{re.escape(dotted)}\b|from {re.escape(dotted.rpartition('.')[0])} import .*\b{path.stem}\b")
    found.sort(key=lambda test: not (naming.search(test.read_text("utf-8")) or path.stem in test.stem))
    return [str(test.relative_to(copy)) for test in found]


def run_tests(copy: Path, tests: list[str], limit: float) -> tuple[int | None, str]:
    """Exit status of pytest, None when it took longer than ``limit`` seconds, and what it printed."""
    words = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--no-header", "--tb=no", *tests]
    around = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    with tempfile.TemporaryFile("w+") as said:
        process = subprocess.Popen(words, cwd=copy, env=around, stdout=said, stderr=said, start_new_session=True)
        try:
            status: int | None = process.wait(limit)
        except subprocess.TimeoutExpired:
            status = None
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
        said.seek(0)
        return status, said.read()


def verdict(planted: Planted, copy: Path, limit: float) -> tuple[str, str]:
    """What became of a mistake, and the test that caught it. A test that fails without it too has caught nothing."""
    path = copy / planted.path
    sound = (ROOT / planted.path).read_bytes()
    path.write_bytes(planted.mistake.planted(sound))
    try:
        status, said = run_tests(copy, tests_of(planted.path, copy), limit)
    finally:
        path.write_bytes(sound)
    if not status:
        return (LATE if status is None else SURVIVED), ""
    failed = re.findall(r"^(?:FAILED|ERROR) (tests/\S+)", said, re.MULTILINE)
    if failed and run_tests(copy, failed[:1], limit)[0] != 0:
        return BROKEN, failed[0]
    return CAUGHT, failed[0] if failed else said.strip().splitlines()[-1]


def table(verdicts: list[tuple[Planted, str]]) -> str:
    """How many of each room came to what."""
    counts = Counter((planted.room, came) for planted, came in verdicts)
    rows = [f"| room | {CAUGHT} | {SURVIVED} | {LATE} | {BROKEN} |", "| --- | ---: | ---: | ---: | ---: |"]
    for room in [*dict.fromkeys(planted.room for planted, _ in verdicts)]:
        rows.append(f"| {room} | " + " | ".join(str(counts[room, c]) for c in (CAUGHT, SURVIVED, LATE, BROKEN)) + " |")
    total = Counter(came for _, came in verdicts)
    return "\n".join([*rows, "| all | " + " | ".join(str(total[c]) for c in (CAUGHT, SURVIVED, LATE, BROKEN)) + " |"])


def survey(plan: list[Planted], workers: int, limit: float) -> list[tuple[Planted, str]]:
    """Plant each mistake, tell what became of it, and return that."""
    with tempfile.TemporaryDirectory(prefix="mistakes-") as base, ThreadPoolExecutor(workers) as pool:
        copies: Queue[Path] = Queue()
        for k in range(workers):
            copies.put(copied(Path(base) / str(k)))

        def one(planted: Planted) -> tuple[Planted, str]:
            copy = copies.get()
            try:
                came, by = verdict(planted, copy, limit)
            finally:
                copies.put(copy)
            print(f"{came} {by} {planted.told()}", flush=True)
            return planted, came

        return list(pool.map(one, plan))


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("room", nargs="*", choices=[*ROOMS, []], help="rooms of flatgen/; all by default")
    asked.add_argument("--count", type=int, default=40)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--limit", type=float, default=600.0, help="seconds for the tests of one mistake")
    asked.add_argument("--workers", type=int, default=1)
    given = asked.parse_args()
    plan = drawn(tuple(given.room) or ROOMS, given.count, given.seed)
    print(table(survey(plan, given.workers, given.limit)))


if __name__ == "__main__":
    main()
