"""A brake that bends what results.json says, at the stops printed there and in the printed order; metal is conserved.

Nothing of the planner is used. A part is flat faces that share bends; a face stays where it is on the sheet, and only
the place of each bend on the sheet, its length of metal and its angle come out of bending. A stroke lays the part as
it is by then on the bed, pushes it against the stop, clamps it, takes a front stop away, wraps the metal round the
nose by the leaf's angle, and lets it spring back. Side view: x forward with the bed's edge at 0, z up with the bed at
0. Lengths mm, angles deg. Source: geometry; that the middle of the sheet keeps its length at release is the planner's
own assumption, from memory of textbooks.

    bent = SimulatedBrake(results).bend("TF-101")
    bent.legs["leg_a", ("b1",)], bent.angles["b1"]

``Hidden`` is what the shop does not know: how far stop, leaf, spring-back and deduction are from what is printed.
Numbers that a person sets are changed by ``adjust``: {number of the setting: (stop moved by, leaf moved by)}.
"""

import math
from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

HEM = 150.0  # from here on closed by squeezing: the bend keeps its radius and gets the angle of the drawing
FINISHED = ("deduction", "shop-record", "predicted")  # their deductions have spring-back in them
LEVEL = 0.3  # metal this far below the bed or above the stop's face still meets it


@dataclass(frozen=True)
class Hidden:
    """What is really so: added to the stop's distance, the leaf's angle, spring-back over leaf angle, the deduction."""

    stop: float = 0.0
    leaf: float = 0.0
    springback: float = 0.0
    deduction: float = 0.0


@dataclass
class Bent:
    """A bent piece: outside sizes by (name, bends), angles by bend, how far free edges slid after their stop went."""

    legs: dict = field(default_factory=dict)
    angles: dict = field(default_factory=dict)
    slid: list = field(default_factory=list)


@dataclass
class _Bend:
    """A bend's place on the sheet: its tangent lines by face, moved so far; made when it has an angle."""

    id: str
    faces: tuple
    up: bool
    tangents: dict
    radius: float
    arc: float
    angle: float = 0.0


class SimulatedBrake:
    """All parts of one results.json, ready to be bent; the same file may be bent under other hidden truths."""

    def __init__(self, results, hidden=Hidden(), adjust=None):
        self.parts = {part["id"]: part for part in results["parts"]}
        self.setups = results["setups"]
        self.hidden, self.adjust = hidden, adjust or {}

    def bend(self, part_id) -> Bent:
        """One piece taken through all its settings in the order of the list."""
        part, strokes = self.parts[part_id], self._strokes(part_id)
        assert [step for step, _, _ in strokes] == sorted(step for step, _, _ in strokes), "not in the part's own order"
        piece = _Piece(part)
        bent = Bent()
        for _, number, operations in strokes:
            stop, leaf = self.adjust.get(number, (0.0, 0.0))
            bent.slid.extend(piece.stroke(self.setups[number - 1], operations, self.hidden, stop, leaf))
        bent.angles = {bend.id: bend.angle for bend in piece.bends.values()}
        bent.legs = {(leg["name"], tuple(leg["bends"])): piece.leg(leg) for leg in part["legs"]}
        return bent

    def _strokes(self, part_id):
        """(step, number of the setting, its operations): bends of one step are made at one stroke."""
        found = []
        for number, setup in enumerate(self.setups, 1):
            if setup["stop_side"] == "squeeze":
                continue  # the stroke before has closed the hem already
            by_step = defaultdict(list)
            for operation in setup["operations"]:
                if operation["part"] == part_id:
                    by_step[operation["step"]].append(operation)
            found += [(step, number, operations) for step, operations in by_step.items()]
        return found


