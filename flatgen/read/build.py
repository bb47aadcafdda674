"""A Part from a profile and the values of one part: formulas worked out, flanges set on their edges, holes placed."""

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from flatgen.core.outline import Outline, area, rectangle
from flatgen.develop.runs import edge_run
from flatgen.errors import CannotMake, InputError, nearest
from flatgen.model.material import Material
from flatgen.model.part import (
    SKIRT_EDGES,
    Bend,
    Corner,
    Cutout,
    Face,
    Hole,
    Part,
    Relief,
    Skirt,
)
from flatgen.model.shop import Shop
from flatgen.read.drills import drill_for, parse_drill
from flatgen.read.features import CORNER_KEYS, HOLES_KEYS, OPENING_KEYS, RELIEF_KEYS
from flatgen.read.keys import Table
from flatgen.read.openings import opening_outlines
from flatgen.read.patterns import places
from flatgen.read.profile import Profile
from flatgen.read.rules import relief_depth, relief_hole, relief_slot
from flatgen.read.scope import Scope

MOST_HOLES = 5000
MOST_FLANGES = 200
RECTANGLE_EDGES = ("bottom", "right", "top", "left")


@dataclass(frozen=True, slots=True)
class Order:
    """What one part of a job adds to its profile: identity, metal, radius, and features of its own."""

    id: str
    title: str
    quantity: int
    material: Material
    thickness: float
    radius: float
    units: str
    shop: Shop
    table: Table | None = None  # the part's own table: corner, holes, opening, relief
    extras: dict[str, Any] = field(default_factory=dict)  # further fields of the Part, by name


@dataclass(slots=True)
class Builder:
    """Collects a part while its description is worked out."""

    profile: Profile
    order: Order
    scope: Scope
    faces: dict[str, Face] = field(default_factory=dict)
    bends: list[Bend] = field(default_factory=list)
    bend_of: dict[str, Bend] = field(default_factory=dict)
    mates: list[str] = field(default_factory=list)
    holes: list[Hole] = field(default_factory=list)
    cutouts: list[Cutout] = field(default_factory=list)
    reliefs: list[Relief] = field(default_factory=list)
    rounded: dict[str, tuple[str, float]] = field(default_factory=dict)  # face -> corners to shape where free

    @contextmanager
    def at(self, table: Table, key: str = "") -> Iterator[None]:
        """Say file, part and key of whatever goes wrong inside."""
        try:
            yield
        except (InputError, CannotMake) as error:
            if isinstance(error, InputError) and error.file is not None:
                raise
            path = table.at(key) if key else table.path
            where = ", ".join(w for w in (f'part "{self.order.id}"', table.name, key) if w)
            message = error.message if isinstance(error, InputError) else str(error)
            raise InputError(message, file=table.file.path, line=table.file.line_of(path), where=where) from error


def build_part(profile: Profile, order: Order, scope: Scope) -> Part:
    """The part that a profile describes for the values in ``scope``; InputError names file, part and key."""
    builder = Builder(profile, order, scope)
    _faces(builder)
    _flanges(builder)
    own = order.table
    for source in (profile.table(), own):
        if source is None:
            continue
        for kind, keys, add in (
            ("corner", CORNER_KEYS, _corner),
            ("holes", HOLES_KEYS, _holes),
            ("opening", OPENING_KEYS, _opening),
            ("relief", RELIEF_KEYS, _relief),
        ):
            for k, data in enumerate(source.data.get(kind, ())):
                table = Table(source.file, data, (*source.at(kind), k), source.units, f"{kind} {k + 1}")
                builder.scope.units = source.units
                values = table.must_read(keys)
                with builder.at(table, "when" if "when" in data else ""):
                    wanted = builder.scope.truth(values["when"])
                if wanted:
                    with builder.at(table):
                        add(builder, table, values)
    builder.scope.units = profile.units
    _free_corners(builder)
    if len(builder.holes) > MOST_HOLES:
        raise InputError(f"{len(builder.holes)} holes are more than {MOST_HOLES}", where=f'part "{order.id}"')
    with builder.at(profile.table(), "grain"):
        grain = _grain(builder, order.extras.pop("grain", None) or profile.values["grain"])
    return Part(
        id=order.id,
        title=order.title or profile.values["title"],
        profile=profile.name,
        base=profile.values["base"],
        faces=tuple(builder.faces.values()),
        bends=tuple(builder.bends),
        material=order.material,
        thickness=order.thickness,
        quantity=order.quantity,
        holes=tuple(builder.holes),
        cutouts=tuple(builder.cutouts),
        reliefs=tuple(builder.reliefs),
        grain=grain,
        mating=tuple(builder.mates),
        **{**order.extras, "notes": (*profile.values["notes"], *order.extras.get("notes", ()))},
    )


