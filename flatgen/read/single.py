"""A job of one part straight from a profile, its sizes given on the command line."""

from collections.abc import Mapping
from pathlib import Path

from flatgen.errors import InputError
from flatgen.model.job import Job
from flatgen.model.shop import Sheet, Shop
from flatgen.read.entries import DEFAULTED, PART_KEYS, PROCESSES, Context, Entry, make_parts
from flatgen.read.keys import Table, TomlFile
from flatgen.read.profile import find_profile, load_profile, units_must_be_said
from flatgen.read.sample import METAL, SIZES, sample_shop
from flatgen.read.shop import read_shop
from flatgen.tables.load import material
from flatgen.units import parse_length

ONE = Path("command line")


def single_job(name: str, given: Mapping[str, str], units: str, shop_file: Path | None) -> Job:
    """Job of one part of a profile.

    given : keys of a [[part]] and parameters of the profile, as written; sizes that are missing are the sample's
    shop_file : None: a shop with a nose of just the radius that is asked for

    Raises
    ------
    InputError : as for a job's part, naming the key
    """
    profile = load_profile(find_profile(name, Path()))
    units_must_be_said(profile, units)
    thickness, radius = SIZES[units]
    data: dict[str, object] = {
        "id": profile.name,
        "quantity": 1,
        "material": METAL,
        "thickness": f"{thickness!r} mm",
        "radius": f"{radius!r} mm",
        **given,
        "profile": name,
    }
    known = {key.name for key in PART_KEYS}
    numbers = {p.name for p in profile.parameters.values() if p.kind in ("angle", "number", "count")}
    for key in ("grain", *numbers):
        # what a TOML file would hold as a number comes as text from a command line
        if key in given and key not in known - {"grain"}:
            data[key] = _number(str(given[key]))
    file = TomlFile(ONE, "", data)
    table = Table(file, data, (), units, f'profile "{profile.name}"')
    shop = _sample(table, data, units) if shop_file is None else read_shop(shop_file)
    defaults = {**dict.fromkeys(DEFAULTED), "process": PROCESSES[0], "notes": ()}
    context = Context(file, Path(), units, shop, defaults, {})
    made = make_parts(context, Entry(table, profile, profile.name), {}, frozenset())
    file.check()
    assert made is not None
    return Job(
        title=made.part.title,
        units="in" if units == "in" else "mm",
        shop=shop,
        parts=made.hands,
        waivers=(),
        file=profile.file.path,
        cutting=tuple((part.id, made.tool) for part in made.hands),
        allowance=tuple((part.id, made.allowance) for part in made.hands),
        sources=(profile.file.path, *profile.outlines, *([shop_file] if shop_file else [])),
    )


def _sample(table: Table, data: dict[str, object], units: str) -> Shop:
    """A shop with a nose of just the radius asked for, and sheet of the metal."""
    sizes = {}
    for key in ("radius", "thickness"):
        try:
            sizes[key] = parse_length(data[key], table.units)
        except InputError as error:
            raise InputError(error.message, file=ONE, where=key) from None
    try:
        metal = material(str(data["material"])).key
    except InputError:
        metal = ""  # told of where the part is read
    sheet = Sheet("sample", metal, sizes["thickness"], 3000.0, 1500.0)
    return sample_shop(sizes["radius"], units, (sheet,))


def _number(text: str) -> object:
    try:
        return int(text) if text.lstrip("+-").isdecimal() else float(text)
    except ValueError:
        return text
