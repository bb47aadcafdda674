"""Where bends really come to lie on a blank that was developed by its method and is bent at its stops.

While the leaf stands over-bent a bend takes another length of metal than it was developed with, and legs that come out
to size take less flat. So each tangent line moves on its face. A move is positive where the face's flat grows by it;
faces' cut edges stay where they are. Bends across which nothing is carried on (not parallel) leave a face's edges as
the place to start from. Lengths mm.
"""

import math
from collections.abc import Collection
from dataclasses import dataclass, field, replace

from flatgen.core.making import Making
from flatgen.core.points import Point, along, cross, distance, dot, sub, unit
from flatgen.develop.across import toward_child
from flatgen.model.blank import BendLine, Blank, FlatFace, Line

PARALLEL = 1e-3  # sine of the angle within which two bends are parallel


@dataclass(frozen=True, slots=True)
class Intended:
    """Where a tangent line should be: its move on its face, and what it was gauged from in the end.

    flat_between : a bend still flat lies between the gauged edge and this one, so that no single leg is gauged
    """

    out: float
    anchor: str
    flat_between: bool = False


@dataclass
class Layout:
    """The moves of the bends made so far, by (bend, face), and the edge that each bend was gauged from."""

    blank: Blank
    outs: dict[tuple[str, str], float] = field(default_factory=dict)
    anchors: dict[str, str] = field(default_factory=dict)

    def making(self, bend: BendLine) -> Making:
        """How a bend of this blank is made."""
        return bend.making(self.blank.thickness)

    def intended(self, bend: BendLine, face: str, root: str, made: Collection[str]) -> Intended:
        """Where the bend's tangent line on a face has to be, gauged from a cut edge or a standing face of ``root``.

        Bends made that this layout has no place for are taken to have given legs as they should be.
        """
        here, last, out_last, anchor, flat = root, None, 0.0, root, False
        for crossed in path(self.blank, root, face):
            following = other_face(crossed, here)
            if not parallel(crossed, bend):
                last, anchor, flat = None, following, False
            else:
                if (crossed.id, following) in self.outs:
                    out_last, anchor = self.outs[crossed.id, following], self.anchors[crossed.id]
                elif crossed.id in made:
                    out_last = -self.making(crossed).shortens
                else:
                    near = self._next(crossed, here, last, out_last)
                    out_last = self.across(crossed, near)
                flat = flat or crossed.id not in made
                last = crossed
            here = following
        return Intended(self._next(bend, face, last, out_last), anchor, flat)

    def _next(self, bend: BendLine, face: str, last: BendLine | None, out_last: float) -> float:
        """A tangent line's move that gives its leg to size, from the face's cut edge or from the bend before."""
        out = -self.making(bend).shortens
        if last is None or not opposite(last, bend, face):
            return out
        return out - self.making(last).shortens - out_last

    def across(self, bend: BendLine, out: float) -> float:
        """The move of the other tangent line: the arc lies between them in place of the strip that was developed."""
        return -(out + self.making(bend).arc - bend.bent.allowance)

    def place(self, bends: Collection[BendLine], near: Collection[str], out: float, anchor: str) -> None:
        """Enter the bends of one stroke; ``out`` is the move on those of their faces that are in ``near``."""
        for bend in bends:
            face = bend.parent if bend.parent in near else bend.child
            self.outs[bend.id, face] = out
            self.outs[bend.id, other_face(bend, face)] = self.across(bend, out)
            self.anchors[bend.id] = anchor

    def as_made(self, made: Collection[str]) -> Blank:
        """The blank with its placed bends where they are, those made at their radius after release."""
        bends = tuple(self._moved(bend, made) for bend in self.blank.bends)
        return replace(self.blank, bends=bends, faces=tuple(self._reshaped(face) for face in self.blank.faces))

    def _reshaped(self, face: FlatFace) -> FlatFace:
        """The face with the corners that lie on its tangent lines moved along with these."""
        placed = [bend for bend in self.blank.bends if (bend.id, face.id) in self.outs]

        def moved(corner: tuple[float, float, float]) -> tuple[float, float, float]:
            at = start = corner[:2]
            for bend in placed:
                if _on(start, tangent_of(bend, face.id)):
                    at = along(at, away(bend, face.id), self.outs[bend.id, face.id])
            return (*at, corner[2])

        return replace(face, outline=tuple(moved(corner) for corner in face.outline)) if placed else face

    def _moved(self, bend: BendLine, made: Collection[str]) -> BendLine:
        if (bend.id, bend.parent) not in self.outs:
            return bend
        # a hem is squeezed to the drawing's radius, whatever it sprang back to before
        released = self.making(bend).released if bend.first is None else bend.bent.inside_radius
        radius = released if bend.id in made else bend.bent.inside_radius
        bent = replace(bend.bent, inside_radius=radius)
        return replace(bend, bent=bent, tangents=self.tangents(bend))

    def tangents(self, bend: BendLine) -> tuple[Line, Line]:
        """Both tangent lines where they really are, the parent's first."""
        way = toward_child(bend)
        near, far = self.outs[bend.id, bend.parent], self.outs[bend.id, bend.child]
        return _shifted(bend.tangents[0], way, near), _shifted(bend.tangents[1], way, -far)

    def sight_lines(self, bend: BendLine) -> tuple[Line, Line]:
        """Lines to set under the nose tip for this place of the bend: parent clamped, child clamped."""
        way, radius = toward_child(bend), self.making(bend).nose_radius
        near, far = self.tangents(bend)
        return _shifted(near, way, radius), _shifted(far, way, -radius)

    def grown(self, face: str, bends: Collection[str]) -> float:
        """By how much a leg between these bends (or one and a cut edge) comes out over its drawn size."""
        return math.fsum(self.outs[b, face] + self.making(self.blank.bend(b)).shortens for b in bends)


