"""Builds materials and their tables of least bend radii from what the files, or a job, say."""

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from flatgen.errors import InputError, nearest
from flatgen.model.material import Material, RadiusRow, RadiusTable
from flatgen.model.source import Source
from flatgen.tables.rows import MM_PER_INCH, half_last_digit, line_of, number, read_csv, read_toml, text_of

MATERIALS = "materials.toml"
RADII = "min_radius.csv"
RADII_COLUMNS = ("table", "material", "thickness_in", "radius_in", "radius_t", "low_t", "source", "place", "trust")
CHOICES = {
    "family": ("aluminium", "steel", "stainless", "copper", "other"),
    "hardness": ("soft", "medium", "hard"),
}
MPA_PER_KSI = 6.894757293168361
# unit as written in materials.toml -> factor to g/mm³, MPa or a plain number
UNITS = {
    "kg_per_m3": 1e-6,
    "lb_per_in3": 453.59237 / MM_PER_INCH**3,
    "msi": 1e3 * MPA_PER_KSI,
    "ksi": MPA_PER_KSI,
    "gpa": 1e3,
    "mpa": 1.0,
    "n": 1.0,
}
PROPERTIES = {
    "density": ("kg_per_m3", "lb_per_in3"),
    "elastic_modulus": ("msi", "gpa", "mpa"),
    "yield_strength": ("ksi", "mpa"),
    "ultimate_strength": ("ksi", "mpa"),
}
OPTIONAL = {"hardening_exponent": ("n",), "hardening_strength": ("ksi", "mpa"), "ramberg_osgood": ("n",)}
PLAIN = ("name", "family", "hardness", "aliases", "clad", "radius_like")
# what a job writes of its own material, plain numbers: unit in the name
OWN_KEYS = {
    "density_g_per_cm3": ("density", 1e-3),
    "elastic_modulus_mpa": ("elastic_modulus", 1.0),
    "yield_strength_mpa": ("yield_strength", 1.0),
    "ultimate_strength_mpa": ("ultimate_strength", 1.0),
}
OWN_OPTIONAL = ("hardening_exponent", "hardening_strength_mpa", "ramberg_osgood")
OWN_PLAIN = ("name", "family", "hardness", "clad", "radius_like", "source", "least_radius")

Cite = Callable[..., Source]


def parse_radius_rows(cite: Cite, text: str | None = None, only: str = "") -> dict[str, tuple[RadiusTable, ...]]:
    """Tables of least radii by material key, in the order of the file; of one material when ``only`` names it."""
    rows: dict[str, dict[str, list[RadiusRow]]] = defaultdict(lambda: defaultdict(list))
    between: dict[str, str] = {}
    for line, row in read_csv(RADII, RADII_COLUMNS, text):
        if only and row["material"] != only:
            continue
        try:
            parsed = _radius_row(row, cite)
        except (ValueError, ZeroDivisionError) as error:
            reason = error.message if isinstance(error, InputError) else f"{error}"
            raise InputError(reason, file=RADII, line=line) from error
        kind = "multiple" if row["radius_t"] else "thicker"
        if between.setdefault(row["table"], kind) != kind:
            raise InputError(f'table "{row["table"]}" mixes radii and multiples of thickness', file=RADII, line=line)
        so_far = rows[row["material"]][row["table"]]
        if so_far and parsed.thickness <= so_far[-1].thickness:
            raise InputError("the thickness does not rise from the row before", file=RADII, line=line)
        so_far.append(parsed)
    return {
        key: tuple(
            RadiusTable(name, found[0].source.title, tuple(found), between[name]) for name, found in tables.items()
        )
        for key, tables in rows.items()
    }


def _radius_row(row: dict[str, str], cite: Cite) -> RadiusRow:
    if not row["source"]:
        raise InputError("the row names no source")
    where = cite(row["source"], row["place"], row["trust"])
    thickness = number(row["thickness_in"]) * MM_PER_INCH
    if thickness <= 0:
        raise InputError(f"thickness {row['thickness_in']} must be above 0")
    if bool(row["radius_in"]) == bool(row["radius_t"]):
        raise InputError("one of radius_in and radius_t must be given")
    rounding = 0.0
    if row["radius_in"] == "NR":
        radius = math.inf
    elif row["radius_in"]:
        radius = number(row["radius_in"]) * MM_PER_INCH
        rounding = half_last_digit(row["radius_in"]) * MM_PER_INCH
    else:
        radius = number(row["radius_t"]) * thickness
    low = number(row["low_t"]) * thickness if row["low_t"] else radius
    if radius < 0 or low < 0:
        raise InputError("a radius cannot be below 0")
    return RadiusRow(thickness, radius, min(low, radius), where, rounding)


def parse_materials(
    cite: Cite, radii: Mapping[str, tuple[RadiusTable, ...]], text: str | None = None
) -> dict[str, Material]:
    """All entries of materials.toml; InputError naming file and line for what is missing or not known."""
    text = text_of(MATERIALS) if text is None else text
    entries = read_toml(MATERIALS, text)
    return {key: parse_material(key, entry, cite, radii, text) for key, entry in entries.items()}


