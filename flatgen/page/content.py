"""What leaves for the bench, as a small tree of values: made once for a subject, then printed on paper and on the page.

A ``Subject`` (a card, a setting, a sheet, a list) holds contents in reading order. Nothing here knows a file format, a
type size or a colour: a printer turns each kind into its own form, ``page.paper`` into pages of the shop's paper and
``write.screen`` into the packet's page. Texts are sentences in the job's unit, ready to be read.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from flatgen.page.drawing import Drawing

Tone = Literal["plain", "strong", "stop", "decide", "caution", "quiet", "code"]


@dataclass(frozen=True, slots=True)
class Heading:
    """What follows; ``level`` 1 is a section of the subject, 2 a part of a section."""

    text: str
    level: int = 1


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph; its tone says how much it must be seen, and both printers show it without colour too."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with their values, short enough to stand beside each other."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """The figure to set at a machine, large, its unit smaller; ``label`` says what, ``note`` from where."""

    label: str
    value: str
    note: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Box:
    """A box to tick: ``key`` names it across reprints, ``what`` says to those who cannot see where it stands."""

    key: str
    what: str
    label: str = ""


@dataclass(frozen=True, slots=True)
class Count:
    """Pieces done out of ``of``: boxes by tens on paper, a counter on the page; ``done`` were when it was printed."""

    key: str
    what: str
    of: int
    done: int = 0

    @property
    def left(self) -> int:
        """Those that are still to be done."""
        return self.of - self.done


@dataclass(frozen=True, slots=True)
class Entry:
    """Room to write a measured value or initials in, so high on paper [mm]."""

    key: str
    what: str
    label: str = ""
    tall: float = 7.5


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing; ``true`` where it is printed at the size of its own scale or not at all, ``alt`` says what it shows.

    tall : the most height that it takes on paper [mm]
    """

    drawing: Drawing
    alt: str
    true: bool = False
    tall: float = 60.0
    caption: str = ""


Cell = str | Box | Count | Entry | Picture


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under heads; ``title`` is read out, and shown where ``shown``. ``numbers`` are the columns of figures.

    shares : widths of the columns against each other; empty: as wide as what they hold
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    numbers: tuple[int, ...] = ()
    shares: tuple[float, ...] = ()
    shown: bool = False


@dataclass(frozen=True, slots=True)
class Steps:
    """What to do, in order, numbered from ``first``; a step may be ticked off."""

    steps: tuple["Step", ...]
    first: int = 1


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do; ``key`` names its box, empty: none."""

    text: str
    key: str = ""
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True)
class Fold:
    """What is one fold away on the page (sources, reasons); ``printed`` whether paper has it too."""

    summary: str
    contents: tuple["Content", ...]
    printed: bool = False


@dataclass(frozen=True, slots=True)
class Beside:
    """Columns beside each other on paper and wide screens, one under the other on narrow ones; each with its share."""

    columns: tuple[tuple[float, tuple["Content", ...]], ...]


Content = Heading | Words | Facts | Figure | Box | Count | Entry | Picture | Table | Steps | Fold | Beside


@dataclass(frozen=True, slots=True)
class Subject:
    """One thing that is held in the hand: a card, a setting, a sheet, a list.

    key : names it across reprints, and is its address on the page
    title : large; ``side`` stands at the right of it
    under : one line below the title: what every page of it must say
    whole : begins on a page of its own; else it may share one with its neighbours
    """

    key: str
    title: str
    contents: tuple[Content, ...]
    side: str = ""
    under: str = ""
    whole: bool = True


def leaves(contents: Iterable[Content]) -> Iterator[Content]:
    """Contents one by one, those in columns, folds and cells of tables too."""
    for content in contents:
        if isinstance(content, Beside):
            for _, column in content.columns:
                yield from leaves(column)
            continue
        yield content
        if isinstance(content, Fold):
            yield from leaves(content.contents)
        elif isinstance(content, Table):
            yield from (cell for row in content.rows for cell in row if not isinstance(cell, str))
