"""Faces of a part that go over or into a face of another part of the job, with the clearance wanted."""

from collections.abc import Mapping
from typing import Any

from flatgen.develop.drawn import drawn_dimensions
from flatgen.errors import InputError, nearest
from flatgen.model.blank import Dimension
from flatgen.model.part import Fit, Part
from flatgen.read.builder import WaitsFor
from flatgen.read.keys import Key, Table

AXES = ("", "x", "y")
FIT_KEYS = (
    Key("face", "text", "face of this part", required=True),
    Key("way", "choice", "this part goes over the other (inside size) or into it", "over", choices=("over", "into")),
    Key("part", "text", "the other part", required=True),
    Key("their_face", "text", "face of the other part", required=True),
    Key(
        "across",
        "choice",
        "which size of this face, along its x or y; the only one when left out",
        "",
        choices=AXES,
    ),
    Key("their_across", "choice", "which size of the other face", "", choices=AXES),
    Key("clearance", "length", "play wanted between the two, on the whole size", 0.0),
    Key("allowed", "length", "how far off the clearance may be, either way", 0.381, least=0.0),
)


def read_fits(
    part: Part, table: Table, rows: list[dict[str, Any]], built: Mapping[str, Part], to_come: frozenset[str]
) -> tuple[Fit, ...]:
    """Fits of a part; InputError for a face or size that is not there, WaitsFor for a part to come."""
    found = []
    for k, data in enumerate(rows):
        here = Table(table.file, data, (*table.at("fits"), k), table.units, f"{table.name}, fits {k + 1}")
        values = here.must_read(FIT_KEYS)
        other = built.get(values["part"])
        if other is None:
            if values["part"] in to_come:
                raise WaitsFor(values["part"])
            message = f'there is no part "{values["part"]}". {nearest(values["part"], [*built, *to_come])}'
            raise _error(here, message, "part")
        own = _size(here, part, values["face"], values["across"], "face")
        theirs = _size(here, other, values["their_face"], values["their_across"], "their_face")
        size = theirs.outside if values["way"] == "over" else theirs.inside
        found.append(
            Fit(
                face=values["face"],
                across="x" if own.axis == "x" else "y",
                way=values["way"],
                part=other.id,
                their_face=values["their_face"],
                their_size=size,
                clearance=values["clearance"],
                allowed=values["allowed"],
            )
        )
    return tuple(found)


def _size(table: Table, part: Part, face: str, across: str, key: str) -> Dimension:
    """The size of a face across its bends."""
    faces = [f.id for f in part.faces]
    if face not in faces:
        raise _error(table, f'part "{part.id}" has no face "{face}". {nearest(face, faces)}', key)
    sizes = [d for d in drawn_dimensions(part) if d.where == face and across in ("", d.axis)]
    if len(sizes) != 1:
        have = "no size between bends" if not sizes else "a size along x and one along y; say which"
        raise _error(table, f'face "{face}" of part "{part.id}" has {have}', key)
    return sizes[0]


def _error(table: Table, message: str, key: str) -> InputError:
    line = table.file.line_of(table.at(key))
    return InputError(message, file=table.file.path, line=line, where=f"{table.name}, {key}")
