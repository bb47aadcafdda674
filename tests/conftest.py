"""Fixtures for the whole suite: the repository's folder and packets that many tests read, made once."""

import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from making import Made, make_job, once, read_packet

# other cases in every run, however slow the machine is just then; a failure prints the line that brings its case back
settings.register_profile("suite", deadline=None, print_blob=True)
settings.register_profile("long", settings.get_profile("suite"), max_examples=20_000)
settings.load_profile("suite")

ROOT = Path(__file__).resolve().parent.parent

os.environ["FLATGEN_KEPT"] = "no"  # every test computes what it asks for; those of what is kept say where
os.environ.setdefault("FLATGEN_TRACEBACK", "1")  # a test shows where our own mistakes are


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def demo_drawn(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any, Any]:
    """The float fittings: folder of the packet, what was computed, and what was drawn."""

    def build(folder: Path) -> tuple[Any, Any]:
        from flatgen.drawings import enclosures, subjects
        from flatgen.jobs.make import compute, load
        from flatgen.write.packet import write_packet

        results = compute(load(ROOT / "examples" / "float-fittings" / "job.toml"))
        drawn = enclosures(results)
        write_packet(results, drawn, subjects(results), folder / "out")
        return results, drawn

    folder, (results, drawn) = once(tmp_path_factory, "demo", build)
    return folder / "out", results, drawn


@pytest.fixture(scope="session")
def demo(demo_drawn: tuple[Path, Any, Any]) -> Made:
    """The float fittings' packet."""
    return read_packet(demo_drawn[0])


@pytest.fixture(scope="session")
def six(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The six hand-worked test parts."""
    job = ROOT / "tests" / "data" / "six" / "job.toml"
    folder, _ = once(tmp_path_factory, "six", lambda folder: make_job(job, folder / "out") and None)
    return read_packet(folder / "out")
