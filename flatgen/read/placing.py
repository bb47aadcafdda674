"""Corners, openings, reliefs, tabs and mitres of a part, each from one table of the description."""

from dataclasses import replace
from typing import Any

from flatgen.errors import InputError, nearest
from flatgen.model.part import Corner, Cutout, Mitre, Tab
from flatgen.read.builder import Builder
from flatgen.read.keys import Table
from flatgen.read.openings import MOST as MOST_OPENINGS
from flatgen.read.openings import opening_outlines
from flatgen.read.patterns import MOST
from flatgen.read.ruled_relief import ruled_relief
from flatgen.read.sentences import at_least_0, positive


def add_corner(b: Builder, table: Table, values: dict[str, Any]) -> None:
    """One corner, rounded or clipped; it takes the place of what was said of it before."""
    for face in b.faces_of(table, values["face"]):
        if (values["round"] is None) == (values["clip"] is None):
            raise InputError("a corner is either round or clip")
        names = values["between"]
        with b.at(table, "between"):
            for name in names:
                if name not in face.edges:
                    raise InputError(f'"{face.id}" has no edge "{name}". {nearest(name, face.edges)}')
            if len(names) != 2:
                raise InputError("a corner lies between two edges")
        pair = (names[0], names[1])
        if values["round"] is not None:
            corner = Corner(pair, "round", positive(b.scope.length(values["round"]), "the radius"))
        else:
            raw = values["clip"]
            legs = b.scope.point(raw) if isinstance(raw, list) else (b.scope.length(raw),) * 2
            corner = Corner(pair, "clip", positive(legs[0], "the leg"), positive(legs[1], "the leg"))
        kept = tuple(c for c in face.corners if set(c.edges) != set(pair))
        b.faces[face.id] = replace(face, corners=(*kept, corner))


def add_opening(b: Builder, table: Table, values: dict[str, Any]) -> None:
    """One opening or notch, at each of its places; as many times as it is repeated."""
    count = 1
    if values["repeat"] is not None:
        with b.at(table, "repeat"):
            count = b.scope.count(values["repeat"], MOST_OPENINGS)
    for face in b.faces_of(table, values["face"]):
        on_edge = values["shape"] in ("notch", "vee")
        outline, edges = b.outline_of(face) if on_edge else (face.outline, face.edges)
        for _ in b.scope.numbered(count) if values["repeat"] is not None else (1,):
            for cut in opening_outlines(values, outline, edges, b.scope):
                b.cutouts.append(Cutout(face.id, cut, values["name"]))


def add_relief(b: Builder, table: Table, values: dict[str, Any]) -> None:
    """Reliefs at the bends of several flanges; they take the place of what was said of those ends before."""
    for name in values["flange"]:
        for bend in b.bends_of(table, name):
            b.reliefs = [r for r in b.reliefs if r.bend != bend.id or values["ends"] not in ("both", r.ends)]
            b.reliefs.append(ruled_relief(b, bend, values["kind"], values["ends"], values["width"], values["depth"]))


def add_tab(b: Builder, table: Table, values: dict[str, Any]) -> None:
    """Tabs in the plane of a face, standing out of one of its edges."""
    with b.at(table, "size"):
        width, out = b.scope.point(values["size"])
        positive(width, "the tab's width")
        positive(out, "the tab's length")
    with b.at(table, "corner_round"):
        corner = at_least_0(b.scope.length(values["corner_round"]), "corner_round")
    for face in b.faces_of(table, values["face"]):
        if values["edge"] not in face.edges:
            with b.at(table, "edge"):
                raise InputError(f'"{face.id}" has no edge "{values["edge"]}". {nearest(values["edge"], face.edges)}')
        if face.skirt is None and face.outline[face.edge(values["edge"])][2]:
            with b.at(table, "edge"):
                raise InputError(f'edge "{values["edge"]}" is an arc; a tab wants a straight edge')
        raw = values["along"]
        with b.at(table, "along"):
            middles = [b.scope.length(item) for item in (raw if isinstance(raw, list) else [raw])]
            if len(middles) > MOST:
                raise InputError(f"{len(middles)} tabs are more than {MOST}")
        for middle in middles:
            b.tabs.append(Tab(face.id, values["edge"], middle - width / 2.0, middle + width / 2.0, out, corner))


def add_mitre(b: Builder, table: Table, values: dict[str, Any]) -> None:
    """Pairs of flanges whose ends are cut to meet."""
    with b.at(table, "gap"):
        gap = at_least_0(b.scope.length(values["gap"]), "the gap")
    raw = values["flanges"]
    with b.at(table, "flanges"):
        if not isinstance(raw, list) or not all(isinstance(pair, list) and len(pair) == 2 for pair in raw):
            raise InputError('flanges that meet are given in pairs, [["one", "other"], …]')
    for pair in raw:
        first, second = (b.bends_of(table, str(name), "flanges") for name in pair)
        if first and second:
            b.mitres.append(Mitre((first[0].child, second[0].child), gap))
