"""Fixtures for the whole suite: the repository's folder and packets that many tests read, made once."""

import os
from pathlib import Path

import pytest
from hypothesis import settings
from making import Made, make_job

# other cases in every run, however slow the machine is just then; a failure prints the line that brings its case back
settings.register_profile("suite", deadline=None, print_blob=True)
settings.register_profile("long", settings.get_profile("suite"), max_examples=20_000)
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
