"""An accepted nest frozen by content: as long as pieces, stock and tool are the same, a reprint moves nothing.

The file is JSON: a format line, and for each nesting question (named by the digest of what went into it) its nests as
they were accepted. Lengths in mm.
"""

import hashlib
import json
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


def save(path: Path, results: Mapping[str, NestResult]) -> None:
    """Write accepted results under their digests, beside those already there; a failure leaves the old file whole."""
    nests = _read(path) if path.exists() else {}
    for name, result in results.items():
        nests[name] = {
            "nests": [_nest_entry(nest) for nest in result.nests],
            "unplaced": [asdict(entry) for entry in result.unplaced],
            "to_buy": list(result.to_buy),
            "bound": result.bound,
        }
    text = json.dumps({"format": FORMAT, "nests": nests}, indent=1, sort_keys=True) + "\n"
    beside = path.with_name(path.name + ".new")
    beside.write_text(text, encoding="utf-8")
    beside.replace(path)


def load(
    path: Path,
    pieces: Sequence[Piece],
    sheets: Sequence[Sheet],
    tool: CuttingTool,
    *,
    material: str,
    thickness: float,
    offcut: tuple[float, float] = (150.0, 100.0),
) -> NestResult | None:
    """The accepted nest of this very question, or None when the file holds none.

    Raises
    ------
    InputError : the file is no lock file, or an entry of it is broken
    """
    if not path.exists():
        return None
    name = digest(pieces, sheets, tool, material=material, thickness=thickness, offcut=offcut)
    entry = _read(path).get(name)
    if entry is None:
        return None
    stock = [s for s in sheets if s.material == material and abs(s.thickness - thickness) < 1e-6]
    by_id = {sheet.id: sheet for sheet in stock}
    try:
        nests = [_nest(nest, by_id, tool) for nest in entry["nests"]]
        unplaced = [Unplaced(**lost) for lost in entry["unplaced"]]
        buy = {str(sheet): int(many) for sheet, many in entry["to_buy"]}
        bound = float(entry["bound"])
    except (KeyError, TypeError, ValueError) as error:
        raise InputError("an entry is broken; delete the file to nest anew", file=path, where=name[:12]) from error
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
    except (OSError, UnicodeDecodeError, json.JSONDecodeError) as error:
        raise InputError(f"this is not a nest lock that can be read ({error})", file=path) from error
    if not isinstance(content, dict) or content.get("format") != FORMAT or not isinstance(content.get("nests"), dict):
        raise InputError(f'a nest lock begins with "format": "{FORMAT}"; delete the file to nest anew', file=path)
    return dict(content["nests"])


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
