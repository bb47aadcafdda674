"""Stack-up of a chain of bends: cases done in the head, the trade's rule of thumb, a Monte Carlo by another road."""

import math
import random

import pytest

from flatgen.core.tolerance import ChainBend, Limits, free_leg, leg_spreads, overall_spread, section, spread

# shop practice, inches: stop .005, creep .008, blank .015, deduction .007, radius and spring-back .004 (from memory)
TRADE = Limits(stop=0.005, creep=0.008, cut=0.015, deduction=0.007, radius=0.004, thickness=0.0, angle=1.0)
SQUARE = ChainBend(90.0, 0.125, 0.447)


def test_two_equal_causes_add_as_squares():
    both = spread([("a", 3.0, 1.0), ("b", 4.0, -1.0)])
    assert (7.0, 5.0) == (both.worst, both.rss)


def test_rule_of_thumb_for_a_bracket():
    # common practice, no source: gauged leg ±0.010 by root sum square, free leg ±0.020 (rounded up), worst ±0.039
    gauged, free = leg_spreads([SQUARE], TRADE, free=1)
    assert 0.010 == pytest.approx(gauged.rss, abs=0.0005)
    assert 0.020 == pytest.approx(free.rss, abs=0.001)
    # worst case: the radius counts once only, since mould line and deduction answer to the same radius
    assert 0.005 + 0.008 + 0.015 + 0.007 + 0.004 * (math.pi / 2 - 1) == pytest.approx(free.worst)


def test_the_leg_that_mates_is_gauged():
    assert 0 == free_leg(2, [1])
    assert 2 == free_leg(3, [0, 1])
    assert 1 == free_leg(3, [0, 2])
    assert 1 == free_leg(2, [0, 1])


def test_a_sheet_that_is_exact_leaves_only_the_stop():
    exact = Limits(stop=0.1, creep=0.0, cut=0.0, deduction=0.0, radius=0.0, thickness=0.0, angle=0.0)
    gauged, free = leg_spreads([SQUARE], exact, free=1)
    assert (0.1, 0.1) == pytest.approx((gauged.worst, free.worst))


def test_one_degree_on_a_one_inch_flange():
    # common practice: 1 deg on a 1 in flange moves the tip 0.017 in
    only_angle = Limits(0, 0, 0, 0, 0, 0, 1.0)
    channel = overall_spread([1.0, 2.0, 1.0], [SQUARE, SQUARE], 0.04, only_angle, free=2, base=1)
    # the channel is widest at its tips, both of which move; its height hangs on cos 90 = 0, but for the square-cut ends
    # whose inner edge stands a thickness aside
    assert 2 * 0.017 == pytest.approx(channel.along_spread.worst, abs=0.001)
    assert 0.04 * math.pi / 180 == pytest.approx(channel.across_spread.worst, abs=1e-6)
    bracket = overall_spread([1.0, 1.0], [ChainBend(80.0, 0.1, 0.4)], 0.04, only_angle, free=1, base=0)
    # leg along: 1 + cos 80; d/da = sin 80 per radian
    assert math.sin(math.radians(80)) * math.pi / 180 == pytest.approx(bracket.along_spread.worst)


def test_section_of_a_zed():
    # outside height 2, flanges 1 to their mould lines, which lie on different skins: width 1 + 1 - T
    corners = section([1.0, 2.0, 1.0], [90.0, -90.0], 0.1, base=0)
    assert 1.9 == pytest.approx(max(x for x, _ in corners) - min(x for x, _ in corners))
    assert 2.0 == pytest.approx(max(y for _, y in corners) - min(y for _, y in corners))


def test_section_keeps_its_thickness():
    # ends are cut square: a thickness apart
    corners = section([20.0, 30.0, 10.0], [70.0, -110.0], 1.5, base=1)
    upper, lower = corners[:4], corners[4:]
    assert 1.5 == pytest.approx(math.dist(upper[0], lower[0])) == pytest.approx(math.dist(upper[-1], lower[-1]))


