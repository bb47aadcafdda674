"""A profile of one's own, written flange by flange as a file that reads like those of the library.

Each flange adds its parameters before the faces and itself at the end; what else stands in the file stays as it is.
"""

import re
from dataclasses import dataclass

from flatgen.errors import InputError
from flatgen.read.profile import TAKEN

NAME = re.compile(r"[A-Za-z_]\w*")
STEEPEST = 150  # up to which the drawing can measure to mould lines [deg]
LEAST = {"in": "1/16 in", "mm": "1.5 mm"}


@dataclass(frozen=True, slots=True)
class NewFlange:
    """A flange as it is asked for, sizes as written; ``inset`` at low and high end, an empty ``radius``: the part's."""

    name: str
    on: str
    height: str
    angle: str = "90"
    fold: str = "up"
    radius: str = ""
    inset: tuple[str, str] = ("", "")


def begun(title: str, units: str, length: str, width: str, base: str = "base") -> str:
    """A profile of one flat face.

    >>> print(begun("Pump cleat", "in", "3 in", "1 in").splitlines()[0])
    # Pump cleat: base and what is bent up from it. Sizes go to the outside mould line.
    """
    return f"""# {_one_line(title)}: {base} and what is bent up from it. Sizes go to the outside mould line.
title = {_quoted(title)}
units = "{units}"
base = "{base}"

[parameter.length]
default = {_quoted(length)}
least = "{LEAST[units]}"
explain = "of {base}, along x"

[parameter.width]
default = {_quoted(width)}
least = "{LEAST[units]}"
explain = "of {base}, along y"

[face.{base}]
size = ["length", "width"]
"""


def with_flange(text: str, flange: NewFlange, units: str) -> str:
    """The profile with one flange more; InputError for a name that cannot be one."""
    if not NAME.fullmatch(flange.name) or flange.name in TAKEN:
        message = f'"{flange.name}" cannot be the name of a flange; use letters, figures and _, a letter first'
        raise InputError(message, where="name")
    if re.search(rf"^\[(parameter|face|flange|joggle)\.{flange.name}\]", text, re.MULTILINE):
        raise InputError(f'"{flange.name}" is there already; give the flange another name', where="name")
    face, _, edge = flange.on.rpartition(".")
    head = f"""[parameter.{flange.name}]
default = {_quoted(flange.height)}
least = "{LEAST[units]}"
explain = "outside size of {flange.name}, from the {edge} edge of {face}"

[parameter.{flange.name}_angle]
kind = "angle"
default = {_angle(flange.angle)}
least = 1
most = {STEEPEST}
explain = "bend angle of {flange.name}, turned through from flat"

"""
    own = f"""
[flange.{flange.name}]
on = "{flange.on}"
height = "{flange.name}"
angle = "{flange.name}_angle"
"""
    own += f'fold = "{flange.fold}"\n' if flange.fold != "up" else ""
    own += f"radius = {_quoted(flange.radius)}\n" if flange.radius else ""
    ends = [size or "0 mm" for size in flange.inset]
    own += f"inset = [{_quoted(ends[0])}, {_quoted(ends[1])}]\n" if any(flange.inset) else ""
    faces = re.search(r"^\[face\.", text, re.MULTILINE)
    at = faces.start() if faces else len(text)
    text = f"{text[:at]}{head}{text[at:].rstrip()}\n{own}"
    if not re.search(r"^grain\s*=", text, re.MULTILINE):
        text = re.sub(r"^(base\s*=.*)$", rf'\1\ngrain = "across {flange.name}"', text, count=1, flags=re.MULTILINE)
    return text


def _angle(text: str) -> str:
    return text if re.fullmatch(r"\d+(\.\d+)?", text) else _quoted(text)


def _quoted(text: str) -> str:
    return '"' + _one_line(text).replace("\\", "\\\\").replace('"', '\\"') + '"'


def _one_line(text: str) -> str:
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
