"""Fixtures for the whole suite: the repository's folder and packets that many tests read, made once."""

import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from browsing import axe, browser
from hypothesis import HealthCheck, settings
from making import Made, make_job, once, read_packet, remembered, shared

# other cases in every run, however slow the machine is just then; a failure prints the line that brings its case back
settings.register_profile(
    "suite", deadline=None, print_blob=True, max_examples=25, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("deep", settings.get_profile("suite"), max_examples=100)
settings.register_profile("long", settings.get_profile("suite"), max_examples=20_000)
settings.load_profile("suite")

__all__ = ["axe", "browser"]  # fixtures for every test of a page
ROOT = Path(__file__).resolve().parent.parent

os.environ["FLATGEN_KEPT"] = "no"  # until a run has its folder, see answers_of_this_run
os.environ.setdefault("FLATGEN_TRACEBACK", "1")  # a test shows where our own mistakes are


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(autouse=True)
def answers_of_this_run(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> None:
    """What is computed once in a run is kept for the rest of it: very many tests make the same jobs.

    A test that changes the program under it (``monkeypatch``) or takes ``computed_anew`` computes all that it asks for.
    """
    anew = {"monkeypatch", "computed_anew"}.intersection(request.fixturenames)
    os.environ["FLATGEN_KEPT"] = "no" if anew else str(shared(tmp_path_factory, "answers"))


@pytest.fixture
def computed_anew() -> None:
    """Nothing that was computed before is used."""


@pytest.fixture(scope="session", autouse=True)
def planned_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Equal parts are planned on the brake and nested once in a run: commands of many tests ask the same of the demo.

    Tests of the planner and of the nester call them directly, and those in processes of their own are not touched.
    """
    from flatgen import nest
    from flatgen.jobs import developed

    plan, nest_pieces = developed.plan_brake, nest.nest_pieces

    def plan_brake(job: Any, parts: Any) -> Any:
        wanted = [(made.part, made.blank, made.pieces, made.counts) for made in parts if not made.stopped]
        shop = replace(job.shop, file="", book="", sheets=())
        return remembered(tmp_path_factory, (shop, job.waivers, wanted), lambda: plan(job, parts))

    def nested(problem: Any, longer: Any = None) -> Any:
        return (
            nest_pieces(problem, longer)
            if longer
            else remembered(tmp_path_factory, problem, lambda: nest_pieces(problem))
        )

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(developed, "plan_brake", plan_brake)
        patch.setattr(nest, "nest_pieces", nested)
        yield


@pytest.fixture(scope="session")
def demo_drawn(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any, Any]:
    """The float fittings: folder of the packet, what was computed, and what was drawn."""

    def build(folder: Path) -> tuple[Any, Any]:
        from flatgen.drawings import enclosures, subjects
        from flatgen.jobs.loading import load
        from flatgen.jobs.make import compute
        from flatgen.kept import keeping
        from flatgen.write.packet import write_packet

        with keeping():
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
