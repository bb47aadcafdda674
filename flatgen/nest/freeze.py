"""An accepted nest frozen by content: as long as pieces, stock and tool are the same, a reprint moves nothing.

The file is JSON: a format line, and for each job file that lies beside it and each nesting question (named by the
digest of what went into it) the nests as they were accepted, under a seal: the digest of the entry itself, since metal
is cut by it. Lengths in mm.
"""

import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from flatgen.errors import InputError
from flatgen.model.plan import Cut, Nest, Offcut, Piece, Placement, Unplaced
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest.report import finished
from flatgen.nest.result import NestResult

FORMAT = "flatgen-nest-lock/1"
NAME = "nest.lock"
ANEW = "let it go (flatgen nest JOB --let-go) or delete the file, to nest anew"


def digest(
    pieces: Sequence[Piece],
    sheets: Sequence[Sheet],
    tool: CuttingTool,
    *,
    material: str,
    thickness: float,
    offcut: tuple[float, float] = (150.0, 100.0),
) -> str:
    """Name of a nesting question: SHA-256 over all that it depends on, lengths to a micrometre."""
    stock = [s for s in sheets if s.material == material and abs(s.thickness - thickness) < 1e-6]
    parts: list[Any] = [[asdict(p) for p in pieces], [asdict(s) for s in stock], asdict(tool)]
    parts += [material, thickness, offcut]
    return hashlib.sha256(json.dumps(_rounded(parts), sort_keys=True).encode()).hexdigest()


def save(path: Path, results: Mapping[str, NestResult], job: str = "") -> None:
    """Write accepted results under their digests in the place of the job's old ones; other jobs' entries stay.

    A failure leaves the old file whole.
    """
    jobs = _read(path) if path.exists() else {}
    jobs[job] = {name: _entry(result) for name, result in results.items()}
    _write(path, jobs)


def keeps(path: Path, job: str = "") -> bool:
    """Whether the file holds accepted nests of a job. Raises InputError when it is no lock file."""
    return path.exists() and bool(_read(path).get(job))


def let_go(path: Path, job: str = "") -> bool:
    """Forget a job's nests, and remove the file when no other job has any in it; False when there was nothing.

    A file that cannot be read is removed: nothing can be made of it.
    """
    if not path.exists():
        return False
    try:
        jobs = _read(path)
    except InputError:
        path.unlink()
        return True
    had = jobs.pop(job, None) is not None
    if not jobs:
        path.unlink()
    elif had:
        _write(path, jobs)
    return had


def load(
    path: Path,
    pieces: Sequence[Piece],
    sheets: Sequence[Sheet],
    tool: CuttingTool,
    *,
    material: str,
    thickness: float,
    offcut: tuple[float, float] = (150.0, 100.0),
    job: str = "",
) -> NestResult | None:
    """The accepted nest of this very question, or None when the file holds none for this job.

    Raises
    ------
    InputError : the file is no lock file, or an entry of it is broken
    """
    if not path.exists():
        return None
    name = digest(pieces, sheets, tool, material=material, thickness=thickness, offcut=offcut)
    entry = _read(path).get(job, {}).get(name)
    if entry is None:
        return None
    if not isinstance(entry, dict) or entry.get("seal") != _seal(entry):
        raise InputError(f"an entry has been changed or damaged; {ANEW}", file=path, where=name[:12])
    stock = [s for s in sheets if s.material == material and abs(s.thickness - thickness) < 1e-6]
    by_id = {sheet.id: sheet for sheet in stock}
    try:
        nests = [_nest(nest, by_id, tool) for nest in entry["nests"]]
        unplaced = [Unplaced(**lost) for lost in entry["unplaced"]]
        buy = {str(sheet): int(many) for sheet, many in entry["to_buy"]}
        bound = float(entry["bound"])
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(f"an entry is broken; {ANEW}", file=path, where=name[:12]) from error
    for nest in nests:
        if nest.sheet.copies is None and not nest.sheet.remnant:
            buy[nest.sheet.id] = buy.get(nest.sheet.id, 0) - 1
    rest = {sheet: many for sheet, many in buy.items() if many > 0}
    return finished(nests, unplaced, rest, pieces, stock, tool, bound, "frozen")


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 3) + 0.0
    if isinstance(value, dict):
        return {key: _rounded(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(entry) for entry in value]
    return value


def _read(path: Path) -> dict[str, Any]:
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise InputError(f"this is not a nest lock that can be read ({error}); {ANEW}", file=path) from error
    jobs = content.get("jobs") if isinstance(content, dict) and content.get("format") == FORMAT else None
    if not isinstance(jobs, dict) or not all(isinstance(nests, dict) for nests in jobs.values()):
        raise InputError(f'a nest lock has "format": "{FORMAT}" and "jobs"; {ANEW}', file=path)
    return dict(jobs)


def _write(path: Path, jobs: Mapping[str, Any]) -> None:
    text = json.dumps({"format": FORMAT, "jobs": jobs}, indent=1, sort_keys=True) + "\n"
    beside = path.with_name(f".{path.name}-{os.getpid()}.new")
    try:
        beside.write_text(text, encoding="utf-8")
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _entry(result: NestResult) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "nests": [_nest_entry(nest) for nest in result.nests],
        "unplaced": [asdict(left) for left in result.unplaced],
        "to_buy": list(result.to_buy),
        "bound": result.bound,
    }
    return entry | {"seal": _seal(entry)}


def _seal(entry: Mapping[str, Any]) -> str:
    """SHA-256 over all of an entry but its seal."""
    sealed = {key: value for key, value in entry.items() if key != "seal"}
    return hashlib.sha256(json.dumps(sealed, sort_keys=True).encode()).hexdigest()


def _nest_entry(nest: Nest) -> dict[str, Any]:
    entry = asdict(nest)
    entry["sheet"] = nest.sheet.id
    return entry


def _nest(entry: dict[str, Any], sheets: Mapping[str, Sheet], tool: CuttingTool) -> Nest:
    cuts = tuple(Cut(**{**cut, "start": tuple(cut["start"]), "end": tuple(cut["end"])}) for cut in entry["cuts"])
    sheet = sheets[entry["sheet"]]
    return Nest(
        sheet.material,
        sheet.thickness,
        tool.method,
        tool.name,
        sheet,
        tuple(Placement(**place) for place in entry["placements"]),
        cuts,
        tuple(Offcut(**rest) for rest in entry["offcuts"]),
        float(entry["utilisation"]),
    )
