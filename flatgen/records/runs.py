"""One run of a job, ready to be logged: from the stages' own results, or from a written results.json. Lengths mm."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.errors import InputError
from flatgen.model.plan import Nest, Offcut, Placement
from flatgen.model.shop import Sheet


@dataclass(frozen=True, slots=True)
class MadePart:
    """One part number of a run."""

    part: str
    title: str
    drawing: str
    revision: str
    material: str
    thickness: float
    pieces: int
    method: str


@dataclass(frozen=True, slots=True)
class LoggedFinding:
    """A finding as it stood when the run was logged."""

    part: str
    rule: str
    severity: str
    place: str
    message: str
    waived: str


@dataclass(frozen=True, slots=True)
class RunRecord:
    """One run of a job, ready to be logged.

    digest : tells runs of equal input apart from others; the stock on hand is part of the input
    work : tells runs that cut the same blanks from others, whatever stock there was; empty: not known
    """

    job: str
    revision: str
    digest: str
    parts: tuple[MadePart, ...]
    findings: tuple[LoggedFinding, ...]
    nests: tuple[Nest, ...]
    remake: bool = False
    note: str = ""
    work: str = ""


def placed_pieces(nests: Iterable[Nest]) -> dict[str, int]:
    """How many pieces of each part the nests hold."""
    counts: dict[str, int] = {}
    for nest in nests:
        for placement in nest.placements:
            counts[placement.part] = counts.get(placement.part, 0) + 1
    return counts


def run_from_results(path: Path | str) -> RunRecord:
    """A run from a written results.json (or the folder it lies in), so that what was cut is what is logged.

    Raises
    ------
    InputError : no such file, or not our results
    """
    path = Path(path)
    path = path / "results.json" if path.is_dir() else path
    data = budget.parsed_json(path, missing="there is no such file; flatgen make writes results.json")
    if not isinstance(data, dict) or not str(data.get("schema", "")).startswith("flatgen-results/"):
        raise InputError('is not the results of flatgen make: "schema" is missing', file=path)
    try:
        return _run_of(data)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(f"lacks something that results of flatgen make hold ({error!r})", file=path) from error


def _run_of(data: Mapping[str, Any]) -> RunRecord:
    nests = tuple(_nest_of(entry) for entry in data["nests"])
    pieces = placed_pieces(nests)
    job = data["job"]
    title = job["title"] if isinstance(job, dict) else str(job)
    made = tuple(
        MadePart(
            part=entry["id"],
            title=entry.get("title", ""),
            drawing=entry.get("drawing", ""),
            revision=entry.get("revision", ""),
            material=entry["material"],
            thickness=float(entry["thickness"]),
            pieces=pieces[entry["id"]],
            method=str(entry.get("method", "")),
        )
        for entry in data["parts"]
        if entry["id"] in pieces
    )
    findings = tuple(
        LoggedFinding(
            entry.get("part", ""),
            entry["rule"],
            entry["severity"],
            entry.get("where", "") or "",
            entry["message"],
            entry.get("waived", "") or "",
        )
        for entry in data["findings"]
    )
    revision = job.get("revision", "") if isinstance(job, dict) else data.get("revision", "")
    digest = str(data.get("input_digest", ""))
    remake = bool(data.get("remake", False))
    return RunRecord(title, str(revision), digest, made, findings, nests, remake, work=_work_of(data["parts"], pieces))


def _work_of(parts: Sequence[Mapping[str, Any]], pieces: Mapping[str, int]) -> str:
    """SHA-256 over the blanks that were cut and how many of each, lengths to a micrometre."""
    cut = []
    for entry in parts:
        if entry["id"] in pieces:
            blank = entry.get("blank") or {}
            rings = [blank.get("outline", []), *blank.get("cutouts", [])]
            shape = [[[round(float(v), 3) + 0.0 for v in vertex] for vertex in ring] for ring in rings]
            which = [str(entry.get(key, "")) for key in ("id", "revision", "material")]
            cut.append([*which, round(float(entry["thickness"]), 3), pieces[entry["id"]], shape])
    return hashlib.sha256(json.dumps(cut).encode()).hexdigest()


def _nest_of(entry: Mapping[str, Any]) -> Nest:
    sheet = entry["sheet"]
    return Nest(
        material=entry["material"],
        thickness=float(entry["thickness"]),
        method=entry["method"],
        tool=entry.get("tool", ""),
        sheet=Sheet(
            id=sheet["id"],
            material=entry["material"],
            thickness=float(entry["thickness"]),
            width=float(sheet["width"]),
            height=float(sheet["height"]),
            grain=float(sheet.get("grain", sheet.get("grain_deg", 0.0)) or 0.0),
            cost=sheet.get("cost"),
            measured=sheet.get("measured"),
            remnant=bool(sheet.get("remnant", False)),
            batch=sheet.get("batch", "") or "",
            bad_areas=tuple((x, y, w, h) for x, y, w, h in sheet.get("bad_areas", ())),
        ),
        placements=tuple(
            Placement(p["part"], int(p["copy"]), p["x"], p["y"], p["rotation"], bool(p.get("mirrored", False)))
            for p in entry["placements"]
        ),
        cuts=(),
        offcuts=tuple(
            Offcut(str(o.get("id", k)), o["x"], o["y"], o["width"], o["height"])
            for k, o in enumerate(entry.get("offcuts", ()), 1)
        ),
        utilisation=float(entry.get("utilisation", 0.0)),
    )
