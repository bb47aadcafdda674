"""shop.toml: what the shop has and how it works. Every key with its unit and default stands in the tables below."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar

from flatgen.core.meets import self_crossings
from flatgen.core.nominal import measured_of
from flatgen.core.outline import area, polygon
from flatgen.core.points import Point
from flatgen.core.words import Units
from flatgen.errors import InputError, nearest
from flatgen.model.shop import (
    CUTTING_METHODS,
    GUESSED_OF_A_BRAKE,
    GUESSED_OF_A_NOSE,
    NO_LIMIT,
    Brake,
    CuttingTool,
    Drill,
    Minutes,
    NoseBar,
    Sheet,
    Shop,
    Tolerances,
)
from flatgen.page.paper import PAPERS
from flatgen.read.drills import make_drill, usual_drills
from flatgen.read.keys import Key, Table, open_toml
from flatgen.read.sentences import shown
from flatgen.said import said
from flatgen.tables.load import material_key, materials
from flatgen.units import parse_length

POSITIVE = 1e-9
WORK = "with general, aircraft tables, coupons and tolerances ask for no decision"
SLANT = 45.0  # from here on the grain is nearer to the other side [deg]
SHOP_KEYS = (
    Key("name", "text", "what the shop is called on sheets", ""),
    Key("units", "choice", "unit of bare numbers in this file", "in", choices=("in", "mm")),
    Key("brake", "tables", "brakes, the first is used unless a job names another", required=True),
    Key("tool", "tables", "cutting tools, the first is used unless a job names another", required=True),
    Key("sheet", "tables", "sheets on hand or to buy, remnants", []),
    Key("drill", "tables", "drills for rivets and bolts; the usual ones when left out", []),
    Key("tolerance", "table", "what the shop holds, ±", {}),
    Key("radius_table", "text", "named table of least bend radii; the most cautious of all when left out", ""),
    Key("allowance", "text", "method of bend allowance", "handbook"),
    Key("neutral_axis_ratio", "number", "for the neutral-axis method: share of the thickness from the inside face"),
    Key("nose_tolerance", "length", "a nose this near to the drawing's radius counts as that radius", 0.13, least=0.0),
    Key("offcut", "table", "smallest off-cut worth keeping", {}),
    Key("minutes", "table", "what the work takes, and the price of an hour", {}),
    Key("saw_kerf", "length", "lost in each cut of the saw that cuts formed lengths", 1.2, least=0.0),
    Key("saw_trim", "length", "cut off each end of a formed length", 3.0, least=0.0),
    Key("spoilage", "number", "share of pieces expected to be spoiled, 0 to 0.5", 0.0, least=0.0, most=0.5),
    Key("printer", "table", "paper and measured scale of the printer", {}),
    Key("currency", "text", "unit of prices", ""),
    Key("book", "text", "file of the shop's own records, beside this one", ""),
    Key("work", "choice", WORK, "aircraft", choices=("aircraft", "general")),
)
BRAKE_KEYS = (
    Key("name", "text", "what it is called", required=True),
    Key("length", "length", "usable length", required=True, least=POSITIVE),
    Key("nose", "tables", "its nose bars", required=True),
    Key("largest_angle", "angle", "leaf travel from flat", 120.0, least=30.0, most=180.0),
    Key("largest_opening", "length", "between nose and bed when lifted", 20.0, least=POSITIVE),
    Key("throat", "length", "clear depth behind the nose tip; open when left out", least=POSITIVE),
    Key("leaf_land", "length", "least flat that the leaf can carry", 12.0, least=0.0),
    Key("leaf_depth", "length", "height of the leaf", 50.0, least=POSITIVE),
    Key("bed_depth", "length", "front to back", 60.0, least=POSITIVE),
    Key("bed_height", "length", "top of the bed to what lies below it", 60.0, least=POSITIVE),
    Key("hinge_forward", "length", "hinge line in front of the bed's edge", 0.0),
    Key("hinge_up", "length", "hinge line above the bed's top", 0.0),
    Key("nose_setback_clearance", "length", "set-back beyond the flush value", 0.0, least=0.0),
    Key("smallest_flange", "length", "as stated for it; max(0.19 in, 3T) past the bend when left out", least=0.0),
    Key("capacity_thickness", "length", "thickest mild steel at full length", least=POSITIVE),
    Key("back_stop_reach", "length", "farthest back stop from the bed's edge", least=POSITIVE),
    Key("front_stop_reach", "length", "farthest front stop from the bed's edge", least=POSITIVE),
    Key("back_stop", "flag", "whether it has one; without, bends go by a front stop or a sight line", True),
    Key("stop_tolerance", "length", "settings that differ by less share one", 0.13, least=0.0),
    Key("back_stop_least", "length", "nearest back stop to the nose tip; 0 where a thin strip slides under", 0.0),
    Key(
        "stop_read_from",
        "choice",
        "where stops are read: its edge, or the nose tip",
        "bed",
        choices=("bed", "nose"),
    ),
    Key("stop_offset", "length", "added to every back stop: leg wanted less leg that came out", 0.0),
    Key("front_stop_offset", "length", "the same for every front stop", 0.0),
    Key("stop_height", "length", "height of the back stop's face above the bed", 15.0, least=POSITIVE),
    Key("fingers", "lengths", "widths of a box brake's fingers; [] for a solid bar", (), least=POSITIVE),
    Key("end_clearance", "length", "between fingers and the walls beside them, both ends together", 1.6, least=0.0),
    Key("beam_depth", "length", "of the clamping beam over the nose, from its tip; the nose bar's when left out"),
    Key("beam_section", "size", "its side view as [[x, y], …], x from the nose tip backward, y up from the sheet"),
    Key("bed_section", "size", "the bed's side view as [[x, y], …], x from its edge backward, y up from its top"),
    Key("leaf_section", "size", "the leaf's side view, lying down, x from the hinge line forward, y up from its face"),
    Key("handle", "length", "hinge to where the hands pull; 18 in when left out", least=POSITIVE),
    Key("leaf_lift", "force", "pull there that just lifts the bare leaf; from leaf_depth when left out", least=0.0),
    Key("setback_range", "lengths", "least and greatest set-back of the bare nose", ()),
    Key("bed_bow", "length", "greatest gap between a straightedge and the bed's edge", least=0.0),
    Key("hinge_play", "length", "the leaf's play in its hinges", least=0.0),
    Key("nose_gaps", "lengths", "under the clamped nose at five places, left to right", (), least=0.0),
    Key("guessed", "texts", "keys of it that nobody measured; one that is left out is a guess too", ()),
)
NOSE_KEYS = (
    Key("name", "text", "what it is called", required=True),
    Key("radius", "length", "measured radius of its edge", required=True, least=0.0, most=50.0),
    Key("length", "length", "radiused length; the brake's when left out", least=POSITIVE),
    Key("front_angle", "angle", "of its front face from the bed", 45.0, least=5.0, most=90.0),
    Key("height", "length", "of the bar above the sheet", 25.0, least=POSITIVE),
    Key("depth", "length", "of its foot, from the tip backward", 32.0, least=POSITIVE),
    Key("section", "size", "its side view as [[x, y], …] from the tip backward, in place of the three above"),
    Key("shoes", "lengths", "slip-on shoes or wraps; each adds its thickness to the radius", (), least=POSITIVE),
    Key("aside", "flag", "on hand, but no bend is to use it", False),
    Key("guessed", "texts", "keys of it that nobody measured; one that is left out is a guess too", ()),
)
TOOL_KEYS = (
    Key("name", "text", "what it is called", required=True),
    Key("method", "choice", "edge-to-edge cuts, or true shapes", required=True, choices=tuple(CUTTING_METHODS)),
    Key("gap", "length", "least web between two profile-cut parts", 0.0, least=0.0),
    Key("kerf", "length", "metal lost in a cut", 0.0, least=0.0),
    Key("longest_cut", "length", "longest cut it takes", least=POSITIVE),
    Key("smallest_strip", "length", "smallest strip that it can hold", 0.0, least=0.0),
    Key("max_stages", "count", "most turns of cutting direction", 3, least=2, most=6),
    Key("bit_diameter", "length", "of a router", 0.0, least=0.0),
    Key("units", "choice", "of the files for it; the job's when left out", "", choices=("", "in", "mm")),
    Key("layers", "choice", "in its files: several, or one that is cut", "several", choices=("several", "one")),
    Key("bend_lines", "flag", "its files have the middles of the bends, on layers that are not cut", False),
    Key("holes", "choice", "of rivets and bolts; as described when left out", "", choices=("", "pilot", "final")),
    Key("text", "flag", "its files have the part number, on a layer that is not cut", False),
)
SHEET_KEYS = (
    Key("id", "text", "what it is called", required=True),
    Key("material", "text", "alloy and temper", required=True),
    Key("thickness", "length", "nominal thickness: it picks tables and stock", required=True, least=0.1, most=13.0),
    Key("measured", "length", "thickness by micrometer: it is what parts are developed with", least=0.1, most=13.0),
    Key("length", "length", "size along the grain", required=True, least=POSITIVE),
    Key("width", "length", "size across the grain", required=True, least=POSITIVE),
    Key("margin", "length", "edge that no part may enter", 0.0, least=0.0),
    Key("copies", "count", "number on hand; left out: 1 of a remnant, of others as many as needed", least=0),
    Key("cost", "number", "price of one", least=0.0),
    Key("grain", "angle", "of a remnant cut on the slant: rolling direction from its length, -45 to 45", 0.0),
    Key("short_grain", "flag", "the grain does run along the shorter side: looked at on the metal", False),
    Key("remnant", "flag", "left over from other work: used first", False),
    Key("bad_areas", "size", "rectangles to avoid, [[x, y, length, width], …]", []),
    Key("batch", "text", "heat or batch number", ""),
)
DRILL_KEYS = (
    Key("fastener", "text", "rivet or bolt diameter", required=True),
    Key("pilot", "text", "drill for the blank", required=True),
    Key("final", "text", "drill for the finished hole", required=True),
)
TOLERANCE_KEYS = (
    Key("length", "length", "of a flange or web", 0.8, least=0.0),
    Key("hole", "length", "of a hole's place", 0.4, least=0.0),
    Key("angle", "angle", "of a bend", 1.0, least=0.0),
    Key("stop", "length", "of the stop's setting", 0.13, least=0.0),
    Key("creep", "length", "of the sheet when it is clamped", 0.2, least=0.0),
    Key("cut", "length", "of a blank's size", 0.38, least=0.0),
    Key("deduction", "length", "of a bend deduction", 0.18, least=0.0),
    Key("thickness", "length", "of the sheet's thickness", 0.05, least=0.0),
    Key("radius", "length", "of the radius after release", 0.1, least=0.0),
)
MINUTES = {
    "setting": "to set the shear's gauge and try it",
    "cut": "for a cut",
    "sheet": "to lay, clamp and zero a sheet that is cut along outlines",
    "outline": "to cut an inch (25.4 mm) along an outline, by router or by hand",
    "nose": "to change the nose bar",
    "setback": "to set the nose back at both ends",
    "leaf": "to set the leaf's stop",
    "stop": "to set the back or front stop",
    "bend": "for a bend of a small part on the stop",
    "bend_long": "for a bend of a part longer than 300 mm (12 in)",
    "mark": "to mark out one blank",
    "hole": "to drill one hole to its mark and deburr it",
    "edge": "to file and smooth an inch (25.4 mm) of edge",
    "measure": "to measure the legs and angles of a piece",
    "coupon": "to cut, bend, measure and enter a test strip",
    "saw": "to cut a formed length once and take the burr off",
    "bar": "to make a nose bar, filed or machined",
    "rod": "to let a round rod into a seat",
    "wrap": "to fold a shoe or wrap",
    "decide": "to settle a finding with the designer, and to look for cracks",
}
HOUR = "price of an hour, in the unit of the sheets' prices; the default is a guess"
MINUTES_KEYS = (
    *(
        Key(name, "number", f"minutes {what}; the default is a guess", getattr(Minutes(), name), least=0.0)
        for name, what in MINUTES.items()
    ),
    Key("hour", "number", HOUR, Minutes().hour, least=0.0),
)
OFFCUT_KEYS = (
    Key("width", "length", "longer side", 150.0, least=0.0),
    Key("height", "length", "shorter side", 100.0, least=0.0),
)
PRINTER_KEYS = (
    Key("paper", "choice", "paper in the printer", "letter", choices=tuple(PAPERS)),
    Key(
        "measured_x",
        "length",
        "measured length of the 100 mm bar along the paper's short side",
        100.0,
        least=90.0,
        most=110.0,
    ),
    Key(
        "measured_y",
        "length",
        "measured length of the 100 mm bar along the paper's long side",
        100.0,
        least=90.0,
        most=110.0,
    ),
)
TABLES = {
    "shop.toml": SHOP_KEYS,
    "[[brake]]": BRAKE_KEYS,
    "[[brake.nose]]": NOSE_KEYS,
    "[[tool]]": TOOL_KEYS,
    "[[sheet]]": SHEET_KEYS,
    "[[drill]]": DRILL_KEYS,
    "[tolerance]": TOLERANCE_KEYS,
    "[minutes]": MINUTES_KEYS,
    "[offcut]": OFFCUT_KEYS,
    "[printer]": PRINTER_KEYS,
}

T = TypeVar("T")


def read_shop(path: Path, text: str | None = None) -> Shop:
    """The shop of a file; every error in it in one list. ``text``: read in place of what the file holds."""
    file = open_toml(path, text)
    units = file.data.get("units", "in")
    head = Table(file, file.data, (), units if units in ("in", "mm") else "in")
    values = head.read(SHOP_KEYS)
    printer = head.child("printer", values["printer"]).read(PRINTER_KEYS)
    offcut = head.child("offcut", values["offcut"]).read(OFFCUT_KEYS)
    minutes = head.child("minutes", values["minutes"]).read(MINUTES_KEYS)
    tolerance = head.child("tolerance", values["tolerance"]).read(TOLERANCE_KEYS)
    brakes = _each(head, "brake", values["brake"] or [], "brake", _brake)
    tools = _each(head, "tool", values["tool"] or [], "tool", _tool)
    sheets = _each(head, "sheet", values["sheet"], "sheet", _sheet)
    drills = _each(head, "drill", values["drill"], "drill", _drill)
    for kind, things in (("brake", brakes), ("tool", tools)):
        if not things and values[kind] is not None and not file.errors:
            head.complain(f"the shop needs at least one {kind}", kind)
    tables = {table.name for material in materials().values() for table in material.radius_tables}
    if values["radius_table"] and values["radius_table"] not in tables | {"job"}:
        head.complain(
            f'there is no table "{values["radius_table"]}". {nearest(values["radius_table"], tables)}', "radius_table"
        )
    file.check()
    own = ("brake", "tool", "sheet", "drill", "tolerance", "offcut", "minutes", "printer", "book")
    return Shop(
        **{key: value for key, value in values.items() if key not in own},
        brakes=brakes,
        tools=tools,
        sheets=sheets,
        drills=drills or usual_drills(),
        tolerances=Tolerances(**tolerance),
        minutes=Minutes(**minutes),
        offcut_width=offcut["width"],
        offcut_height=offcut["height"],
        printer_paper=printer["paper"],
        printer_scale=(100.0 / printer["measured_x"], 100.0 / printer["measured_y"]),
        book=str(path.parent / values["book"]) if values["book"] else "",
        file=str(path),
    )


def _each(
    head: Table, key: str, rows: list[dict[str, Any]], kind: str, make: Callable[[Table], T | None]
) -> tuple[T, ...]:
    made, names = [], set()
    for k, data in enumerate(rows):
        name = str(data.get("name", data.get("id", data.get("fastener", k + 1))))
        table = Table(head.file, data, (*head.path, key, k), head.units, f'{kind} "{name}"')
        if name in names:
            table.complain(f'two are called "{name}"; give each {kind} its own name')
        names.add(name)
        before = len(head.file.errors)
        thing = make(table)
        if thing is not None and len(head.file.errors) == before:
            made.append(thing)
    return tuple(made)


def _brake(table: Table) -> Brake | None:
    before = len(table.file.errors)
    values = table.read(BRAKE_KEYS)
    bars = _each(table, "nose", values["nose"] or [], "nose", _nose)
    noses = tuple(bar for bar, aside in bars if not aside)
    if not noses and len(table.file.errors) == before:
        what = "all of its nose bars are set aside" if bars else "a brake needs at least one nose bar"
        table.complain(f"{what}, written as [[brake.nose]]", "nose")
    reach = values["setback_range"]
    if reach and (len(reach) != 2 or reach[0] > reach[1]):
        table.complain("give the least and the greatest set-back", "setback_range")
    if len(values["nose_gaps"]) not in (0, 5):
        table.complain("give the gap at five places, left to right", "nose_gaps")
    sections = {key: _section(table, key, values[key]) for key in ("beam_section", "bed_section", "leaf_section")}
    values["guessed"] = _guessed(table, values["guessed"], GUESSED_OF_A_BRAKE)
    if len(table.file.errors) > before:
        return None
    del values["nose"]
    units: Units = "in" if table.units == "in" else "mm"
    aside = tuple(bar for bar, left in bars if left)
    return Brake(**{**values, **sections}, noses=noses, aside=aside, units=units)


def _guessed(table: Table, named: tuple[str, ...], figures: Mapping[str, str]) -> tuple[str, ...]:
    """Figures that nobody measured: those named as guesses, and those left out that would limit something."""
    for name in named:
        if name not in figures:
            table.complain(f'"{name}" is no figure that can be a guess. {nearest(name, figures)}', "guessed")
    left_out = {key for key, instead in figures.items() if key not in table.data and instead not in table.data}
    return tuple(sorted({*named, *(left_out - NO_LIMIT)}))


def _nose(table: Table) -> tuple[NoseBar, bool] | None:
    """A nose bar, and whether it is set aside."""
    before = len(table.file.errors)
    values = table.read(NOSE_KEYS)
    if len(table.file.errors) > before:
        return None
    points = _section(table, "section", values["section"])
    values["guessed"] = _guessed(table, values["guessed"], GUESSED_OF_A_NOSE)
    if len(table.file.errors) > before:
        return None
    aside = values.pop("aside")
    return NoseBar(**{**values, "section": points}), aside


def _tool(table: Table) -> CuttingTool | None:
    before = len(table.file.errors)
    values = table.read(TOOL_KEYS)
    for key in ("bend_lines", "text"):
        if values["layers"] == "one" and values[key]:
            table.complain('on the one layer it would be cut; write layers = "several", or leave this out', key)
    return CuttingTool(**values) if len(table.file.errors) == before else None


def _sheet(table: Table) -> Sheet | None:
    before = len(table.file.errors)
    if "height" in table.data:
        along, across = (str(table.data.get(key, "…")) for key in ("width", "height"))
        table.complain(
            "a sheet has a length, along the grain, and a width, across it; where width was along the grain, write"
            f' length = "{along}" and width = "{across}"',
            "height",
        )
        return None
    values = table.read(SHEET_KEYS)
    areas = _numbers(table, "bad_areas", values["bad_areas"], 4)
    if len(table.file.errors) > before:
        return None
    with suppress(InputError):  # a job may bring this material: names are then compared as they are written
        values["material"] = material_key(values["material"])
    values["grain"] = (values["grain"] + 90.0) % 180.0 - 90.0
    _check_sheet(table, values, areas)
    if len(table.file.errors) > before:
        return None
    if values["remnant"] and values["copies"] is None:
        values["copies"] = 1
    sizes = {"width": values.pop("length"), "height": values["width"]}
    return Sheet(**{**values, **sizes, "bad_areas": areas})


def _check_sheet(table: Table, values: dict[str, Any], areas: tuple[tuple[float, ...], ...]) -> None:
    """Complain of a grain, a measured thickness, margins or bad areas that a sheet cannot have."""
    length, width = values["length"], values["width"]
    if abs(values["grain"]) > SLANT:
        table.complain(
            "the length of a sheet runs along its grain: write length and width the other way round, and leave out"
            " grain but for a remnant cut on the slant (-45 to 45)",
            "grain",
        )
    check_measured(table, values)
    if 2 * values["margin"] >= min(length, width):
        table.complain("its margins leave nothing of the sheet", "margin")
    for x, y, size_x, size_y in areas:
        if min(size_x, size_y) <= 0.0 or not (x < length and y < width and x + size_x > 0.0 and y + size_y > 0.0):
            table.complain(
                "a bad area is [x, y, length, width] from the sheet's corner: sizes above 0, some of it on the sheet",
                "bad_areas",
            )
            return


def check_measured(table: Table, values: dict[str, Any]) -> None:
    """Complain of a measured thickness that the nominal one cannot have."""
    nominal, measured = values["thickness"], values["measured"]
    if nominal is not None and measured is not None and not measured_of(nominal, measured):
        table.complain(
            said(
                shown(measured), " is more than a tenth off the nominal thickness, ", shown(nominal), "; look at both"
            ),
            "measured",
        )


def _drill(table: Table) -> Drill | None:
    before = len(table.file.errors)
    values = table.read(DRILL_KEYS)
    if len(table.file.errors) > before:
        return None
    try:
        return make_drill(values["fastener"], values["pilot"], values["final"], table.units)
    except InputError as error:
        table.complain(error.message)
        return None


def _section(table: Table, key: str, raw: Any) -> tuple[Point, ...]:
    """A tool's side view: a closed figure of straight sides that does not cross itself."""
    points: tuple[Point, ...] = _numbers(table, key, raw or [], 2)
    if points and (len(points) < 3 or abs(area(polygon(points))) < 1.0 or self_crossings(polygon(points))):
        table.complain("its points do not go once round a figure without crossing; list them in turn", key)
        return ()
    return points


def _numbers(table: Table, key: str, raw: Any, size: int) -> tuple[Any, ...]:
    if not isinstance(raw, list) or not all(isinstance(row, list) and len(row) == size for row in raw):
        table.complain(f"{raw!r} is not a list of {size} lengths each", key)
        return ()
    try:
        return tuple(tuple(parse_length(v, table.units) for v in row) for row in raw)
    except InputError as error:
        table.complain(error.message, key)
        return ()
