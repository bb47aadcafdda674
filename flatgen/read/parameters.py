"""Values of a profile's parameters for one part, checked against kind and limits, ready for the formulas."""

import re
from collections.abc import Container
from pathlib import Path
from typing import Any

from flatgen.errors import InputError, nearest
from flatgen.read.drills import parse_drill
from flatgen.read.formula import Value
from flatgen.read.keys import Table
from flatgen.read.profile import Parameter, Profile
from flatgen.read.scope import Scope
from flatgen.units import format_length, no_thousands, parse_angle, parse_length

BUILT_IN = ("thickness", "radius")


def fill_scope(
    profile: Profile, table: Table, units: str, thickness: float, radius: float, taken: Container[str] = ()
) -> Scope:
    """Scope of a part: its parameters, thickness and radius known, derived values to be worked out on demand.

    ``taken`` are names that no parameter may have.

    Raises InputError for a parameter that is missing, of the wrong kind or out of its limits.
    """
    file = profile.file

    def place_of(name: str) -> tuple[Path, int | None, str]:
        return file.path, file.line_of(("derived", name)), f"{table.name}, derived value {name}"

    scope = Scope(profile.units, formulas=_derived(profile), place_of=place_of)
    scope.values["thickness"] = Value(thickness, length=1)
    scope.values["radius"] = Value(radius, length=1)
    for name, parameter in profile.parameters.items():
        if name in taken:
            raise InputError(
                f'"{name}" is a key of every part; give the parameter another name',
                file=file.path,
                line=file.line_of(("parameter", name)),
            )
        given = name in table.data
        raw, own = (table.data[name], units) if given else usual_value(parameter, units, profile.units)
        place = table if given else profile.table("parameter", name)
        try:
            if raw is None:
                raise InputError(f"this parameter is missing: {parameter.explain or parameter.kind}")
            _enter(scope, parameter, raw, own, table.decimal_comma and given)
            _within(scope, parameter, raw, units)
        except InputError as error:
            at = place.at(name) if given else place.path
            head = table.name if given else f"{table.name}, {place.name}"
            missing = raw is None
            raise InputError(
                error.message,
                file=(table.file if missing else place.file).path,
                line=table.file.line_of(table.path) if missing else place.file.line_of(at),
                where=f"{table.name if missing else head}, {name}" if given or missing else head,
            ) from error
    return scope


def _derived(profile: Profile) -> dict[str, str]:
    """Formulas of the derived values; a name may stand for one thing only."""
    derived: dict[str, Any] = profile.values["derived"]
    for name in derived:
        if name in profile.parameters or name in BUILT_IN:
            table = profile.table("derived")
            raise InputError(
                f'"{name}" is a parameter already', file=table.file.path, line=table.file.line_of(("derived", name))
            )
    return {name: str(formula) for name, formula in derived.items()}


def usual_value(parameter: Parameter, units: str, profile_units: str) -> tuple[Any, str]:
    """Default for a job of these units, None for none, and the unit of a bare number in it.

    One of several that stand in a table { in = …, mm = … } is in the unit it stands under.
    """
    if isinstance(parameter.default, dict):
        key = units if units in parameter.default else next(iter(parameter.default), profile_units)
        return parameter.default.get(key), key if key in ("in", "mm") else profile_units
    return parameter.default, profile_units


def _enter(scope: Scope, parameter: Parameter, raw: Any, units: str, decimal_comma: bool) -> None:
    name, kind = parameter.name, parameter.kind
    if kind == "length":
        scope.values[name] = Value(parse_length(raw, units, decimal_comma=decimal_comma), length=1)
    elif kind == "angle":
        scope.values[name] = Value(parse_angle(raw, decimal_comma=decimal_comma), angle=1)
    elif kind == "drill":
        scope.values[name] = Value(parse_drill(raw, units)[0], length=1)
        scope.texts[name] = str(raw)
    elif kind == "choice":
        if str(raw) not in parameter.choices:
            options = ", ".join(parameter.choices)
            raise InputError(f'"{raw}" is not one of {options}. {nearest(str(raw), parameter.choices)}')
        scope.texts[name] = str(raw)
    else:
        try:
            if isinstance(raw, bool):
                raise ValueError
            no_thousands(str(raw), decimal_comma)
            number = float(str(raw).replace(",", ".") if decimal_comma else raw)
        except InputError:
            raise
        except (TypeError, ValueError):
            raise InputError(f"{raw!r} is not a number") from None
        if kind == "count" and number != int(number):
            raise InputError(f"{raw!r} is not a whole number")
        scope.values[name] = Value(number)


def _within(scope: Scope, parameter: Parameter, raw: Any, units: str) -> None:
    if parameter.name not in scope.values:
        return
    value = scope.values[parameter.name]
    read = {"length": scope.length, "drill": scope.length, "angle": scope.angle}.get(parameter.kind, scope.number)
    shown = f'"{raw}"' if isinstance(raw, str) else f"{raw}"
    for limit, sign, word in ((parameter.least, 1.0, "at least"), (parameter.most, -1.0, "at most")):
        if limit is None:
            continue
        if (value.number - read(limit)) * sign < -1e-9:
            small = "too small" if sign > 0 else "too large"
            told = limit_words(parameter.kind, limit, units, scope.units)
            raise InputError(f'{shown} is {small}; "{parameter.name}" must be {word} {told}')
    if parameter.kind == "length" and parameter.least is None and value.number < 0:
        raise InputError(f'{shown} is less than nothing; "{parameter.name}" must be at least 0')


def limit_words(kind: str, limit: Any, units: str, profile_units: str) -> str:
    """A limit as the profile says it; a length in the job's units where it is said in the other."""
    text = str(limit)
    if kind != "length":
        return text
    unit = "mm" if re.search(r"[cm]m\b", text) else profile_units if re.fullmatch(r"[\d\s./+-]+", text) else "in"
    if unit == units:
        return text
    try:
        mm = parse_length(limit, profile_units)
        # finer than sizes are shown, or what is typed as told would be out of range
        return f"{format_length(mm, units, places=4).rstrip('0').rstrip('.')} {units}"
    except InputError:  # a formula
        return text
