"""The profile library as it is shown: each profile with its parameters and a part of its default sizes."""

import re
from dataclasses import dataclass
from pathlib import Path

from flatgen.develop.develop import develop
from flatgen.draw.profile_sheet import Shown, profile_picture, profile_sheet
from flatgen.draw.text_picture import text_picture
from flatgen.errors import InputError
from flatgen.model.blank import Blank
from flatgen.page.drawing import Drawing
from flatgen.read.parameters import limit_words, usual_value
from flatgen.read.profile import Parameter, Profile, find_profile, load_profile, profile_names
from flatgen.read.sample import METAL, SIZES, sample_part
from flatgen.units import format_length

USUAL = {"in": ("0.032 in", "3/32 in"), "mm": ("0.8 mm", "2.5 mm")}


@dataclass(frozen=True, slots=True)
class Entry:
    """A profile with its own text."""

    name: str
    title: str
    summary: str
    profile: Profile

    @property
    def wants(self) -> str:
        """What parts of its default sizes want beyond a common brake and hard sheet; "" for nothing."""
        return str(self.profile.values["wants"])

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """Parameters in the order of the file."""
        return tuple(self.profile.parameters.values())


def entry(name: str, folder: Path | None = None) -> Entry:
    """One profile by its name or file; InputError names the nearest."""
    profile = load_profile(find_profile(name, folder))
    return Entry(profile.name, profile.values["title"], profile.values["summary"], profile)


def entries(folder: Path | None = None) -> tuple[Entry, ...]:
    """Every profile: those of a folder's own ``profiles`` first, then the library's."""
    own = profile_names(folder / "profiles") if folder else []
    names = own + [name for name in profile_names() if name not in own]
    return tuple(entry(name, folder) for name in names)


def sample_blank(one: Entry, units: str) -> Blank:
    """The blank of a profile's default sizes."""
    part, shop = sample_part(one.profile, units)
    return develop(part, shop)


def default_of(one: Entry, parameter: Parameter, units: str) -> str:
    """A parameter's default as it is written in a job of these units; "" where it must be given."""
    raw, own = usual_value(parameter, units, one.profile.units)
    if raw is None:
        return ""
    if parameter.kind == "length" and re.fullmatch(r"0(\.0*)? *(in|mm)", str(raw)):
        return f"0 {units}"
    bare = parameter.kind == "length" and re.fullmatch(r"[\d./\s-]+", str(raw))
    return f"{raw} {own}" if bare and own != units else str(raw)


def range_of(one: Entry, parameter: Parameter, units: str) -> str:
    """What a parameter may be, in words."""
    if parameter.choices:
        return ", ".join(parameter.choices)
    least, most = (
        "" if limit is None else limit_words(parameter.kind, limit, units, one.profile.units)
        for limit in (parameter.least, parameter.most)
    )
    if least and most:
        return f"{least} to {most}"
    if least or most:
        return f"at least {least}" if least else f"at most {most}"
    return {"length": "0 or more", "drill": "a drill size", "angle": "any angle", "count": "a whole number"}.get(
        parameter.kind, "any number"
    )


def job_entry(one: Entry, units: str) -> str:
    """The [[part]] table to paste into a job, with every parameter at its default; the metal is the job's own."""
    thickness, radius = USUAL[units]
    lines = [
        *([f"# wants {one.wants}"] if one.wants else []),
        "[[part]]",
        'id = "PART-1"',
        f'profile = "{one.name}"',
        "quantity = 1",
        f'# material = "{METAL}" # these three as at the head of the job, unless given here',
        f'# thickness = "{thickness}"',
        f'# radius = "{radius}"',
    ]
    for parameter in one.parameters:
        value = default_of(one, parameter, units)
        bare = parameter.kind in ("angle", "number", "count") and value.lstrip("-").replace(".", "", 1).isdigit()
        if parameter.kind == "length" and value.replace(".", "", 1).isdigit():
            value = f"{value} {units}"
        lines.append(f"{parameter.name} = {value if bare else _quoted(value)}")
    return "\n".join(lines)


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def size_line(blank: Blank, units: str) -> str:
    """Blank size, bends, and what metal the sample is of."""
    thickness, radius = SIZES[units]
    bends = f"{len(blank.bends)} bend{'' if len(blank.bends) == 1 else 's'}"
    return (
        f"blank {format_length(blank.width, units)} x {format_length(blank.height, units)} {units}, {bends}"
        f" (sample: {METAL}, {format_length(thickness, units)} {units} thick, inside radius"
        f" {format_length(radius, units)} {units})"
    )


def faces_line(one: Entry, units: str) -> str:
    """Names of the faces, which holes, openings and corners of a job refer to."""
    return f"faces, for holes and openings: {', '.join(face.id for face in sample_blank(one, units).faces)}"


def picture(one: Entry, units: str) -> Drawing:
    """Blank and formed part of one profile."""
    return profile_picture(Shown(one.name, one.title, sample_blank(one, units)))


def letters(one: Entry, units: str, plain: bool) -> str:
    """The blank in letters, for a terminal."""
    return text_picture(sample_blank(one, units), plain=plain)


def sheet(units: str, folder: Path | None = None) -> Drawing:
    """Every profile on one sheet."""
    shown = [Shown(one.name, one.title, sample_blank(one, units)) for one in entries(folder)]
    if not shown:
        raise InputError("there are no profiles to show")
    return profile_sheet(shown, f"Profiles ({len(shown)}): blank and formed part, default sizes")
