"""Words that many rooms say: sizes in both units, a count with its noun.

Findings are written where the job's unit is not known. So their sizes stand in both units, mm first, and ``unit_first``
brings the job's unit to the front when the finding is handed out. Lengths mm.
"""

import re
from collections.abc import Iterable
from typing import Literal

Units = Literal["in", "mm"]  # what a job, a shop and a drawing write their lengths in

_NUMBERS = r"-?\d+(?:\.\d+)?(?:, -?\d+(?:\.\d+)?)*"
_BOTH = re.compile(rf"(?<![\w.])({_NUMBERS}) (mm²?|in²?) \(({_NUMBERS}) (mm²?|in²?)\)")


def size(mm: float) -> str:
    """A length in both units, since a drawing in one may be worked with tools in the other.

    >>> size(6.35)
    '6.35 mm (0.250 in)'
    """
    return f"{mm:.2f} mm ({mm / 25.4:.3f} in)"


def fine(mm: float) -> str:
    """A length in both units, so finely that what is typed as told is not short of it.

    >>> fine(6.35)
    '6.350 mm (0.2500 in)'
    """
    return f"{mm:.3f} mm ({mm / 25.4:.4f} in)"


def spot(x: float, y: float) -> str:
    """A place in a face in both units.

    >>> spot(12.7, 5.08)
    '12.70, 5.08 mm (0.500, 0.200 in)'
    """
    return f"{x:.2f}, {y:.2f} mm ({x / 25.4:.3f}, {y / 25.4:.3f} in)"


def extent(square_mm: float) -> str:
    """An area in both units [mm²].

    >>> extent(645.16)
    '645.16 mm² (1.000 in²)'
    """
    return f"{square_mm:.2f} mm² ({square_mm / 25.4**2:.3f} in²)"


def unit_first(text: str, units: str) -> str:
    """The text with its sizes in this unit first and the other unit in brackets.

    >>> unit_first("edge distance 6.35 mm (0.250 in) is short", "in")
    'edge distance 0.250 in (6.35 mm) is short'
    >>> unit_first("no sheet of 304, 1.02 mm (0.040 in)", "in")
    'no sheet of 304, 0.040 in (1.02 mm)'
    """

    def ordered(found: re.Match[str]) -> str:
        one, unit, two, other = found.groups()
        if unit.startswith(units):
            return found.group()
        # an alloy's number may stand before the size
        numbers, count = one.split(", "), two.count(", ") + 1
        before = "".join(f"{number}, " for number in numbers[:-count])
        return f"{before}{two} {other} ({', '.join(numbers[-count:])} {unit})"

    return _BOTH.sub(ordered, text)


def leading(text: str) -> str:
    """The text with only the first of the two units of its sizes.

    >>> leading("web hole at 0.500, 0.200 in (12.70, 5.08 mm)")
    'web hole at 0.500, 0.200 in'
    """
    return _BOTH.sub(r"\1 \2", text)


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "piece"), counted(3, "piece"), counted(2, "batch", "batches")
    ('1 piece', '3 pieces', '2 batches')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"


def letter_of(number: int) -> str:
    """A, B, ... Z, AA, AB, ... for 0, 1, ...

    >>> letter_of(0), letter_of(25), letter_of(27)
    ('A', 'Z', 'AB')
    """
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text


def numbers(values: Iterable[int]) -> str:
    """Numbers in order, those that follow one another as a run.

    >>> numbers([4, 1, 2, 3, 7, 8])
    '1-4, 7, 8'
    """
    runs: list[list[int]] = []
    for value in sorted(values):
        if runs and value == runs[-1][-1] + 1:
            runs[-1].append(value)
        else:
            runs.append([value])
    said = [f"{run[0]}-{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return ", ".join(said)
