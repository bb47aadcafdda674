"""A profile file: parameters, faces, flanges and features of a kind of part, kept as written until a part asks for it.

``load_profile`` finds and checks the file once; ``read.build`` turns it into a Part for given values.
"""

import functools
import os
import re
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.errors import InputError, nearest
from flatgen.read.features import FACE_KEYS, FEATURE_LISTS, FEATURES, FLANGE_KEYS, JOGGLE_KEYS
from flatgen.read.keys import Key, Table, TomlFile, open_toml
from flatgen.read.scope import INDEX

PROFILE_KEYS = (
    Key("title", "text", "what kind of part this is", required=True),
    Key("summary", "text", "a sentence or two for the list of profiles", ""),
    Key("wants", "text", "what parts of its default sizes want beyond a common brake and hard sheet", ""),
    Key(
        "units",
        "choice",
        "unit of bare numbers in this file; needed in a job of millimetres",
        "in",
        choices=("in", "mm"),
    ),
    Key("base", "text", "the face that keeps its place when the part is formed", required=True),
    Key(
        "grain",
        "size",
        'rolling direction in the base face: "x", "y", an angle, "any", "across" or "along" a flange',
        "any",
    ),
    Key("notes", "texts", "notes printed on every drawing of this profile", ()),
    Key("parameter", "table", "parameters by name", {}),
    Key("derived", "table", "values worked out from the parameters", {}),
    Key("face", "table", "faces by name; the base is one of them", required=True),
    Key("flange", "table", "flanges by name, each on an edge of a face or flange", {}),
    Key("joggle", "table", "joggles by name, each on an edge", {}),
    *FEATURE_LISTS,
)
PARAMETER_KEYS = (
    Key("kind", "choice", "what it is", "length", choices=("length", "angle", "number", "count", "choice", "drill")),
    Key("default", "size", "value when a job gives none; a table { in = …, mm = … } for one in each unit"),
    Key("least", "size", "smallest value allowed"),
    Key("most", "size", "largest value allowed"),
    Key("choices", "texts", "allowed texts of a choice", ()),
    Key("explain", "text", "a line for the person who fills it in", ""),
)
SUFFIX = ".toml"
# names that mean something else in formulas
TAKEN = frozenset(("if", "and", "or", "not", "pi", INDEX))


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter of a profile, as declared."""

    name: str
    kind: str
    default: Any
    least: Any
    most: Any
    choices: tuple[str, ...]
    explain: str


@dataclass(frozen=True, slots=True)
class Profile:
    """A profile as read: checked keys, values still as written."""

    name: str
    file: TomlFile
    units: str
    values: dict[str, Any]
    parameters: dict[str, Parameter]

    @property
    def outlines(self) -> tuple[Path, ...]:
        """Files that its faces take their outlines from."""
        faces = self.values["face"].values()
        return tuple(self.file.path.parent / str(face["outline"]) for face in faces if "outline" in face)

    def table(self, *path: str | int) -> Table:
        """A table of the file by its path, for errors that name their place."""
        data: Any = self.file.data
        for step in path:
            data = data[step]
        return Table(self.file, data, path, self.units, f'profile "{self.name}"')


def library() -> Path:
    """Folder of the profiles that come with flatgen: inside an installed package, beside it in a checkout."""
    inside = Path(str(resources.files("flatgen"))) / "profiles"
    return inside if inside.is_dir() else Path(str(resources.files("flatgen"))).parent / "profiles"


def profile_names(folder: Path | None = None) -> list[str]:
    """Names of the profiles in a folder, by default the library's."""
    where = folder or library()
    return sorted(p.stem for p in where.glob(f"*{SUFFIX}") if p.is_file()) if where.is_dir() else []


def find_profile(name: str, beside: Path | None = None) -> Path:
    """File of a profile: a path beside the job, a name in the job's ``profiles`` folder, a name in the library."""
    folders = [beside / "profiles", beside] if beside else []
    if name.endswith(SUFFIX) or os.sep in name:
        path = (beside or Path()) / name
        if budget.is_there(path):
            return path
        raise InputError(f'there is no profile file "{name}"')
    for folder in [*folders, library()]:
        path = folder / f"{name}{SUFFIX}"
        if budget.is_there(path):  # what is no plain file is told of when it is read
            return path
    known = {n for folder in [*folders[:1], library()] for n in profile_names(folder)}
    raise InputError(f'there is no profile "{name}". {nearest(name, known)}')


@functools.lru_cache(maxsize=256)
def _load(path: Path, changed: int) -> Profile:
    file = open_toml(path)
    head = Table(file, file.data, (), str(file.data.get("units", "in")), f'profile "{path.stem}"')
    values = head.read(PROFILE_KEYS)
    file.check()
    units = values["units"]
    profile = Profile(path.stem, file, units, values, {})
    for name in (*values["parameter"], *values["derived"]):
        if not re.fullmatch(r"[A-Za-z_]\w*", name) or name in TAKEN:
            kind = "parameter" if name in values["parameter"] else "derived"
            head.complain(f'"{name}" cannot be a name in formulas; give it another of letters, figures and _', kind)
    for name, data in values["parameter"].items():
        if not isinstance(data, dict):
            head.complain(f"{data!r} is not a table; write it as [parameter.{name}] with its keys below", name)
            continue
        table = Table(file, data, ("parameter", name), units, f'profile "{path.stem}", parameter "{name}"')
        read = table.read(PARAMETER_KEYS)
        profile.parameters[name] = Parameter(name, **read)
    by_name: dict[str, tuple[Key, ...]] = {"face": FACE_KEYS, "flange": FLANGE_KEYS, "joggle": JOGGLE_KEYS}
    for kind, keys in by_name.items():
        checked: dict[str, Any] = {}
        for name, data in values[kind].items():
            if not isinstance(data, dict):
                head.complain(f"{data!r} is not a table; write it as [{kind}.{name}] with its keys below", name)
                continue
            table = Table(file, data, (kind, name), units, f'profile "{path.stem}", {kind} "{name}"')
            read = table.read(keys)
            # only what is written: builders tell a key left out from its default
            checked[name] = {key: read[key] for key in data if key in read}
        values[kind] = checked
    for kind, keys in FEATURES.items():
        for k, data in enumerate(values[kind]):
            Table(file, data, (kind, k), units, f'profile "{path.stem}", {kind} {k + 1}').read(keys)
    if values["base"] not in values["face"]:
        head.complain(f'there is no face "{values["base"]}". {nearest(values["base"], values["face"])}', "base")
    names = [name for kind in by_name for name in values[kind]]
    for name in sorted({name for name in names if names.count(name) > 1}):
        head.complain(f'"{name}" is the name of two flats; give each its own', name)
    file.check()
    return profile


def units_must_be_said(profile: Profile, units: str) -> None:
    """Raise InputError for a profile without units in a job of millimetres, where its bare numbers would be inches."""
    if units == "mm" and "units" not in profile.file.data:
        raise InputError(
            'it does not say its units, and the job is in millimetres; write units = "mm" (or "in") at its head',
            file=profile.file.path,
            line=1,
            where=f'profile "{profile.name}"',
        )


def load_profile(path: Path) -> Profile:
    """A profile file, read once while it stays as it is."""
    return _load(path, budget.stamp(path))
