"""Plans: nests of blanks on sheets, and brake set-ups. Lengths mm, angles deg."""

from dataclasses import dataclass
from typing import Literal

from flatgen.core.outline import Outline
from flatgen.core.points import STILL, Motion, Point, laying
from flatgen.model.finding import Finding
from flatgen.model.shop import CuttingMethod, Sheet


@dataclass(frozen=True, slots=True)
class Piece:
    """A blank to be nested, ``quantity`` times.

    rotations : allowed turns, counter-clockwise [deg]; None: any
    may_mirror : the blank may be laid other side up
    first : to be cut before all others, from a strip that those do not share: a test bend that they wait for
    """

    part: str
    outline: Outline
    cutouts: tuple[Outline, ...]
    quantity: int
    rotations: tuple[float, ...] | None
    may_mirror: bool = False
    first: bool = False


@dataclass(frozen=True, slots=True)
class Placement:
    """Blank mirrored in x where it says so, rotated counter-clockwise about its own origin, then moved [mm, deg]."""

    part: str
    copy: int
    x: float
    y: float
    rotation: float
    mirrored: bool = False

    @property
    def motion(self) -> Motion:
        """What carries the blank to its place on the sheet."""
        return laying(self.rotation, self.mirrored, self.x, self.y)


@dataclass(frozen=True, slots=True)
class Cut:
    """One edge-to-edge cut on the sheet; ``gauge`` is the size kept between fence and blade.

    The line lies on the edge of the metal kept; a kerf is lost beyond it, away from the sheet's corner 0, 0, or towards
    it where ``trim`` says that waste is cut off the near edge.
    hold : what is under the hold-down; the gauge stands on the other side of the blade ("rest") or on the same
        ("piece", where the rest is too narrow to be held)
    """

    order: int
    start: Point
    end: Point
    gauge: float
    stage: int = 1
    note: str = ""  # what to lay aside, what to keep on cutting
    trim: bool = False
    hold: Literal["rest", "piece"] = "rest"


OFFCUT = "off-cut "  # before the letter, where a nest is cut from what an earlier one of the job leaves


