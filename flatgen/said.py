"""Sentences whose quantities stay values until somebody reads them: then they are worded in the reader's unit.

A rule does not know the job's unit. It says ``said("the flange is ", size(9.5), " long")``; the surface asks for
``within(text, "in")``. In an f-string a size stands in both units, for errors that are read with either. Lengths mm.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from string import Formatter
from typing import Literal, Union

Units = Literal["in", "mm"]  # what a job, a shop and a drawing write their lengths in


@dataclass(frozen=True, slots=True)
class Measure:
    """A length, a place or an area; ``power`` 1 or 2, ``finer`` digits more than usual [mm, mm²]."""

    values: tuple[float, ...]
    power: int = 1
    finer: int = 0

    def within(self, units: str) -> str:
        """The values with their unit."""
        digits, scale = (3, 25.4**self.power) if units == "in" else (2, 1.0)
        said = ", ".join(f"{value / scale:.{digits + self.finer}f}" for value in self.values)
        return f"{said} {units}{'²' if self.power == 2 else ''}"

    def __str__(self) -> str:
        """Both units, mm first."""
        return f"{self.within('mm')} ({self.within('in')})"


@dataclass(frozen=True, slots=True)
class Said:
    """Words and quantities in turn."""

    parts: tuple[str | Measure, ...]

    def within(self, units: str) -> str:
        """The sentence with every quantity in these units."""
        return "".join(part if isinstance(part, str) else part.within(units) for part in self.parts)

    @property
    def kind(self) -> tuple[object, ...]:
        """What it says whatever the quantities are."""
        return tuple(part if isinstance(part, str) else (part.power, len(part.values)) for part in self.parts)

    def __str__(self) -> str:
        """The sentence with every quantity in both units."""
        return "".join(map(str, self.parts))

    def __add__(self, other: Union[str, "Said"]) -> "Said":
        """This and more."""
        return said(self, other)

    def __radd__(self, other: str) -> "Said":
        """Words, then this."""
        return said(other, self)


Text = str | Said


def said(*pieces: Text) -> Said:
    """One sentence of its pieces.

    >>> said("the flange is ", size(6.35), " long").within("in")
    'the flange is 0.250 in long'
    """
    parts: list[str | Measure] = []
    for piece in pieces:
        for part in (piece,) if isinstance(piece, str) else piece.parts:
            if parts and isinstance(part, str) and isinstance(parts[-1], str):
                parts[-1] += part
            elif part != "":
                parts.append(part)
    return Said(tuple(parts))


def joined(between: str, texts: Iterable[Text]) -> Said:
    """Texts with something between each two."""
    pieces = [piece for text in texts for piece in (between, text)]
    return said(*pieces[1:])


def filled(template: str, *values: Text) -> Said:
    """A sentence with values in its places.

    >>> filled("no deeper than {0} (now {1})", size(2.0), "none").within("mm")
    'no deeper than 2.00 mm (now none)'
    """
    pieces: list[Text] = []
    for words, name, _, _ in Formatter().parse(template):
        pieces += [words, *([values[int(name)]] if name else [])]
    return said(*pieces)


def after_head(text: Text, head: str) -> Text:
    """A text without the words that it begins with, where it does."""
    if isinstance(text, str):
        return text.removeprefix(head)
    first, *rest = text.parts or ("",)
    return Said((first.removeprefix(head), *rest)) if isinstance(first, str) else text


def within(text: Text, units: str) -> str:
    """A text as it is read in these units."""
    return text if isinstance(text, str) else text.within(units)


def over(texts: Sequence[Text], units: str) -> str:
    """Texts that differ in nothing but quantities as one: each quantity, or its range.

    >>> over([said("leg ", size(25.4)), said("leg ", size(50.8))], "in")
    'leg 1.000 to 2.000 in'
    """
    first = texts[0]
    if isinstance(first, str):
        return first
    rows = [text.parts for text in texts if isinstance(text, Said)]
    return "".join(_range(column, units) for column in zip(*rows, strict=True))


def _range(column: Sequence[str | Measure], units: str) -> str:
    first = column[0]
    if isinstance(first, str):
        return first
    measures = sorted({one for one in column if isinstance(one, Measure)}, key=lambda one: one.values)
    words = list(dict.fromkeys(one.within(units) for one in measures))
    if len(words) == 1:
        return words[0]
    if len(first.values) > 1:
        return "; ".join(words)
    return f"{words[0].split(' ')[0]} to {words[-1]}"


def size(mm: float) -> Said:
    """A length.

    >>> str(size(6.35))
    '6.35 mm (0.250 in)'
    """
    return Said((Measure((mm,)),))


def fine(mm: float) -> Said:
    """A length, so finely that what is typed as told is not short of it.

    >>> str(fine(6.35))
    '6.350 mm (0.2500 in)'
    """
    return Said((Measure((mm,), finer=1),))


def spot(x: float, y: float) -> Said:
    """A place in a face.

    >>> str(spot(12.7, 5.08))
    '12.70, 5.08 mm (0.500, 0.200 in)'
    """
    return Said((Measure((x, y)),))


def extent(square_mm: float) -> Said:
    """An area [mm²].

    >>> str(extent(645.16))
    '645.16 mm² (1.000 in²)'
    """
    return Said((Measure((square_mm,), power=2),))
