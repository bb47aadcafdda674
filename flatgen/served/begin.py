"""The beginning, question by question: each answer is in the files at once, and what nobody measured stays a guess.

The first answer, the unit, writes shop.toml and job.toml with the usual answers, each marked as a guess; every further
page changes those. So nothing is lost by going away, and nothing by a wrong answer.
"""

from collections.abc import Callable
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from flatgen.core.words import Units
from flatgen.draw.survey import station_picture
from flatgen.errors import InputError
from flatgen.model.survey import STATIONS
from flatgen.served.fields import Field, field, rows
from flatgen.served.files import Conflict, Desk, Document, Drop, Set
from flatgen.served.job import listed
from flatgen.served.shell import conflict_page, desk_of, page, sent
from flatgen.write.edits import GUESS, Edit

STEPS = (
    ("units", "Unit"),
    ("work", "Job"),
    ("brake", "Brake"),
    ("bars", "Nose bars"),
    ("cut", "Cutting"),
    ("sheets", "Sheets"),
    ("metal", "Parts’ metal"),
    ("printer", "Printer"),
)
BARS = ("name", "radius", "length", "shoes", "aside")
SHEETS = ("id", "material", "thickness", "measured", "length", "width", "margin", "copies", "cost")
CUTTING = {
    "shear": ("Shear", "Straight cuts from edge to edge; blanks lie in strips."),
    "router": ("Router or plasma", "True shapes along outlines, by a machine that reads files."),
    "snips": ("Snips and files", "True shapes by hand, over a template of paper."),
}


def _begin(request: Request) -> Response:
    step = request.path_params.get("step", "units")
    desk = desk_of(request)
    if step not in PAGES:
        raise InputError("there is no such question")
    if not desk.text(desk.job_name).revision and step != "units":
        return RedirectResponse("/begin", 303)
    names = [name for name, _ in STEPS]
    at = names.index(step)
    return page(
        request,
        f"begin_{step}.html",
        steps=STEPS,
        step=step,
        number=at + 1,
        after=f"/begin/{names[at + 1]}" if at + 1 < len(names) else "",
        before=f"/begin/{names[at - 1]}" if at else "",
        listed=listed(),
        **PAGES[step](desk),
    )


def shop_file(desk: Desk) -> Document:
    """The shop's file; InputError where it lies outside the job's folder."""
    return desk.text(desk.shop_name)


def _units(desk: Desk) -> dict[str, Any]:
    return {"now": desk.text(desk.job_name).tree.get("units", "")}


def _work(desk: Desk) -> dict[str, Any]:
    file = desk.text(desk.job_name)
    work = file.tree.get("work") or shop_file(desk).tree.get("work", "")
    return {"file": file, "fields_": [field(desk, file, (key,)) for key in ("title", "drawing", "owner")], "work": work}


def _brake(desk: Desk) -> dict[str, Any]:
    file = shop_file(desk)
    units: Units = "in" if file.tree.get("units", "in") == "in" else "mm"
    return {
        "file": file,
        "name": field(desk, file, ("brake", 0, "name"), "What is it called?"),
        "back_stop": field(desk, file, ("brake", 0, "back_stop"), "Has it a back stop?"),
        "stations": [
            (station, station_picture(station, units), _measures(desk, file, station))
            for station in STATIONS
            if station.measures[0].owner == "brake"
        ],
    }


def _measures(desk: Desk, file: Document, station: Any) -> list[tuple[str, str, Field]]:
    """Fields of a station's figures, each with its letter and how it is measured."""
    found = []
    for letter, one in zip("ABCD", station.measures, strict=False):
        place = ("brake", 0, one.key) if one.owner == "brake" else ("brake", 0, "nose", 0, one.key)
        found.append((letter, one.how, field(desk, file, place, f"{letter}: {one.ask}")))
    return found


def _bars(desk: Desk) -> dict[str, Any]:
    file = shop_file(desk)
    units: Units = "in" if file.tree.get("units", "in") == "in" else "mm"
    station = next(one for one in STATIONS if one.picture == "nose")
    return {
        "file": file,
        "rows": rows(desk, file, ("brake", 0, "nose"), BARS),
        "heads": ("Name", "Radius", "Length", "Shoes", "Set aside"),
        "picture": station_picture(station, units),
        "measures": _measures(desk, file, station)[1:],
    }


