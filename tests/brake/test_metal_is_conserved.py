"""Every part bent at the printed stops comes out as results.json expects, on a brake that knows nothing of the plan."""

import pytest
from simulated_brake import SimulatedBrake


@pytest.fixture(params=["demo", "six"])
def results(request):
    return request.getfixturevalue(request.param).results


def test_legs_come_out_as_expected(results) -> None:
    """Given the planner's own spring-back and neutral line, to a hundredth of a millimetre."""
    brake = SimulatedBrake(results)
    planned = [part for part in results["parts"] if part["legs"]]
    assert planned
    for part in planned:
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
    import math

    parts = {part["id"]: part for part in results["parts"]}
    for setup in results["setups"]:
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