class _Piece:
    """A piece on its way: the sheet with its bends where they have come to lie."""

    def __init__(self, part):
        self.part, self.t = part, part["thickness"]
        self.faces = {face["id"]: _points(face["outline"]) for face in part["faces"]}
        self.bends, self.drawn = {}, {bend["id"]: bend for bend in part["bends"]}
        for bend in part["bends"]:
            parent, child = bend["faces"]
            lines = {parent: np.array(bend["tangents"][0]), child: np.array(bend["tangents"][1])}
            up = bend["direction"] == "up"
            self.bends[bend["id"]] = _Bend(
                bend["id"], (parent, child), up, lines, bend["inside_radius"], bend["allowance"]
            )

    def way(self, bend, face):
        """Unit direction on the sheet from a face across a bend."""
        other = _other(bend, face)
        line = max(bend.tangents.values(), key=lambda ends: np.linalg.norm(ends[1] - ends[0]))
        run = (line[1] - line[0]) / np.linalg.norm(line[1] - line[0])
        across = np.array([-run[1], run[0]])
        drawn = self.drawn[bend.id]["tangents"]
        first = np.array(drawn[bend.faces.index(face)][0])
        return across if np.dot(np.array(drawn[bend.faces.index(other)][0]) - first, across) > 0 else -across

    def placed(self, start, flat):
        """Where every face is in space, ``start`` lying as on the sheet: 3 x 3 turn and shift of (x, y, height)."""
        found, todo = {start: (np.eye(3), np.zeros(3))}, [start]
        while todo:
            face = todo.pop()
            for bend in self.bends.values():
                if face in bend.faces and (other := _other(bend, face)) not in found:
                    found[other] = _after(found[face], self._over(bend, face)) if bend.id not in flat else found[face]
                    todo.append(other)
        return found

    def _over(self, bend, face):
        """Motion of the face beyond a made bend: wound round the released radius; flat bends move nothing."""
        if not bend.angle:
            return np.eye(3), np.zeros(3)
        w, p = self.way(bend, face), bend.tangents[face][0]
        a, inner = math.radians(bend.angle), bend.radius + (0.0 if bend.up else self.t)
        sign = 1.0 if bend.up else -1.0
        ways = np.array([[w[0], w[1], 0.0], [-w[1], w[0], 0.0], [0.0, 0.0, 1.0]])
        turn = np.array([[math.cos(a), 0, -sign * math.sin(a)], [0, 1, 0], [sign * math.sin(a), 0, math.cos(a)]])
        # along the way: q beyond the near tangent line comes to inner·sin a + (q - arc)·cos a
        shift = np.array([inner * math.sin(a) - bend.arc * math.cos(a), 0.0, 0.0])
        shift[2] = sign * (inner * (1.0 - math.cos(a)) - bend.arc * math.sin(a))
        whole = ways.T @ turn @ ways
        at = np.array([p[0], p[1], 0.0])
        return whole, ways.T @ shift + at - whole @ at

    def stroke(self, setup, operations, hidden, stop_moved, leaf_moved):
        """One stroke of the leaf for bends on one line; how far the free edge slides once its front stop is away."""
        lead = self.bends[operations[0]["bend"]]
        near = operations[0]["clamped"]
        reached = -self._meets(setup, lead, near, operations)
        nose, setback = setup["nose_radius"], setup["nose_setback"]
        stop = setup["stop"] - setup["offset"] + hidden.stop + stop_moved
        if setup["stop_side"] == "back":
            moved = stop - setback - nose - reached
        elif setup["stop_side"] == "front":
            moved = -reached - (stop + setback + nose)
        else:
            moved = self._to_mark(lead, near, nose)
        leaf = setup["overbend_to"] + hidden.leaf + leaf_moved
        for operation in operations:
            self._wrap(self.bends[operation["bend"]], operation["clamped"], moved, leaf, nose, hidden)
        return self._slides(lead, setback, leaf, nose) if setup["stop_side"] == "front" else []

    def _meets(self, setup, lead, near, operations):
        """Where the metal meets the stop, along x from the bend's tangent line as drawn, all of it pushed up."""
        if setup["stop_side"] == "sight":
            return 0.0
        ids = {operation["bend"] for operation in operations}
        where = self.placed(near, ids)
        clamped = self._connected([operation["clamped"] for operation in operations], ids)
        front = setup["stop_side"] == "front"
        w, p = self.way(lead, near), lead.tangents[near][0]
        high = setup["stop_pad"] or self.t
        found = []
        for face, points in self.faces.items():
            if (face in clamped) == front:
                continue
            turn, shift = where[face]
            for skin in (0.0, -self.t):
                at = [turn @ np.array([x, y, skin]) + shift for x, y in points]
                # the bend goes up on the brake, so a part with a bend down lies on its upper side
                side = [((q[:2] - p) @ w, q[2] + self.t if lead.up else -q[2]) for q in at]
                found += _between(side, -LEVEL, high + (LEVEL if high == self.t else 0.0))
        return max(found) if front else min(found)

    def _to_mark(self, lead, near, nose):
        """By eye: the sight line that is drawn for this side, under the nose tip, one nose radius from the tangent."""
        drawn = self.drawn[lead.id]
        line = np.array(drawn["sight_lines"][drawn["faces"].index(near)][0])
        return (line - lead.tangents[near][0]) @ self.way(lead, near) - nose

    def _connected(self, starts, cut):
        found, todo = set(starts), list(starts)
        while todo:
            face = todo.pop()
            for bend in self.bends.values():
                if bend.id not in cut and face in bend.faces and (other := _other(bend, face)) not in found:
                    found.add(other)
                    todo.append(other)
        return found

    def _slides(self, bend, setback, leaf, nose):
        """How far a free edge slides along the leaf by some of its angles: a stop left there would be pushed."""
        found = []
        for share in (0.1, 0.5, 1.0):
            a = math.radians(leaf * share)
            touch = (nose + self.t) * math.sin(a) - (nose + setback) * math.cos(a)
            found.append(touch + nose + setback - self._metal(self.drawn[bend.id], nose, a))
        return found

    def _wrap(self, bend, near, moved, leaf, nose, hidden):
        """Clamp with the tangent line moved so far on the near face, wrap to the leaf's angle, release."""
        drawn, t = self.drawn[bend.id], self.t
        wound = self._metal(drawn, nose, math.radians(leaf)) - hidden.deduction
        if drawn["angle"] >= HEM:
            # squeezing goes on where the metal is bent already: the middle of the arc becomes the fold's
            bend.angle, bend.arc = drawn["angle"], drawn["allowance"] - hidden.deduction
            moved += (wound - bend.arc) / 2.0
        else:
            ratio = drawn["angle"] / drawn["overbend_to"] + hidden.springback
            bend.angle, bend.arc = leaf * ratio, wound
            bend.radius = (nose + t / 2.0) / ratio - t / 2.0
        way, far = self.way(bend, near), _other(bend, near)
        bend.tangents[near] = bend.tangents[near] + moved * way
        at = bend.tangents[near][0] @ way + bend.arc
        bend.tangents[far] = bend.tangents[far] + (at - bend.tangents[far][0] @ way) * way

    def _metal(self, drawn, nose, turned):
        """Metal wound round the nose at an angle [rad], at the depth of the neutral line."""
        t, angle = self.t, math.radians(drawn["angle"])
        if drawn["method"] not in FINISHED or drawn["angle"] >= HEM:
            return (nose + drawn["neutral_axis_ratio"] * t) * turned
        leaf = math.radians(drawn["overbend_to"])
        released = (nose + t / 2.0) * leaf / angle - t / 2.0
        return (2.0 * (released + t) * math.tan(angle / 2.0) - drawn["deduction"]) * turned / leaf

    def leg(self, leg):
        """A leg's outside size, measured between mould lines or from one to the cut edge, where the drawing has it."""
        face, ends = leg["name"], [self.bends[b] for b in leg["bends"]]
        way, line = self.way(ends[0], face), ends[0].tangents[face][0]
        if len(ends) > 1:
            flat = abs((ends[1].tangents[face][0] - line) @ way)
        else:
            drawn = self.drawn[ends[0].id]
            before = np.array(drawn["tangents"][drawn["faces"].index(face)][0])
            flat = leg["nominal"] - self._setback(drawn["inside_radius"], drawn["angle"]) + (line - before) @ way
        return flat + sum(self._setback(bend.radius, bend.angle) for bend in ends)

    def _setback(self, radius, angle):
        reach = radius + self.t
        return reach * math.tan(math.radians(angle) / 2.0) if angle < 165.0 else reach


