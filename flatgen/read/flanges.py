"""Flanges, hems and joggles set on their edges, in the order in which their edges come to be."""

import math
from dataclasses import replace
from typing import Any

from flatgen.core.outline import bounds
from flatgen.develop.runs import edge_run
from flatgen.develop.setback import no_mould_lines
from flatgen.errors import InputError, nearest
from flatgen.model.part import SKIRT_EDGES, Bend, Face, Skirt
from flatgen.read.builder import Builder
from flatgen.read.faces import note_shape
from flatgen.read.keys import Table
from flatgen.read.outlines import points_face
from flatgen.read.ruled_relief import ruled_relief
from flatgen.read.sentences import at_least_0, positive, shown
from flatgen.said import said

MOST_FLANGES = 200
LEAST_ANGLE = 0.5


def add_flanges(b: Builder) -> None:
    """Every flange, hem and joggle of the profile whose condition holds."""
    waiting = {name: ("flange", values) for name, values in b.profile.values["flange"].items()}
    waiting |= {name: ("joggle", values) for name, values in b.profile.values["joggle"].items()}
    if len(waiting) > MOST_FLANGES:
        raise InputError(f"{len(waiting)} flanges are more than {MOST_FLANGES}", file=b.profile.file.path)
    while waiting:
        ready = [n for n, (_, v) in waiting.items() if _parent(v) in b.faces or _parent(v) in b.left_out]
        name = ready[0] if ready else next(iter(waiting))
        kind, values = waiting.pop(name)
        table = Table(b.profile.file, values, (kind, name), b.profile.units, f'{kind} "{name}"')
        parent, _, edge = str(values["on"]).rpartition(".")
        if not ready:
            with b.at(table, "on"):
                known = [f"{f.id}.{e}" for f in b.faces.values() for e in f.edges]
                raise InputError(f'there is no edge "{values["on"]}" to stand on. {nearest(values["on"], known)}')
        with b.at(table, "when"):
            wanted = parent not in b.left_out and b.scope.truth(values.get("when", True))
        if not wanted:
            b.left_out.add(name)
            continue
        with b.at(table):
            if edge not in b.faces[parent].edges:
                with b.at(table, "on"):
                    raise InputError(f'"{parent}" has no edge "{edge}". {nearest(edge, b.faces[parent].edges)}')
            if parent in b.bend_of and edge == b.bend_of[parent].child_edge:
                with b.at(table, "on"):
                    free = [name for name in b.faces[parent].edges if name != edge]
                    raise InputError(f'"{parent}" itself is bent up at its edge "{edge}"; free are {", ".join(free)}')
            if kind == "joggle":
                _joggle(b, table, name, parent, edge, values)
            elif "repeat" in values:
                _repeated(b, table, name, parent, edge, values)
            else:
                _flange(b, table, name, parent, edge, values)


def _parent(values: dict[str, Any]) -> str:
    return str(values.get("on", "")).rpartition(".")[0]


def _repeated(b: Builder, table: Table, name: str, parent: str, edge: str, values: dict[str, Any]) -> None:
    """Copies name_1, name_2, … of a flange; ``n`` is the number of each in its formulas."""
    with b.at(table, "repeat"):
        count = b.scope.count(values["repeat"], MOST_FLANGES)
        if "span" not in values:
            raise InputError("copies of a flange need their span, worked out from their number n")
    b.repeated[name] = []
    for k in b.scope.numbered(count):
        copy = f"{name}_{k}"
        _flange(b, table, copy, parent, edge, values)
        b.repeated[name].append(copy)
    if not count:
        b.left_out.add(name)


