"""Fixtures for the whole suite: the repository's folder and packets that many tests read, made once."""

import os
from pathlib import Path

import pytest
from hypothesis import settings
from making import Made, make_job

# the same cases on every machine, however slow it is just then
settings.register_profile("suite", deadline=None, derandomize=True)
settings.load_profile("suite")

ROOT = Path(__file__).resolve().parent.parent

os.environ.setdefault("FLATGEN_TRACEBACK", "1")  # a test shows where our own mistakes are


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
