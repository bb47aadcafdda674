"""The correction to make now: right way, right size, and none for noise."""

from typing import Any

import numpy as np
import pytest

from flatgen.core.correction import Series, advise, report


def series(deviations: list[float], **changes: Any) -> Series:
    values: dict[str, Any] = {
        "kind": "length",
        "lower": -0.4,
        "upper": 0.4,
        "places": tuple(range(1, len(deviations) + 1)),
        "deviations": tuple(deviations),
        "on_stop": "S1",
    }
    return Series(**(values | changes))


LONG = [0.21, 0.25, 0.19, 0.24, 0.22]


def test_leg_too_long_moves_the_stop_in_by_as_much() -> None:
    advice = advise(series(LONG))
    assert ("move the stop", pytest.approx(-np.mean(LONG))) == (advice.action, advice.amount)
    assert 0 < advice.half_width < 0.04
    assert any("grows by as much as the stop is moved away" in reason for reason in advice.reasons)


def test_angle_too_open_takes_the_leaf_further_by_the_springback_ratio() -> None:
    """Half a degree open at a ratio of 0.95: the leaf goes 0.526 deg further."""
    advice = advise(series([-0.5, -0.4, -0.6, -0.5], kind="angle", lower=-1.0, upper=1.0), springback_ratio=0.95)
    assert ("change the over-bend", pytest.approx(0.5 / 0.95)) == (advice.action, advice.amount)


def test_free_leg_points_to_the_blank() -> None:
    advice = advise(series(LONG, on_stop=""))
    assert "change the blank" == advice.action
    assert advice.amount < 0
    assert any("formed legs cannot tell" in reason for reason in advice.reasons)


def test_noise_is_left_alone() -> None:
    advice = advise(series([0.1, -0.12, 0.08, -0.05, 0.02]))
    assert ("leave", 0.0) == (advice.action, advice.amount)
    assert any("chase noise" in reason for reason in advice.reasons)


def test_real_but_finer_than_the_stop_is_left_alone() -> None:
    advice = advise(series([0.018, 0.02, 0.022, 0.019, 0.021]))
    assert "leave" == advice.action
    assert any("finer than the setting" in reason for reason in advice.reasons)


@pytest.mark.parametrize("values", [[], [0.3], [0.3, 0.3]])
def test_too_few_pieces_ask_for_more(values: list[float]) -> None:
    assert "measure more" == advise(series(values)).action


def test_drift_corrects_where_it_stands_now() -> None:
    advice = advise(series([0.0, 0.05, 0.11, 0.15, 0.21, 0.25, 0.3]))
    assert "move the stop" == advice.action
    assert -0.3 == pytest.approx(advice.amount, abs=0.02)
    assert any("drifts by" in reason and "stop screw" in reason for reason in advice.reasons)


def test_one_step_of_the_caliper_is_no_odd_value() -> None:
    """Four readings of +.010 in and one of +.011 are five of one kind; .015 is another."""
    inch = 25.4
    same = advise(series([0.010 * inch] * 4 + [0.011 * inch]))
    assert "move the stop" == same.action and not any("odd value" in reason for reason in same.reasons)
    assert same.half_width > 0.005
    odd = advise(series([0.010 * inch] * 4 + [0.015 * inch]))
    assert any("odd value at piece 5" in reason for reason in odd.reasons)


def test_odd_piece_is_named_and_counts() -> None:
    advice = advise(series([0.02, 0.03, 0.01, 0.02, 0.03, 0.9]))
    assert any("odd value at piece 6, which counts in" in reason for reason in advice.reasons)


def test_setting_is_not_moved_for_one_odd_piece() -> None:
    """Five pieces 0.2 long and one 0.9 short: with it the interval holds zero, without it the stop is off."""
    advice = advise(series([*LONG, -0.9]))
    assert ("measure the odd piece again", 0.0) == (advice.action, advice.amount)
    assert any("without it, move the stop" in reason for reason in advice.reasons)


def test_wide_spread_is_not_mended_by_a_setting() -> None:
    rng = np.random.default_rng(2)
    advice = advise(series(list(rng.normal(0.0, 0.5, 20))))
    assert "find the cause" == advice.action
    assert any("no setting cures that" in reason for reason in advice.reasons)


def test_report_counts_what_is_outside() -> None:
    found = report(series([0.1, 0.5, -0.6, 0.0]))
    assert 2 == found.outside
    assert found.capability is not None


def test_noise_is_chased_in_at_most_one_of_twenty_batches() -> None:
    """Centred batches with the usual stop scatter: at 95 % about 5 in 100 are touched without need."""
    rng = np.random.default_rng(8)
    moved = sum(advise(series(list(rng.normal(0.0, 0.15, 8)))).action == "move the stop" for _ in range(1000))
    assert 0.02 < moved / 1000 < 0.08


def test_advice_makes_pieces_better_and_blind_following_makes_them_worse() -> None:
    """A stop set 0.3 off, scatter 0.1: pieces after the advice against a hand that takes back each deviation in full.

    Taking back each one doubles the variance (a fact of statistics: two independent errors add).
    """
    rng = np.random.default_rng(5)
    advised, followed = [], []
    for _ in range(1000):
        sample = rng.normal(0.3, 0.1, 5)
        advice = advise(series(list(sample)))
        advised.append(0.3 + advice.amount + rng.normal(0, 0.1))
        followed.append(0.3 - sample[-1] + rng.normal(0, 0.1))
    assert 0.1 * 1.2**0.5 == pytest.approx(float(np.std(advised)), rel=0.1)
    assert 0.1 * 2**0.5 == pytest.approx(float(np.std(followed)), rel=0.1)
