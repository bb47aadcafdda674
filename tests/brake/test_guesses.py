"""A figure of the brake that nobody measured stops nothing: the finding asks to measure it, and says how far."""

import re
from pathlib import Path

import pytest
from hand_blanks import Strip, brake, shop, tf101, tf102, tray

from flatgen.brake.plan import plan_job
from flatgen.errors import InputError
from flatgen.model.finding import Severity
from flatgen.model.shop import GUESSED_OF_A_BRAKE, GUESSED_OF_A_NOSE
from flatgen.read.shop import read_shop

LEG = Strip("leg", (40.0, 35.0), (120,), 3.175, 1.016, 100.0, overbend=1.04)


def plan(strip, *, blank=None, guessed=(), of_nose=(), **changes):
    bench = brake(guessed=frozenset(guessed), nose_guessed=frozenset(of_nose), **changes)
    return plan_job([strip.part()], {strip.name: blank or strip.blank()}, shop(bench), pictures=False)


def made(found):
    return bool(found.setups) and not any(finding.stops for finding in found.findings)


def test_a_leg_at_120_degrees_is_not_stopped_by_a_guessed_foot() -> None:
    """A foot 22 mm deep under a bar 57 mm high stands in the way of a 35 mm leg; with 45 mm, measured, it goes."""
    foot = {"nose_depth": 22.0, "nose_height": 57.0, "largest_angle": 135.0}
    measured = plan(LEG, **foot)
    assert not made(measured) and ("leg",) == measured.not_made
    guess = plan(LEG, of_nose=("depth",), **foot)
    (asked,) = [f for f in guess.findings if f.rule == "brake-collision"]
    assert made(guess) and asked.severity is Severity.WARN and "measure first" in asked.words("mm")
    limit = float(re.search(r"foot at least (\S+) mm", asked.words("mm"))[1])
    assert 22.0 < limit < 45.0
    assert made(plan(LEG, **{**foot, "nose_depth": limit + 0.1})) and not made(
        plan(LEG, **{**foot, "nose_depth": limit - 2.5})
    )


def test_a_guess_that_could_not_help_is_no_excuse() -> None:
    """The foot of a deep narrow channel was measured; that nobody measured the bed is beside the point."""
    deep = tf102(sizes=(60, 25, 60), name="deep")
    assert not made(plan(deep, guessed=("bed_depth", "fingers"), of_nose=("height",)))
    assert made(plan(deep, of_nose=("depth", "height")))


@pytest.mark.parametrize(
    ("strip", "changes", "key"),
    [
        (tf101(bends=(118,), overbend=1.04), {}, "largest_angle"),
        (tf101(length=762.0, thickness=1.45), {"capacity_thickness": 1.6}, "capacity_thickness"),
        (tf101(length=800.0), {}, "length"),
    ],
)
def test_limits_from_guesses_ask(strip, changes, key) -> None:
    assert not made(plan(strip, **changes))
    found = plan(strip, guessed=(key,), **changes)
    assert made(found) and any(f"measure {key} first" in f.words("mm") for f in found.findings)


def test_fingers_that_nobody_told_of_are_asked_for() -> None:
    part = Strip("TF-103", (1, 1), (90,), 1, 1, 1)
    found = plan(part, blank=tray(), guessed=("fingers",), nose_radius=2.38125, largest_opening=25.0)
    assert made(found) and any("fingers 55.1" in f.words("mm") for f in found.findings)
    assert not made(plan(part, blank=tray(), nose_radius=2.38125, largest_opening=25.0))


def test_every_figure_may_be_a_guess_and_then_nothing_stops(tmp_path) -> None:
    text = '[[brake]]\nname = "b"\nlength = 20\n{0}\n[[brake.nose]]\nname = "n"\nradius = 0.125\n{1}\n'
    tool = '[[tool]]\nname = "shear"\nmethod = "shear"\n'

    def read(of_brake="", of_nose=""):
        (tmp_path / "shop.toml").write_text(text.format(of_brake, of_nose) + tool, encoding="utf-8")
        return read_shop(Path(tmp_path / "shop.toml")).brakes[0]

    bare = read()
    assert {"fingers", "leaf_land", "largest_opening"} <= bare.guessed <= set(GUESSED_OF_A_BRAKE) - {"length"}
    assert {"front_angle", "height", "depth"} == bare.noses[0].guessed
    told = read("fingers = []\nleaf_land = 0.4\nguessed = ['length']", 'depth = 1\nguessed = ["depth"]')
    assert "length" in told.guessed and not {"fingers", "leaf_land"} & told.guessed
    assert "depth" in told.noses[0].guessed
    assert "depth" not in read("", "section = [[0, 0], [1, 0], [1, 1]]").noses[0].guessed
    with pytest.raises(InputError, match='"hight" is no figure that can be a guess. Did you mean "height"'):
        read("", 'guessed = ["hight"]')


def test_a_brake_without_a_back_stop_goes_by_front_stop_or_sight_line() -> None:
    strip = tf101()
    one, two = (plan(strip, back_stop=False, **more) for more in ({}, {"front_stop_reach": 60.0}))
    assert [["sight"], ["front"]] == [[setup.stop_side for setup in found.setups] for found in (one, two)]
    (asked,) = [f for f in one.findings if f.rule == "brake-reach"]
    assert "no back stop" in asked.words("mm") and not asked.stops


def test_channels_on_a_brake_of_guesses() -> None:
    """Narrow and deep ones too: nothing of such a brake is known, so nothing of it forbids."""
    guessed = frozenset(GUESSED_OF_A_BRAKE)
    bench = brake(guessed=guessed, nose_guessed=frozenset(GUESSED_OF_A_NOSE), nose_depth=22.0, nose_height=25.0)
    for web in (20.0, 30.0, 44.0):
        strip = tf102(sizes=(35.0, web, 50.0), name="U")
        found = plan_job([strip.part()], {"U": strip.blank()}, shop(bench), pictures=False)
        assert made(found), (web, found.findings)
