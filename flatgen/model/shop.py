"""What the shop has: brakes, nose bars, cutting tools, sheets, habits. Lengths mm, angles deg, strengths MPa."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from flatgen.core.nominal import same_nominal
from flatgen.core.points import Point
from flatgen.core.words import Units

# figures of a brake and of a nose that may be guesses; each with the section that takes its place
GUESSED_OF_A_BRAKE = {
    "length": "",
    "largest_angle": "",
    "largest_opening": "",
    "throat": "",
    "fingers": "",
    "beam_depth": "beam_section",
    "leaf_land": "leaf_section",
    "leaf_depth": "leaf_section",
    "bed_depth": "bed_section",
    "bed_height": "bed_section",
    "smallest_flange": "",
    "capacity_thickness": "",
}
GUESSED_OF_A_NOSE = {"length": "", "front_angle": "section", "height": "section", "depth": "section"}
# left out of the shop's file, these limit nothing, so nobody guesses them
NO_LIMIT = frozenset({"length", "throat", "smallest_flange", "capacity_thickness"})
CuttingMethod = Literal["shear", "profile-cut"]
# whether a way to cut goes from edge to edge: then blanks lie in strips, and cuts have an order and gauges
CUTTING_METHODS: dict[CuttingMethod, bool] = {"shear": True, "profile-cut": False}
LEAST_LAND = 0.19 * 25.4  # flat metal in front of a bend for the leaf; common practice, no source [mm]
Work = Literal["aircraft", "general"]
ABREAST_GAP = 10.0  # between blanks that lie side by side in one clamping [mm]; common practice, no source


def abreast(usable: float, length: float) -> int:
    """How many blanks of a length lie side by side on a bar [mm].

    >>> abreast(762.0, 76.0), abreast(762.0, 700.0)
    (8, 1)
    """
    return max(1, int((usable + ABREAST_GAP) / (length + ABREAST_GAP)))


LONG_BEND = 300.0  # a longer bend takes both hands and more time [mm]; common practice, no source
HANDLE = 457.2  # 18 in, where the handle was not measured [mm]; common practice, no source
RUN_OUT = 6.35  # a radiused stretch of nose runs out over this at both ends [mm]; common practice, no source


def least_land(thickness: float) -> float:
    """Flat metal that the leaf or the nose needs beside a bend: 0.19 in or three thicknesses [mm]."""
    return max(LEAST_LAND, 3.0 * thickness)


@dataclass(frozen=True, slots=True)
class NoseBar:
    """A nose bar of the brake. ``section`` is its side view: x from the nose tip backward (positive), z up from the
    clamped face; empty means the plain wedge that ``front_angle``, ``height`` and ``depth`` describe."""

    name: str
    radius: float
    length: float | None = None  # radiused length, None: as long as the brake
    front_angle: float = 45.0  # of the nose's front face from the bed plane [deg]
    height: float = 25.0
    depth: float = 32.0  # foot, from the tip backward
    section: tuple[Point, ...] = ()
    shoes: tuple[float, ...] = ()  # thickness of slip-on shoes or wraps at hand, each enlarges the radius [mm]
    guessed: tuple[str, ...] = ()  # figures that nobody measured: keys of GUESSED_OF_A_NOSE


@dataclass(frozen=True, slots=True)
class Brake:
    """A hand brake: its length, reach, opening, leaf, fingers and stated capacity."""

    name: str
    length: float
    noses: tuple[NoseBar, ...]
    largest_angle: float = 120.0  # leaf travel from flat [deg]
    largest_opening: float = 20.0
    throat: float | None = None  # depth behind the nose tip, None: open
    leaf_land: float = 12.0  # least flat that the leaf can carry [mm]
    leaf_depth: float = 50.0
    bed_depth: float = 60.0
    bed_height: float = 60.0
    hinge_forward: float = 0.0
    hinge_up: float = 0.0
    nose_setback_clearance: float = 0.0  # set-back is the flush value (one thickness at 90) plus this [mm]
    smallest_flange: float | None = None  # as stated for this brake; None: max(0.19 in, 3T) past the bend
    capacity_thickness: float | None = None  # full length, in mild steel [mm]
    back_stop_reach: float | None = None
    front_stop_reach: float | None = None
    stop_tolerance: float = 0.13  # settings that differ by less share one [mm]
    fingers: tuple[float, ...] = ()  # widths of a box brake's fingers [mm]
    bed_section: tuple[Point, ...] = ()  # x from the bed's edge backward, z up from its top; empty: a plain block
    leaf_section: tuple[Point, ...] = ()  # x from the hinge line forward, z up from its face, leaf down
    beam_section: tuple[Point, ...] = ()  # as a nose bar's section; empty: a block over the nose bar
    beam_depth: float | None = None  # of that block, from the nose tip backward; None: no deeper than the nose bar
    stop_read_from: Literal["bed", "nose"] = "bed"  # where the shop measures its stops from
    stop_offset: float = 0.0  # added to every back stop, from test bends: leg wanted less leg measured [mm]
    front_stop_offset: float = 0.0  # the same for every front stop [mm]
    stop_height: float = 15.0  # of the back stop's face above the bed
    back_stop_least: float = 0.0  # nearest that the back stop comes to the nose tip; 0: a thin strip passes under it
    end_clearance: float = 1.6  # between fingers and the walls beside them, both ends together [mm]
    units: Units = "mm"  # in which its shoes and fingers are written
    back_stop: bool = True
    handle: float | None = None  # hinge to where the hands pull, None: ``HANDLE`` is taken [mm]
    leaf_lift: float | None = None  # pull there that just lifts the bare leaf, None: from its section [N]
    setback_range: tuple[float, ...] = ()  # least and greatest set-back of the bare nose; empty: not known [mm]
    bed_bow: float | None = None  # greatest gap between a straightedge and the bed's edge [mm]
    hinge_play: float | None = None  # the leaf's play in its hinges [mm]
    nose_gaps: tuple[float, ...] = ()  # under the clamped nose at five places, left to right [mm]
    aside: tuple[NoseBar, ...] = ()  # nose bars on hand that no bend of the job at hand is to use
    guessed: tuple[str, ...] = ()  # figures that nobody measured: keys of GUESSED_OF_A_BRAKE

    def usable(self, nose: NoseBar) -> float:
        """Longest bend that a nose bar makes at one stroke: its radiused length less the run-out at both ends [mm]."""
        return self.length if nose.length is None else min(self.length, nose.length - 2.0 * RUN_OUT)

    def farthest(self, nose: NoseBar) -> float:
        """Leaf angle at which the leaf's travel or the nose bar's front face ends [deg]."""
        return min(self.largest_angle, 180.0 if nose.section else 180.0 - nose.front_angle)

    def mounted(self, bar: str, shoes: Sequence[float] = (), fingers: Sequence[float] = ()) -> str:
        """Full name of a nose as it is mounted: bar, shoes or wraps, fingers.

        >>> Brake("b", 600.0, (), units="in").mounted("nose 1/8", (0.79375,), (25.4, 19.05))
        'nose 1/8 + 0.031 in shoe, fingers 1.000 + 0.750 in'
        """
        one, places = (25.4, 3) if self.units == "in" else (1.0, 2)
        words = [bar, *(f"{shoe / one:.{places}f} {self.units} shoe" for shoe in shoes)]
        widths = " + ".join(f"{width / one:.{places}f}" for width in fingers)
        return " + ".join(words) + (f", fingers {widths} {self.units}" if fingers else "")


@dataclass(frozen=True, slots=True)
class CuttingTool:
    """How blanks leave the sheet: edge-to-edge shear or saw cuts, or profile cuts (router, saw, snips).

    units and what follows it: what the files written for it hold
    """

    name: str
    method: CuttingMethod
    gap: float = 0.0  # least web between two profile-cut parts [mm]
    kerf: float = 0.0
    longest_cut: float | None = None
    smallest_strip: float = 0.0
    max_stages: int = 3
    bit_diameter: float = 0.0
    units: Literal["", "in", "mm"] = ""  # of its files; empty: the job's
    layers: Literal["several", "one"] = "several"
    bend_lines: bool = False
    holes: Literal["", "pilot", "final"] = ""  # of rivets and bolts; empty: as described
    text: bool = False

    @property
    def edge_to_edge(self) -> bool:
        """Whether each cut goes from edge to edge, as a shear's or a saw's does; else it follows outlines."""
        return CUTTING_METHODS[self.method]

    @property
    def router_bit(self) -> float:
        """Diameter of the bit where it cuts along outlines with one, else 0 [mm]."""
        return 0.0 if self.edge_to_edge else self.bit_diameter

    @property
    def reads_files(self) -> bool:
        """Whether files are written for it: it follows outlines, or the shop says what they are to hold."""
        asked = self.units or self.holes or self.bend_lines or self.text or self.layers != "several"
        return not self.edge_to_edge or bool(asked)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Stock of one size as it is drawn: ``width`` is its length, along the grain, ``height`` its width across it.

    thickness : nominal; ``copies`` None: more can be bought
    """

    id: str
    material: str
    thickness: float
    width: float
    height: float
    margin: float = 0.0
    copies: int | None = None
    cost: float | None = None
    grain: float = 0.0  # rolling direction from the length; not 0 for a remnant cut on the slant [deg]
    remnant: bool = False
    bad_areas: tuple[tuple[float, float, float, float], ...] = ()  # x, y, width, height
    batch: str = ""
    measured: float | None = None  # thickness by micrometer; None: not measured
    short_grain: bool = False  # that the grain runs along the shorter side was looked at

    def is_of(self, material: str, thickness: float) -> bool:
        """Whether it is of this metal and nominal thickness [mm]."""
        return self.material == material and same_nominal(self.thickness, thickness)


