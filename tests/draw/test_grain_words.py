"""The rolling direction in the trade's words: lengthwise or crosswise of a sheet."""

import pytest

from flatgen.draw.sheets import grain_words
from flatgen.model.shop import Sheet


@pytest.mark.parametrize(
    ("width", "height", "grain", "said"),
    [
        (1200, 600, 0, "lengthwise"),
        (1200, 600, 90, "crosswise"),
        (600, 1200, 90, "lengthwise"),
        (600, 1200, 0, "crosswise"),
        (1200, 600, 30, "30° from the length"),
    ],
)
def test_sheet(width: float, height: float, grain: float, said: str) -> None:
    assert said == grain_words(Sheet("S", "2024-T3", 1.0, width, height, grain=grain))
