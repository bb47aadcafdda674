"""The fields of a part's page: those of every part, the sizes of its profile with their letters, its hole patterns."""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flatgen.errors import FlatgenError, InputError, InputErrors
from flatgen.jobs.cures import Cure
from flatgen.library import Entry, default_of, range_of
from flatgen.read.features import FEATURES
from flatgen.read.lettered import Lettered
from flatgen.read.profile import Profile
from flatgen.served.fields import Field, as_text, field
from flatgen.served.files import Desk, Document
from flatgen.units import format_angle, parse_angle

OF_EVERY = ("id", "title", "quantity", "hand", "material", "thickness", "radius", "notes")
OF_THE_JOB = ("material", "thickness", "radius")
NAMES = {"id": "part number", "title": "name", "quantity": "pieces", "material": "metal", "radius": "inside radius"}
BETWEEN = "between "  # before the name of a field that tells an angle the other way
HOLES = {
    "rivet": "for a rivet of",
    "bolt": "for a bolt of",
    "drill": "drill",
    "edge_distance": "from the edge",
    "first": "first, from the low end",
    "last": "last, from the high end",
    "along": "places along the edge",
    "at": "place",
    "from": "first hole",
    "to": "last hole",
    "center": "middle",
    "circle": "diameter of the circle",
    "pitch": "pitch at most",
    "count": "how many",
    "drilled": "drilled",
}
NO_LENGTH = ("drill", "count", "drilled")


@dataclass(frozen=True, slots=True)
class OtherWay(Field):
    """A field that tells an angle the other way; its name is that of the angle's own field after ``BETWEEN``."""

    @property
    def id(self) -> str:
        """Address of the field on its page."""
        return "between-" + "-".join(str(step) for step in json.loads(self.name.removeprefix(BETWEEN)))


@dataclass(frozen=True, slots=True)
class Sized:
    """A field with the letter of its size on the drawing, and for an angle the field that tells it the other way."""

    field: Field
    letter: str = ""
    other: Field | None = None


@dataclass(frozen=True, slots=True)
class Pattern:
    """The fields of one hole pattern, and what it is called."""

    number: int
    name: str
    fields: tuple[Field, ...]


def every_fields(desk: Desk, file: Document, row: int) -> list[Field]:
    """What every part has; what the job says for all its parts is shown where a part says nothing."""
    found = []
    for name in OF_EVERY:
        one = field(desk, file, ("part", row, name), NAMES.get(name, name))
        if name in OF_THE_JOB and name in file.tree:
            one = replace(one, usual=str(file.tree[name]), explain=f"the job says {file.tree[name]}")
        found.append(one)
    return found


def size_fields(
    desk: Desk, file: Document, row: int | str, profile: Profile, letters: Sequence[Lettered], units: str
) -> Iterator[Sized]:
    """The profile's own sizes as the part has them, or a row of its table of sizes where that is the file.

    row : number of the [[part]], or the id of the row
    """
    place: tuple[str | int, ...] = ("part", row) if isinstance(row, int) else (row,)
    cells = None if isinstance(row, int) else file.tree.get(row, {})
    own = Entry(profile.name, "", "", profile)
    seen = {found.parameter: found for found in letters}
    for name, parameter in profile.parameters.items():
        if cells is not None and name not in cells:
            continue
        usual = default_of(own, parameter, units)
        explain = "; ".join(word for word in (parameter.explain, range_of(own, parameter, units)) if word)
        one = replace(
            field(desk, file, (*place, name)),
            unit={"length": units, "angle": "degrees"}.get(parameter.kind, ""),
            usual=usual,
            explain=explain,
            choices=_choices(parameter.choices, usual),
            figures="decimal" if parameter.kind in ("length", "angle", "number") else "",
        )
        letter = seen[name].letter if name in seen else ""
        if parameter.kind == "angle" and name in seen:
            given = _given_between(profile, seen[name])
            label = "as turned" if given else "between the legs"
            other = OtherWay(BETWEEN + one.name, label, other_angle(one.value or usual), unit=one.unit)
            way = "between the legs" if given else "as turned"
            yield Sized(replace(one, label=f"{one.label}, {way}".replace("between legs, ", "")), letter, other)
        else:
            yield Sized(one, letter)


def _choices(choices: Sequence[str], usual: str) -> tuple[tuple[str, str], ...]:
    return (("", f"as usual ({usual})"), *((choice, choice) for choice in choices)) if choices else ()


def _given_between(profile: Profile, found: Lettered) -> bool:
    values = profile.values["flange"].get(found.face, {})
    return found.way == "angle" and found.parameter in str(values.get("between", ""))


