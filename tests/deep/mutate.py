"""Plant realistic mistakes one at a time in the running program and see which ones the tests catch.

``python tests/deep/mutate.py [ROOM…] --count 400 --seed 1 --limit 60 --covered FOLDER``, from Python 3.12 on.

Which tests run which lines is noted once, in a run of the suite, and kept in the folder. A table by room comes last;
every survivor is told with its line before and after. No file is touched.
"""

import argparse
import os
import random
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from mistakes import changes, mistakes
from trying import ROOT, Planted, survey_lines, tried

ROOMS = (
    *("core", "develop", "checks", "brake", "nest", "draw", "page", "write", "records", "read", "tally"),
    *("output", "jobs", "cli"),
)
CAUGHT, SURVIVED, LATE, UNRUN = "caught", "survived", "out of time", "run by no test"
ENDS = (CAUGHT, SURVIVED, LATE, UNRUN)


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
    covered = given.covered.resolve()
    if not (covered / "failed.txt").exists():
        survey_lines(covered, given.workers)
    came: list[tuple[Planted, str]] = []

    def say(planted: Planted, what: str, by: str) -> None:
        os.write(told, f"{what} {by} {planted.told()}\n".encode())
        came.append((planted, what))

    told = os.dup(1)  # pytest keeps what is printed while it runs
    tried(plan, covered, given.limit, given.workers, say)
    print(table(came))


if __name__ == "__main__":
    main()
