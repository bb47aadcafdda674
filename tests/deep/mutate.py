"""Plant realistic mistakes one at a time in a copy of the program and see which ones the tests catch.

``python tests/deep/mutate.py [ROOM…] --count 400 --seed 1 --limit 60 --covered FOLDER``, from Python 3.12 on.

Which tests run which lines is noted once, in a run of the suite, and kept in the folder. A table by room comes last;
every survivor is told with its line before and after. The tree itself is never touched.
"""

import argparse
import multiprocessing
import os
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from mistakes import Mistake, changes, mistakes
from trying import ROOT, Asked, Covered, copied, load_libraries, survey_lines, tried

ROOMS = (
    *("core", "develop", "checks", "brake", "nest", "draw", "page", "write", "records", "read", "tally"),
    *("output", "jobs", "cli"),
)
CAUGHT, SURVIVED, LATE, UNRUN = "caught", "survived", "out of time", "run by no test"
ENDS = (CAUGHT, SURVIVED, LATE, UNRUN)


@dataclass(frozen=True)
class Planted:
    """A mistake in a file of the package."""

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
    sources = {room: shuffled(room, seed) for room in rooms}
    return [next(sources[rooms[k % len(rooms)]]) for k in range(count)]


def shuffled(room: str, seed: int) -> Iterator[Planted]:
    """The mistakes of a room in an order of the seed: kinds by turns, so that the rarer ones are seen."""
    chance = random.Random(f"{seed}/{room}")
    paths = sorted(path.relative_to(ROOT) for path in (ROOT / "flatgen" / room).rglob("*.py"))
    by_kind: dict[str, list[Planted]] = {}
    for path in paths:
        for one in mistakes((ROOT / path).read_bytes()):
            by_kind.setdefault(one.kind, []).append(Planted(path, one))
    for found in by_kind.values():
        chance.shuffle(found)
    while by_kind:
        kinds = [*by_kind]
        kind = chance.choices(kinds, [len(by_kind[kind]) ** 0.5 for kind in kinds])[0]
        one = by_kind[kind].pop()
        if not by_kind[kind]:
            del by_kind[kind]
        if changes((ROOT / one.path).read_bytes(), one.mistake):
            yield one


class Bench:
    """A copy to plant mistakes in, and which tests run what."""

    def __init__(self, copy: Path, covered: Path, limit: float) -> None:
        self.copy, self.limit, self.covered = copy, limit, Covered(covered)
        self.anyway: dict[str, bool] = {}
        load_libraries()

    def falls_anyway(self, name: str) -> bool:
        if name not in self.anyway:
            self.anyway[name] = tried(self.copy, [Asked(name, 1.0, ())], self.limit)[0] != "passed"
        return self.anyway[name]

    def verdict(self, planted: Planted) -> tuple[str, str]:
        """What became of a mistake, and the test that caught it: one that falls without it too has caught nothing."""
        sound = (ROOT / planted.path).read_bytes()
        lines = [sound.count(b"\n", 0, at) + 1 for at in (planted.mistake.start, planted.mistake.end)]
        tests = self.covered.tests_of(planted.path.relative_to("flatgen").as_posix(), *lines)
        if not tests:
            return UNRUN, ""
        path = self.copy / planted.path
        when = path.stat()
        came, name = "failed", ""
        while came == "failed":
            path.write_bytes(planted.mistake.planted(sound))
            try:
                came, name = tried(self.copy, tests, self.limit)
            finally:
                path.write_bytes(sound)
                os.utime(path, ns=(when.st_atime_ns, when.st_mtime_ns))
            if came != "failed" or name not in {one.name for one in tests} or not self.falls_anyway(name):
                break
            tests = [one for one in tests if one.name != name]
        return {"failed": CAUGHT, "late": LATE, "passed": SURVIVED}[came], name


benches: list[Bench] = []  # one, in each process of the pool


def furnish(base: Path, covered: Path, limit: float) -> None:
    benches.append(Bench(copied(base / str(os.getpid())), covered, limit))


def one(planted: Planted) -> tuple[str, str]:
    return benches[0].verdict(planted)


def survey(plan: list[Planted], workers: int, limit: float, covered: Path) -> list[tuple[Planted, str]]:
    """Plant each mistake, tell what became of it, and return that."""
    came = []
    with tempfile.TemporaryDirectory(prefix="mistakes-") as base:
        if not (covered / "failed.txt").exists():
            survey_lines(copied(Path(base) / "survey"), covered, workers)
        fork = multiprocessing.get_context("fork")
        with ProcessPoolExecutor(workers, fork, furnish, (Path(base), covered, limit)) as pool:
            for planted, (what, by) in zip(plan, pool.map(one, plan), strict=True):
                print(f"{what} {by} {planted.told()}", flush=True)
                came.append((planted, what))
    return came


def table(verdicts: list[tuple[Planted, str]]) -> str:
    """How many of each room came to what."""
    counts = Counter((planted.room, came) for planted, came in verdicts)
    rows = [f"| room | {' | '.join(ENDS)} |", "| --- |" + " ---: |" * len(ENDS)]
    for room in [*dict.fromkeys(planted.room for planted, _ in verdicts)]:
        rows.append(f"| {room} | " + " | ".join(str(counts[room, end]) for end in ENDS) + " |")
    total = Counter(came for _, came in verdicts)
    return "\n".join([*rows, "| all | " + " | ".join(str(total[end]) for end in ENDS) + " |"])


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("room", nargs="*", choices=[*ROOMS, []], help="rooms of flatgen/; all by default")
    asked.add_argument("--count", type=int, default=400)
    asked.add_argument("--first", type=int, default=0, help="leave so many out")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--limit", type=float, default=60.0, help="seconds of processor for the tests of one mistake")
    asked.add_argument("--workers", type=int, default=1)
    asked.add_argument("--covered", type=Path, required=True, help="folder for the notes of which test runs which line")
    given = asked.parse_args()
    plan = drawn(tuple(given.room) or ROOMS, given.first + given.count, given.seed)[given.first :]
    print(table(survey(plan, given.workers, given.limit, given.covered.resolve())))


if __name__ == "__main__":
    main()