def parse_material(
    key: str, entry: dict[str, Any], cite: Cite, radii: Mapping[str, tuple[RadiusTable, ...]], text: str
) -> Material:
    """One entry of materials.toml; ``text`` is the file, for the lines of complaints."""

    def fail(message: str, inner: str = "") -> InputError:
        return InputError(message, file=MATERIALS, line=line_of(text, key, inner), where=f'material "{key}"')

    known = (*PLAIN, *PROPERTIES, *OPTIONAL)
    _known_only(entry, known, fail)
    found = {
        name: _property(name, entry[name], units, cite, fail)
        for name, units in {**PROPERTIES, **OPTIONAL}.items()
        if entry.get(name) is not None
    }
    for name in PROPERTIES:
        if name not in found:
            raise fail(f"{name} is missing")
    for name, choices in CHOICES.items():
        if entry.get(name) not in choices:
            raise fail(f'{name} "{entry.get(name)}" must be one of {", ".join(choices)}', name)
    values = {name: value for name, (value, _) in found.items()}
    return Material(
        key=key,
        name=entry.get("name", key),
        family=entry["family"],
        hardness=entry["hardness"],
        radius_tables=radii.get(entry.get("radius_like", key), ()),
        sources={name: source for name, (_, source) in found.items()},
        clad=bool(entry.get("clad", False)),
        **values,
    )


def _known_only(given: Iterable[str], known: tuple[str, ...], fail: Callable[[str, str], InputError]) -> None:
    for word in given:
        if word not in known:
            raise fail(f'no key "{word}" here. {nearest(word, known)}', word)


def _property(
    name: str, cell: Mapping[str, Any], units: tuple[str, ...], cite: Cite, fail: Callable[[str, str], InputError]
) -> tuple[float, Source]:
    """A property of a metal in our unit, and where it is from."""
    unit = next((u for u in units if u in cell), None)
    if unit is None:
        raise fail(f"{name} must be given in {' or '.join(units)}", name)
    if "source" not in cell:
        raise fail(f"{name} names no source", name)
    try:
        source = cite(cell["source"], cell.get("place", ""), cell.get("trust", "read"))
    except InputError as error:
        raise fail(str(error.message), name) from error
    value = float(cell[unit]) * UNITS[unit]
    if value <= 0:
        raise fail(f"{name} is {cell[unit]}; it must be above 0", name)
    return value, source


def material_from_table(
    key: str,
    values: Mapping[str, Any],
    *,
    known: Mapping[str, Material] | None = None,
    file: str | None = None,
    line: int | None = None,
) -> Material:
    """A material that a job brings along, from an already parsed table.

    Parameters
    ----------
    values : density_g_per_cm3, elastic_modulus_mpa, yield_strength_mpa, ultimate_strength_mpa (all needed), family,
        hardness (soft | medium | hard), source (needed: where the numbers are from, in words); at will name, clad,
        hardening_exponent, hardening_strength_mpa, ramberg_osgood, radius_like (key of a known material whose tables
        of least radii apply), least_radius (list of {thickness, radius} in mm, the job's own table)
    known : materials that radius_like may name

    Raises
    ------
    InputError : a key that is not known, missing, or out of range; names file, line and material
    """

    def fail(message: str) -> InputError:
        return InputError(message, file=file, line=line, where=f'material "{key}"')

    choices = (*OWN_KEYS, *OWN_OPTIONAL, *OWN_PLAIN)
    _known_only(values, choices, lambda message, word: fail(message))
    said = str(values.get("source", "")).strip()
    if not said:
        raise fail("source is missing: say in words where the numbers are from")
    where = Source("job", said, trust="shop")
    for word in OWN_KEYS:
        if word not in values:
            raise fail(f"{word} is missing")
    numbers = {n: _positive(word, values[word], fail) * factor for word, (n, factor) in OWN_KEYS.items()}
    optional = {w.removesuffix("_mpa"): _positive(w, values[w], fail) for w in OWN_OPTIONAL if w in values}
    kinds = {"family": values.get("family", "other"), "hardness": values.get("hardness", "medium")}
    for name, chosen in kinds.items():
        if chosen not in CHOICES[name]:
            raise fail(f'{name} "{chosen}" must be one of {", ".join(CHOICES[name])}')
    if not numbers["yield_strength"] <= numbers["ultimate_strength"] < numbers["elastic_modulus"]:
        raise fail("strengths must rise from yield_strength_mpa to ultimate_strength_mpa to elastic_modulus_mpa")
    return Material(
        key=key,
        name=str(values.get("name", key)),
        family=kinds["family"],
        hardness=kinds["hardness"],
        radius_tables=_own_radii(values, known or {}, where, fail),
        sources=dict.fromkeys((*numbers, *optional), where),
        clad=bool(values.get("clad", False)),
        **numbers,
        **optional,
    )


def _own_radii(
    values: Mapping[str, Any], known: Mapping[str, Material], where: Source, fail: Callable[[str], InputError]
) -> tuple[RadiusTable, ...]:
    tables: tuple[RadiusTable, ...] = ()
    like = values.get("radius_like")
    if like is not None:
        if like not in known:
            raise fail(f'radius_like: no material "{like}". {nearest(str(like), known)}')
        tables = known[like].radius_tables
    own = values.get("least_radius", ())
    rows = []
    for entry in own:
        if not isinstance(entry, Mapping) or set(entry) != {"thickness", "radius"}:
            raise fail("each entry of least_radius must be {thickness, radius}, in mm")
        thickness = _positive("thickness", entry["thickness"], fail)
        radius = entry["radius"]
        if not isinstance(radius, int | float) or isinstance(radius, bool) or not 0 <= radius < math.inf:
            raise fail(f"least_radius: radius is {radius!r}; it must be a number of mm, 0 or above")
        rows.append(RadiusRow(thickness, float(radius), float(radius), where))
    rows.sort(key=lambda row: row.thickness)
    return (RadiusTable("job", where.title, tuple(rows)), *tables) if rows else tables


def _positive(word: str, value: Any, fail: Callable[[str], InputError]) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < math.inf:
        raise fail(f"{word} is {value!r}; it must be a number above 0")
    return float(value)
