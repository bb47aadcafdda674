"""What a part is collected into while its description is worked out, and how whatever goes wrong finds its place."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from flatgen.core.outline import Outline
from flatgen.develop.drawn import drawn_outlines
from flatgen.errors import CannotMake, InputError, nearest
from flatgen.model.material import Material
from flatgen.model.part import Bend, CornerKind, Cutout, Face, Hole, Mitre, Part, Relief, Tab
from flatgen.model.shop import Shop
from flatgen.read.keys import Table
from flatgen.read.profile import Profile
from flatgen.read.scope import Scope
from flatgen.said import after_head


class WaitsFor(Exception):
    """A part refers to another that has not been built yet."""

    def __init__(self, part: str) -> None:
        """Keep the part waited for."""
        self.part = part
        super().__init__(part)


@dataclass(frozen=True, slots=True)
class Order:
    """What one part of a job adds to its profile: identity, metal, radius, and features of its own."""

    id: str
    title: str
    quantity: int
    material: Material
    thickness: float
    radius: float
    units: str
    shop: Shop
    table: Table | None = None  # the part's own table: corner, holes, opening, relief, …
    extras: dict[str, Any] = field(default_factory=dict)  # further fields of the Part, by name
    built: Mapping[str, Part] = field(default_factory=dict)  # parts of the job that are there already
    to_come: frozenset[str] = frozenset()  # and those that are not


@dataclass(slots=True)
class Builder:
    """Collects a part while its description is worked out."""

    profile: Profile
    order: Order
    scope: Scope
    faces: dict[str, Face] = field(default_factory=dict)
    bends: list[Bend] = field(default_factory=list)
    bend_of: dict[str, Bend] = field(default_factory=dict)
    repeated: dict[str, list[str]] = field(default_factory=dict)  # flange as described -> faces made of it
    left_out: set[str] = field(default_factory=set)
    mates: list[str] = field(default_factory=list)
    holes: list[Hole] = field(default_factory=list)
    cutouts: list[Cutout] = field(default_factory=list)
    reliefs: list[Relief] = field(default_factory=list)
    tabs: list[Tab] = field(default_factory=list)
    mitres: list[Mitre] = field(default_factory=list)
    rounded: dict[str, tuple[CornerKind, float]] = field(default_factory=dict)  # face -> corners to shape where free
    _drawn: dict[str, tuple[Outline, tuple[str, ...]]] | None = None

    @contextmanager
    def at(self, table: Table, key: str = "") -> Iterator[None]:
        """Say file, part and key of whatever goes wrong inside."""
        try:
            yield
        except (InputError, CannotMake) as error:
            if isinstance(error, InputError) and error.file is not None:
                raise
            # what knows its key already says it itself
            key = key or (error.where if isinstance(error, InputError) else "")
            path = table.at(key) if key else table.path
            where = ", ".join(w for w in (f'part "{self.order.id}"', table.name, key) if w)
            message = after_head(error.message, f'part "{self.order.id}": ')
            raise InputError(message, file=table.file.path, line=table.file.line_of(path), where=where) from error

    def faces_of(self, table: Table, name: str, key: str = "face") -> list[Face]:
        """Faces that a feature is for: one, each copy of a repeated flange, none when it is left out."""
        if name in self.faces:
            return [self.faces[name]]
        if name in self.repeated:
            return [self.faces[copy] for copy in self.repeated[name]]
        if name in self.left_out:
            return []
        with self.at(table, key):
            raise InputError(f'there is no face or flange "{name}". {nearest(name, [*self.faces, *self.repeated])}')

    def bends_of(self, table: Table, name: str, key: str = "flange") -> list[Bend]:
        """Bends of a flange, of each copy when it is repeated, none when it is left out."""
        faces = [face.id for face in self.faces_of(table, name, key)]
        known = [self.bend_of[face] for face in faces if face in self.bend_of]
        if faces and not known:
            with self.at(table, key):
                raise InputError(f'"{name}" is no flange. {nearest(name, self.bend_of)}')
        return known

    def outline_of(self, face: Face) -> tuple[Outline, tuple[str, ...]]:
        """Outline and edge names of a face as drawn; a plain flange's follow from the bends around it."""
        if face.skirt is None:
            return face.outline, face.edges
        if self._drawn is None:
            self._drawn = drawn_outlines(self.part(None))
        return self._drawn[face.id]

    def part(self, grain: float | None, **extras: Any) -> Part:
        """The part as far as it is collected."""
        order = self.order
        return Part(
            id=order.id,
            title=order.title or self.profile.values["title"],
            profile=self.profile.name,
            base=self.profile.values["base"],
            faces=tuple(self.faces.values()),
            bends=tuple(self.bends),
            material=order.material,
            thickness=order.thickness,
            quantity=order.quantity,
            holes=tuple(self.holes),
            cutouts=tuple(self.cutouts),
            reliefs=tuple(self.reliefs),
            tabs=tuple(self.tabs),
            mitres=tuple(self.mitres),
            grain=grain,
            mating=tuple(self.mates),
            **extras,
        )
