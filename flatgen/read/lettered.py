"""Where a profile's parameters are seen on its part, each with the letter that stands there and at its field.

A parameter is seen where a size of a face or flange is written as just that parameter, else in a formula with it. The
letters begin at C: A and B are the datum edges of every drawing.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from flatgen.model.part import Part
from flatgen.read.profile import Profile

LETTERS = "CDEFGHJKLMNPRSTUVXYZ"  # none that is read as a figure, nor W of openings
Way = Literal["x", "y", "angle", "corner"]
# keys of a flange and what they say of it
FLANGE: dict[str, Way] = {"height": "y", "height_high": "y", "angle": "angle", "between": "angle"}
CORNERS = ("corner_round", "corner_clip")


@dataclass(frozen=True, slots=True)
class Lettered:
    """A parameter by its letter, on a face of the part: along its x or y, its bend's angle, its corners."""

    letter: str
    parameter: str
    face: str
    way: Way


def lettered(profile: Profile, part: Part) -> tuple[Lettered, ...]:
    """Every parameter of the profile that can be seen on a part of it, in the order of the file."""
    there = {face.id for face in part.faces}
    uses = [use for use in _uses(profile) if use[1] in there]
    found = []
    for name, letter in zip(profile.parameters, LETTERS, strict=False):
        exact = [use for use in uses if use[0] == name]
        used = exact or [use for use in uses if re.findall(r"[A-Za-z_]\w*", use[0]).count(name)]
        if used:
            _, face, way = used[0]
            found.append(Lettered(letter, name, face, way))
    return tuple(found)


def letters(profile: Profile) -> dict[str, str]:
    """The letter of each parameter, seen or not; those past the alphabet's end have none."""
    return dict(zip(profile.parameters, LETTERS, strict=False))


def _uses(profile: Profile) -> Iterator[tuple[str, str, Way]]:
    """Each size as it is written, with its face and what it is there."""

    def corners(name: str, values: dict[str, Any]) -> Iterator[tuple[str, str, Way]]:
        yield from ((str(values[key]), name, "corner") for key in CORNERS if key in values)

    for name, values in profile.values["face"].items():
        size = values.get("size")
        if isinstance(size, list) and len(size) == 2:
            yield str(size[0]), name, "x"
            yield str(size[1]), name, "y"
        else:
            yield str(values.get("points", "")), name, "x"
        yield from corners(name, values)
    for name, values in (*profile.values["flange"].items(), *profile.values["joggle"].items()):
        copies = f"{name}_1" if "repeat" in values else name
        yield from ((str(values[key]), copies, way) for key, way in FLANGE.items() if key in values)
        yield str(values.get("span", "")), copies, "x"
        yield from corners(copies, values)
