"""Results have the same digits on every Python: ``sum`` of floats rounds otherwise from 3.12 on, ``fsum`` does not."""

import builtins
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from making import make_job
from random_jobs import random_job


def test_no_size_is_added_with_sum(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plain, fell = sum, set()

    def whole(items: Iterable[Any], start: Any = 0) -> Any:
        items, caller = list(items), sys._getframe(1)
        if caller.f_globals["__name__"].startswith("flatgen") and any(isinstance(one, float) for one in items):
            fell.add(f"{caller.f_code.co_filename}:{caller.f_lineno}")
        return plain(items, start)

    monkeypatch.setattr(builtins, "sum", whole)
    for job in (root / "examples" / "first-clips" / "job.toml", random_job(4, tmp_path / "4")):
        make_job(job, tmp_path / f"out-{job.parent.name}")
    assert not fell
