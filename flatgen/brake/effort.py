"""What a brake bends, and how hard the hands pull: by its capacity plate, by its handle and the leaf's weight."""

from collections.abc import Sequence
from dataclasses import dataclass

from flatgen.core import force
from flatgen.model.material import Material
from flatgen.model.shop import HANDLE, Brake
from flatgen.said import Text, said, size

STEEL_YIELD, STEEL_ULTIMATE = 248.0, 372.0  # mild steel 36 and 54 ksi, typical, from memory [MPa]


@dataclass(frozen=True, slots=True)
class Reach:
    """Thickest sheet of a metal over a length, by plate and by hand [mm]; ``pull`` is that of the lesser [N].

    by_plate : None where the brake states no capacity
    """

    material: str
    length: float
    by_hand: float
    by_plate: float | None
    pull: float

    @property
    def thickest(self) -> float:
        """The lesser of the two [mm]."""
        return self.by_hand if self.by_plate is None else min(self.by_hand, self.by_plate)


def lever(brake: Brake) -> float:
    """From the hinge to the hands [mm]."""
    return brake.handle or HANDLE


def lift(brake: Brake) -> float:
    """Pull that lifts the bare leaf: as weighed, else of a solid steel leaf of its section [N]."""
    if brake.leaf_lift is not None:
        return brake.leaf_lift
    return force.leaf_lift(brake.length, brake.leaf_land, brake.leaf_depth, lever(brake))


def pull(brake: Brake, material: Material, thickness: float, length: float) -> float:
    """Pull at the handle for one bend [N]; sizes mm."""
    flow = force.flow_stress(material.yield_strength, material.ultimate_strength)
    return force.handle_pull(force.bending_moment(thickness, flow), length, lever(brake), lift(brake))


def plate_limit(brake: Brake, material: Material, length: float) -> float | None:
    """Thickest sheet by the brake's stated capacity, converted for alloy and length [mm]; None without one."""
    if brake.capacity_thickness is None:
        return None
    effort = force.effort_ratio(material.yield_strength, material.ultimate_strength, STEEL_YIELD, STEEL_ULTIMATE)
    return force.capacity_thickness(brake.capacity_thickness, effort, brake.length, length)


def reaches(brake: Brake, metals: Sequence[Material]) -> tuple[Reach, ...]:
    """Every metal over the whole brake, half of it and a quarter."""
    found = []
    for metal in metals:
        flow = force.flow_stress(metal.yield_strength, metal.ultimate_strength)
        for share in (1.0, 0.5, 0.25):
            length = brake.length * share
            hand = force.thickness_for_pull(force.TWO_HANDS, flow, length, lever(brake), lift(brake))
            plate = plate_limit(brake, metal, length)
            least = hand if plate is None else min(hand, plate)
            found.append(Reach(metal.key, length, hand, plate, pull(brake, metal, least, length)))
    return tuple(found)


BOW_ALLOWED, BOW_SHOWS = 0.1, 0.2  # gap in 1.5 m, and from where it shows as waves [mm]; read, weak
PLAY_ALLOWED, PLAY_WORN = 0.1, 0.2  # of the hinge's pins [mm]; read, weak
GAP_ALLOWED = 0.1  # between the greatest and the least gap under the nose [mm]; from memory


def condition(brake: Brake) -> tuple[Text, ...]:
    """What the survey says of the brake's condition, by limits of an unsigned home-built brake's note (weak)."""
    found: list[Text] = []
    if brake.bed_bow is not None:
        allowed = BOW_ALLOWED * max(1.0, brake.length / 1500.0)
        if brake.bed_bow > allowed:
            shows = "; it will show as waves" if brake.bed_bow > BOW_SHOWS else ""
            found.append(said("bed's edge: a gap of ", size(brake.bed_bow), ", ", size(allowed), f" is allowed{shows}"))
    if brake.hinge_play is not None and brake.hinge_play > PLAY_ALLOWED:
        todo = "renew the pins" if brake.hinge_play > PLAY_WORN else "watch it: angles will wander"
        found.append(said("hinge: play of ", size(brake.hinge_play), f"; {todo}"))
    if brake.nose_gaps:
        spread = max(brake.nose_gaps) - min(brake.nose_gaps)
        if spread > GAP_ALLOWED:
            where = ("left", "left of the middle", "middle", "right of the middle", "right")
            widest = where[brake.nose_gaps.index(max(brake.nose_gaps))]
            found.append(said("nose: the gap differs by ", size(spread), f", widest {widest}; shim or straighten it"))
    return tuple(found)
