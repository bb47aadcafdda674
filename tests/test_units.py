"""Lengths as people write them; factors against pint, a general-purpose unit library."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatgen.errors import InputError
from flatgen.units import ANGLES, LENGTHS, format_fraction, format_length, parse_angle, parse_length

WRITTEN = [
    ("0.032 in", 0.8128),
    (".032in", 0.8128),
    ("1/8 in", 3.175),
    ("1 3/16 in", 30.1625),
    ("1-3/16 in", 30.1625),
    ('1-3/16"', 30.1625),
    ('3/16"', 4.7625),
    ("3.2 mm", 3.2),
    ("4 ft", 1219.2),
    ("2 ft 3 in", 685.8),
    ("2' 3-1/2\"", 698.5),
    ("30 mil", 0.762),
    ("32 thou", 0.8128),
    ("-1/4 in", -6.35),
    ("7/64 in", 2.778125),
    ("1e1 mm", 10.0),
    ("0.5 yd", 457.2),
]


@pytest.mark.parametrize(("text", "mm"), WRITTEN)
def test_length_as_written(text: str, mm: float) -> None:
    assert mm == pytest.approx(parse_length(text, "mm"), abs=1e-12)


@pytest.mark.parametrize(("value", "units", "mm"), [(0.5, "in", 12.7), (3, "mm", 3.0), ("1.5", "in", 38.1)])
def test_bare_number_is_in_the_declared_unit(value: object, units: str, mm: float) -> None:
    assert mm == pytest.approx(parse_length(value, units))


BROKEN = [
    ("90 deg", "is an angle, expected a length"),
    ("3 kg", "is in kg (mass), expected a length"),
    ("3 parsnips", "is no unit of length; use mm, cm, m, in, ft or thou"),
    ("", "an empty text is not a length"),
    ("wide", '"wide" is not a length; write it like "1 3/16 in" or "3.2 mm"'),
    ("1 in 2 ft", "is not a length"),
    ("1/0 in", "divides by zero"),
    ("1 - 3/16 in", "is not a length; write it like"),
    ("1,5 mm", 'write the decimal point as ".", not ","'),
    ("200 m", "no part or sheet here is longer than 100 m"),
    (True, "True is not a length"),
    (math.inf, "inf is not a finite number"),
]


@pytest.mark.parametrize(("value", "message"), BROKEN)
def test_what_is_no_length(value: object, message: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_length(value, "mm")
    assert message in str(caught.value)


def test_decimal_comma_where_it_is_allowed() -> None:
    assert parse_length("1,5 mm", "mm", decimal_comma=True) == 1.5


def test_factors_agree_with_pint() -> None:
    registry = pint.UnitRegistry()
    names = {'"': "inch", "″": "inch", "”": "inch", "'": "foot", "′": "foot", "mil": "thou"}
    for unit, factor in LENGTHS.items():
        assert registry.Quantity(1, names.get(unit, unit)).to("mm").magnitude == pytest.approx(factor, rel=1e-12)
    for unit in ("deg", "rad"):
        assert registry.Quantity(1, unit).to("deg").magnitude == pytest.approx(ANGLES[unit], rel=1e-12)


def test_angles() -> None:
    assert parse_angle("1.5707963267948966 rad") == pytest.approx(90.0)
    assert parse_angle("30 arcmin") == pytest.approx(0.5)
    for text, message in (("3 mm", "is a length, expected an angle"), ("1 %", '"%" is no unit of angle')):
        with pytest.raises(InputError, match=message):
            parse_angle(text)


@given(st.integers(0, 4000), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fraction_survives_being_written(top: int, bottom: int) -> None:
    whole, rest = divmod(top, bottom)
    assert parse_length(f"{whole} {rest}/{bottom} in", "mm") == pytest.approx(top / bottom * 25.4, abs=1e-9)


@given(st.floats(-5000, 5000))
def test_parse_after_format_gives_the_same_length(mm: float) -> None:
    assert parse_length(format_length(mm, "mm", places=9, unit=True), "in") == pytest.approx(mm, abs=1e-8)


def test_fraction_with_its_remainder() -> None:
    """3.758144 in is 3 49/64 less 0.0075 (handbook layout, rounding shown and never chained)."""
    assert format_fraction(3.758144 * 25.4) == "3 49/64 -.007"
