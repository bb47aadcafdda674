"""A Part from a profile and the values of one part: faces, flanges, then what is on them.

``builder`` holds what is collected; ``faces``, ``flanges``, ``holes`` and ``placing`` each add their kind.
"""

import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from flatgen.develop.drawn import drawn_outlines
from flatgen.develop.runs import edge_run
from flatgen.errors import CannotMake, InputError, nearest
from flatgen.model.part import Corner, Part
from flatgen.read.builder import Builder, Order
from flatgen.read.faces import add_faces
from flatgen.read.features import FEATURES
from flatgen.read.flanges import add_flanges
from flatgen.read.holes import add_holes
from flatgen.read.keys import Table
from flatgen.read.placing import add_corner, add_mitre, add_opening, add_relief, add_tab
from flatgen.read.profile import Profile
from flatgen.read.scope import Scope

MOST_HOLES = 5000
ADD: dict[str, Callable[[Builder, Table, dict[str, Any]], None]] = {
    "corner": add_corner,
    "tabs": add_tab,
    "mitre": add_mitre,
    "holes": add_holes,
    "opening": add_opening,
    "relief": add_relief,
}


def build_part(profile: Profile, order: Order, scope: Scope) -> Part:
    """The part that a profile describes for the values in ``scope``; InputError names file, part and key."""
    builder = Builder(profile, order, scope)
    add_faces(builder)
    add_flanges(builder)
    for source in (profile.table(), order.table):
        if source is None:
            continue
        for kind, add in ADD.items():
            for k, data in enumerate(source.data.get(kind, ())):
                table = Table(source.file, data, (*source.at(kind), k), source.units, f"{kind} {k + 1}")
                builder.scope.units = source.units
                values = table.must_read(FEATURES[kind])
                with builder.at(table, "when" if "when" in data else ""):
                    wanted = builder.scope.truth(values["when"])
                if wanted:
                    with builder.at(table):
                        add(builder, table, values)
    builder.scope.units = profile.units
    _free_corners(builder)
    if len(builder.holes) > MOST_HOLES:
        raise InputError(f"{len(builder.holes)} holes are more than {MOST_HOLES}", where=f'part "{order.id}"')
    extras = dict(order.extras)
    with builder.at(profile.table(), "grain"):
        grain = _grain(builder, extras.pop("grain", None) or profile.values["grain"])
    notes = (*profile.values["notes"], *extras.pop("notes", ()))
    part = builder.part(grain, notes=notes, **extras)
    try:
        drawn_outlines(part)  # a part that has no flat even as drawn is told of here, where its place is known
    except CannotMake as error:
        table, key = _at_fault(builder, error)
        with builder.at(table, key):
            raise
    return part


def _at_fault(b: Builder, error: CannotMake) -> tuple[Table, str]:
    """Where what is at fault is written: the size that the part gives, else the flange's key in the profile."""
    own = replace(b.order.table or b.profile.table(), name="")
    name = next((flange for flange, copies in b.repeated.items() if error.flange in copies), error.flange)
    kind = next((kind for kind in ("flange", "joggle") if name in b.profile.values[kind]), "")
    if not kind:
        return own, ""
    values = b.profile.values[kind][name]
    key = next((key for key in (error.key, "on") if key in values), "")
    if b.order.table is not None:
        named = re.findall(r"[A-Za-z_]\w*", str(values.get(key, ""))) if key != "on" else []
        given = [word for word in named if word in b.profile.parameters and word in b.order.table.data]
        if given:
            return own, given[0]
    return Table(b.profile.file, values, (kind, name), b.profile.units, f'{kind} "{name}"'), key


def _free_corners(b: Builder) -> None:
    """Shape every corner of a face whose two edges carry no bend, unless it has been shaped by itself."""
    for name, (kind, size) in b.rounded.items():
        face = b.faces[name]
        bent = {x.parent_edge for x in b.bends if x.parent == name} | {x.child_edge for x in b.bends if x.child == name}
        corners = list(face.corners)
        for k in range(len(face.edges)):
            pair = (face.edges[k - 1], face.edges[k])
            straight = face.skirt is not None or not (face.outline[k - 1][2] or face.outline[k][2])
            if straight and not bent & set(pair) and not any(set(c.edges) == set(pair) for c in corners):
                corners.append(Corner(pair, kind, size))
        b.faces[name] = replace(face, corners=tuple(corners))


def _grain(b: Builder, raw: Any) -> float | None:
    """Rolling direction in the base face's axes [deg]; None for any."""
    if isinstance(raw, str):
        words = b.scope.text(raw).split()
        if words == ["any"]:
            return None
        if words in (["x"], ["y"]):
            return 0.0 if words == ["x"] else 90.0
        if len(words) == 2 and words[0] in ("across", "along"):
            name = b.repeated.get(words[1], [words[1]])[0] if words[1] not in b.left_out else ""
            if not name:
                return None
            bend = b.bend_of.get(name)
            if bend is None or b.faces[bend.parent].skirt is not None:
                on_base = [n for n, x in b.bend_of.items() if b.faces[x.parent].skirt is None]
                raise InputError(f'"{raw}" must name a flange on the base. {nearest(words[1], on_base)}')
            face = b.faces[bend.parent]
            way = edge_run(face.outline, face.edge(bend.parent_edge)).direction
            along = math.degrees(math.atan2(way[1], way[0])) % 180.0
            return along if words[0] == "along" else (along + 90.0) % 180.0
    return b.scope.angle(raw) % 180.0


__all__ = ["Order", "build_part"]
