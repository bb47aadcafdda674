"""Every part bent at the printed stops comes out as results.json expects, on a brake that knows nothing of the plan."""

import math
import os

import pytest
from bending_jobs import planned_jobs
from making import few
from simulated_brake import SimulatedBrake

from flatgen.write.results_json import as_dict

JOBS = int(os.environ.get("FLATGEN_RANDOM_JOBS", few(12)))  # 300 for the long form


@pytest.fixture(params=["demo", "six"])
def results(request):
    return request.getfixturevalue(request.param).results


@pytest.mark.parametrize("seed", range(2))
def test_legs_of_random_jobs_come_out_as_expected(seed) -> None:
    """Library parts with other sizes, metals, noses and stops; each seed half of the jobs."""
    for results in planned_jobs(seed, (JOBS + 1) // 2):
        all_as_expected(as_dict(results))


def test_legs_come_out_as_expected(results) -> None:
    """Given the planner's own spring-back and neutral line, to a hundredth of a millimetre."""
    all_as_expected(results)


def all_as_expected(results) -> None:
    brake = SimulatedBrake(results)
    planned = [part for part in results["parts"] if part["legs"]]
    assert planned
    for part in planned[: few(len(planned), 8)]:
        bent = brake.bend(part["id"])
        for leg in part["legs"]:
            came_out = bent.legs[leg["name"], tuple(leg["bends"])]
            assert leg["expected"] == pytest.approx(came_out, abs=0.01), (part["id"], leg)
        for bend in part["bends"]:
            assert bend["angle"] == pytest.approx(bent.angles[bend["id"]], abs=0.15), (part["id"], bend["id"])


def test_a_front_stop_left_in_place_would_be_pushed_outward(results) -> None:
    """So it is taken away before the leaf rises."""
    brake = SimulatedBrake(results)
    slid = [by for part in results["parts"] if part["legs"] for by in brake.bend(part["id"]).slid]
    assert all(by > 0.05 for by in slid)


def test_stops_can_be_worked_out_again_from_the_file(results) -> None:
    """Back stop = behind + R + s + offset, front stop = ahead + arc - (R + s) + offset; flat = leg - (R' + T)·tan."""
    parts = {part["id"]: part for part in results["parts"]}
    for setup in results["setups"]:
        if setup["stop_side"] not in ("back", "front"):
            continue
        tip = setup["nose_radius"] + setup["nose_setback"]
        for op in setup["operations"]:
            back = setup["stop_side"] == "back"
            flat = op["behind"] if back else op["ahead"]
            stop = flat + tip if back else flat + op["arc"] - tip
            assert setup["stop"] == pytest.approx(stop + setup["offset"], abs=1e-9)
            bend = next(b for b in parts[op["part"]]["bends"] if b["id"] == op["bend"])
            if op["leg_size"] is not None:
                half = math.tan(math.radians(bend["angle"]) / 2.0)
                left = op["leg_size"] - (op["released_radius"] + parts[op["part"]]["thickness"]) * half
                assert flat == pytest.approx(left, abs=1e-9)
