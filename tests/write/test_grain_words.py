"""The rolling direction in the trade's words: across or along the bends, lengthwise of a sheet."""

from dataclasses import replace

import pytest

from flatgen.develop.develop import develop
from flatgen.model.blank import Blank
from flatgen.model.shop import Sheet
from flatgen.read.single import single_job
from flatgen.write.packet_words import grain_words, sheet_grain_words


def blank(profile: str, grain: float | None) -> Blank:
    job = single_job(profile, {}, "mm", None)
    return replace(develop(job.parts[0], job.shop), grain=grain)


@pytest.mark.parametrize(
    ("profile", "grain", "said"),
    [
        # bends of these run along x, those of the tray both ways; flat: the doubler is longer along x
        ("angle", 90.0, "across the bend"),
        ("angle", 0.0, "along the bend"),
        ("angle", 45.0, "at 45° to the bend"),
        ("channel", 75.0, "across the bends"),
        ("channel", 170.0, "along the bends"),
        ("channel", None, "any way"),
        ("doubler", 0.0, "lengthwise"),
        ("doubler", 90.0, "crosswise"),
        ("doubler", 150.0, "30° from the length"),
    ],
)
def test_blank(profile: str, grain: float | None, said: str) -> None:
    assert said == grain_words(blank(profile, grain))


def test_bends_both_ways_are_told_apart() -> None:
    tray = blank("tray", 90.0)
    flat = {b.id for b in tray.bends if abs(b.tangents[0][0][1] - b.tangents[0][1][1]) < 1e-6}
    words = dict(part.split(" ", 1) for part in grain_words(tray).split("; "))
    assert {"across", "along"} == set(words)
    assert flat == set(words["across"].split(", ")) and 2 == len(flat)


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
