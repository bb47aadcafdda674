"""What goes into a packet's folder as drawings: the contract between those who draw and those who write."""

from dataclasses import dataclass
from typing import Literal

from flatgen.page.content import Subject
from flatgen.page.drawing import Drawing

Kind = Literal["blank", "nest", "card", "template", "setup", "inspection", "flat", "formed", "chart"]


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
    drawings: tuple[Drawing, ...]
    formats: tuple[str, ...]
    about: str = ""

    @property
    def files(self) -> tuple[str, ...]:
        """Paths in the folder."""
        return tuple(f"{self.name}.{ending}" for ending in self.formats)


@dataclass(frozen=True, slots=True)
class Subjects:
    """What the page shows as the paper does; ``cards`` by part number."""

    cards: tuple[tuple[str, Subject], ...] = ()
    settings: tuple[Subject, ...] = ()