def _faces(b: Builder) -> None:
    base = b.profile.values["base"]
    for name, values in b.profile.values["face"].items():
        table = Table(b.profile.file, values, ("face", name), b.profile.units, f'face "{name}"')
        if name != base:
            raise InputError(
                f'only the base "{base}" is a face of its own; every other flat is a flange',
                file=table.file.path,
                line=table.file.line_of(table.path),
                where=table.name,
            )
        with b.at(table):
            if ("size" in values) == ("points" in values):
                raise InputError("a face has either a size or points")
            if "size" in values:
                with b.at(table, "size"):
                    width, height = b.scope.point(values["size"])
                    if width <= 0 or height <= 0:
                        raise InputError(f"the face is {width:g} by {height:g} mm; both must be more than 0")
                b.faces[name] = Face(name, rectangle(0.0, 0.0, width, height), RECTANGLE_EDGES)
            else:
                b.faces[name] = _points_face(b, table, name, values)
            _note_shape(b, name, values)
        if values.get("mates"):
            b.mates.append(name)


def _points_face(b: Builder, table: Table, name: str, values: dict[str, Any]) -> Face:
    with b.at(table, "points"):
        raw = values["points"]
        if not isinstance(raw, list) or len(raw) < 3:
            raise InputError("an outline needs at least three corners, [[x, y], …]")
        points = [b.scope.point(p[:2] if isinstance(p, list) else p) for p in raw]
        edges = tuple(values.get("edges") or (str(k + 1) for k in range(len(points))))
        if len(edges) != len(points) or len(set(edges)) != len(edges):
            raise InputError(f"{len(points)} corners need {len(points)} different edge names, not {len(edges)}")
        outline: Outline = tuple((x, y, 0.0) for x, y in points)
        if abs(area(outline)) < 1e-6:
            raise InputError("this outline encloses nothing")
        if area(outline) < 0:
            # clockwise corners: turn the run round and keep each edge's name on its edge
            outline = outline[::-1]
            edges = (*edges[-2::-1], edges[-1])
            raw = raw[::-1]
        corners = []
        for k, p in enumerate(raw):
            if len(p) > 2:
                corners.append(
                    Corner((edges[k - 1], edges[k]), "round", _positive(b.scope.length(p[2]), "a corner radius"))
                )
        return Face(name, outline, edges, tuple(corners))


def _note_shape(b: Builder, name: str, values: dict[str, Any]) -> None:
    for key, kind in (("corner_round", "round"), ("corner_clip", "clip")):
        if key in values:
            size = b.scope.length(values[key])
            if size < 0:
                raise InputError(f"{key} is {size:g} mm; it must be 0 or more")
            if size > 0:
                b.rounded[name] = (kind, size)


