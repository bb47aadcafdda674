"""A figure of the brake that nobody measured stops nothing: the finding asks to measure it, and says how far."""

import random
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hand_blanks import Strip, brake, shop, tf101, tf102, tray

from flatgen.brake.plan import plan_job
from flatgen.errors import InputError
from flatgen.jobs.make import planned
from flatgen.library import default_of, entries
from flatgen.model.finding import Severity
from flatgen.model.shop import GUESSED_OF_A_BRAKE, GUESSED_OF_A_NOSE
from flatgen.read.shop import read_shop
from flatgen.read.single import single_job
from flatgen.units import parse_length

LEG = Strip("leg", (40.0, 35.0), (120,), 3.175, 1.016, 100.0, overbend=1.04)


def plan(strip, *, blank=None, guessed=(), of_nose=(), **changes):
    bench = brake(guessed=tuple(guessed), nose_guessed=tuple(of_nose), **changes)
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
        (tf101(sizes=(60.0, 55.0)), {"throat": 40.0}, "throat"),
    ],
)
def test_limits_from_guesses_ask(strip, changes, key) -> None:
    assert not made(plan(strip, **changes))
    found = plan(strip, guessed=(key,), **changes)
    asked = [f.words("mm") for f in found.findings]
    assert made(found) and any(f"measure {key} first" in text or f"{key} of [[brake]]" in text for text in asked)


def test_fingers_that_nobody_told_of_are_asked_for() -> None:
    part = Strip("TF-103", (1, 1), (90,), 1, 1, 1)
    found = plan(part, blank=tray(), guessed=("fingers",), nose_radius=2.38125, largest_opening=25.0)
    asked = [f.words("mm") for f in found.findings]
    assert made(found) and any(re.search(r"fingers (55\.1|93\.2)", text) for text in asked)
    assert not made(plan(part, blank=tray(), nose_radius=2.38125, largest_opening=25.0))


def test_every_figure_may_be_a_guess_and_then_nothing_stops(tmp_path) -> None:
    text = '[[brake]]\nname = "b"\nlength = 20\n{0}\n[[brake.nose]]\nname = "n"\nradius = 0.125\n{1}\n'
    tool = '[[tool]]\nname = "shear"\nmethod = "shear"\n'

    def read(of_brake="", of_nose=""):
        (tmp_path / "shop.toml").write_text(text.format(of_brake, of_nose) + tool, encoding="utf-8")
        return read_shop(Path(tmp_path / "shop.toml")).brakes[0]

    bare = read()
    assert {"fingers", "leaf_land", "largest_opening"} <= set(bare.guessed) <= set(GUESSED_OF_A_BRAKE) - {"length"}
    assert {"front_angle", "height", "depth"} == set(bare.noses[0].guessed)
    told = read("fingers = []\nleaf_land = 0.4\nguessed = ['length']", 'depth = 1\nguessed = ["depth"]')
    assert "length" in told.guessed and not {"fingers", "leaf_land"} & set(told.guessed)
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
    guessed = tuple(GUESSED_OF_A_BRAKE)
    bench = brake(guessed=guessed, nose_guessed=tuple(GUESSED_OF_A_NOSE), nose_depth=22.0, nose_height=25.0)
    for web in (20.0, 30.0, 44.0):
        strip = tf102(sizes=(35.0, web, 50.0), name="U")
        found = plan_job([strip.part()], {"U": strip.blank()}, shop(bench), pictures=False)
        assert made(found), (web, found.findings)


KIND = {"depth": 9.0, "height": 120.0, "front_angle": 25.0}
KINDER = {"largest_angle": 155.0, "largest_opening": 120.0, "leaf_land": 5.0, "leaf_depth": 12.0, "beam_depth": 5.0}
KINDEST = {**KINDER, "bed_depth": 12.0, "bed_height": 12.0, "length": 9000.0}


def of_the_library(name, draw):
    """A part of the library with other sizes, on the brake of the library's pictures: all of it guesses."""
    one, sizes = next(one for one in entries() if one.name == name), {}
    for parameter in one.parameters:
        usual = default_of(one, parameter, "mm")
        if parameter.kind == "length" and usual and draw.random() < 0.5:
            sizes[parameter.name] = f"{parse_length(usual, 'mm') * draw.uniform(1.0, 2.0):.2f} mm"
    metal = "2024-O" if "hem" in name else "6061-T6"
    while True:
        try:
            return single_job(name, {"material": metal, "thickness": "1.2 mm", "radius": "5 mm", **sizes}, "mm", None)
        except InputError:  # a rivet that no drill is for, holes that no longer fit: as the profile has it
            sizes.popitem()


def stopped_by_the_brake(job, brake):
    found = planned(replace(job, shop=replace(job.shop, brakes=(brake,)), coupons=False)).findings
    return [f.words("mm") for f in found if f.rule.startswith("brake") and f.severity is Severity.FORBID]


def library_on_guesses(names, seed):
    """What is stopped on a brake of poor guesses is stopped too where all of them measure as kind as can be."""
    draw = random.Random(seed)
    for name in names:
        job = of_the_library(name, draw)
        (brake,) = job.shop.brakes
        low = {"largest_angle": 100.0, "largest_opening": draw.choice((12.0, 38.0)), "leaf_land": 12.0, "length": 200.0}
        poor = {"depth": draw.choice((22.0, 32.0)), "height": draw.choice((25.0, 57.0)), "front_angle": 60.0}
        guessed = replace(brake, **low, throat=50.0, capacity_thickness=0.8, guessed=tuple(GUESSED_OF_A_BRAKE))
        bar = replace(brake.noses[0], **poor, guessed=tuple(GUESSED_OF_A_NOSE))
        stops = stopped_by_the_brake(job, replace(guessed, noses=(bar,)))
        fingers = tuple(1.5 * 1.012**k for k in range(1, 400))
        kind = [replace(brake.noses[0], **{**KIND, "depth": depth}) for depth in (9.0, 90.0)] if stops else []
        for nose in kind:
            assert stopped_by_the_brake(job, replace(brake, **KINDEST, fingers=fingers, noses=(nose,))), (name, stops)


def test_parts_of_the_library_on_a_brake_of_guesses() -> None:
    library_on_guesses(("zed", "channel", "lipped-angle", "u-clip", "joggled-strap", "saddle"), 3)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(10))
def test_the_whole_library_on_brakes_of_guesses(seed) -> None:
    library_on_guesses([one.name for one in entries()], seed)
