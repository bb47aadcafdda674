"""Words that many rooms say: a count with its noun, letters, runs of numbers."""

from collections.abc import Iterable

from flatgen.said import Units as Units

UNIT_NAMES = {"in": "inches", "mm": "millimetres"}


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