def other_face(bend: BendLine, face: str) -> str:
    """The face across a bend."""
    return bend.child if face == bend.parent else bend.parent


def path(blank: Blank, start: str, end: str) -> list[BendLine]:
    """Bends crossed from one face to another."""
    ways: dict[str, list[BendLine]] = {start: []}
    todo = [start]
    while todo:
        face = todo.pop()
        for bend in blank.bends:
            if face in (bend.parent, bend.child) and (other := other_face(bend, face)) not in ways:
                ways[other] = [*ways[face], bend]
                todo.append(other)
    return ways[end]


def farthest_face(blank: Blank, bend: BendLine, face: str) -> str:
    """The last face straight on from a bend over the given one, by bends parallel to it."""
    last, here = bend, face
    while True:
        onward = [
            b
            for b in blank.bends
            if b.id != last.id and here in (b.parent, b.child) and parallel(b, last) and opposite(last, b, here)
        ]
        if not onward:
            return here
        last = onward[0]
        here = other_face(last, here)


def tangent_of(bend: BendLine, face: str) -> Line:
    """The tangent line on one of the bend's faces."""
    return bend.tangents[0] if face == bend.parent else bend.tangents[1]


def parallel(one: BendLine, other: BendLine) -> bool:
    """Whether two bend lines are parallel on the blank."""
    return abs(cross(_run(one), _run(other))) < PARALLEL


def opposite(one: BendLine, other: BendLine, face: str) -> bool:
    """Whether two parallel bends bound a face on opposite sides."""
    gap = dot(sub(tangent_of(other, face)[0], tangent_of(one, face)[0]), away(one, face))
    return gap < -1e-6


def away(bend: BendLine, face: str) -> Point:
    """Unit direction from a face out over one of its bends."""
    way = toward_child(bend)
    return way if face == bend.parent else (-way[0], -way[1])


def _on(point: Point, line: Line) -> bool:
    """Whether a point lies on a line between its ends."""
    return distance(point, line[0]) + distance(point, line[1]) < distance(*line) + 1e-6


def _run(bend: BendLine) -> Point:
    line = max(bend.tangents, key=lambda line: distance(*line))
    return unit(sub(line[1], line[0]))


def _shifted(line: Line, way: Point, by: float) -> Line:
    return along(line[0], way, by), along(line[1], way, by)