@dataclass(frozen=True, slots=True)
class Drill:
    """What the shop drills for one rivet or bolt size: pilot and final hole [mm], with their names."""

    fastener: str
    diameter: float
    pilot: float
    pilot_label: str
    final: float
    final_label: str


@dataclass(frozen=True, slots=True)
class Tolerances:
    """Shop tolerances, ± [mm] and [deg], from which stack-ups are reckoned."""

    length: float = 0.8
    hole: float = 0.4
    angle: float = 1.0
    stop: float = 0.13
    creep: float = 0.2
    cut: float = 0.38
    deduction: float = 0.18
    thickness: float = 0.05
    radius: float = 0.1


@dataclass(frozen=True, slots=True)
class ShopBend:
    """The shop's own deduction and spring-back for one combination, from measured coupons."""

    material: str
    thickness: float
    nose_radius: float
    angle: float
    grain: str  # across | along
    deduction: float
    deduction_error: float
    springback_ratio: float  # angle after release / leaf angle
    springback_error: float
    coupons: int
    formed_radius: float | None = None
    stop_offset: float | None = None  # from the bed's edge, over a flush set-back with the hinge there [mm]


@dataclass(frozen=True, slots=True)
class BendProof:
    """The test bends of one combination by whether they cracked: marks of those sound, cracked, and not told of."""

    material: str
    thickness: float
    nose_radius: float
    angle: float
    grain: str  # across | along
    sound: tuple[str, ...] = ()
    cracked: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()

    @property
    def bent(self) -> int:
        """How many there are."""
        return len(self.sound) + len(self.cracked) + len(self.unsaid)


