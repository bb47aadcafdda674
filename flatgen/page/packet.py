"""What goes into a packet's folder as drawings: the contract between those who draw and those who write."""

from dataclasses import dataclass
from typing import Literal

from flatgen.kept import Later
from flatgen.page.content import Subject
from flatgen.page.drawing import Drawing

Kind = Literal["blank", "nest", "card", "template", "setup", "inspection", "tally", "flat", "formed", "chart"]


@dataclass(frozen=True, slots=True)
class Enclosure:
    """Drawings of one thing, written as one file a format under ``name``.

    name : path in the folder without its ending; only ``pdf`` takes more than one drawing
    about : the part's id, or the number of the nest or set-up from 1; empty for the whole job
    formats : endings such as dxf, svg, pdf; none for a picture that only the pages show
    """

    name: str
    kind: Kind
    title: str
    drawn: tuple[Drawing, ...] | Later
    formats: tuple[str, ...]
    about: str = ""

    @property
    def drawings(self) -> tuple[Drawing, ...]:
        """The drawings themselves."""
        return drawings_of(self.drawn)

    @property
    def files(self) -> tuple[str, ...]:
        """Paths in the folder."""
        return tuple(f"{self.name}.{ending}" for ending in self.formats)


def drawings_of(drawn: tuple[Drawing, ...] | Later) -> tuple[Drawing, ...]:
    """Drawings that are there, or that are asked for now."""
    found = drawn.answer() if isinstance(drawn, Later) else drawn
    return (found,) if isinstance(found, Drawing) else tuple(found)


@dataclass(frozen=True, slots=True)
class Subjects:
    """What the page shows as the paper does; ``cards`` by part number."""

    cards: tuple[tuple[str, Subject], ...] = ()
    settings: tuple[Subject, ...] = ()
    sheets: tuple[Subject, ...] = ()
    tally: tuple[Subject, ...] = ()
