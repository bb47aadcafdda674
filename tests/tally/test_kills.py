"""A kill at any moment: what was acknowledged is there, and nothing half; two people at once both count."""

import os
import random
import signal
import time
import warnings
from collections import Counter
from pathlib import Path

import pytest

from flatgen.model.tally import Event, Ordered
from flatgen.records.book import open_book
from flatgen.records.tally import enter, events, tally

JOB = "Oxbow kills"
ORDER = [Ordered("P", 10**6, ("b1", "b2"), drilled=True)]


def person(path: Path, said: Path, name: str, rounds: int = 10**9) -> int:
    """Somebody who cuts three and finds two of them good, which implies their bends, on and on; the process's id."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if child:
        return child
    try:
        with said.open("w") as output:
            for _ in range(rounds):
                for kind, pieces in (("cut", 3), ("good", 2)):
                    enter(path, JOB, [Event(kind, "P", pieces, by=name)], ORDER, basis={})
                    output.write(f"{kind} {pieces}\n")
                    output.flush()
    except BaseException as error:
        said.write_text(f"{error!r}\n")
        os._exit(1)
    os._exit(0)


def acknowledged(said: Path) -> Counter[str]:
    found: Counter[str] = Counter()
    for line in said.read_text().splitlines(keepends=True) if said.exists() else ():
        if line.endswith("\n"):
            kind, pieces = line.split()
            found[kind] += int(pieces)
    return found


def whole(path: Path) -> Counter[str]:
    """What the book has by kind; every good piece has its bends, entered with it."""
    with open_book(path, writing=False) as book:
        found = events(book, JOB)
        (counts,) = tally(book, JOB, ORDER)
    total: Counter[str] = Counter()
    for event in found:
        total[event.kind] += event.pieces
    good = {event.id for event in found if event.kind == "good"}
    own = Counter(event.follows for event in found if event.follows is not None)
    assert own == Counter(dict.fromkeys(good, 3))
    assert (total["cut"], total["good"]) == (counts.cut, counts.good)
    return total


@pytest.mark.parametrize("kills", [4, pytest.param(200, marks=pytest.mark.deep)])
def test_what_was_acknowledged_is_there_and_nothing_half(kills: int, tmp_path: Path) -> None:
    path, said = tmp_path / "book.sqlite", tmp_path / "said.txt"
    sure: Counter[str] = Counter()
    for _ in range(kills):
        said.unlink(missing_ok=True)
        child = person(path, said, "anna")
        until = time.monotonic() + 60.0
        while not acknowledged(said) and time.monotonic() < until:
            time.sleep(0.001)
        time.sleep(random.uniform(0.0, 0.08))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        sure += acknowledged(said)
        there = whole(path)
        # the entry that was being made may be there too, whole
        assert all(sure[kind] <= there[kind] <= sure[kind] + 3 for kind in ("cut", "good"))
        sure = Counter({kind: there[kind] for kind in ("cut", "good")})


def test_two_people_at_once_both_count(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    with open_book(path):
        pass
    people = [person(path, tmp_path / name, name, 6) for name in ("anna", "berta")]
    assert [0, 0] == [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in people]
    there = whole(path)
    assert (36, 24) == (there["cut"], there["good"])
