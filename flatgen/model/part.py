"""A part as described: a tree of flat faces joined by bends, in drawing sizes. Lengths mm, angles deg.

Each face has axes of its own. Its outline is drawn on the lines that the drawing measures to (mould lines unless a bend
says otherwise): the flat that is left between tangent lines follows from the bends.
"""

from dataclasses import dataclass
from typing import Literal

from flatgen.core.outline import Outline
from flatgen.core.points import Point
from flatgen.model.material import Material

Measured = Literal["outside", "inside", "tangent", "fold"]
Beside = Literal["tangent", "edge"]
Hand = Literal["none", "left", "right"]
ReliefKind = Literal["square-ended", "round-ended", "drilled"]
ReliefEnds = Literal["both", "low", "high"]
CornerKind = Literal["round", "clip"]
HANDED: dict[str, str] = {"left": " LEFT HAND", "right": " RIGHT HAND", "none": ""}
Process = Literal["one by one", "side by side", "long", "wide"]
General = Literal["", "fine", "medium", "coarse", "very coarse"]


@dataclass(frozen=True, slots=True)
class Skirt:
    """Shape of a flange that spans its bend: it is as wide as the flat edge it stands on, whatever radius is bent.

    height_low, height_high : at the two ends of the span, from the line the drawing measures to [mm]
    inset_low, inset_high : how far the ends of the free edge stand in from those of the bend [mm]
    """

    height_low: float
    height_high: float
    inset_low: float = 0.0
    inset_high: float = 0.0


SKIRT_EDGES = ("bend", "high", "free", "low")


@dataclass(frozen=True, slots=True)
class Face:
    """One flat: outline in its own axes (counter-clockwise), and the name of the edge that leaves each corner.

    A flange's axes: x along its bend in the parent edge's own run, y from the measured line to the free edge. A flange
    with a ``skirt`` has no outline of its own; its edges are "bend", "high", "free", "low".
    """

    id: str
    outline: Outline
    edges: tuple[str, ...]
    corners: tuple["Corner", ...] = ()
    skirt: Skirt | None = None

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
    kind: CornerKind
    size: float
    size_other: float | None = None  # clip only: leg along the second edge when it differs


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend that joins ``child`` to an edge of ``parent``.

    angle : turned through from flat, positive up (toward the viewer of the upper side) [deg]
    radius : inside radius on the drawing [mm]
    span : where the bend lies in the run of the parent's edge; None: the whole flat edge [mm]
    child_span : the same along the child's edge; None: as ``span`` [mm]
    measured_parent, measured_child : what the drawing's sizes go to on each side: the mould line "outside" or "inside",
        the "tangent" line, or the outside of the "fold" itself, as hems are given
    hem : folded and pressed to the drawing's radius, whatever noses the brake has
    neutral_axis_ratio, deduction : stated for this bend alone
    beside : whether the parent's edge beside a partial bend lies on the bend's tangent line or where the outline has it

    The run of an edge is the x of its face when it is level, the y when it is plumb, else the distance from its start.
    """

    id: str
    parent: str
    parent_edge: str
    child: str
    child_edge: str
    angle: float
    radius: float
    span: tuple[float, float] | None = None
    child_span: tuple[float, float] | None = None
    measured_parent: Measured = "outside"
    measured_child: Measured = "outside"
    beside: Beside = "tangent"
    hem: bool = False
    neutral_axis_ratio: float | None = None
    deduction: float | None = None

    @property
    def direction(self) -> str:
        """Up or down as seen on the upper side of the blank."""
        return "up" if self.angle >= 0 else "down"


@dataclass(frozen=True, slots=True)
class Mate:
    """The same hole in a part that lies on this one: its pattern, its diameter and the fastener through both [mm].

    sure : False where both patterns are on faces that lie on another part, and nothing says that it is each other's
    """

    part: str
    pattern: str
    diameter: float
    fastener: float | None
    sure: bool = True


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole in a face [mm]; ``label`` is what is written at it (drill), ``fastener`` its rivet or bolt size.

    drilled : before or after bending; "": before, unless a bend is too near
    mates : the parts whose pattern this one takes over, directly or through another part, and those that lie on it
    """

    face: str
    center: Point
    diameter: float
    label: str
    fastener: float | None = None
    kind: Literal["rivet", "bolt", "plain", "lightening", "tooling"] = "plain"
    group: str = ""
    drilled: Literal["", "before", "after"] = ""
    mates: tuple[Mate, ...] = ()


@dataclass(frozen=True, slots=True)
class Cutout:
    """An opening or edge notch in a face, in the face's axes [mm]."""

    face: str
    outline: Outline
    label: str = ""


