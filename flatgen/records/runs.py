"""One run of a job, ready to be logged: from the stages' own results, or from a written results.json. Lengths mm."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.errors import InputError
from flatgen.model.plan import Cut, Nest, Offcut, Placement
from flatgen.model.shop import Sheet
from flatgen.model.tally import Ordered


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
class Packet:
    """A written packet as cutting reads it: its nests and parts as results.json has them, parts by number."""

    job: str
    digest: str
    nests: tuple[Mapping[str, Any], ...]
    parts: Mapping[str, Mapping[str, Any]]

    @property
    def order(self) -> tuple[Ordered, ...]:
        """What its job orders."""
        return tuple(
            Ordered(
                name,
                one.get("quantity", 0),
                () if one.get("cut_from") else tuple(bend["id"] for bend in one.get("bends", ())),
                bool(one["blank"].get("holes")),
                one.get("hand") or "",
                None,
                tuple(
                    (row["lengths"], tuple((sawn["part"], sawn["pieces"]) for sawn in row["pieces"]))
                    for row in one.get("cut_list", ())
                ),
                one.get("cut_from", ""),
            )
            for name, one in self.parts.items()
            if one.get("kind") == "part" and "blank" in one
        )

    def figures(self, part: str) -> dict[str, Any]:
        """What a blank is cut to; of a test bend with the combination that it proves."""
        one = self.parts[part]
        return dict(one["figures"])


@dataclass(frozen=True, slots=True)
class RunRecord:
    """One run of a job, ready to be logged.

    digest : tells runs of equal input apart from others; the stock on hand is part of the input
    packet : what the nests were read from
    """

    job: str
    revision: str
    digest: str
    parts: tuple[MadePart, ...]
    findings: tuple[LoggedFinding, ...]
    nests: tuple[Nest, ...]
    packet: Packet | None = None
    note: str = ""


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
    nests = tuple(nest_of(entry) for entry in data["nests"])
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
    packet = Packet(title, digest, tuple(data["nests"]), {part["id"]: part for part in data["parts"]})
    return RunRecord(title, str(revision), digest, made, findings, nests, packet)


OF_A_CUT = ("gauge", "stage", "note", "trim", "hold")


def _sheet_of(entry: Mapping[str, Any]) -> Sheet:
    sheet = entry["sheet"]
    return Sheet(
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
        margin=float(sheet.get("margin", 0.0)),
        bad_areas=tuple((x, y, w, h) for x, y, w, h in sheet.get("bad_areas", ())),
    )


def nest_of(entry: Mapping[str, Any]) -> Nest:
    """A nest from its entry in results.json."""
    return Nest(
        material=entry["material"],
        thickness=float(entry["thickness"]),
        method=entry["method"],
        tool=entry.get("tool", ""),
        sheet=_sheet_of(entry),
        placements=tuple(
            Placement(p["part"], int(p["copy"]), p["x"], p["y"], p["rotation"], bool(p.get("mirrored", False)))
            for p in entry["placements"]
        ),
        cuts=tuple(
            Cut(c["order"], tuple(c["from"]), tuple(c["to"]), **{key: c[key] for key in OF_A_CUT})
            for c in entry["cuts"]
        ),
        offcuts=tuple(
            Offcut(str(o.get("id", k)), o["x"], o["y"], o["width"], o["height"])
            for k, o in enumerate(entry.get("offcuts", ()), 1)
        ),
        utilisation=float(entry.get("utilisation", 0.0)),
        first=tuple(entry.get("first", ())),
        first_lost=float(entry.get("first_lost", 0.0)),
        begun=entry.get("begun", ""),
    )
