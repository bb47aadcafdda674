"""Reading several tables of least radii, and what they say together. Printed values: tests/reference."""

import dataclasses
import math

import pytest

from flatgen.develop.least_radius import radius_verdict, read_table, smallest_allowed
from flatgen.model.material import RadiusRow, RadiusTable
from flatgen.model.source import Source
from flatgen.tables.load import material

INCH = 25.4
SOURCE = Source("x", "a table")


def row(thickness, radius, low=None, rounding=0.0):
    return RadiusRow(thickness, radius, radius if low is None else low, SOURCE, rounding)


CAREFUL = RadiusTable("careful", "careful", (row(1.0, 3.0), row(2.0, 8.0)))
BOLD = RadiusTable("bold", "bold", (row(1.0, 2.0, low=1.0), row(2.0, 6.0, low=4.0), row(4.0, 16.0)), "multiple")
ALLOY = dataclasses.replace(material("2024-T3"), radius_tables=(CAREFUL, BOLD))


def test_a_row_of_the_same_nominal_size_is_read_as_it_stands():
    # 1/16 in stands for 0.063 in sheet
    assert 3.0 == read_table(CAREFUL, 1.0127).radius
    assert "row" == read_table(CAREFUL, 1.0127).how


def test_between_rows_the_next_thicker_one_counts():
    assert 8.0 == read_table(CAREFUL, 1.2).radius
    # 3 T at 2 mm is 3 T at 1.2 mm, not 6 mm
    assert 3.6 == pytest.approx(read_table(BOLD, 1.2).radius)


def test_beyond_the_last_row_a_table_says_nothing():
    assert read_table(CAREFUL, 2.1) is None


def test_below_the_first_row_it_says_so():
    assert "thinner than its first row" == read_table(CAREFUL, 0.5).how
    assert "thinner than every table" in radius_verdict(ALLOY, 0.5, 3.0).notes[0]


@pytest.mark.parametrize(("radius", "status"), [(3.0, "ok"), (2.99, "between"), (1.0, "between"), (0.99, "below")])
def test_status_at_the_edges(radius, status):
    assert status == radius_verdict(ALLOY, 1.0, radius).status


def test_the_most_cautious_governs_unless_one_is_chosen():
    assert "careful" == radius_verdict(ALLOY, 1.0, 2.5).governing.table
    chosen = radius_verdict(ALLOY, 1.0, 2.5, table="bold")
    assert ("bold", "ok") == (chosen.governing.table, chosen.status)


def test_a_chosen_table_that_does_not_reach_is_said_aloud():
    assert 'thicker than table "careful"' in radius_verdict(ALLOY, 3.0, 20.0, table="careful").notes[0]
    assert 'table "other" has no entry' in radius_verdict(ALLOY, 1.0, 3.0, table="other").notes[0]
    assert "no-table" == radius_verdict(ALLOY, 5.0, 20.0).status


def test_along_the_grain_half_as_much_again():
    # common practice, no source: nearer than 30 deg to the rolling direction counts as along
    assert "along-grain" == radius_verdict(ALLOY, 1.0, 4.0, angle_to_grain=29.0).status
    assert "ok" == radius_verdict(ALLOY, 1.0, 4.5, angle_to_grain=0.0).status
    assert "ok" == radius_verdict(ALLOY, 1.0, 4.0, angle_to_grain=31.0).status
    assert "between" == radius_verdict(ALLOY, 1.0, 2.0, angle_to_grain=0.0).status


def test_a_nose_meets_the_value_its_table_rounds():
    # 3/32 in is printed as .094
    table = RadiusTable("t", "t", (row(1.0, 0.094 * INCH, rounding=0.0005 * INCH),))
    alloy = dataclasses.replace(ALLOY, radius_tables=(table,))
    assert "ok" == radius_verdict(alloy, 1.0, 3 / 32 * INCH).status
    assert "below" == radius_verdict(alloy, 1.0, 0.0930 * INCH).status


def test_not_recommended_is_never_ok():
    # design-office table: 18-8 stainless of 0.125 in is marked as not recommended
    verdict = radius_verdict(material("304"), 0.125 * INCH, 50.0)
    assert ("between", math.inf) == (verdict.status, verdict.limit)


def test_smallest_of_the_noses():
    assert 3.2 == smallest_allowed((6.0, 1.5, 3.2), ALLOY, 1.0)
    assert smallest_allowed((1.5,), ALLOY, 1.0) is None


def test_a_nose_of_three_thirty_seconds_meets_the_table_as_loaded():
    # design-office table: .094 in for 6061-T6 of .032 in, which is 3/32 rounded up
    assert "ok" == radius_verdict(material("6061-T6"), 0.032 * INCH, 3 / 32 * INCH, table="design-office").status
