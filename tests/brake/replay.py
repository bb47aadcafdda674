"""An independent check of a planned order: the section is drawn as a line of half thickness buffered out, with shapely.

Nothing of the planner's own geometry is used: flats and bends are walked one after the other from the clamped tangent
line, the place of each bend on the strip follows from the stop, and tools come from the points given to the brake.
"""

import math

from shapely import affinity
from shapely.geometry import LineString, Polygon, box

TINY = 0.12  # metal is thinned by this all round before it is compared, so that contact does not count


def walk(start, heading, lengths_and_turns, toward):
    """Points of a line: straight lengths, and arcs (radius, angle) that turn toward one side."""
    x, z = start
    points = [(x, z)]
    for straight, radius, angle in lengths_and_turns:
        if straight:
            x, z = x + straight * math.cos(heading), z + straight * math.sin(heading)
            points.append((x, z))
        if angle:
            steps = max(2, math.ceil(abs(angle) / 6))
            turn = math.radians(angle) * toward / steps
            chord = 2 * radius * math.sin(abs(turn) / 2)
            for _ in range(steps):
                heading += turn / 2
                x, z = x + chord * math.cos(heading), z + chord * math.sin(heading)
                heading += turn / 2
                points.append((x, z))
    return points


class Replay:
    """A strip part bent step by step, each bend put where the stop puts it."""

    def __init__(self, strip, brake):
        self.strip, self.brake = strip, brake
        self.r, self.t = strip.radius, strip.thickness
        self.flats = strip.flats()
        self.allowances = [(0.01743 * self.r + 0.0078 * self.t) * abs(a) for a in strip.bends]
        # on the leaf an arc takes more metal; released, the middle of the sheet keeps its length
        self.arcs = [allowance * strip.overbend for allowance in self.allowances]
        self.released = (self.r + self.t / 2) * strip.overbend - self.t / 2
        ends, y = [], 0.0
        for k, flat in enumerate(self.flats):
            y += flat
            if k < len(self.allowances):
                ends.append([y, y + self.allowances[k]])
                y += self.allowances[k]
        self.total, self.drawn, self.ends, self.made = y, [list(e) for e in ends], ends, set()

    def pieces(self, k, side, up):
        """(straight, mid radius, signed angle) from a bend's tangent line to the strip's end, on one side."""
        order = range(k - 1, -1, -1) if side < 0 else range(k + 1, len(self.ends))
        at = self.ends[k][0] if side < 0 else self.ends[k][1]
        out = []
        for j in order:
            near, far = (self.ends[j][1], self.ends[j][0]) if side < 0 else self.ends[j]
            angle = self.strip.bends[j] * (1 if up else -1)
            if j in self.made:
                out.append((abs(near - at), self.released + self.t / 2, angle))
                at = far
            else:
                out.append((abs(far - at), 0, 0))
                at = far
        out.append((abs((0.0 if side < 0 else self.total) - at), 0, 0))
        return out

    def stroke(self, step):
        """One step of a planner's order: where the stop puts the bend, and the least area of metal in a tool (mm²)."""
        trial = step.trial
        k = int(trial.laid.fold.lead.id[1:])
        low_clamped = f"f{k}" in trial.laid.clamped_faces
        up = self.strip.bends[k] > 0
        assert up == trial.laid.upper_side_up
        leaf_end = trial.setting.leaf_angle
        s = (self.r + self.t) * math.tan(math.radians(leaf_end) / 2) - self.r
        self.place(k, low_clamped, step, s)
        worst = 0.0
        back = self.pieces(k, -1 if low_clamped else 1, up)
        front = self.pieces(k, 1 if low_clamped else -1, up)
        still = LineString(walk((0, self.t / 2), math.pi, back, -1)).buffer(self.t / 2 - TINY, cap_style="flat")
        for angle in [*range(0, int(leaf_end) + 1, 3), leaf_end]:
            rest = self.arcs[k] * (1 - angle / leaf_end)
            path = walk((0, self.t / 2), 0.0, [(0, self.r + self.t / 2, angle), (rest, 0, 0), *front], 1)
            moving = LineString(path).buffer(self.t / 2 - TINY, cap_style="flat")
            worst = max(worst, moving.intersection(still).area)
            for tool in self.tools(s, angle):
                worst = max(worst, moving.intersection(tool).area, still.intersection(tool).area)
        self.made.add(k)
        return worst

    def place(self, k, low_clamped, step, s):
        """Move the bend to where the stop puts it."""
        rest, width = step.trial.stops.rest, self.arcs[k]
        if step.side == "sight":
            # the leg under the nose comes out to size, whose flat is then shorter than the blank has it
            shorter = (self.released - self.r) * math.tan(math.radians(abs(self.strip.bends[k]) / 2))
            edge = self.ends[k][0] - shorter if low_clamped else self.ends[k][1] + shorter
            self.ends[k] = [edge, edge + width] if low_clamped else [edge - width, edge]
            return
        ahead = step.stop + s + self.r if step.side == "front" else step.stop - s - self.r
        from_low = low_clamped == (step.side == "back")
        if step.side == "back" and rest.kind == "face":
            off = ahead - self.reach(k, -1 if low_clamped else 1, rest.pad)
            edge = self.ends[k][0] + off if low_clamped else self.ends[k][1] - off
        else:
            edge = ahead if from_low else self.total - ahead
        # either stop gives the clamped tangent line; the strip lies on the other side of it
        self.ends[k] = [edge, edge + width] if low_clamped else [edge - width, edge]

    def reach(self, k, side, pad):
        """How far behind the clamped tangent line a pad of this height meets the metal as it is now."""
        back = self.pieces(k, side, self.strip.bends[k] > 0)
        metal = LineString(walk((0, self.t / 2), math.pi, back, -1)).buffer(self.t / 2, cap_style="flat")
        return -metal.intersection(box(-1e4, 0, 0, pad)).bounds[0]

    def tools(self, s, angle):
        """Nose, beam, bed and leaf about the clamped tangent line."""
        bar, nose = self.brake, self.brake.noses[0]
        edge = s + self.r
        yield Polygon([(self.r - x, self.t + z) for x, z in nose.section]).buffer(-0.001)
        yield Polygon([(self.r - x, self.t + z) for x, z in bar.beam_section])
        yield box(edge - bar.bed_depth, -bar.bed_height, edge, 0)
        leaf = Polygon([(0, 0), (bar.leaf_land, 0), (bar.leaf_land, -bar.leaf_depth), (0, -bar.leaf_depth)])
        yield affinity.translate(affinity.rotate(leaf, angle, origin=(0, 0)), edge, 0)

    def sizes(self):
        """Mould-line sizes that the stops have made."""
        flats, at = [], 0.0
        for low, high in self.ends:
            flats.append(low - at)
            at = high
        flats.append(self.total - at)
        back = [(self.released + self.t) * math.tan(math.radians(abs(a)) / 2) for a in self.strip.bends]
        return [f + sum(back[j] for j in (k - 1, k) if 0 <= j < len(back)) for k, f in enumerate(flats)]