def _flanges(b: Builder) -> None:
    flanges = b.profile.values["flange"]
    if len(flanges) > MOST_FLANGES:
        raise InputError(f"{len(flanges)} flanges are more than {MOST_FLANGES}", file=b.profile.file.path)
    waiting = dict(flanges)
    left_out: set[str] = set()
    while waiting:
        ready = [n for n, v in waiting.items() if _parent(v) in b.faces or _parent(v) in left_out]
        name = ready[0] if ready else next(iter(waiting))
        values = waiting.pop(name)
        if not ready:
            table = Table(b.profile.file, values, ("flange", name), b.profile.units, f'flange "{name}"')
            with b.at(table, "on"):
                known = [f"{f.id}.{e}" for f in b.faces.values() for e in f.edges]
                raise InputError(f'there is no edge "{values["on"]}" to stand on. {nearest(values["on"], known)}')
        parent, _, edge = str(values["on"]).rpartition(".")
        table = Table(b.profile.file, values, ("flange", name), b.profile.units, f'flange "{name}"')
        with b.at(table, "when"):
            wanted = parent not in left_out and b.scope.truth(values.get("when", True))
        if not wanted:
            left_out.add(name)
            continue
        with b.at(table):
            _flange(b, table, name, parent, edge, values)


def _parent(values: dict[str, Any]) -> str:
    return str(values.get("on", "")).rpartition(".")[0]


def _flange(b: Builder, table: Table, name: str, parent: str, edge: str, values: dict[str, Any]) -> None:
    owner = b.faces[parent]
    if edge not in owner.edges:
        with b.at(table, "on"):
            raise InputError(f'"{parent}" has no edge "{edge}". {nearest(edge, owner.edges)}')
    angle = _bend_angle(b, table, values)
    if "points" in values:
        face = _points_face(b, table, name, values)
        child_edge = next((e for k, e in enumerate(face.edges) if _lies_on_bend(face.outline, k)), None)
        if child_edge is None:
            with b.at(table, "points"):
                raise InputError("one side of the outline must lie on the bend, with y = 0 at both its ends")
    else:
        face, child_edge = _skirt_face(b, table, name, values), SKIRT_EDGES[0]
    _note_shape(b, name, values)
    radius = b.order.radius
    if "radius" in values:
        with b.at(table, "radius"):
            radius = b.scope.length(values["radius"])
            if radius < 0:
                raise InputError(f"the radius is {radius:g} mm; it must be 0 or more")
    span = child_span = None
    if "span" in values:
        with b.at(table, "span"):
            low, high = b.scope.point(values["span"])
            if low >= high:
                raise InputError(f"the bend runs from {low:g} to {high:g} mm; its low end comes first")
            span = (low, high)
    elif face.skirt is None:
        run = edge_run(face.outline, face.edge(child_edge))
        k = face.edge(child_edge)
        ends = [run.run_of(face.outline[i % len(face.outline)][:2]) for i in (k, k + 1)]
        span = (min(ends), max(ends))
    bend = Bend(
        id=values.get("bend") or f"b{len(b.bends) + 1}",
        parent=parent,
        parent_edge=edge,
        child=name,
        child_edge=child_edge,
        angle=angle,
        radius=radius,
        span=span,
        child_span=child_span,
        measured_parent=values.get("edge_measured", "outside"),
        measured_child=values.get("measured", "outside"),
        beside=values.get("beside", "tangent"),
    )
    if any(other.id == bend.id for other in b.bends):
        raise InputError(f'two bends are called "{bend.id}"')
    b.faces[name] = face
    b.bends.append(bend)
    b.bend_of[name] = bend
    if values.get("mates"):
        b.mates.append(name)
    kind = values.get("relief", "none")
    if kind != "none":
        b.reliefs.append(_ruled_relief(b, bend, kind, "both", None, None))


def _bend_angle(b: Builder, table: Table, values: dict[str, Any]) -> float:
    if "between" in values:
        with b.at(table, "between"):
            if "angle" in values:
                raise InputError("give either the bend angle or the angle between the legs, not both")
            angle = 180.0 - b.scope.angle(values["between"])
    else:
        with b.at(table, "angle"):
            angle = b.scope.angle(values.get("angle", 90))
    if values.get("fold", "up") == "down":
        angle = -angle
    if not 0.5 <= abs(angle) <= 180.0:
        with b.at(table, "between" if "between" in values else "angle"):
            raise InputError(f"the bend turns through {angle:g}°; it must be 0.5° to 180°, either way")
    return angle


