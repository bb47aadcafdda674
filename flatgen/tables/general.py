"""General tolerances after ISO 2768-1: what a class allows for a size that has no tolerance of its own. Lengths mm.

The values are from memory (so marked in the table); look them up in the standard where one of them decides.
"""

import math
import re
from functools import cache
from typing import Literal, NamedTuple

from flatgen.errors import InputError
from flatgen.tables.load import source
from flatgen.tables.rows import number, read_csv

GENERAL = "general_tolerances.csv"
COLUMNS = ("class", "kind", "above_mm", "to_mm", "limit", "source", "place", "trust")
SAME_SIZE = 1e-6  # a size this little above the end of a band still is in it
SMALLEST = 0.5  # lengths below have no general tolerance
LETTERS = {"fine": "f", "medium": "m", "coarse": "c", "very coarse": "v"}

Kind = Literal["length", "angle"]


class _Band(NamedTuple):
    above: float
    to: float
    limit: float


def length_limit(grade: str, size: float) -> float | None:
    """What a class allows either way of a length of this size [mm]; None where the class says nothing.

    >>> length_limit("medium", 30.0), length_limit("medium", 30.1), length_limit("very coarse", 2.0)
    (0.2, 0.3, None)
    """
    return _limit(grade, "length", size)


def angle_limit(grade: str, leg: float) -> float | None:
    """What a class allows either way of an angle whose shorter leg is this long [mm; deg].

    >>> angle_limit("coarse", 10.0), angle_limit("coarse", 60.0)
    (1.5, 0.5)
    """
    return _limit(grade, "angle", leg)


def called(grade: str) -> str:
    """How a drawing names a class.

    >>> called("medium")
    'ISO 2768-m'
    """
    return f"ISO 2768-{LETTERS[grade]}"


def _limit(grade: str, kind: Kind, size: float) -> float | None:
    for band in bands().get((grade, kind), ()):
        # each band is "over … up to …"; only the smallest size of all belongs to the band that begins with it
        low = band.above - SAME_SIZE if band.above <= SMALLEST else band.above + SAME_SIZE
        if low <= size <= band.to + SAME_SIZE:
            return band.limit
    return None


@cache
def bands() -> dict[tuple[str, str], tuple[_Band, ...]]:
    """Bands of size by class and kind, rising; InputError names file and line."""
    return parse_bands()


def parse_bands(text: str | None = None) -> dict[tuple[str, str], tuple[_Band, ...]]:
    """The same from a text in place of the file."""
    found: dict[tuple[str, str], tuple[_Band, ...]] = {}
    for line, row in read_csv(GENERAL, COLUMNS, text):
        try:
            source(row["source"], row["place"], row["trust"])
            band = _band(row)
        except ValueError as error:
            raise InputError(str(error), file=GENERAL, line=line) from error
        key = (row["class"], row["kind"])
        if row["class"] not in LETTERS or row["kind"] not in ("length", "angle"):
            raise InputError(f'there is no class "{key[0]}" with a limit of "{key[1]}"', file=GENERAL, line=line)
        before = found.get(key, ())
        if before and band.above != before[-1].to:
            raise InputError(f"the band does not begin at {before[-1].to:g}", file=GENERAL, line=line)
        found[key] = (*before, band)
    return found


def _band(row: dict[str, str]) -> _Band:
    above, to = number(row["above_mm"]), number(row["to_mm"]) if row["to_mm"] else math.inf
    limit = _degrees(row["limit"]) if row["kind"] == "angle" else number(row["limit"])
    if not (0 <= above < to and limit > 0):
        raise InputError("a band must rise and its limit be above 0")
    return _Band(above, to, limit)


def _degrees(text: str) -> float:
    match = re.fullmatch(r"(?:(\d+)°)?(?:(\d+)')?", text)
    if not text or match is None:
        raise InputError(f'"{text}" is not written in degrees and minutes')
    return int(match[1] or 0) + int(match[2] or 0) / 60.0
