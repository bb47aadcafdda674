"""Sizes in two units: the job's first, in any sentence, and back again without loss."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatgen.core.words import counted, extent, leading, size, spot, unit_first

LENGTHS = st.floats(-5000, 5000)


@given(LENGTHS, LENGTHS, LENGTHS, st.floats(0, 1e6))
def test_each_unit_comes_first_when_asked_and_back_again(a: float, b: float, c: float, d: float) -> None:
    said = f"hole at {spot(a, b)}: ±{size(c)} (root), over {extent(d)}, 3 mm off"
    inch = unit_first(said, "in")
    assert inch == unit_first(inch, "in") and said == unit_first(inch, "mm") == unit_first(said, "mm")
    assert inch.index("in (") < inch.index("mm)")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        # 1 in is 25.4 mm (international yard and pound agreement of 1959)
        ("leg 25.40 mm (1.000 in) long", "leg 1.000 in (25.40 mm) long"),
        ("at 25.40, -12.70 mm (1.000, -0.500 in)", "at 1.000, -0.500 in (25.40, -12.70 mm)"),
        ("web (2.00 mm) and 3 mm (see plan)", "web (2.00 mm) and 3 mm (see plan)"),
    ],
)
def test_only_sizes_change_places(text: str, said: str) -> None:
    assert said == unit_first(text, "in")


def test_leading_keeps_one_unit() -> None:
    assert "hole at 1.000, 2.000 in; leg 3.000 in" == leading(
        unit_first(f"hole at {spot(25.4, 50.8)}; leg {size(76.2)}", "in")
    )


def test_one_is_named_as_one() -> None:
    assert ["0 pieces", "1 piece", "2 pieces", "1 batch", "2 batches"] == [
        *(counted(n, "piece") for n in range(3)),
        *(counted(n, "batch", "batches") for n in (1, 2)),
    ]