def _skirt_face(b: Builder, table: Table, name: str, values: dict[str, Any]) -> Face:
    if "height" not in values:
        with b.at(table, "height"):
            raise InputError("this key is missing: the size from the measured line to the free edge")
    with b.at(table, "height"):
        low = _positive(b.scope.length(values["height"]), "the height")
    with b.at(table, "height_high"):
        high = _positive(b.scope.length(values.get("height_high", values["height"])), "the height")
    inset = values.get("inset", 0)
    with b.at(table, "inset"):
        insets = b.scope.point(inset) if isinstance(inset, list) else (b.scope.length(inset),) * 2
    return Face(name, (), SKIRT_EDGES, skirt=Skirt(low, high, *insets))


def _positive(value: float, what: str) -> float:
    if value <= 0:
        raise InputError(f"{what} is {value:g} mm; it must be more than 0")
    return value


def _lies_on_bend(outline: Outline, index: int) -> bool:
    p, q = outline[index], outline[(index + 1) % len(outline)]
    return abs(p[1]) < 1e-9 and abs(q[1]) < 1e-9


def _face(b: Builder, table: Table, name: str) -> Face | None:
    """The face of a feature; None when it was left out by its own condition."""
    if name in b.faces:
        return b.faces[name]
    if name in b.profile.values["flange"]:
        return None
    with b.at(table, "face"):
        raise InputError(f'there is no face or flange "{name}". {nearest(name, b.faces)}')


def _corner(b: Builder, table: Table, values: dict[str, Any]) -> None:
    face = _face(b, table, values["face"])
    if face is None:
        return
    if (values["round"] is None) == (values["clip"] is None):
        raise InputError("a corner is either round or clip")
    names = values["between"]
    for name in names:
        if name not in face.edges:
            with b.at(table, "between"):
                raise InputError(f'"{face.id}" has no edge "{name}". {nearest(name, face.edges)}')
    if len(names) != 2:
        with b.at(table, "between"):
            raise InputError("a corner lies between two edges")
    pair = (names[0], names[1])
    if values["round"] is not None:
        corner = Corner(pair, "round", _positive(b.scope.length(values["round"]), "the radius"))
    else:
        raw = values["clip"]
        legs = b.scope.point(raw) if isinstance(raw, list) else (b.scope.length(raw),) * 2
        corner = Corner(pair, "clip", _positive(legs[0], "the leg"), _positive(legs[1], "the leg"))
    kept = tuple(c for c in face.corners if set(c.edges) != set(pair))
    b.faces[face.id] = Face(face.id, face.outline, face.edges, (*kept, corner), face.skirt)


def _holes(b: Builder, table: Table, values: dict[str, Any]) -> None:
    face = _face(b, table, values["face"])
    if face is None:
        return
    given = [key for key in ("drill", "rivet", "bolt") if values[key] is not None]
    if not given:
        raise InputError("a hole needs its drill, rivet or bolt size")
    units, kind, fastener = b.scope.units, values["kind"], None
    if "rivet" in given or ("bolt" in given and values["drill"] is None):
        key = "rivet" if "rivet" in given else "bolt"
        with b.at(table, key):
            fastener = b.scope.length(values[key])
            drill = drill_for(fastener, b.order.shop.drills)
        final = values["stage"] == "final"
        diameter, label = (drill.final, drill.final_label) if final else (drill.pilot, drill.pilot_label)
        kind = key if kind == "plain" else kind
    else:
        with b.at(table, "drill"):
            raw = values["drill"]
            if isinstance(raw, str) and raw in b.scope.texts:
                raw = b.scope.texts[raw]
            elif isinstance(raw, str) and (raw in b.scope.values or raw in b.scope.formulas):
                raw = f"{b.scope.length(raw)} mm"
            diameter, label = parse_drill(raw, units)
    if values["drill"] is not None and fastener is not None:
        with b.at(table, "drill"):
            diameter, label = parse_drill(values["drill"], units)
    if "bolt" in given and fastener is None:
        with b.at(table, "bolt"):
            fastener, kind = b.scope.length(values["bolt"]), "bolt"
    for center in places(values, face, b.scope):
        b.holes.append(Hole(face.id, center, diameter, label, fastener, kind, values["name"]))