def other_angle(text: str) -> str:
    """An angle told the other way: as turned, or between the legs.

    >>> other_angle("60"), other_angle("60 blue")
    ('120', '')
    """
    try:
        return format_angle(180.0 - parse_angle(text.strip())).removesuffix("°")
    except FlatgenError:
        return ""


def patterns(desk: Desk, file: Document, row: int) -> Iterator[Pattern]:
    """The hole patterns that the part itself has; each size in each place is a field."""
    units = str(file.tree.get("units", "in"))
    for k, data in enumerate(file.tree["part"][row].get("holes", ())):
        fields: list[Field] = []
        for key, label in HOLES.items():
            if key not in data and not (key in ("count", "pitch") and "edge" in data and "along" not in data):
                continue
            for steps, words in _steps(data.get(key), label):
                one = field(desk, file, ("part", row, "holes", k, key, *steps), words)
                fields.append(replace(one, unit="" if key in NO_LENGTH else units, figures="decimal"))
        edge = f", along {data['edge']}" if "edge" in data else ""
        name = f"Holes {k + 1}: {data.get('name') or ''} on {data.get('face', '')}{edge}".replace(":  on", ": on")
        yield Pattern(k, name, tuple(fields))


def _steps(value: Any, label: str) -> Iterator[tuple[tuple[int, ...], str]]:
    """The single figures of a value: itself, each of a list, x and y of each place."""
    if not isinstance(value, list):
        yield (), label
        return
    for k, one in enumerate(value):
        if isinstance(one, list):
            yield from (((k, axis), f"{label} {k + 1}, {'xy'[axis]}") for axis in range(min(2, len(one))))
        else:
            yield (k,), f"{label}, {'xy'[k]}" if len(value) == 2 and label in TWO else f"{label} {k + 1}"


def others(data: Mapping[str, Any]) -> Iterator[tuple[str, int, str]]:
    """What else the part itself has: kind, number and what is written of each, for taking it away."""
    for kind in (kind for kind in FEATURES if kind != "holes"):
        for k, values in enumerate(data.get(kind, ())):
            yield kind, k, ", ".join(f"{key} {as_text(value)}" for key, value in values.items())


TWO = (HOLES["at"], HOLES["from"], HOLES["to"], HOLES["center"])


def cure_words(cure: Cure, letters: Mapping[str, str]) -> str:
    """What a cure changes, by the letter and the words that its field has."""
    steps = [step.partition(" ") for step in cure.key.split(", ")]
    words = [f"{HOLES.get(name, NAMES.get(name, name.replace('_', ' ')))} {rest}".strip() for name, _, rest in steps]
    told = f"{words[0]} {', '.join(words[1:])}" if words[0].startswith("holes ") else ", ".join(words)
    was = f", not {cure.was}" if cure.was else ""
    return f"{letters.get(cure.key, '')} {told}: {cure.becomes}{was}".strip()


def with_unit(text: str, units: str) -> str:
    """A size with its unit, so that the file is read without knowing the job's.

    >>> with_unit("3/4", "in"), with_unit("12.5", "mm"), with_unit("3/4", "mm"), with_unit("1 in", "mm")
    ('3/4 in', '12.5 mm', '3/4', '1 in')
    """
    text = text.strip()
    bare = re.fullmatch(r"[\d\s./-]+" if units == "in" else r"[\d.]+", text)
    return f"{text} {units}" if bare else text


def without_other_angles(told: Sequence[tuple[str, str]], shown: Mapping[str, str]) -> list[tuple[str, str]]:
    """The pairs of a form with each angle told one way: the one of the two that was changed.

    shown : what stood in the fields that tell an angle the other way
    """
    given = dict(told)
    for name, before in shown.items():
        typed = given.get(name, before).strip()
        if typed and typed != before and (turned := other_angle(typed) or typed):
            given[name.removeprefix(BETWEEN)] = turned
    return [(name, given[name]) for name, _ in told if not name.startswith(BETWEEN)]


def sentences(error: FlatgenError, row: int, known: Sequence[str]) -> dict[str, str]:
    """What is wrong by the field that it stands at; "" for what has no field of its own.

    known : names of the fields that are there
    """
    found: dict[str, str] = {}
    for one in error.errors if isinstance(error, InputErrors) else (error,):
        where = one.where if isinstance(one, InputError) else ""
        message = str(one.message) if isinstance(one, InputError) else str(one)
        name = json.dumps(["part", row, *_path(where)])
        place = name if name in known else ""
        found.setdefault(place, message if place else ": ".join(filter(None, (where, message))))
    return found


def _path(where: str) -> Iterator[str | int]:
    """The keys of a place in words: ``part "A", holes 2, pitch`` is holes, 1, pitch."""
    for step in where.split(", ")[1:]:
        key, _, number = step.partition(" ")
        yield key
        if number.isdecimal():
            yield int(number) - 1