@dataclass(frozen=True, slots=True)
class Minutes:
    """What the work takes, and what an hour is worth, so that metal and tools can be weighed against time.

    The defaults are guesses from memory, good for half as much and twice as much; a shop's own log knows better.
    """

    setting: float = 3.0  # of the gauge, with a trial cut
    cut: float = 0.2
    sheet: float = 10.0  # to lay, clamp and zero a sheet that is cut along outlines
    outline: float = 0.1  # to cut an inch along an outline, by router or by hand
    hour: float = 30.0  # price of an hour, in the unit of the sheets' prices
    nose: float = 15.0  # to change the nose bar
    setback: float = 12.0  # to set the nose back at both ends
    leaf: float = 4.0  # to set the leaf's stop
    stop: float = 1.5  # to set the back or front stop
    bend: float = 0.5  # of a small part on the stop
    bend_long: float = 2.0  # of a part longer than 300 mm
    mark: float = 1.0  # to mark out one blank
    hole: float = 0.4  # to drill one hole to its punch mark and deburr it
    edge: float = 0.1  # to file and smooth an inch of edge
    measure: float = 1.0  # of a piece: its legs, its angle at both ends
    coupon: float = 8.0  # to cut, bend, measure and enter a test strip
    saw: float = 1.0  # to cut a formed length once, square, and take its burr off
    bar: float = 240.0  # to make a nose bar, filed or machined
    rod: float = 90.0  # to let a round rod into a seat
    wrap: float = 20.0  # to fold a shoe or wrap
    decide: float = 30.0  # to settle a finding with the designer, and to look at its pieces for cracks

    def spent(self, settings: int, cuts: int) -> float:
        """Minutes that so many settings and cuts take."""
        return self.setting * settings + self.cut * cuts


USUAL = Minutes()  # where a shop has no figures of its own


@dataclass(frozen=True, slots=True)
class Shop:
    """All of shop.toml."""

    name: str
    units: Units
    brakes: tuple[Brake, ...]
    tools: tuple[CuttingTool, ...]
    sheets: tuple[Sheet, ...]
    drills: tuple[Drill, ...] = ()
    tolerances: Tolerances = field(default_factory=Tolerances)
    radius_table: str = ""  # named table of least radii; empty: the most cautious of all
    allowance: str = "handbook"
    neutral_axis_ratio: float | None = None
    nose_tolerance: float = 0.13  # a nose within this of the drawing's radius counts as that radius [mm]
    offcut_width: float = 150.0  # smallest off-cut worth keeping
    offcut_height: float = 100.0
    minutes: Minutes = USUAL
    saw_kerf: float = 1.2  # of the saw that cuts formed lengths [mm]; from memory
    saw_trim: float = 3.0  # cut off each end of a formed length, so that both are square [mm]; from memory
    spoilage: float = 0.0  # share of pieces expected to be spoiled
    printer_paper: str = "letter"
    printer_scale: tuple[float, float] = (1.0, 1.0)
    currency: str = ""
    records: tuple[ShopBend, ...] = ()
    proofs: tuple[BendProof, ...] = ()
    book: str = ""  # file of the shop's own records, empty: none
    work: Work = "aircraft"
    file: str = ""

    def brake(self, name: str = "") -> Brake:
        """The brake with this name, or the first."""
        return next((brake for brake in self.brakes if brake.name == name), self.brakes[0])

    def seen_from(self, material: str) -> "Shop":
        """What a part of one metal depends on before it is nested: no other metal's sheets, no minutes, no printer."""
        sheets = tuple(sheet for sheet in self.sheets if sheet.material == material)
        return replace(
            self, sheets=sheets, file="", minutes=Minutes(), printer_paper="", printer_scale=(1.0, 1.0), currency=""
        )

    def tool(self, name: str) -> CuttingTool:
        """The cutting tool with this name."""
        return next(tool for tool in self.tools if tool.name == name)
