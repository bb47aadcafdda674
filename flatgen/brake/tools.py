"""The brake's tools as sections: x forward from the clamped tangent line, z up from the bed's top [mm, deg].

In these axes the nose bar stands still whatever the set-back: its arc's centre is (0, T + R). Bed and leaf shift with
the set-back instead: the bed's edge is at s + R.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

from flatgen.brake import stop
from flatgen.brake.section import convex_parts
from flatgen.core.making import HEM, Making
from flatgen.core.points import Point
from flatgen.model.blank import BendLine, FirstBend
from flatgen.model.shop import Brake, NoseBar

ARC_STEP = 7.5
BEAM_HEIGHT = 150.0
BODY = 8.0  # upright body behind the front face of a plain nose bar
FRAME = "frame behind the throat"
WALL = 200.0  # the frame behind the throat: as high and low as matters


@dataclass(frozen=True, slots=True)
class Setting:
    """How the brake stands for one bend: nose with its wraps, thickness, set-back over the wraps, end of the leaf."""

    brake: Brake
    nose: NoseBar
    wraps: tuple[float, ...]
    radius: float  # over the wraps
    thickness: float
    setback: float
    leaf_angle: float
    whole_angle: float  # leaf angle that would wrap the whole strip: more than leaf_angle for a hem closed afterwards
    making: Making
    back_offset: float = 0.0  # on top of theory, from test bends
    front_offset: float = 0.0

    @property
    def nose_name(self) -> str:
        """Full name of the nose, with its shoes."""
        return self.brake.mounted(self.nose.name, self.wraps)

    @property
    def bed_edge(self) -> float:
        """Where the bed's edge is in section axes."""
        return self.setback + self.radius

    @property
    def hinge(self) -> Point:
        """Where the leaf turns, in section axes."""
        return (self.bed_edge + self.brake.hinge_forward, self.brake.hinge_up)

    @property
    def bare_setback(self) -> float:
        """Set-back of the nose without its wraps."""
        return stop.with_wrap(self.radius, self.setback, self.wraps)[1]


def setting_for(brake: Brake, nose: NoseBar, bend: BendLine, thickness: float) -> Setting:
    """Setting for a bend: flush set-back at the over-bent leaf angle plus the shop's clearance."""
    if bend.first is not None:
        return _first_of_a_hem(brake, nose, bend.first, bend, thickness)
    radius = bend.bent.inside_radius
    wraps = bend.bent.shoes if bend.bent.bar == nose.name else wraps_for(nose, radius)
    whole = bend.overbend_to
    leaf = min(whole, brake.farthest(nose)) if bend.angle >= HEM else whole
    recorded = bend.bent.stop_offset
    flush = stop.flush_setback(leaf, radius, thickness, brake.hinge_forward, brake.hinge_up)
    return Setting(
        brake,
        nose,
        wraps,
        radius,
        thickness,
        flush + brake.nose_setback_clearance,
        leaf,
        whole,
        bend.making(thickness),
        _back_offset(brake, recorded, leaf, radius, thickness),
        brake.front_stop_offset,
    )


def _first_of_a_hem(brake: Brake, nose: NoseBar, first: FirstBend, bend: BendLine, thickness: float) -> Setting:
    """As far as the leaf goes, over the bare bar; squeezing does the rest."""
    leaf = min(first.leaf_angle, brake.farthest(nose))
    flush = stop.flush_setback(leaf, first.radius, thickness, brake.hinge_forward, brake.hinge_up)
    return Setting(
        brake,
        nose,
        (),
        first.radius,
        thickness,
        flush + brake.nose_setback_clearance,
        leaf,
        leaf,
        bend.making(thickness),
        _back_offset(brake, first.stop_offset, leaf, first.radius, thickness),
        brake.front_stop_offset,
    )


def _back_offset(brake: Brake, recorded: float | None, leaf: float, radius: float, thickness: float) -> float:
    """From the test bends where they noted their stop, else the brake's own [mm]."""
    return brake.stop_offset if recorded is None else own_offset(brake, recorded, leaf, radius, thickness)


def own_offset(brake: Brake, recorded: float, leaf_angle: float, radius: float, thickness: float) -> float:
    """The back stop's offset on this brake from that of its test bends [mm].

    Those are over a flush set-back with the hinge at the bed's edge, so what this brake's hinge and clearance already
    count is taken off; a shop that reads its stops from the nose tip has noted them one set-back nearer.
    """
    plain = stop.flush_setback(leaf_angle, radius, thickness)
    if brake.stop_read_from == "nose":
        return recorded + plain
    own = stop.flush_setback(leaf_angle, radius, thickness, brake.hinge_forward, brake.hinge_up)
    return recorded + plain - own - brake.nose_setback_clearance


