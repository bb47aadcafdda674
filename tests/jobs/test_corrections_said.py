"""The one thing to change after measured pieces, in words to the hands: which way, by how much, from where to where."""

from types import SimpleNamespace

import pytest

from flatgen.core.cause import Cause
from flatgen.core.correction import Advice
from flatgen.jobs.inspecting import told_text
from flatgen.jobs.shop_place import Place

IN_MM = SimpleNamespace(
    units="mm",
    deviation=lambda kind, value: Place.deviation(SimpleNamespace(units="mm"), kind, value),
    length=lambda value: f"{value:.2f} mm",
)
WORDS = {
    ("cut", 0.4): "CUT THE NEXT BLANKS 0.400 mm ± 0.030 mm longer across b1, b2, to the size that is printed",
    ("cut", -0.4): "CUT THE NEXT BLANKS 0.400 mm ± 0.030 mm shorter across b1, b2, to the size that is printed",
    # a blank that comes out right and legs that come out short: less was to be taken off for the bend
    ("deduction", 0.4): "TAKE 0.400 mm ± 0.030 mm less as the deduction of each bend; the blanks' cut is right",
    ("deduction", -0.4): "TAKE 0.400 mm ± 0.030 mm more as the deduction of each bend; the blanks' cut is right",
    ("blank", 0.4): "0.400 mm ± 0.030 mm longer for each bend (its deduction is as much less)",
    ("blank", -0.4): "0.400 mm ± 0.030 mm shorter for each bend (its deduction is as much more)",
    ("leaf", 0.4): "TAKE THE LEAF of setting 3 0.40° ± 0.03° further: from 93.5° to 93.9°",
    ("leaf", -0.4): "TAKE THE LEAF of setting 3 0.40° ± 0.03° less far: from 93.5° to 93.1°",
    ("sight line", 0.4): "MOVE THE SIGHT LINE of setting 3 0.400 mm ± 0.030 mm away from the gauged edge",
    ("sight line", -0.4): "MOVE THE SIGHT LINE of setting 3 0.400 mm ± 0.030 mm toward the gauged edge",
    (
        "back stop",
        0.4,
    ): "of setting 3 away from the nose by 0.400 mm ± 0.030 mm: from 21.00 mm to 21.40 mm",
    (
        "back stop",
        -0.4,
    ): "of setting 3 toward the nose by 0.400 mm ± 0.030 mm: from 21.00 mm to 20.60 mm",
    ("front stop", 0.4): "MOVE THE FRONT STOP of setting 3 away from the bed by 0.400 mm ± 0.030 mm: from 21.00 mm",
    ("front stop", -0.4): "MOVE THE FRONT STOP of setting 3 toward the bed by 0.400 mm ± 0.030 mm: from 21.00 mm",
}


@pytest.mark.parametrize(("kind", "amount"), WORDS)
def test_each_change_says_its_way(kind: str, amount: float) -> None:
    series = SimpleNamespace(kind="angle" if kind == "leaf" else "length")
    cause = Cause(kind, "3", ("b1", "b2") if kind == "cut" else ())
    one = SimpleNamespace(cause=cause, series=series, advice=Advice("change", amount, 0.03, ()))
    planned = {"3": SimpleNamespace(stop=21.0, overbend_to=93.5)}
    assert WORDS[kind, amount] in told_text(one, planned, IN_MM)
    if kind in ("leaf", "back stop", "front stop"):  # where it was moved since, the plan's figure is not named
        assert told_text(one, {}, IN_MM).endswith(", from where it stands now")
