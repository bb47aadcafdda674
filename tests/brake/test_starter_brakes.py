"""The two starters: both are read, and do what their kind is for."""

from dataclasses import replace
from pathlib import Path

import pytest
from hand_blanks import Strip, tf102, tray

from flatgen.brake.bench import Bench
from flatgen.brake.proof import best_orders
from flatgen.read.shop import read_shop

STARTERS = Path(__file__).resolve().parents[2] / "examples" / "brakes"
ANY = Strip("any", (1, 1), (90,), 1, 1, 1).part()


def starter(name):
    return read_shop(STARTERS / f"{name}.toml").brakes[0]


def test_straight_brake_makes_a_channel_and_no_tray() -> None:
    bar = starter("straight-30")
    assert best_orders(Bench(tf102(nose="nose 1/8").blank(), bar), tf102().part())
    assert not best_orders(Bench(tray(), bar), ANY)


def test_box_brake_makes_the_tray_with_fingers() -> None:
    order = best_orders(Bench(tray(), starter("box-24")), ANY)[0]
    (widths,) = [sum(step.trial.fingers) for step in order.steps if step.trial.fingers]
    assert 55.1 <= widths <= 59.9 or 93.2 <= widths <= 98.0


def test_short_bar_of_the_straight_brake_goes_into_a_narrower_channel() -> None:
    """Web 30, flanges 38: the foot of the plain bar, 28.6, does not go between; that of the short one, 22.9, does."""
    bar = starter("straight-30")
    radius = {"nose 1/8": 3.175, "nose 1/4, short": 6.35}
    goes = {
        name: bool(
            best_orders(
                Bench(tf102(sizes=(30, 31, 30), nose=name, radius=r).blank(), replace(bar, noses=(_named(bar, name),))),
                tf102().part(),
            )
        )
        for name, r in radius.items()
    }
    assert {"nose 1/8": False, "nose 1/4, short": True} == goes


def _named(bar, name):
    return next(nose for nose in bar.noses if nose.name == name)


@pytest.mark.parametrize("name", ["straight-30", "box-24"])
def test_starters_say_what_a_person_must_measure(name) -> None:
    text = (STARTERS / f"{name}.toml").read_text()
    assert "Measure yours" in text
