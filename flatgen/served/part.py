"""A part's page: its profile by picture, its sizes in fields, beside them at once what comes of it and is wrong."""

import threading
from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flatgen import budget
from flatgen.errors import FlatgenError
from flatgen.jobs.cures import cures
from flatgen.jobs.trial import Look, Trials
from flatgen.read.lettered import lettered
from flatgen.served.fields import edits_of
from flatgen.served.part_at import Place, faces_of, found_lines, look_at, place, shown_part, told_fields, tried
from flatgen.served.part_fields import (
    every_fields,
    others,
    patterns,
    sentences,
    size_fields,
)
from flatgen.served.part_pictures import pictures, refused_figure, shown_lines
from flatgen.served.shell import page
from flatgen.write import csv_edits
from flatgen.write.packet_html import join

NOTHING: Mapping[str, str] = {}
BRAKING = threading.Lock()  # one part is bent at a time, of those that wait the newest
CURING = threading.Lock()  # and one part's cures are looked for, which nobody who types waits for


def _part(request: Request) -> Response:
    """The whole page of one part."""
    return whole(request, place(request))


def whole(request: Request, at: Place, given: Mapping[str, str] = NOTHING, not_added: str = "") -> Response:
    """The page; of holes that could not be added what was typed, and why."""
    parts = [str(part.get("id", part.get("sizes", k + 1))) for k, part in enumerate(at.file.tree["part"])]
    shown = shown_part(at)
    look = shown["look"]
    own = at.profile.file.path.parent == at.desk.folder / "profiles"
    return page(
        request,
        "part.html",
        422 if not_added else 200,
        given=given,
        not_added=not_added,
        at=at,
        row=at.row,
        parts=parts,
        file=at.file,
        own=at.profile.name if own else "",
        every=every_fields(at.desk, at.file, at.row),
        **_size_fields(at, look),
        holes=list(patterns(at.desk, at.file, at.row)),
        others=list(others(at.data)),
        faces=faces_of(look) if look else {},
        metals=_metals(),
        **shown,
    )


def _size_fields(at: Place, look: Look | None) -> dict[str, Any]:
    """The sizes that are the part's own, and those of its row in a table of sizes."""
    found = lettered(at.profile, look.part) if look else ()
    own = list(size_fields(at.desk, at.file, at.row, at.profile, found, at.units))
    table = at.sizes
    rows = list(table.tree) if table else []
    chosen = at.chosen if at.chosen in rows else next(iter(rows), "")
    cells = list(size_fields(at.desk, table, chosen, at.profile, found, at.units)) if table and chosen else []
    told = {one.field.label for one in cells}
    sizes = [one for one in own if one.field.label not in told]
    return {"sizes": sizes, "table": table, "rows": rows, "chosen": chosen, "cells": cells}


def _metals() -> list[str]:
    from flatgen.tables.load import materials

    return list(materials())


def _try(request: Request) -> Response:
    """What comes of the form as it stands, nothing written: pictures, findings, and what is wrong by its field."""
    at, pairs = place(request), told_fields(request)
    request.app.state.typed = getattr(request.app.state, "typed", 0) + 1
    names = [name for name, _ in pairs if name.startswith("[")]
    table = at.sizes if dict(pairs).get("file") != at.file.name else None
    file = table or at.file
    edits = [edit for edit, _ in edits_of(file, pairs)]
    try:
        at.desk.stay_inside(file.name, edits)
        if table is None:
            return JSONResponse(tried(at, edits))
        with budget.instead({at.desk.path(table.name): csv_edits.applied(table.text, edits)}):
            return JSONResponse(tried(at, []))
    except FlatgenError as error:
        return JSONResponse({"sentences": sentences(error, at.row, names)})


def _brake(request: Request) -> Response:
    """The brake's answer on the part as the file has it, and the flat with what it finds."""
    at, state = place(request), request.app.state
    own = state.braking = getattr(state, "braking", 0) + 1
    look = look_at(at, (), at.chosen)
    with BRAKING:
        if state.braking != own:
            return Response(status_code=204)
        plan, findings = at.trials.braked(look)
    first, rest = shown_lines(findings, look.job.units)
    used = [setup for setup in plan.setups if any(op.part == look.part.id for op in setup.operations)]
    steps = [f"{op.bend} over {setup.nose}" for setup in used for op in setup.operations]
    brake = f"On the brake: {', then '.join(steps)}." if steps else ""
    if look.made.stopped:
        brake = "The brake is asked when nothing else stops the part."
    drawn = pictures(look, at.profile, findings)
    flat = join(drawn["flat"], [refused_figure(one, look.job.units) for one in plan.refused])
    return JSONResponse({"flat": flat, "found": found_lines(at, first, rest, {}), "brake": brake})


def _cures(request: Request) -> Response:
    """The cures of what is wrong with the part as the file has it; nothing where somebody typed meanwhile."""
    at, state = place(request), request.app.state
    asked = state.typed = getattr(state, "typed", 0)
    with CURING:
        trials = Trials(at.trials.path, at.trials.earlier)
        look = trials.look(at.row, (), at.chosen)
        _, findings = at.trials.braked(look)
        first, rest = shown_lines(findings, look.job.units)
        causes = [line.same[0] for line in first]
        offered = cures(trials, at.row, look, causes, at.profile, lambda: state.typed != asked)
        found = dict(zip(causes, offered, strict=True))
    if state.typed != asked:
        return Response(status_code=204)
    return JSONResponse({"found": found_lines(at, first, rest, found)})


def _formed(request: Request) -> Response:
    """The packet's own script that turns a formed part, its names its own as there."""
    from flatgen.write.page import FILES

    text = (FILES / "formed.js").read_text(encoding="utf-8")
    return Response(f"(function () {{\n{text}}})();\n", media_type="text/javascript")


ROUTES = [
    Route("/part/formed.js", _formed),
    Route("/part/{row:int}", _part),
    Route("/part/{row:int}/try", _try, methods=["POST"]),
    Route("/part/{row:int}/brake", _brake, methods=["POST"]),
    Route("/part/{row:int}/cures", _cures, methods=["POST"]),
]