def wraps_for(nose: NoseBar, radius: float) -> tuple[float, ...]:
    """Shoes or wraps at hand that bring a nose nearest to a radius, thickest first; none when the bare nose is it."""
    best: tuple[float, ...] = ()
    for count in range(1, min(4, len(nose.shoes)) + 1):
        for chosen in _choices(tuple(sorted(nose.shoes, reverse=True)), count):
            if abs(nose.radius + math.fsum(chosen) - radius) < abs(nose.radius + math.fsum(best) - radius) - 1e-6:
                best = chosen
    return best


def _choices(items: tuple[float, ...], count: int) -> list[tuple[float, ...]]:
    from itertools import combinations

    return sorted(set(combinations(items, count)), reverse=True)


def nose_section(nose: NoseBar, radius: float, wrap: float = 0.0) -> tuple[Point, ...]:
    """A nose bar seen from the side, from its tip: x backward, z up; the wraps thicken its own section.

    Without a section of its own it is a plain bar: round nose, front face at its angle, upright body, flat foot.
    """
    if nose.section:
        return tuple(nose.section)
    turned = 180.0 - nose.front_angle
    steps = max(2, math.ceil(turned / ARC_STEP))
    arc = []
    for k in range(steps + 1):
        t = math.radians(turned * k / steps)
        arc.append((radius - radius * math.sin(t), radius - radius * math.cos(t)))
    height, depth = nose.height + wrap, max(nose.depth + wrap, radius + 1.0)
    x, z = arc[-1]
    if nose.front_angle < 90.0:
        # the front face leans back as far as its bevel goes, then the bar's body stands upright
        slope = math.tan(math.radians(nose.front_angle))
        bevel = min(max(x, depth - BODY, 0.5 * depth), x + max(0.0, height - z) / slope)
        arc.append((bevel, z + (bevel - x) * slope))
        x, z = arc[-1]
    top = max(height, z)
    return (*arc, (x, top), (depth, top), (depth, 0.0))


def beam_section(brake: Brake, section: tuple[Point, ...]) -> tuple[Point, ...]:
    """What stands over the nose bar, from the nose tip: x backward, z up."""
    if brake.beam_section:
        return tuple(brake.beam_section)
    top = max(z for _, z in section)
    front = min(x for x, z in section if z > top - 1e-6)
    back = max(front + 1.0, brake.beam_depth if brake.beam_depth is not None else max(x for x, _ in section))
    return ((front, top), (back, top), (back, top + BEAM_HEIGHT), (front, top + BEAM_HEIGHT))


def bed_section(brake: Brake) -> tuple[Point, ...]:
    """The bed from its edge: x backward, z up."""
    if brake.bed_section:
        return tuple(brake.bed_section)
    return ((0.0, 0.0), (0.0, -brake.bed_height), (brake.bed_depth, -brake.bed_height), (brake.bed_depth, 0.0))


def leaf_section(brake: Brake) -> tuple[Point, ...]:
    """The leaf from the hinge line, lying down: x forward, z up."""
    if brake.leaf_section:
        return tuple(brake.leaf_section)
    return ((0.0, 0.0), (brake.leaf_land, 0.0), (brake.leaf_land, -brake.leaf_depth), (0.0, -brake.leaf_depth))


Shape = tuple[tuple[Point, ...], ...]  # convex parts


@lru_cache(maxsize=256)
def fixed_tools(setting: Setting) -> tuple[tuple[str, Shape], ...]:
    """Tools that stand still, by name, as convex parts in section axes."""
    brake, nose = setting.brake, setting.nose
    # a section given by its points is the bare nose's: with wraps it stands their stack farther back and up
    stack = math.fsum(setting.wraps)
    section = nose_section(nose, setting.radius, stack)
    tip, base = setting.radius, setting.thickness
    if nose.section and stack:
        tip, base = tip - stack, base + stack
    over = [(tip - x, base + z) for x, z in section]
    beam = [(tip - x, base + z) for x, z in beam_section(brake, section)]
    bed = [(setting.bed_edge - x, z) for x, z in bed_section(brake)]
    found = [("nose bar", over), ("clamping beam", beam), ("bed", bed)]
    if brake.throat is not None:
        back = tip - brake.throat
        found.append((FRAME, [(back - 50, -WALL), (back, -WALL), (back, WALL), (back - 50, WALL)]))
    return tuple((name, shape(points)) for name, points in found)


@lru_cache(maxsize=256)
def leaf_parts(setting: Setting) -> Shape:
    """The leaf relative to its hinge, lying down."""
    up = setting.brake.hinge_up
    return shape([(x, z - up) for x, z in leaf_section(setting.brake)])


def shape(points: list[Point]) -> Shape:
    """A section as convex parts, each counter-clockwise."""
    return tuple(tuple(part) for part in convex_parts(points))