def _flange(b: Builder, table: Table, name: str, parent: str, edge: str, values: dict[str, Any]) -> None:
    if "hem" in values:
        values = _as_hem(table, b, values)
    angle = _bend_angle(b, table, values)
    face, child_edge = _flange_face(b, table, name, values)
    note_shape(b, name, values)
    span = _span(b, table, values)
    if span is None and face.skirt is None:
        k = face.edge(child_edge)
        run = edge_run(face.outline, k)
        ends = [run.run_of(face.outline[i % len(face.outline)][:2]) for i in (k, k + 1)]
        span = (min(ends), max(ends))
    _enter(
        b,
        table,
        face,
        values,
        Bend(
            id=values.get("bend") or f"b{len(b.bends) + 1}",
            parent=parent,
            parent_edge=edge,
            child=name,
            child_edge=child_edge,
            angle=angle,
            radius=_radius(b, table, values),
            span=span,
            measured_parent=values.get("edge_measured", "outside"),
            measured_child=values.get("measured", "outside"),
            beside=values.get("beside", "tangent"),
            hem="hem" in values,
            neutral_axis_ratio=_ratio(b, table, values),
            deduction=_deduction(b, table, values),
        ),
    )


def _flange_face(b: Builder, table: Table, name: str, values: dict[str, Any]) -> tuple[Face, str]:
    """The flange as a face, plain or by its own outline, and the edge that lies on the bend."""
    if "points" not in values:
        return _skirt_face(b, table, name, values), SKIRT_EDGES[0]
    for key in ("height", "height_high", "inset"):
        if key in values:
            with b.at(table, key):
                raise InputError("a flange with points has its height and ends from them; leave this out")
    with b.at(table, "points"):
        face = points_face(name, values["points"], tuple(values.get("edges", ())), b.scope)
        edge = next((e for k, e in enumerate(face.edges) if _lies_on_bend(face, k)), None)
        if edge is None:
            raise InputError("one side of the outline must lie on the bend, with y = 0 at both its ends")
        if bounds([face.outline])[1] < -1e-9:
            raise InputError("the outline reaches below the bend, where y is less than 0; y runs to the free edge")
    return face, edge


def _radius(b: Builder, table: Table, values: dict[str, Any]) -> float:
    """Inside radius of its own, else the part's [mm]."""
    if "radius" not in values:
        return b.order.radius
    with b.at(table, "radius"):
        return at_least_0(b.scope.length(values["radius"]), "the radius")


def _span(b: Builder, table: Table, values: dict[str, Any]) -> tuple[float, float] | None:
    """Where the bend lies along its edge; None: all along it [mm]."""
    if "span" not in values:
        return None
    with b.at(table, "span"):
        low, high = b.scope.point(values["span"])
        if low >= high:
            raise InputError(said("the bend runs from ", shown(low), " to ", shown(high), "; its low end comes first"))
    return low, high


def _enter(b: Builder, table: Table, face: Face, values: dict[str, Any], bend: Bend) -> None:
    if any(other.id == bend.id for other in b.bends):
        bend_id = f"b{len(b.bends) + 1}"
        if "bend" in values and face.id == bend.child and "repeat" not in values:
            raise InputError(f'two bends are called "{bend.id}"')
        bend = replace(bend, id=bend_id)
    key, reason = no_mould_lines(bend)
    if key:
        with b.at(table, key if key in values else ""):
            raise InputError(f"it {reason}")
    b.faces[face.id] = face
    b.bends.append(bend)
    b.bend_of[face.id] = bend
    if values.get("mates"):
        b.mates.append(face.id)
    kind = values.get("relief", "none")
    if kind != "none":
        with b.at(table, "relief"):
            b.reliefs.append(ruled_relief(b, bend, kind, "both", None, None))


def _as_hem(table: Table, b: Builder, values: dict[str, Any]) -> dict[str, Any]:
    """A hem as the flange it is: 180 degrees, measured over the fold on both sides, pressed to its own radius."""
    with b.at(table, "hem"):
        for key in ("angle", "between", "radius", "points", "measured", "edge_measured"):
            if key in values:
                raise InputError(f'a hem is turned through 180° and measured over its fold; leave out "{key}"')
        if values["hem"] == "closed" and "gap" in values:
            raise InputError('a closed hem has no gap; write hem = "open"')
        if values["hem"] == "open" and "gap" not in values:
            raise InputError("an open hem needs its gap, the opening inside the fold")
    radius = 0.0
    if "gap" in values:
        with b.at(table, "gap"):
            radius = positive(b.scope.length(values["gap"]), "the gap") / 2.0
    return values | {"angle": 180, "radius": f"{radius!r} mm", "measured": "fold", "edge_measured": "fold"}


