"""Fixtures for the whole suite: the repository's folders and the demo job, made once."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parent.parent


@dataclass(frozen=True)
class Made:
    """A packet on disk with its results.json."""

    folder: Path
    results: dict[str, Any]

    def part(self, part_id: str) -> dict[str, Any]:
        return next(part for part in self.results["parts"] if part["id"] == part_id)


def make_job(job: Path, folder: Path) -> Made:
    """Run the main job on a file and read back what it wrote."""
    from flatgen.make import make

    make(job, folder)
    return Made(folder, json.loads((folder / "results.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The float fittings."""
    return make_job(ROOT / "examples" / "float-fittings" / "job.toml", tmp_path_factory.mktemp("demo") / "out")


@pytest.fixture(scope="session")
def six(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The six hand-worked test parts."""
    return make_job(ROOT / "tests" / "data" / "six" / "job.toml", tmp_path_factory.mktemp("six") / "out")