def _opening(b: Builder, table: Table, values: dict[str, Any]) -> None:
    face = _face(b, table, values["face"])
    if face is not None:
        for outline in opening_outlines(values, b.scope):
            b.cutouts.append(Cutout(face.id, outline, values["name"]))


def _relief(b: Builder, table: Table, values: dict[str, Any]) -> None:
    for name in values["flange"]:
        if name not in b.bend_of:
            if name in b.profile.values["flange"]:
                continue
            with b.at(table, "flange"):
                raise InputError(f'there is no flange "{name}". {nearest(name, b.bend_of)}')
        bend = b.bend_of[name]
        b.reliefs = [r for r in b.reliefs if r.bend != bend.id or values["ends"] not in ("both", r.ends)]
        b.reliefs.append(_ruled_relief(b, bend, values["kind"], values["ends"], values["width"], values["depth"]))


def _ruled_relief(b: Builder, bend: Bend, kind: str, ends: str, width: Any, depth: Any) -> Relief:
    """A relief with what the description leaves out sized by rule."""
    thickness = b.order.thickness
    ruled = relief_hole(bend.radius, thickness) if kind == "round" else relief_slot(thickness)
    wide = ruled if width is None else _positive(b.scope.length(width), "the relief's width")
    deep = 0.0 if kind == "round" else relief_depth(thickness)
    if depth is not None:
        deep = b.scope.length(depth)
        if deep < 0:
            raise InputError(f"the relief's depth is {deep:g} mm; it must be 0 or more")
    return Relief(bend.id, ends, kind, wide, deep)  # type: ignore[arg-type]


def _free_corners(b: Builder) -> None:
    """Shape every corner of a face whose two edges carry no bend, unless it has been shaped by itself."""
    for name, (kind, size) in b.rounded.items():
        face = b.faces[name]
        bent = {x.parent_edge for x in b.bends if x.parent == name} | {x.child_edge for x in b.bends if x.child == name}
        corners = list(face.corners)
        for k in range(len(face.edges)):
            pair = (face.edges[k - 1], face.edges[k])
            if not bent & set(pair) and not any(set(c.edges) == set(pair) for c in corners):
                corners.append(Corner(pair, kind, size))  # type: ignore[arg-type]
        b.faces[name] = Face(face.id, face.outline, face.edges, tuple(corners), face.skirt)


def _grain(b: Builder, raw: Any) -> float | None:
    """Rolling direction in the base face's axes [deg]; None for any."""
    if isinstance(raw, str):
        words = b.scope.text(raw).split()
        if words == ["any"]:
            return None
        if words in (["x"], ["y"]):
            return 0.0 if words == ["x"] else 90.0
        if len(words) == 2 and words[0] in ("across", "along"):
            bend = b.bend_of.get(words[1])
            if bend is None or b.faces[bend.parent].skirt is not None:
                on_base = [n for n, x in b.bend_of.items() if b.faces[x.parent].skirt is None]
                raise InputError(f'"{raw}" must name a flange on the base. {nearest(words[1], on_base)}')
            face = b.faces[bend.parent]
            way = edge_run(face.outline, face.edge(bend.parent_edge)).direction
            along = math.degrees(math.atan2(way[1], way[0])) % 180.0
            return along if words[0] == "along" else (along + 90.0) % 180.0
    return b.scope.angle(raw) % 180.0