def _joggle(b: Builder, table: Table, name: str, parent: str, edge: str, values: dict[str, Any]) -> None:
    """A ramp and a flat beyond it: two opposite bends. Offset and length are those of one and the same skin, from
    mould line to mould line, so that they hold whatever radius is bent."""
    sizes = {}
    for key in ("offset", "length", "height"):
        with b.at(table, key):
            sizes[key] = positive(b.scope.length(values[key]), f"the joggle's {key}")
    angle = math.degrees(math.atan2(sizes["offset"], sizes["length"]))
    with b.at(table, "length"):
        if angle < LEAST_ANGLE:
            raise InputError(f"the ramp is only {angle:.2f}° steep; it must be {LEAST_ANGLE}° at least")
        if angle > 60.0:
            raise InputError(f"the ramp is {angle:.1f}° steep; make the joggle at least 0.58 of its offset long")
    sign = -1.0 if values.get("fold", "up") == "down" else 1.0
    radius, ramp = _radius(b, table, values), f"{name}_ramp"
    first = Bend(f"b{len(b.bends) + 1}", parent, edge, ramp, SKIRT_EDGES[0], sign * angle, radius)
    first = replace(first, span=_span(b, table, values))
    slope = math.hypot(sizes["offset"], sizes["length"])
    _enter(b, table, Face(ramp, (), SKIRT_EDGES, skirt=Skirt(slope, slope)), {}, first)
    # the outside of the first bend is the inside of the second: one skin all along
    second = Bend(
        f"b{len(b.bends) + 1}",
        ramp,
        SKIRT_EDGES[2],
        name,
        SKIRT_EDGES[0],
        -sign * angle,
        radius,
        measured_parent="inside",
        measured_child="inside",
    )
    _enter(b, table, Face(name, (), SKIRT_EDGES, skirt=Skirt(sizes["height"], sizes["height"])), values, second)
    note_shape(b, name, values)


def _ratio(b: Builder, table: Table, values: dict[str, Any]) -> float | None:
    if "neutral_axis_ratio" not in values:
        return None
    with b.at(table, "neutral_axis_ratio"):
        ratio = b.scope.number(values["neutral_axis_ratio"])
        if not 0.0 <= ratio <= 0.6:
            raise InputError(f"the neutral-axis ratio is {ratio:g}; it must be 0 to 0.6")
        return ratio


def _deduction(b: Builder, table: Table, values: dict[str, Any]) -> float | None:
    if "deduction" not in values:
        return None
    with b.at(table, "deduction"):
        return b.scope.length(values["deduction"])


def _bend_angle(b: Builder, table: Table, values: dict[str, Any]) -> float:
    key = "between" if "between" in values else "angle"
    with b.at(table, key):
        if key == "between":
            if "angle" in values:
                raise InputError("give either the bend angle or the angle between the legs, not both")
            angle = 180.0 - b.scope.angle(values["between"])
        else:
            angle = b.scope.angle(values.get("angle", 90))
        if values.get("fold", "up") == "down":
            angle = -angle
        if not LEAST_ANGLE <= abs(angle) <= 180.0:
            hint = "" if angle else "; a flat that is not bent belongs to its face, so leave the flange out (when)"
            raise InputError(f"the bend turns through {angle:g}°; it must be {LEAST_ANGLE}° to 180°, either way{hint}")
    return angle


def _skirt_face(b: Builder, table: Table, name: str, values: dict[str, Any]) -> Face:
    with b.at(table, "height"):
        if "height" not in values:
            raise InputError("this key is missing: the size from the measured line to the free edge")
        low = positive(b.scope.length(values["height"]), "the height")
    with b.at(table, "height_high"):
        high = positive(b.scope.length(values.get("height_high", values["height"])), "the height")
    inset = values.get("inset", 0)
    with b.at(table, "inset"):
        insets = b.scope.point(inset) if isinstance(inset, list) else (b.scope.length(inset),) * 2
    return Face(name, (), SKIRT_EDGES, skirt=Skirt(low, high, *insets))


def _lies_on_bend(face: Face, index: int) -> bool:
    p, q = face.outline[index], face.outline[(index + 1) % len(face.outline)]
    return abs(p[1]) < 1e-9 and abs(q[1]) < 1e-9 and p[2] == 0.0