@pytest.mark.parametrize(
    ("legs", "bends", "free", "base"),
    [
        ([20.0, 30.0], [ChainBend(75.0, 3.0, 0.44)], 1, 0),
        ([25.0, 50.0, 25.0], [ChainBend(85.0, 3.0, 0.44), ChainBend(100.0, 4.0, 0.4)], 2, 1),
        ([15.0, 19.0, 31.0, 19.0, 15.0], [ChainBend(a, 3.2, 0.44) for a in (80.0, -85.0, -85.0, 80.0)], 0, 2),
    ],
)
def test_monte_carlo_by_another_road(legs, bends, free, base):
    """Bend simulated parts with random errors, measure them, and compare their standard deviation with the rss."""
    thickness = 1.0
    sizes = {"stop": 0.13, "creep": 0.2, "cut": 0.38, "deduction": 0.18, "radius": 0.1, "thickness": 0.05, "angle": 0.5}
    # read as one standard deviation, so that the root sum square is the standard deviation of the size
    limits = Limits(**sizes)
    rng = random.Random(7)
    count = 4000
    pairs = extreme_pairs(legs, [b.angle for b in bends], base)
    made_legs, made_corners = [], []
    for _ in range(count):
        made, angles, sheet = bend_one_part(legs, bends, thickness, free, sizes, rng)
        made_legs.append(made)
        made_corners.append(section(made, angles, sheet, base))
    for leg, expected in enumerate(leg_spreads(bends, limits, free)):
        assert deviation([made[leg] for made in made_legs]) == pytest.approx(expected.rss, rel=0.05)
    overall = overall_spread(legs, bends, thickness, limits, free, base)
    for axis, expected in ((0, overall.along_spread), (1, overall.across_spread)):
        scatter = [deviation([c[high][axis] - c[low][axis] for c in made_corners]) for low, high in pairs[axis]]
        assert max(scatter) == pytest.approx(expected.rss, rel=0.05)


def bend_one_part(legs, bends, thickness, free, sizes, rng):
    """Cut a blank, set the stop at each bend, bend, and find the legs it really has."""

    def off(name):
        return rng.gauss(0.0, sizes[name])

    half = [math.tan(math.radians(abs(b.angle)) / 2) for b in bends]
    turned = [math.radians(abs(b.angle)) for b in bends]

    def deduction(i, radius, sheet):
        return 2 * half[i] * (radius + sheet) - turned[i] * (radius + bends[i].ratio * sheet)

    blank = sum(legs) - sum(deduction(i, b.radius, thickness) for i, b in enumerate(bends)) + off("cut")
    sheet = thickness + off("thickness")
    made: list[float] = [0.0] * len(legs)
    taken = 0.0
    for i, b in enumerate(bends):
        gauged = i if i < free else i + 1
        radius = b.radius + off("radius")
        # the stop holds the distance to the tangent line; the mould line follows radius and sheet
        held = legs[gauged] - half[i] * (b.radius + thickness) + off("stop") + off("creep")
        made[gauged] = held + half[i] * (radius + sheet)
        taken += deduction(i, radius, sheet) + off("deduction")
    made[free] = blank + taken - sum(made)
    return made, [b.angle + off("angle") for b in bends], sheet


def extreme_pairs(legs, angles, base):
    """Pairs of corners that the sizes along and square to the base run between on the drawing; ties give several."""
    drawn = section(legs, angles, 1.0, base)
    pairs = []
    for axis in (0, 1):
        values = [p[axis] for p in drawn]
        lows = [k for k, v in enumerate(values) if v < min(values) + 0.01]
        highs = [k for k, v in enumerate(values) if v > max(values) - 0.01]
        pairs.append([(low, high) for low in lows for high in highs])
    return pairs


def deviation(values):
    mean = sum(values) / len(values)
    return math.sqrt(sum((v - mean) ** 2 for v in values) / (len(values) - 1))