@dataclass(frozen=True, slots=True)
class Relief:
    """Metal taken away at an end of a bend, so that it neither tears nor bulges.

    kind square-ended and round-ended lie beside the bend's end; "drilled" is a hole, at the
    crossing of the inside tangent lines where two bends meet, else at the bend's end on the tangent line. Sizes mm.
    """

    bend: str
    ends: ReliefEnds
    kind: ReliefKind
    width: float
    depth: float = 0.0  # past the inside tangent line of the parent
    label: str = ""


@dataclass(frozen=True, slots=True)
class Tab:
    """Metal that stands out of a free edge, from ``low`` to ``high`` in the edge's run, ``out`` far; its outer corners
    are rounded when ``corner`` is more than 0 [mm]."""

    face: str
    edge: str
    low: float
    high: float
    out: float
    corner: float = 0.0


@dataclass(frozen=True, slots=True)
class Mitre:
    """Two flanges whose ends are cut to meet when formed, their nearest edges ``gap`` apart [mm]."""

    faces: tuple[str, str]
    gap: float


@dataclass(frozen=True, slots=True)
class Fit:
    """A face that goes over (its inside size) or into (its outside size) a face of another part.

    their_size : size of the other face, outside when this one goes over it, else inside [mm]
    clearance, allowed : play wanted between the two, and how far off it may be either way [mm]
    """

    face: str
    across: Literal["x", "y"]
    way: Literal["over", "into"]
    part: str
    their_face: str
    their_size: float
    clearance: float
    allowed: float


@dataclass(frozen=True, slots=True)
class Tolerance:
    """What the drawing allows, ± [mm] and [deg].

    general : class of ISO 2768-1 for what is not stated; "": none
    stated : which of length, angle, hole the drawing gives itself; the others are the shop's, for where a class is
        silent
    """

    length: float
    angle: float
    hole: float
    general: General = ""
    stated: tuple[str, ...] = ()

    def left_to_class(self, what: str) -> bool:
        """Whether the tolerance class decides on a length, angle or hole."""
        return self.general != "" and what not in self.stated


@dataclass(frozen=True, slots=True)
class Sawn:
    """Formed lengths cut alike: how many of them, and what each gives: (part, length, how many) [mm].

    rips : long edges that are ripped off a wider piece; 0 of a length that is cut across
    """

    times: int
    pieces: tuple[tuple[str, float, int], ...]
    rips: int = 0


@dataclass(frozen=True, slots=True)
class Part:
    """One part number, ready to be developed.

    process : the way in which the builder makes it; ``kept_single`` : why one by one against the job's
    cut_from : the formed length or the wider bent piece that it is sawn from, empty: it has a blank of its own
    cut_list : of such a length or piece, what is sawn from it
    """

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
    first: int = 1  # number of its first piece: coupons go on after those recorded
    neutral_axis_ratio: float | None = None  # stated for this part
    deduction: float | None = None  # stated for every bend of this part [mm]
    parameters: tuple[tuple[str, str], ...] = ()  # as written, for the record
    family: str = ""  # the table of sizes that it is a row of
    tabs: tuple[Tab, ...] = ()
    mitres: tuple[Mitre, ...] = ()
    fits: tuple[Fit, ...] = ()
    marked: Literal["", "upper", "lower"] = ""  # side that can be told from the other and must lie as described
    turn_over: bool = False  # its blank may be laid other side up in a nest
    process: Process = "one by one"
    kept_single: str = ""
    cut_from: str = ""
    cut_list: tuple[Sawn, ...] = ()

    @property
    def name(self) -> str:
        """What the part is called wherever it is named: its mark, and which hand it is."""
        return f"{self.mark or self.id}{HANDED[self.hand]}"

    @property
    def handed_title(self) -> str:
        """Its title with the hand before it, where nothing can cut it off."""
        return f"{HANDED[self.hand].strip()}, {self.title or self.profile}".removeprefix(", ")

    nominal: float = 0.0  # thickness that picks tables and stock; 0: the one developed, ``thickness``
    measured: float | None = None  # thickness that was measured of this part's own sheet

    def __post_init__(self) -> None:
        """A part that says nothing else is of its nominal thickness."""
        if not self.nominal:
            object.__setattr__(self, "nominal", self.thickness)

    def face(self, face_id: str) -> Face:
        """The face with this id."""
        return next(face for face in self.faces if face.id == face_id)

    def bend(self, bend_id: str) -> Bend:
        """The bend with this id."""
        return next(bend for bend in self.bends if bend.id == bend_id)
