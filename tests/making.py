"""Run the main job on a file and read back what it wrote."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatgen.make import make


@dataclass(frozen=True)
class Made:
    """A packet on disk with its results.json."""

    folder: Path
    results: dict[str, Any]

    def part(self, part_id: str) -> dict[str, Any]:
        return next(part for part in self.results["parts"] if part["id"] == part_id)


def make_job(job: Path, folder: Path) -> Made:
    """The packet of a job."""
    make(job, folder)
    return Made(folder, json.loads((folder / "results.json").read_text(encoding="utf-8")))
