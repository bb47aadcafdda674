"""Run the main job on a file and read back what it wrote; what many tests read is made once for all workers."""

import fcntl
import hashlib
import json
import pickle
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import pytest
from hypothesis import settings

from flatgen.jobs.loading import load
from flatgen.jobs.make import make

T = TypeVar("T")


def few(count: int, least: int = 3) -> int:
    """Of so many examples a quarter; all in a deep run (``--hypothesis-profile=deep``), more in a long one."""
    return max(least, count * settings.default.max_examples // 100)


def every_second(things: Iterable[T], first: int) -> list[T]:
    """Every second of many, from the first or the second on, for tests that come in pairs; all in a deep run."""
    some = list(things)
    return some if few(4, 0) > 1 else some[first % 2 :: 2]


@dataclass(frozen=True)
class Made:
    """A packet on disk with its results.json."""

    folder: Path
    results: dict[str, Any]

    def part(self, part_id: str) -> dict[str, Any]:
        return next(part for part in self.results["parts"] if part["id"] == part_id)


def read_packet(folder: Path) -> Made:
    """A packet that lies there."""
    return Made(folder, json.loads((folder / "results.json").read_text(encoding="utf-8")))


def make_job(job: Path, folder: Path) -> Made:
    """The packet of a job."""
    make(load(job), folder)
    return read_packet(folder)


def shared(factory: pytest.TempPathFactory, name: str) -> Path:
    """A folder for all workers of one run: their own temporary folders lie in one folder."""
    base = factory.getbasetemp()
    folder = (base.parent if base.name.startswith("popen-") else base) / f"shared-{name}"
    folder.mkdir(mode=0o700, exist_ok=True)
    return folder


def once(factory: pytest.TempPathFactory, name: str, build: Callable[[Path], Any]) -> tuple[Path, Any]:
    """A folder and what ``build`` returned when it filled it: by the first worker that asks, for all of one run.

    Nobody may change what lies there.
    """
    folder = shared(factory, name)
    kept = folder / "returned.pickle"
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not kept.exists():
            kept.write_bytes(pickle.dumps(build(folder)))
    return folder, pickle.loads(kept.read_bytes())


def remembered(factory: pytest.TempPathFactory, asked: Any, build: Callable[[], Any]) -> Any:
    """What ``build`` returned the first time that an equal question was put in this run."""
    name = hashlib.sha256(pickle.dumps(asked)).hexdigest()
    return once(factory, name[:24], lambda _: build())[1]
