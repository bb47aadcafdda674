"""A part's planned order worked through with its metal: each bend where its stop puts it, the next gauged from that.

``exact_stops`` gives the strokes the stops that make each gauged leg to size, whatever the legs before took, and the
part as it then lies on the brake.
``settled`` goes through the same strokes at the stops that are printed, which bends may share. Lengths mm, angles deg.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from flatgen.brake.bench import Bench
from flatgen.brake.gauge import Rest, beside, lowest_within, stop_setting
from flatgen.brake.layout import Intended, Layout, farthest_face
from flatgen.brake.order import Side, Step
from flatgen.brake.section import Body, Fold, Laid, lay
from flatgen.core.making import sight_from_clamped, sight_from_free
from flatgen.model.plan import Leg

SAME_LEG = 0.5  # a gauged size this near to a leg's is that leg [mm]


@dataclass(frozen=True, slots=True)
class Gauged:
    """One stroke with its metal: ``behind`` the clamped tangent line to a back stop, ``ahead`` to a front stop.

    sight : from the gauged edge or face to the line under the nose tip, on the legs as they should be
    leg, size : the leg that the stop sets and what it comes out to; empty and None across a bend that is still flat
    drawn : what that leg should be
    """

    behind: float | None
    ahead: float | None
    sight: float | None
    leg: str
    size: float | None
    drawn: float | None


@dataclass(frozen=True, slots=True)
class Printed:
    """A stop as it is printed, with the set-back that it is printed beside."""

    stop: float
    setback: float


def exact_stops(bench: Bench, steps: Sequence[Step]) -> Iterator[tuple[Step, Laid]]:
    """The strokes with their stops as the part really is by then, and the part clamped at that stop."""
    layout = Layout(bench.blank)
    for step in steps:
        stops = step.trial.stops
        stroke = _Stroke(bench, step, layout)
        behind = stroke.behind(stops.rest) if stops.rest is not None else None
        ahead = stroke.ahead(stops.front_face) if stops.front_face else None
        exact = stop_setting(step.trial.setting, stops.rest, behind, stops.front_face, ahead)
        own = {"back": exact.bed, "front": exact.front}.get(step.side)
        trial = replace(step.trial, stops=exact)
        stroke.gauge(step.side, None)
        yield replace(step, trial=trial, stop=step.stop if own is None else own), stroke.lying(layout)


def settled(
    bench: Bench, steps: Sequence[Step], printed: Sequence[Printed | None]
) -> tuple[Layout, tuple[Gauged, ...]]:
    """Where all bends end up when each stroke is made at its printed stop, or at the one that is exact (None)."""
    layout = Layout(bench.blank)
    found = tuple(_Stroke(bench, step, layout).gauge(step.side, at) for step, at in zip(steps, printed, strict=True))
    return layout, found


class _Stroke:
    """One stroke of a part whose bends made before lie as the layout says."""

    def __init__(self, bench: Bench, step: Step, layout: Layout) -> None:
        self.bench, self.step, self.layout = bench, step, layout
        self.setting = step.trial.setting
        self.fold, laid = step.trial.laid.fold, step.trial.laid
        self.near, self.far = beside(laid)
        self.made = {i for k, fold in enumerate(bench.folds) if step.made >> k & 1 for i in fold.ids}

    def behind(self, rest: Rest) -> float:
        """Metal from a rest to the clamped tangent line where that should be."""
        return self._reach_back(rest, self._intended(self.near, rest.face).out)

    def ahead(self, face: str) -> float:
        """Metal from the far tangent line where that should be to a face's free edge."""
        return self._reach_front(face, self._intended(self.far, face).out)

    def gauge(self, side: Side, printed: Printed | None) -> Gauged:
        """Make the stroke: enter its bends where the stop puts them, a printed one or that of the leg to size."""
        return self._to_front(printed) if side == "front" else self._to_back(side, printed)

    def _to_front(self, printed: Printed | None) -> Gauged:
        setting, face = self.setting, self.step.trial.stops.front_face
        arc, radius = setting.making.arc, setting.radius
        meant = self._intended(self.far, face)
        own = ahead = self._reach_front(face, meant.out)
        if printed is not None:
            ahead = printed.stop - setting.front_offset + radius + printed.setback - arc
        self._place(self.far, meant.out + ahead - own, meant.anchor)
        sight = sight_from_free(own, arc, radius)
        return self._gauged(self.far, face, meant, own, ahead, sight)

    def _to_back(self, side: Side, printed: Printed | None) -> Gauged:
        setting, rest = self.setting, self.step.trial.stops.rest
        root = rest.face if rest is not None else farthest_face(self.bench.blank, self.fold.lead, self.near)
        meant = self._intended(self.near, root)
        if rest is None:
            self._place(self.near, meant.out, meant.anchor)
            return Gauged(None, None, None, "", None, None)
        own = behind = self._reach_back(rest, meant.out)
        sight = sight_from_clamped(own, setting.radius)
        if side == "back" and printed is not None:
            behind = printed.stop - setting.back_offset - setting.radius - printed.setback
        self._place(self.near, meant.out + behind - own, meant.anchor)
        if side == "sight":
            return Gauged(None, None, sight, "", None, None)
        return self._gauged(self.near, root, meant, own, behind, sight)

    def _place(self, face: str, out: float, anchor: str) -> None:
        self.layout.place(self.fold.bends, {face, *self._sides(face)}, out, anchor)

    def _gauged(self, face: str, root: str, meant: Intended, own: float, flat: float, sight: float) -> Gauged:
        """What came of a stop: ``own`` is the flat that gives the leg to size, ``flat`` the one that the stop gives."""
        behind, ahead = (flat, None) if face == self.near else (None, flat)
        if meant.flat_between:
            return Gauged(behind, ahead, sight, "", None, None)
        making = self.setting.making
        return Gauged(
            behind, ahead, sight, self._leg(face, root, making.size(own)), making.size(flat), making.size(own)
        )

    def _intended(self, face: str, root: str) -> Intended:
        return self.layout.intended(self.fold.lead, face, root, self.made)

    def _sides(self, face: str) -> frozenset[str]:
        """The faces of the stroke's bends that lie on the same side as the given one."""
        return self.fold.hub if face in self.fold.hub else self.fold.tabs

    def _leg(self, face: str, root: str, size: float) -> str:
        """Name of the size between the gauged edge and the mould line of the bend."""
        drawn = [d.outside for d in self.bench.blank.dimensions if d.where == face and self.fold.lead.id in d.ends]
        if any(abs(size - one) < SAME_LEG for one in drawn):
            return face
        return f"{face}, edge to {self.fold.lead.id}" if root == face else f"{root} to {self.fold.lead.id}"

    def _reach_back(self, rest: Rest, out: float) -> float:
        laid = self._laid(self.near, out)
        if rest.kind == "edge":
            return -min(x for p in laid.still if p.kind == "face" and p.owner == rest.face for x, _ in p.section)
        found = [lowest_within(p, 0.0, rest.pad) for p in laid.still if p.kind == "face" and p.owner == rest.face]
        return -min(x for x in found if x is not None)

    def _reach_front(self, face: str, out: float) -> float:
        laid = self._laid(self.far, out)
        far = max(x for p in laid.moving if p.kind == "face" and p.owner == face for x, _ in p.section)
        return far - self.setting.making.arc

    def _laid(self, face: str, out: float) -> Laid:
        """The part on the brake with this stroke's bends where a move on one side puts them."""
        there = Layout(self.bench.blank, dict(self.layout.outs), dict(self.layout.anchors))
        there.place(self.fold.bends, {face, *self._sides(face)}, out, "")
        return self.lying(there)

    def lying(self, layout: Layout) -> Laid:
        """The part on the brake for this stroke, its bends where a layout has them."""
        blank = layout.as_made(self.made)
        fold = Fold(tuple(blank.bend(b.id) for b in self.fold.bends), self.fold.hub, self.fold.tabs)
        return lay(Body(blank, self.made), fold, self.step.trial.laid.clamped_hub)


def legs(bench: Bench, steps: Sequence[Step], layout: Layout) -> tuple[Leg, ...]:
    """What every leg of the part comes out to, and what sets it."""
    sides = {bend.id: (k, step.side) for k, step in enumerate(steps) for bend in step.trial.laid.fold.bends}
    found = []
    for size in bench.blank.dimensions:
        if size.kind not in ("flange", "web") or any(b not in layout.anchors for b in size.ends):
            continue
        anchors = {layout.anchors[b] for b in size.ends} | ({size.where} if len(size.ends) == 1 else set())
        last = max(sides[b] for b in size.ends)
        by = {"back": "back stop", "front": "front stop", "sight": "sight line"}[last[1]]
        expected = size.outside + layout.grown(size.where, size.ends)
        found.append(Leg(size.where, size.outside, expected, None, by if len(anchors) == 1 else "blank", size.ends))
    return tuple(found)
