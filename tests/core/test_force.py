"""Bending effort: the trade's worked figures and limits done in the head."""

import math

import pytest

from flatgen.core import force


def test_moment_and_handle_of_the_worked_example():
    # common practice, from memory: .063 2024-T3 about 64 lbf in/in; 24 in bend 1540 lbf in, 85 lbf at an 18 in handle
    moment = force.bending_moment(0.063, force.flow_stress(47_000, 64_000))
    assert 64 == pytest.approx(moment, abs=0.7)
    assert 1540 == pytest.approx(24 * moment, rel=0.015)
    assert 85 == pytest.approx(moment * 24.0 / 18.0, abs=1.0)


@pytest.mark.parametrize(("strengths", "times"), [((47, 65), 0.90), ((40, 44), 1.03), ((26, 34), 1.22)])
def test_capacity_of_other_metals_by_flow_stress(strengths, times):
    # common practice, from memory: mild steel 45 ksi; 2024-T3 56, 6061-T6 42, 5052-H32 30 (means of yield and ultimate)
    effort = force.flow_stress(*strengths) / 45.0
    assert times == pytest.approx(force.capacity_thickness(1.0, effort, 600.0, 600.0), abs=0.01)


def test_effort_takes_the_less_favourable_ratio():
    assert 2.0 == force.effort_ratio(200, 200, 100, 300)  # by yield 2, by flow stress 1
    assert 2.0 == force.effort_ratio(50, 750, 100, 300)  # by yield 1/2, by flow stress 2


def test_shorter_bends_take_thicker_sheet_up_to_a_limit():
    assert 1.2 == pytest.approx(force.capacity_thickness(1.0, 1.0, 144.0, 100.0))  # sqrt 1.44
    assert 1.4 == force.capacity_thickness(1.0, 1.0, 600.0, 10.0)


def test_clamp_force_is_leaf_force_and_a_couple():
    assert 100.0 + 50.0 == pytest.approx(force.clamp_force(10.0, 100.0, 10.0, 20.0))
    assert 100.0 == force.leaf_force(10.0, 100.0, 10.0)


def test_moment_is_that_of_a_plastic_hinge():
    # 2/sqrt 3 for plane strain, sigma T^2/4
    assert 2 / math.sqrt(3) * 300.0 == pytest.approx(force.bending_moment(2.0, 300.0))
