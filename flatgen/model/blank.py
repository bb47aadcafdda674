"""A part developed: the flat outline with everything on it, and where each flat ends up when formed.

Blank axes: datum corner (least x and y) at 0, 0; the upper side faces the reader, metal from z = -thickness to 0.
Lengths mm, angles deg, areas mm², masses g.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from flatgen.core.bend import MOULD_LINES_BELOW
from flatgen.core.making import Making, before_closing, making, sight_from_clamped
from flatgen.core.outline import Outline
from flatgen.core.points import Frame, Motion, Point, along, right, sub, unit
from flatgen.model.part import Hole, ReliefKind
from flatgen.model.source import Source

Line = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class BentRadius:
    """The radius that a bend will really have, and how its metal was reckoned.

    inside_radius : of the nose that makes it [mm]
    allowance : length of the strip between tangent lines [mm]
    setback_outside : mould line to tangent line, infinite at 180 deg [mm]
    nose : its full name, of ``bar`` and ``shoes`` [mm]; empty when no nose on hand makes the bend
    """

    inside_radius: float
    drawing_radius: float
    allowance: float
    setback_outside: float
    deduction: float
    neutral_axis_ratio: float
    method: str
    source: Source
    nose: str = ""
    bar: str = ""
    shoes: tuple[float, ...] = ()
    stop_offset: float | None = None  # of the shop's own test bends, see ``ShopBend``; None: it has none
    springback_in: bool = False  # the allowance comes from finished bends, or predicts them


@dataclass(frozen=True, slots=True)
class FirstBend:
    """What the leaf makes of a hem before it is squeezed shut: over which bar, how far, and what that springs back to.

    radius : of the bar; ``released`` : after release [mm]
    leaf_angle, comes_to : on the leaf, and after release [deg]
    """

    bar: str
    radius: float
    released: float
    leaf_angle: float
    comes_to: float
    stop_offset: float | None = None  # that the shop's test bends ask for [mm]


@dataclass(frozen=True, slots=True)
class BendLine:
    """One bend on the blank: direction as seen from the upper side, angle always positive [deg]."""

    id: str
    parent: str
    child: str
    angle: float
    direction: str  # up | down
    bent: BentRadius
    centerline: Line
    tangents: tuple[Line, Line]  # first the parent's, then the child's
    outline: Outline  # the strip between the tangent lines, less reliefs
    overbend_to: float
    sight_lines: tuple[Line, Line]  # parent clamped, child clamped
    first: FirstBend | None = None  # of a hem
    overbend_range: tuple[float, float] | None = None  # between which the leaf angle is to be expected

    def making(self, thickness: float) -> Making:
        """How this bend is made on its nose, in sheet of this thickness [mm]."""
        bent = self.bent
        if self.first is not None:
            one = self.first
            setback = bent.setback_outside if self.angle < MOULD_LINES_BELOW else 0.0
            ratio = bent.neutral_axis_ratio
            return before_closing(one.leaf_angle, one.radius, one.released, ratio * thickness, bent.allowance, setback)
        return making(
            self.angle,
            self.overbend_to,
            bent.inside_radius,
            thickness,
            bent.allowance,
            springback_in=bent.springback_in,
        )

    def lines_to_clamped_size(self, thickness: float) -> tuple[Line, Line]:
        """Sight lines that bring the clamped leg to size, whichever is clamped: of a bend without a plan."""
        (p, q), (far_q, far_p) = self.tangents
        made = self.making(thickness)
        reach = sight_from_clamped(-made.shortens, made.nose_radius)
        n = right(unit(sub(q, p)))
        return (along(p, n, reach), along(q, n, reach)), (along(far_q, n, -reach), along(far_p, n, -reach))

    @property
    def signed_angle(self) -> float:
        """Positive up [deg]."""
        return self.angle if self.direction == "up" else -self.angle


@dataclass(frozen=True, slots=True)
class FlatFace:
    """A flat on the blank, tangent line to tangent line; ``motion`` carries face axes to blank axes, ``frame`` carries
    (x, y, 0) of the blank to the formed part."""

    id: str
    outline: Outline
    motion: Motion
    frame: Frame


@dataclass(frozen=True, slots=True)
class BlankHole:
    """A round hole on the blank, called by its ``number`` wherever it is spoken of.

    cutout : its place in the blank's list of inner contours
    after_bending : drilled when the part is formed, so not cut into the blank
    """

    center: Point
    diameter: float
    label: str
    hole: Hole
    cutout: int
    number: int
    after_bending: bool = False

    @property
    def remark(self) -> str:
        """What to know beside size and place."""
        return "drill after bending" if self.after_bending else ""


@dataclass(frozen=True, slots=True)
class ReliefHole:
    """A relief's hole, drilled first: its metal is gone from the outline or is a contour among the cutouts.

    label : the drill; bends : whose ends it relieves
    """

    center: Point
    diameter: float
    label: str
    bends: tuple[str, ...]
    number: int
    kind: ReliefKind = "drilled"
    after_bending: bool = False

    @property
    def remark(self) -> str:
        """What to know beside size and place."""
        return f"relief of {', '.join(self.bends)}: drill first"


@dataclass(frozen=True, slots=True)
class Dimension:
    """One size of the formed part that the drawing gives or a person can measure; kept with both ways to say it.

    where : face or faces in words; kind : flange | web | overall | length | angle
    likely, worst : how far it is expected to come out, ±, root sum square and worst case; None: not reckoned [mm]
    """

    where: str
    kind: str
    outside: float
    inside: float
    axis: str = ""  # x or y of the face
    likely: float | None = None
    worst: float | None = None
    ends: tuple[str, ...] = ()  # bends that it runs between, one for a flange


@dataclass(frozen=True, slots=True)
class Blank:
    """The developed part. ``cutouts`` are all inner contours, round holes included, counter-clockwise."""

    part: str
    outline: Outline
    cutouts: tuple[Outline, ...]
    holes: tuple[BlankHole, ...]
    bends: tuple[BendLine, ...]
    faces: tuple[FlatFace, ...]
    width: float
    height: float
    area: float  # net of all inner contours
    grain: float | None
    thickness: float
    mass: float
    formed_size: tuple[float, float, float]
    center_of_gravity: tuple[float, float, float]
    dimensions: tuple[Dimension, ...] = ()
    overall: tuple[Dimension, ...] = ()  # over several flats, sharp corners
    reliefs: tuple[ReliefHole, ...] = ()

    @property
    def drilled(self) -> tuple[BlankHole | ReliefHole, ...]:
        """All that is drilled, by number: holes, then reliefs."""
        return tuple(sorted((*self.holes, *self.reliefs), key=lambda hole: hole.number))

    @property
    def openings(self) -> tuple[tuple[str, Outline], ...]:
        """Inner contours that are not drilled, each with the name that it is called by: W1, W2."""
        holes = {hole.cutout for hole in self.holes}
        rest = [c for k, c in enumerate(self.cutouts) if k not in holes and not self._is_relief(c)]
        return tuple((f"W{k}", outline) for k, outline in enumerate(rest, 1))

    def _is_relief(self, contour: Outline) -> bool:
        """Whether an inner contour is the whole of a relief's hole."""
        sizes = ((hole.center, hole.diameter / 2.0) for hole in self.reliefs)
        return any(all(abs(math.dist(v[:2], center) - r) < 1e-6 for v in contour) for center, r in sizes)

    def face(self, face_id: str) -> FlatFace:
        """The flat with this id."""
        return next(face for face in self.faces if face.id == face_id)

    def bend(self, bend_id: str) -> BendLine:
        """The bend line with this id."""
        return next(bend for bend in self.bends if bend.id == bend_id)

    def angle_to_grain(self, bend: BendLine) -> float | None:
        """Angle between a bend line and the rolling direction, 90 square across it; None: any grain [deg]."""
        if self.grain is None:
            return None
        (x0, y0), (x1, y1) = bend.tangents[0]
        return abs((math.degrees(math.atan2(y1 - y0, x1 - x0)) - self.grain + 90.0) % 180.0 - 90.0)


def with_sight_lines(blank: Blank, planned: Mapping[str, tuple[Line, Line]]) -> Blank:
    """The blank with the sight lines that the brake's plan has for its bends."""
    return replace(
        blank,
        bends=tuple(replace(b, sight_lines=planned[b.id]) if b.id in planned else b for b in blank.bends),
    )
