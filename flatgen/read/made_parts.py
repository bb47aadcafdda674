"""A CSV of parts already made, one a row, from which the neutral-axis ratio is fitted."""

from pathlib import Path

from flatgen import budget
from flatgen.core.fit import Made
from flatgen.errors import InputError, InputErrors, nearest
from flatgen.units import parse_angle, parse_length

COLUMNS = ("blank", "leg_a", "leg_b", "angle", "radius", "thickness")


def read_made_parts(path: Path, units: str, defaults: dict[str, float]) -> tuple[Made, ...]:
    """Rows of a CSV with the columns blank, leg_a, leg_b, angle, radius, thickness; one bend a part.

    Parameters
    ----------
    units : of bare numbers, "in" or "mm"
    defaults : angle [deg], radius, thickness [mm] for columns that the file leaves out

    Raises
    ------
    InputErrors : every bad cell, with file and line
    """
    heads, rows = budget.csv_table(path)
    for head in heads:
        if head not in COLUMNS:
            raise InputError(f'no column "{head}" here. {nearest(head, COLUMNS)}', file=path, line=1)
    missing = [name for name in COLUMNS if name not in heads and name not in defaults]
    if missing:
        raise InputError(f"the columns must be {', '.join(COLUMNS)}; {', '.join(missing)} missing", file=path, line=1)
    parts: list[Made] = []
    errors: list[InputError] = []
    for line, row in rows:
        try:
            parts.append(_made(row, units, defaults))
        except InputError as error:
            errors.append(InputError(error.message, file=path, line=line, where=error.where))
            if len(errors) >= budget.MOST_ERRORS:
                raise InputErrors(errors, ended=True) from None
    if errors:
        raise InputErrors(errors)
    if not parts:
        raise InputError("the file holds no part", file=path)
    return tuple(parts)


def _made(row: dict[str, str], units: str, defaults: dict[str, float]) -> Made:
    values = {}
    for name in COLUMNS:
        cell = (row.get(name) or "").strip()
        if not cell and name in defaults:
            values[name] = defaults[name]
            continue
        try:
            values[name] = parse_angle(cell) if name == "angle" else parse_length(cell, units)
        except ValueError as error:
            message = error.message if isinstance(error, InputError) else f'"{cell}" is not a number'
            raise InputError(message, where=f'column "{name}"') from error
        if values[name] < 0 or (values[name] == 0 and name != "radius"):
            raise InputError(f'"{cell}" must be above 0', where=f'column "{name}"')
    if values["angle"] > 180.0:
        raise InputError("the angle must be from 0 to 180 deg", where='column "angle"')
    return Made(
        values["blank"],
        (values["leg_a"], values["leg_b"]),
        (values["angle"],),
        (values["radius"],),
        values["thickness"],
    )
