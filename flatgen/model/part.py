"""A part as described: a tree of flat faces joined by bends, in drawing sizes. Lengths mm, angles deg.

Each face has axes of its own. Its outline is drawn on the lines that the drawing measures to (mould lines unless a bend
says otherwise): the flat that is left between tangent lines follows from the bends.
"""

from dataclasses import dataclass
from typing import Literal

from flatgen.core.outline import Outline
from flatgen.core.points import Point
from flatgen.model.material import Material

Measured = Literal["outside", "inside", "tangent"]
Beside = Literal["tangent", "edge"]
Hand = Literal["none", "left", "right"]


@dataclass(frozen=True, slots=True)
class Face:
    """One flat: outline in its own axes (counter-clockwise), and the name of the edge that leaves each corner."""

    id: str
    outline: Outline
    edges: tuple[str, ...]
    corners: tuple["Corner", ...] = ()

    def edge(self, name: str) -> int:
        """Index of the edge with this name; KeyError when there is none."""
        try:
            return self.edges.index(name)
        except ValueError:
            raise KeyError(name) from None


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of a face, named by the two edges that meet there, rounded or clipped [mm]."""

    edges: tuple[str, str]
    kind: Literal["round", "clip"]
    size: float
    size_other: float | None = None  # clip only: leg along the second edge when it differs


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend that joins ``child`` to an edge of ``parent``.

    angle : turned through from flat, positive up (toward the viewer of the upper side) [deg]
    radius : inside radius on the drawing [mm]
    span : where the bend lies along the parent's edge, in the parent edge's own run [mm from its low end]
    child_start : coordinate along the child's joining edge that meets the low end of the span [mm]
    """

    id: str
    parent: str
    parent_edge: str
    child: str
    child_edge: str
    angle: float
    radius: float
    span: tuple[float, float]
    child_span: tuple[float, float]
    measured_parent: Measured = "outside"
    measured_child: Measured = "outside"
    beside: Beside = "tangent"

    @property
    def direction(self) -> str:
        """Up or down as seen on the upper side of the blank."""
        return "up" if self.angle >= 0 else "down"


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole in a face [mm]; ``label`` is what is written at it (drill), ``fastener`` its rivet or bolt size."""

    face: str
    center: Point
    diameter: float
    label: str
    fastener: float | None = None
    kind: Literal["rivet", "bolt", "plain", "lightening", "tooling"] = "plain"
    group: str = ""


@dataclass(frozen=True, slots=True)
class Cutout:
    """An opening or edge notch in a face, in the face's axes [mm]."""

    face: str
    outline: Outline
    label: str = ""


@dataclass(frozen=True, slots=True)
class Relief:
    """Metal taken away at an end of a bend, so that it neither tears nor bulges.

    kind "slot" is square-ended, "obround" round-ended, both beside the bend's end; "round" is a drilled hole, at the
    crossing of the inside tangent lines where two bends meet, else at the bend's end on the tangent line. Sizes mm.
    """

    bend: str
    ends: Literal["both", "low", "high"]
    kind: Literal["slot", "obround", "round"]
    width: float
    depth: float = 0.0  # past the inside tangent line of the parent
    label: str = ""


@dataclass(frozen=True, slots=True)
class Tolerance:
    """What the drawing allows, ± [mm] and [deg]."""

    length: float
    angle: float
    hole: float


@dataclass(frozen=True, slots=True)
class Part:
    """One part number, ready to be developed."""

    id: str
    title: str
    profile: str
    base: str
    faces: tuple[Face, ...]
    bends: tuple[Bend, ...]
    material: Material
    thickness: float
    quantity: int
    hand: Hand = "none"
    holes: tuple[Hole, ...] = ()
    cutouts: tuple[Cutout, ...] = ()
    reliefs: tuple[Relief, ...] = ()
    grain: float | None = 0.0  # rolling direction wanted, in the base face's axes; None: any [deg]
    mating: tuple[str, ...] = ()  # faces that lie on another part: the brake gauges these
    notes: tuple[str, ...] = ()
    drawing: str = ""
    revision: str = ""
    mark: str = ""
    tolerance: Tolerance | None = None
    kind: Literal["part", "coupon"] = "part"
    parameters: tuple[tuple[str, str], ...] = ()  # as written, for the record

    def face(self, face_id: str) -> Face:
        """The face with this id."""
        return next(face for face in self.faces if face.id == face_id)

    def bend(self, bend_id: str) -> Bend:
        """The bend with this id."""
        return next(bend for bend in self.bends if bend.id == bend_id)
