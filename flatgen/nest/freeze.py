"""An accepted nest frozen by content: as long as pieces, stock and tool are the same, a reprint moves nothing.

The file is JSON: a format line, and for each job file that lies beside it and each nesting question (named by the
digest of what went into it) the nests as they were accepted, under a seal: the digest of the entry itself, since metal
is cut by it. Lengths in mm.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.errors import InputError
from flatgen.model.plan import Cut, Nest, Offcut, Placement, Unplaced
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.nest.problem import Problem
from flatgen.nest.report import finished
from flatgen.nest.result import NestResult
from flatgen.output.single import replace_text, take_away

FORMAT = "flatgen-nest-lock/3"
NAME = "nest.lock"
ANEW = "let it go (flatgen nest JOB --let-go) or delete the file, to nest anew"


SHAPE = ("id", "width", "height", "margin", "grain", "bad_areas")  # what a nest on a sheet depends on


def digest(problem: Problem) -> str:
    """Name of a nesting question: SHA-256 over pieces, tool and metal, lengths to a micrometre.

    The stock is no part of it: prices, numbers on hand and other sheets do not move accepted parts. Whether the sheets
    of the nest are still there is seen when it is loaded.
    """
    return _sha([[asdict(p) for p in problem.pieces], asdict(problem.tool), *problem.metal, problem.offcut])


def stock_digest(stock: Sequence[Sheet]) -> str:
    """SHA-256 over the stock of a metal: with other stock, what found no place may find one."""
    return _sha([[*(asdict(s)[key] for key in SHAPE), s.copies, s.remnant] for s in stock])


def save(path: Path, results: Mapping[str, NestResult], job: str = "", stocks: Mapping[str, str] | None = None) -> None:
    """Write accepted results under their digests in the place of the job's old ones; other jobs' entries stay.

    stocks : digests of the stock that each was found on; without, one with pieces left over is not found again
    A failure leaves the old file whole.
    """
    jobs = _read(path) if path.exists() else {}
    jobs[job] = {name: _entry(result, (stocks or {}).get(name, "")) for name, result in results.items()}
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
        take_away(path)
        return True
    had = jobs.pop(job, None) is not None
    if not jobs:
        take_away(path)
    elif had:
        _write(path, jobs)
    return had


def load(path: Path, problem: Problem, job: str = "") -> NestResult | None:
    """The accepted nest of this very question, or None when the file holds none for this job or its sheets are gone.

    Raises
    ------
    InputError : the file is no lock file, or an entry of it is broken
    """
    if not path.exists():
        return None
    name = digest(problem)
    entry = _read(path).get(job, {}).get(name)
    if entry is None:
        return None
    if not isinstance(entry, dict) or entry.get("seal") != _seal(entry):
        raise InputError(f"an entry has been changed or damaged; {ANEW}", file=path, where=name[:12])
    by_id = {sheet.id: sheet for sheet in problem.stock}
    try:
        if not _still_there(entry, by_id, stock_digest(problem.stock)):
            return None
        nests = [_nest(nest, by_id, problem.tool) for nest in entry["nests"]]
        unplaced = [Unplaced(**lost) for lost in entry["unplaced"]]
        buy = {str(sheet): int(many) for sheet, many in entry["to_buy"]}
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(f"an entry is broken; {ANEW}", file=path, where=name[:12]) from error
    return finished(nests, unplaced, buy, problem)


def _still_there(entry: Mapping[str, Any], sheets: Mapping[str, Sheet], stock: str) -> bool:
    """Whether every sheet of an entry is in stock as it was, and as often; with pieces left, all as it was."""
    if entry["unplaced"] and entry["stock"] != stock:
        return False
    for name, many in Counter(nest["sheet"]["id"] for nest in entry["nests"]).items():
        copies = sheets[name].copies if name in sheets else 0
        if copies is not None and many > copies:
            return False
    return all(nest["sheet"] == _shape(sheets[nest["sheet"]["id"]]) for nest in entry["nests"])


def _shape(sheet: Sheet) -> dict[str, Any]:
    """What a nest depends on, as the file has it."""
    whole = asdict(sheet)
    return dict(json.loads(json.dumps({key: _rounded(whole[key]) for key in SHAPE})))


def _sha(value: Any) -> str:
    return hashlib.sha256(json.dumps(_rounded(value), sort_keys=True).encode()).hexdigest()


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
        content = budget.parsed_json(path)
    except InputError as error:
        raise InputError(f"this is not a nest lock that can be read ({error.message}); {ANEW}", file=path) from error
    jobs = content.get("jobs") if isinstance(content, dict) and content.get("format") == FORMAT else None
    if not isinstance(jobs, dict) or not all(isinstance(nests, dict) for nests in jobs.values()):
        raise InputError(f'a nest lock has "format": "{FORMAT}" and "jobs"; {ANEW}', file=path)
    return dict(jobs)


def _write(path: Path, jobs: Mapping[str, Any]) -> None:
    replace_text(path, json.dumps({"format": FORMAT, "jobs": jobs}, indent=1, sort_keys=True) + "\n")


def _entry(result: NestResult, stock: str) -> dict[str, Any]:
    to_buy = Counter(dict(result.to_buy))  # those that the nests take are counted from the stock as it then is
    to_buy.subtract(nest.sheet.id for nest in result.nests if nest.sheet.copies is None and not nest.sheet.remnant)
    entry: dict[str, Any] = {
        "nests": [_nest_entry(nest) for nest in result.nests],
        "unplaced": [asdict(left) for left in result.unplaced],
        "to_buy": [[name, many] for name, many in to_buy.items() if many > 0],
        "stock": stock,
    }
    return entry | {"seal": _seal(entry)}


def _seal(entry: Mapping[str, Any]) -> str:
    """SHA-256 over all of an entry but its seal."""
    sealed = {key: value for key, value in entry.items() if key != "seal"}
    return hashlib.sha256(json.dumps(sealed, sort_keys=True).encode()).hexdigest()


def _nest_entry(nest: Nest) -> dict[str, Any]:
    entry = asdict(nest)
    entry["sheet"] = _shape(nest.sheet)
    return entry


def _nest(entry: dict[str, Any], sheets: Mapping[str, Sheet], tool: CuttingTool) -> Nest:
    cuts = tuple(Cut(**{**cut, "start": tuple(cut["start"]), "end": tuple(cut["end"])}) for cut in entry["cuts"])
    sheet = sheets[entry["sheet"]["id"]]
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
        tuple(entry["first"]),
        float(entry["first_lost"]),
    )