@dataclass(frozen=True, slots=True)
class Offcut:
    """A rectangle of sheet that is left over and worth keeping; ``id`` is its letter in the job, until it is booked."""

    id: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Nest:
    """One sheet with what is cut from it.

    first : parts that are cut before all others, and in ``first_lost`` the share of the sheet that this costs
    begun : mark of the begun sheet whose layout this keeps; empty: laid anew
    """

    material: str
    thickness: float
    method: CuttingMethod
    tool: str
    sheet: Sheet
    placements: tuple[Placement, ...]
    cuts: tuple[Cut, ...]
    offcuts: tuple[Offcut, ...]
    utilisation: float  # net area of the blanks / area of the sheet
    first: tuple[str, ...] = ()
    first_lost: float = 0.0
    begun: str = ""


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Pieces that no sheet on hand or to buy takes, and why."""

    part: str
    quantity: int
    reason: str


@dataclass(frozen=True, slots=True)
class Leg:
    """What a leg of a part comes out to at its planned stops, beside its size on the drawing [mm].

    spread : expected, ± root sum square; None: not known
    set_by : back stop | front stop | sight line | blank: what is left of it
    ends : bends that it runs between, one for a flange
    """

    name: str
    nominal: float
    expected: float
    spread: float | None
    set_by: str
    ends: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedPart:
    """A part as it comes off the brake: its legs, and the sight lines of its bends (parent, child clamped)."""

    part: str
    legs: tuple[Leg, ...]
    sight_lines: tuple[tuple[str, tuple[tuple[Point, Point], tuple[Point, Point]]], ...]


@dataclass(frozen=True, slots=True)
class BendPicture:
    """What a bend looks like from the side: x forward from the clamped tangent line, z up from the bed [mm].

    ``before`` and ``after`` are the metal, ``tools`` are (name, section) with the leaf where it stops; ``beyond`` is
    metal that stands past the ends of the nose bar; ``stop`` is the foot of the stop's face.
    seen, seen_holes, seen_strips : the part before the stroke as seen from above, by face, its round holes (x, y,
        diameter) and the metal about to be bent; x to the operator's right, y away from him, y = 0 the clamped tangent
    bed_edge, nose_tip : their y in that view; ``contact`` : where the stop touches, None without one
    stretches : from where to where along the bend there is metal to touch
    """

    before: tuple[Outline, ...]
    after: tuple[Outline, ...]
    beyond: tuple[Outline, ...]
    tools: tuple[tuple[str, Outline], ...]
    stop: Point | None = None
    seen: tuple[tuple[str, Outline], ...] = ()
    seen_holes: tuple[tuple[float, float, float], ...] = ()
    seen_strips: tuple[Outline, ...] = ()
    bed_edge: float = 0.0
    nose_tip: float = 0.0
    contact: float | None = None
    stretches: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class RefusedBend:
    """A bend that cannot be made in any order that was tried, as it meets a tool or the part itself (``tool``)."""

    part: str
    bend: str
    tool: str
    picture: BendPicture


@dataclass(frozen=True, slots=True)
class Operation:
    """One bend of one part at a set-up.

    released_radius : inside radius after release; ``arc`` : metal in the bend while the leaf stands at its angle
    behind : metal from the back stop to the clamped tangent line, ``ahead`` : from the far one to the front stop
    leg, leg_size : the leg that this stop sets, and what it comes out to; None across a bend that is still flat
    leg_drawn : what that leg should be
    gauge : what touches the stop, in words; ``gauge_kind`` sight: no edge to rest on, work to the sight line
    sight : the same bend worked by mark: sight line from the gauged edge, measured on the flat metal or, past a bend,
        from the outside of the flange that stands there; None when there is no such edge
    lies : carries the blank's axes to the bench as seen from above: x to the operator's right, y away from him
    """

    part: str
    bend: str
    step: int
    flip: bool  # blank turned over against the step before (at step 1: against lying upper side up)
    turn: float  # blank turned in its plane before this step [deg]
    pieces: int
    done: int = 0  # pieces that have it already
    angle: float = 90.0
    upper_side_up: bool = True
    clamped: str = ""  # face under the nose bar
    free: str = ""  # face that the leaf lifts
    gauge: str = ""
    gauge_kind: Literal["edge", "face", "sight"] = "edge"
    gauged_face: str = ""
    released_radius: float = 0.0
    arc: float = 0.0
    behind: float | None = None
    ahead: float | None = None
    leg: str = ""
    leg_size: float | None = None
    leg_drawn: float | None = None
    sight: float | None = None
    tolerance: float = 0.0
    angle_tolerance: float = 1.0
    length: float = 0.0
    grain_to_bend: float | None = None
    fingers: tuple[float, ...] = ()
    room_for_fingers: tuple[float, float] | None = None
    leaves: Literal["front", "endways", "tipped"] = "front"
    gap: float | None = None  # of a hem, which is squeezed over a strip so thick afterwards, 0: flat [mm]
    squeezed: bool = False  # this is that second operation
    tilt: float = 0.0  # of a part that is tipped out, positive with its front up [deg]
    clearance: float | None = None  # least gap to a tool or to itself while bending
    nearest_tool: str = ""
    lies: Motion = STILL
    picture: BendPicture | None = None
    abreast: int = 1  # pieces that lie side by side in one clamping
    scrap: bool = False  # so short that strips of the same sheet keep the bar level


@dataclass(frozen=True, slots=True)
class Setup:
    """A brake setting and the bends made with it.

    nose : its full name, with shoes and fingers; ``bar`` is the bar's own
    stop : from the bed's edge to the stop's face; ``stop_nose`` the same from the nose tip; ``stop_read_from`` says
        which of them the shop reads
    stop_pad : height of a back stop's face against a standing flange; 0: a strip no thicker than the sheet
    wrap : shoes or wraps on the nose; radius and set-back are reckoned over them, ``bare_setback`` is the nose's own
    changes : what must be changed against the setting before: nose, set-back, leaf, stop
    """

    brake: str
    nose: str
    nose_radius: float
    stop: float
    stop_side: Literal["back", "front", "sight", "squeeze"]
    nose_setback: float
    overbend_to: float
    operations: tuple[Operation, ...]
    number: int = 0
    material: str = ""
    thickness: float = 0.0
    stop_nose: float = 0.0
    offset: float = 0.0  # the shop's own, already in ``stop``
    stop_pad: float = 0.0
    wrap: tuple[float, ...] = ()
    bare_setback: float = 0.0
    changes: tuple[str, ...] = ()
    coupon_first: bool = False
    pieces: int = 0
    stop_spread: float = 0.0  # between the bends that share this stop
    bar: str = ""
    nominal: float = 0.0  # thickness that picks tables and records [mm]
    squeeze: float = 0.0  # that the leaf would give the sheet with a set-back of one thickness only
    stop_read_from: Literal["bed", "nose"] = "bed"

    @property
    def stop_shown(self) -> float:
        """The stop's distance from where the shop reads it [mm]."""
        return self.stop if self.stop_read_from == "bed" else self.stop_nose

    @property
    def stop_other(self) -> float:
        """The same from the other place [mm]."""
        return self.stop_nose if self.stop_read_from == "bed" else self.stop

    @property
    def read_from(self) -> str:
        """Where the shop reads its stops, in words."""
        return "the bed's edge" if self.stop_read_from == "bed" else "the nose tip"

    @property
    def read_from_too(self) -> str:
        """The other place, in words."""
        return "the nose tip" if self.stop_read_from == "bed" else "the bed's edge"


@dataclass(frozen=True, slots=True)
class BrakeCount:
    """How much setting a plan asks for; minutes are a rough guide."""

    noses: int
    setbacks: int
    stops: int
    settings: int
    minutes: float


@dataclass(frozen=True, slots=True)
class BrakePlan:
    """All settings of a job in order; ``plain`` is the same work done part by part as listed.

    least : number of settings below which no sequence of these bends can come
    order : part -> bends in order, for parts that can be made
    refused : of parts that no order makes, what they meet
    """

    setups: tuple[Setup, ...]
    findings: tuple[Finding, ...]
    planned: BrakeCount
    plain: BrakeCount
    least: int
    order: tuple[tuple[str, tuple[str, ...]], ...] = ()
    not_made: tuple[str, ...] = ()
    planned_parts: tuple[PlannedPart, ...] = ()
    refused: tuple[RefusedBend, ...] = ()

    def legs(self, part: str) -> tuple[Leg, ...]:
        """What the legs of a part come out to; empty for one that is not planned."""
        return next((one.legs for one in self.planned_parts if one.part == part), ())
