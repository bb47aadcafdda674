"""What every leg and angle of a planned part answers to: stops, leaves, and what blank and deduction leave.

The strokes are gone through in their order with small changes in place of sizes: where a tangent line moves when its
stop is moved, when the bend takes less metal, when the leaf goes further. Lengths mm, angles deg.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from flatgen.brake.layout import other_face, parallel, path
from flatgen.core.cause import Cause, CauseKind
from flatgen.core.points import dot
from flatgen.develop.across import Across, across, toward_child
from flatgen.model.blank import BendLine, Blank
from flatgen.model.plan import Operation, Setup

Form = Mapping[Cause, float]
KINDS: Mapping[str, CauseKind] = {"back": "back stop", "front": "front stop", "sight": "sight line"}


def leg_answers(part: str, blank: Blank, setups: Sequence[Setup]) -> dict[tuple[str, tuple[str, ...]], Form]:
    """What each leg, by face and bends, moves by when a setting is one mm or degree more; legs of bends made only.

    A leaf counts by the angle that comes of it, the deduction by what each bend takes less of the blank.
    """
    walk = _Walk(part, blank)
    strokes = [(op.step, setup, op) for setup in setups for op in setup.operations if op.part == part]
    for _, setup, op in sorted(strokes, key=lambda stroke: stroke[0]):
        walk.make(setup, op)
    return {
        (size.where, size.ends): walk.size(size.where, size.ends)
        for size in blank.dimensions
        if size.kind in ("flange", "web") and all((bend, size.where) in walk.moves for bend in size.ends)
    }


def angle_answers(part: str, setups: Sequence[Setup]) -> dict[str, Form]:
    """The leaf that makes each bend's angle."""
    return {
        op.bend: {Cause("leaf", str(setup.number)): 1.0}
        for setup in setups
        for op in setup.operations
        if op.part == part
    }


@dataclass
class _Walk:
    part: str
    blank: Blank
    moves: dict[tuple[str, str], Form] = field(default_factory=dict)
    opens: dict[str, Form] = field(default_factory=dict)
    cuts: tuple[Across, ...] = ()

    def __post_init__(self) -> None:
        self.cuts = across(self.blank)

    def make(self, setup: Setup, op: Operation) -> None:
        """Enter one bend: its stop holds metal on one side, what the arc takes less comes to the other."""
        bend = self.blank.bend(op.bend)
        making = bend.making(self.blank.thickness)
        leaf = Cause("leaf", str(setup.number))
        # an angle one degree more is a leaf 1/ratio further, and takes so much more metal
        less = {Cause("deduction", self.part): 1.0, leaf: -making.arc / bend.angle}
        half = math.radians(bend.angle) / 2.0
        turn = 0.5 * (making.released + self.blank.thickness) / math.cos(half) ** 2 if bend.angle < 150.0 else 0.0
        self.opens[bend.id] = {leaf: math.radians(turn)}
        front = setup.stop_side == "front"
        near = op.free if front else op.clamped
        held: Form = {Cause(KINDS[setup.stop_side], str(setup.number)): 1.0}
        gauged = _sum((held, 1.0), *((form, -1.0) for form in self._before(bend, near, op)))
        # a front stop is met by metal that must still go round the bend
        own = _sum((gauged, 1.0), (less, 1.0)) if front else gauged
        self.moves[bend.id, near] = own
        self.moves[bend.id, other_face(bend, near)] = _sum((less, 1.0), (own, -1.0))

    def cut(self, bend: BendLine, face: str, toward: float = 0.0) -> Form:
        """What a blank cut too large adds to a flat beyond a bend: all of it is counted at the high edge.

        toward : the side of the bend that the flat lies on, 1 the child's, -1 the parent's; 0: told by the face
        """
        side = toward or (1.0 if face == bend.child else -1.0)
        for one in self.cuts:
            high = bend.id in one.bends and side * dot(one.way, toward_child(bend)) > 0.0
            if high and one.ends_high(self.blank.face(face).outline):
                return {Cause("cut", self.part, one.bends): 1.0}
        return {}

    def _before(self, bend: BendLine, near: str, op: Operation) -> list[Form]:
        """What has moved already between the gauged edge or face and this bend."""
        found: list[Form] = []
        here = root = op.gauged_face or near
        turned, facing = 0.0, {here: 0.0}
        crossed: list[tuple[str, BendLine]] = []
        side = 1.0 if near == bend.child else -1.0
        for one in path(self.blank, here, near):
            following = other_face(one, here)
            if not parallel(one, bend):
                crossed, facing, turned = [], {following: 0.0}, 0.0
            else:
                crossed += [(here, one), (following, one)]
                turned += one.signed_angle if (one.id, here) in self.moves else 0.0
                facing[following] = turned
            here = following
        if op.gauge_kind != "face" and root in facing:
            along = math.cos(math.radians(facing[root] - turned))
            found.append(_sum((self.cut(bend, root, side), along)))
        for face, one in crossed:
            if (one.id, face) in self.moves:
                # lengths on faces that stand do not count along the bed; a stop meets a standing face at its foot
                along = math.cos(math.radians(facing[face] - turned))
                foot = 0.0 if op.gauge_kind == "face" else 1.0
                found.append(_sum((self.moves[one.id, face], along), (self.opens[one.id], along * foot)))
        return found

    def size(self, face: str, ends: Sequence[str]) -> Form:
        """By how much a leg comes out longer."""
        edge = self.cut(self.blank.bend(ends[0]), face) if len(ends) == 1 else {}
        own = [form for bend in ends for form in (self.moves[bend, face], self.opens[bend])]
        return _sum((edge, 1.0), *((form, 1.0) for form in own))


def _sum(*forms: tuple[Form, float]) -> Form:
    found: dict[Cause, float] = defaultdict(float)
    for form, times in forms:
        for cause, by in form.items():
            found[cause] += times * by
    return {cause: by for cause, by in found.items() if abs(by) > 1e-9}
