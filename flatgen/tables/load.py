"""The tables as objects: sources, materials, drill sizes. Read on first use, checked as they are read.

A number without a source does not load. Numbers stay in the files as their source prints them; here they become mm,
MPa and g/mm³.
"""

from functools import cache
from typing import Any

from flatgen.errors import InputError, nearest
from flatgen.model.material import Material
from flatgen.model.source import TRUST_TEXT, Source
from flatgen.tables.materials import MATERIALS, parse_material, parse_materials, parse_radius_rows
from flatgen.tables.materials import material_from_table as material_from_table
from flatgen.tables.rows import MM_PER_INCH, line_of, number, read_csv, read_toml, text_of

SOURCES = "sources.toml"
DRILLS = "drills.csv"


@cache
def publications() -> dict[str, str]:
    """Publication key to what is printed of it: title and edition."""
    text = text_of(SOURCES)
    found = {}
    for key, entry in read_toml(SOURCES, text).items():
        missing = {"author", "title", "edition", "year"} - entry.keys()
        if missing:
            raise InputError(
                f'publication "{key}" lacks {", ".join(sorted(missing))}', file=SOURCES, line=line_of(text, key)
            )
        edition = str(entry["edition"])
        stated = edition if edition[:1].isdigit() else ""
        found[key] = f"{entry['title']}, {stated} edition" if stated else str(entry["title"])
    return found


def source(key: str, place: str = "", trust: str = "read") -> Source:
    """The publication with this key of sources.toml, at a place in it; InputError when there is none."""
    known = publications()
    if key not in known:
        raise InputError(f'no publication "{key}". {nearest(key, known)}', file=SOURCES)
    trusted = next((one for one in TRUST_TEXT if one == trust), None)
    if trusted is None:
        raise InputError(f'trust "{trust}" is not one of {", ".join(TRUST_TEXT)}')
    return Source(key, known[key], place, trusted)


@cache
def materials() -> dict[str, Material]:
    """All materials that come with the package, by key."""
    return parse_materials(source, parse_radius_rows(source))


@cache
def _entries() -> dict[str, dict[str, Any]]:
    return read_toml(MATERIALS)


@cache
def _spellings() -> dict[str, str]:
    found: dict[str, str] = {}
    for key, entry in _entries().items():
        for word in (key, entry.get("name", key), *entry.get("aliases", ())):
            plain = _plain(word)
            if found.setdefault(plain, key) != key:
                raise InputError(
                    f'"{word}" stands for "{found[plain]}" and for "{key}"',
                    file=MATERIALS,
                    line=line_of(text_of(MATERIALS), key),
                )
    return found


def _plain(word: str) -> str:
    return "".join(ch for ch in word.lower() if ch.isalnum())


def material_key(word: str) -> str:
    """Key of a material by key, name or a common spelling; InputError with the nearest known one."""
    key = _spellings().get(_plain(word))
    if key is None:
        names = sorted({*_entries(), *(entry.get("name", key) for key, entry in _entries().items())})
        raise InputError(f'no material "{word}". {nearest(word, names)}')
    return key


def material(word: str) -> Material:
    """The material with this key, name or common spelling; InputError with the nearest known one.

    >>> material("2024-T3 clad").key, material("4130 normalized").key
    ('2024-T3-clad', '4130N')
    """
    return _one(material_key(word))


@cache
def _one(key: str) -> Material:
    # one entry and its rows only: the bend calculator shall answer at once
    entry = _entries()[key]
    like = entry.get("radius_like", key)
    return parse_material(key, entry, source, parse_radius_rows(source, only=like), text_of(MATERIALS))


@cache
def drill_sizes() -> dict[str, float]:
    """Number and letter drills: label to diameter [mm].

    >>> drill_sizes()["#30"], drill_sizes()["F"]
    (3.2639, 6.5278)
    """
    sizes: dict[str, float] = {}
    for line, row in read_csv(DRILLS, ("size", "diameter_in", "source", "place", "trust")):
        try:
            source(row["source"], row["place"], row["trust"])
            diameter = number(row["diameter_in"])
        except ValueError as error:
            raise InputError(str(error), file=DRILLS, line=line) from error
        if row["size"] in sizes:
            raise InputError(f"drill {row['size']} stands here twice", file=DRILLS, line=line)
        if diameter <= 0 or (sizes and diameter * MM_PER_INCH <= max(sizes.values())):
            raise InputError(f"drill {row['size']} is not larger than the one before it", file=DRILLS, line=line)
        sizes[row["size"]] = diameter * MM_PER_INCH
    return sizes
