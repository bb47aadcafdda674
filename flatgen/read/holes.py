"""Holes of a part: their size by drill, rivet or bolt, their places by pattern or as on the mating part."""

from typing import Any

from flatgen.core.points import MIRROR_X, Motion, after, move, shifted, turned
from flatgen.errors import InputError, nearest
from flatgen.model.part import Hole, Mate
from flatgen.read.builder import Builder, WaitsFor
from flatgen.read.drills import drill_for, parse_drill
from flatgen.read.keys import Table
from flatgen.read.patterns import given_keys, places

MIRROR_Y: Motion = (1.0, 0.0, 0.0, -1.0, 0.0, 0.0)


def add_holes(b: Builder, table: Table, values: dict[str, Any]) -> None:
    """One [[holes]] entry, in every face that it names."""
    faces = b.faces_of(table, values["face"])
    matched = _matched(b, table, values) if values["same_as"] else []
    _only_what_is_used(values)
    for face in faces:
        if matched:
            given = [key for key in ("drill", "rivet", "bolt") if values[key] is not None]
            size = _size(b, table, values) if given else None
            motion = _motion(b, table, values)
            for hole in matched:
                diameter, label, fastener, kind = size or (hole.diameter, hole.label, hole.fastener, hole.kind)
                mate = Mate(values["same_as"].rpartition(".")[0], hole.group, hole.diameter, hole.fastener)
                b.holes.append(
                    Hole(
                        face.id,
                        move(motion, hole.center),
                        diameter,
                        label,
                        fastener,
                        kind,
                        values["name"] or hole.group,
                        values["drilled"],
                        (*hole.mates, mate),
                    )
                )
            continue
        diameter, label, fastener, kind = _size(b, table, values)
        outline, edges = b.outline_of(face) if values["edge"] is not None else (face.outline, face.edges)
        for center in places(values, face.id, outline, edges, b.scope):
            b.holes.append(Hole(face.id, center, diameter, label, fastener, kind, values["name"], values["drilled"]))


def _only_what_is_used(values: dict[str, Any]) -> None:
    """Raise InputError for keys of a pattern beside one that is taken over, or the other way round."""
    if values["same_as"] and (own := given_keys(values)):
        raise InputError("the places come from same_as; leave it out", where=own[0])
    for key, usual in (("mirrored", "none"), ("turned", 0), ("shift", None)):
        if values[key] != usual and not values["same_as"]:
            raise InputError("only a pattern taken over by same_as is moved; leave it out", where=key)
    if values["rivet"] is not None and values["bolt"] is not None:
        raise InputError("a hole is for a rivet or for a bolt; give one of the two", where="rivet")


def _size(b: Builder, table: Table, values: dict[str, Any]) -> tuple[float, str, float | None, Any]:
    """Diameter, label, fastener and purpose."""
    given = [key for key in ("drill", "rivet", "bolt") if values[key] is not None]
    if not given:
        raise InputError("a hole needs its drill, rivet or bolt size")
    kind, fastener = values["kind"], None
    key = "rivet" if "rivet" in given else "bolt" if "bolt" in given else ""
    if key:
        with b.at(table, key):
            fastener = b.scope.length(values[key])
        kind = key if kind == "plain" else kind
    if values["drill"] is not None:
        with b.at(table, "drill"):
            diameter, label = _drill(b, values["drill"])
    else:
        with b.at(table, key):
            assert fastener is not None
            drill = drill_for(fastener, b.order.shop.drills)
        final = values["stage"] == "final"
        diameter, label = (drill.final, drill.final_label) if final else (drill.pilot, drill.pilot_label)
    return diameter, label, fastener, kind


def _drill(b: Builder, raw: Any) -> tuple[float, str]:
    """A drill as written, or a parameter that stands for one."""
    if isinstance(raw, str) and raw in b.scope.texts:
        raw = b.scope.texts[raw]
    elif isinstance(raw, str) and (raw in b.scope.values or raw in b.scope.formulas):
        raw = f"{b.scope.length(raw)} mm"
    return parse_drill(raw, b.scope.units)


def _matched(b: Builder, table: Table, values: dict[str, Any]) -> list[Hole]:
    """Holes of the pattern that "PART.name" refers to."""
    with b.at(table, "same_as"):
        part_id, _, name = values["same_as"].rpartition(".")
        if not part_id or not name:
            raise InputError(f'"{values["same_as"]}" is not written as part.pattern')
        if part_id not in b.order.built:
            if part_id in b.order.to_come:
                raise WaitsFor(part_id)
            if part_id[-2:] in ("-L", "-R") and part_id[:-2] in {*b.order.built, *b.order.to_come}:
                both = part_id[:-2]
                raise InputError(
                    f'part "{both}" is described once for both hands, as the left; write "{both}.{name}", and for the'
                    ' right mirrored = "x" with its shift'
                )
            known = [*b.order.built, *b.order.to_come]
            raise InputError(f'there is no part "{part_id}". {nearest(part_id, known)}')
        holes = [hole for hole in b.order.built[part_id].holes if hole.group == name]
        if not holes:
            groups = {hole.group for hole in b.order.built[part_id].holes if hole.group}
            raise InputError(f'part "{part_id}" has no hole pattern named "{name}". {nearest(name, groups)}')
    return holes


def _motion(b: Builder, table: Table, values: dict[str, Any]) -> Motion:
    """Motion from the other part's face to this one: mirrored, turned, then shifted."""
    motion: Motion = {"none": shifted(0.0, 0.0), "x": MIRROR_X, "y": MIRROR_Y}[values["mirrored"]]
    with b.at(table, "turned"):
        motion = after(turned(b.scope.angle(values["turned"])), motion)
    if values["shift"] is not None:
        with b.at(table, "shift"):
            motion = after(shifted(*b.scope.point(values["shift"])), motion)
    return motion
