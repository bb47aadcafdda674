"""Plans: nests of blanks on sheets, and brake set-ups. Lengths mm, angles deg."""

from dataclasses import dataclass
from typing import Literal

from flatgen.core.outline import Outline
from flatgen.core.points import Point
from flatgen.model.shop import CuttingMethod, Sheet


@dataclass(frozen=True, slots=True)
class Piece:
    """A blank to be nested, ``quantity`` times.

    rotations : allowed turns, counter-clockwise [deg]; None: any
    may_mirror : the blank may be laid other side up
    """

    part: str
    outline: Outline
    cutouts: tuple[Outline, ...]
    quantity: int
    rotations: tuple[float, ...] | None
    may_mirror: bool = False


@dataclass(frozen=True, slots=True)
class Placement:
    """Blank mirrored in x where it says so, rotated counter-clockwise about its own origin, then moved [mm, deg]."""

    part: str
    copy: int
    x: float
    y: float
    rotation: float
    mirrored: bool = False


@dataclass(frozen=True, slots=True)
class Cut:
    """One edge-to-edge cut on the sheet; ``gauge`` is the size kept between fence and blade.

    The line lies on the edge of the metal kept; a kerf is lost beyond it, away from the sheet's corner 0, 0, or towards
    it where ``trim`` says that waste is cut off the near edge.
    """

    order: int
    start: Point
    end: Point
    gauge: float
    stage: int = 1
    note: str = ""  # what to lay aside, what to keep on cutting
    trim: bool = False


@dataclass(frozen=True, slots=True)
class Offcut:
    """A rectangle of sheet that is left over and worth keeping."""

    id: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Nest:
    """One sheet with what is cut from it."""

    material: str
    thickness: float
    method: CuttingMethod
    tool: str
    sheet: Sheet
    placements: tuple[Placement, ...]
    cuts: tuple[Cut, ...]
    offcuts: tuple[Offcut, ...]
    utilisation: float  # net area of the blanks / area of the sheet


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Pieces that no sheet on hand or to buy takes, and why."""

    part: str
    quantity: int
    reason: str


@dataclass(frozen=True, slots=True)
class Operation:
    """One bend of one part at a set-up."""

    part: str
    bend: str
    step: int
    flip: bool  # blank turned over, upper side down
    turn: float  # blank turned in its plane before this step [deg]
    pieces: int


@dataclass(frozen=True, slots=True)
class Setup:
    """A brake setting and the bends made with it."""

    brake: str
    nose: str
    nose_radius: float
    stop: float
    stop_side: Literal["back", "front"]
    nose_setback: float
    overbend_to: float
    operations: tuple[Operation, ...]