def _cut(desk: Desk) -> dict[str, Any]:
    file = shop_file(desk)
    tool: dict[str, Any] = next(iter(file.tree.get("tool", [])), {})
    sheared = tool.get("method") == "shear"
    keys = ("longest_cut", "smallest_strip", "kerf") if sheared else ("bit_diameter", "gap", "kerf")
    return {
        "file": file,
        "choices": CUTTING,
        "now": tool.get("name", ""),
        "guess": f'method = "{tool.get("method")}" {GUESS}' in file.text,
        "fields_": [field(desk, file, ("tool", 0, key)) for key in ("name", *keys, "units")],
    }


def _sheets(desk: Desk) -> dict[str, Any]:
    file = shop_file(desk)
    heads = ("Name", "Material", "Thickness", "By micrometer", "Length, along the grain", "Width", "Edge kept free",
             "On hand", "Price")  # fmt: skip
    return {"file": file, "rows": rows(desk, file, ("sheet",), SHEETS, {"material": "materials"}), "heads": heads}


def _metal(desk: Desk) -> dict[str, Any]:
    file = desk.text(desk.job_name)
    return {"file": file, "fields_": [_of_metal(desk, file, key) for key in ("material", "thickness", "radius")]}


def _of_metal(desk: Desk, file: Document, key: str) -> Field:
    return field(desk, file, (key,), listed="materials" if key == "material" else "")


def _printer(desk: Desk) -> dict[str, Any]:
    file = shop_file(desk)
    names = ("paper", "measured_x", "measured_y")
    return {"file": file, "fields_": [field(desk, file, ("printer", name)) for name in names]}


PAGES: dict[str, Callable[[Desk], dict[str, Any]]] = {
    "units": _units,
    "work": _work,
    "brake": _brake,
    "bars": _bars,
    "cut": _cut,
    "sheets": _sheets,
    "metal": _metal,
    "printer": _printer,
}


def _chosen(request: Request) -> Response:
    """A choice that is more than one key: the unit of everything, what is made, how blanks are cut."""
    desk, told = desk_of(request), sent(request)
    if (units := told.get("units")) in ("in", "mm"):
        found = _begun(desk, "in" if units == "in" else "mm")
    elif (work := told.get("work")) in ("aircraft", "general"):
        file = desk.text(desk.job_name)
        found = desk.change(file.name, file.revision, [Set(("work",), work)])
    elif (cutting := told.get("cut", "")) in CUTTING:
        found = _tool(desk, cutting)
    else:
        raise InputError("this is none of the answers")
    if isinstance(found, Conflict):
        return conflict_page(request, found)
    after = told.get("next", "")
    return RedirectResponse(after if after.startswith("/begin/") else "/begin", 303)


def _begun(desk: Desk, units: Units) -> Document | Conflict:
    """Both files written, or their unit changed: sizes that are written with their unit stay what they are."""
    from flatgen.jobs.starter import begun_texts
    from flatgen.output.single import new_files

    file = desk.text(desk.job_name)
    if not file.revision:
        texts = begun_texts(units, desk.folder / "shop.toml")
        paths = {desk.folder / (desk.job_name if name == "job.toml" else name): text for name, text in texts.items()}
        new_files(paths)
        return desk.text(desk.job_name)
    return desk.change(file.name, file.revision, [Set(("units",), units)])


def _tool(desk: Desk, cutting: str) -> Document | Conflict:
    from flatgen.jobs.starter import tool_of

    file = shop_file(desk)
    old: dict[str, Any] = next(iter(file.tree.get("tool", [])), {})
    new = tool_of(cutting, "in" if file.tree.get("units", "in") == "in" else "mm")
    edits: list[Edit] = [Drop(("tool", 0, key)) for key in old if key not in new]
    edits += [Set(("tool", 0, key), value) for key, value in new.items()]
    return desk.change(file.name, file.revision, edits)


ROUTES = [
    Route("/begin", _begin),
    Route("/begin/{step}", _begin),
    Route("/choose", _chosen, methods=["POST"]),
]