def _other(bend, face):
    return bend.faces[1] if face == bend.faces[0] else bend.faces[0]


def _after(second, first):
    """One motion after another."""
    return second[0] @ first[0], second[0] @ first[1] + second[1]


def _between(side, low, high):
    """x of a closed line's corners between two heights, and of where it crosses them."""
    found = [x for x, z in side if low <= z <= high]
    for (x1, z1), (x2, z2) in zip(side, [*side[1:], side[0]], strict=True):
        for level in (low, high):
            if (z1 - level) * (z2 - level) < 0.0:
                found.append(x1 + (x2 - x1) * (level - z1) / (z2 - z1))
    return found


def _points(outline):
    """Corners of an outline, its arcs in sixteen chords."""
    points = []
    for (x1, y1, bulge), (x2, y2, _) in zip(outline, [*outline[1:], outline[0]], strict=True):
        points.append(np.array([x1, y1]))
        if bulge:
            sweep = 4.0 * math.atan(bulge)
            middle, half = np.array([x1 + x2, y1 + y2]) / 2.0, np.array([x2 - x1, y2 - y1]) / 2.0
            center = middle + np.array([-half[1], half[0]]) / math.tan(sweep / 2.0)
            for k in range(1, 16):
                a = sweep * k / 16
                x, y = np.array([x1, y1]) - center
                points.append(center + [x * math.cos(a) - y * math.sin(a), x * math.sin(a) + y * math.cos(a)])
    return points
