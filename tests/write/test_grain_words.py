"""The rolling direction in the trade's words: lengthwise or crosswise of a sheet."""

import pytest

from flatgen.model.shop import Sheet
from flatgen.write.packet_words import sheet_grain_words


@pytest.mark.parametrize(
    ("width", "height", "grain", "said"),
    [
        (1200, 600, 0, "lengthwise of the sheet"),
        (1200, 600, 90, "crosswise of the sheet"),
        (600, 1200, 90, "lengthwise of the sheet"),
        (600, 1200, 0, "crosswise of the sheet"),
        (1200, 600, 30, "30° from the length of the sheet"),
    ],
)
def test_sheet(width: float, height: float, grain: float, said: str) -> None:
    assert said == sheet_grain_words(Sheet("S", "2024-T3", 1.0, width, height, grain=grain))
