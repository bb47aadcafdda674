"""The list that flatgen keeps in each folder that it writes into: what it wrote there, and of which content.

JSON: a format line; ``files``, each under its path from the folder (with /) with ``sha256``, ``size`` in bytes and the
command that it is ``by``; ``folders`` that were made for them. No times: equal contents give equal lists.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

from flatgen.errors import InputError

NAME = ".written-by-flatgen.json"
FORMAT = "flatgen-written/1"


@dataclass(frozen=True, slots=True)
class Written:
    """One file as it was written."""

    sha256: str
    size: int
    by: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """Files and folders by their path from the folder."""

    files: Mapping[str, Written] = field(default_factory=dict)
    folders: tuple[str, ...] = ()

    def of(self, by: str) -> set[str]:
        """What one command wrote."""
        return {name for name, written in self.files.items() if written.by == by}

    def as_text(self) -> str:
        """The file."""
        files = {name: {"sha256": w.sha256, "size": w.size, "by": w.by} for name, w in sorted(self.files.items())}
        return json.dumps({"format": FORMAT, "files": files, "folders": sorted(self.folders)}, indent=1) + "\n"


def written(path: Path, by: str) -> Written:
    """The entry of a file that stands there."""
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256")
    return Written(digest.hexdigest(), path.stat().st_size, by)


def exists(folder: Path) -> bool:
    """Whether flatgen keeps a list in a folder."""
    path = folder / NAME
    return path.is_file() and not path.is_symlink()


def read(folder: Path) -> Manifest:
    """The list of a folder, empty where there is none. Raises InputError for one that is damaged."""
    path = folder / NAME
    if not exists(folder):
        return Manifest()
    try:
        data = json.loads(path.read_bytes())
        return of_data(data)
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        message = "this list of what flatgen wrote is damaged; name another folder, or take this one away first"
        raise InputError(message, file=path) from error


def of_data(data: Any) -> Manifest:
    """The list from its JSON; ValueError, TypeError or KeyError for anything else."""
    if data["format"] != FORMAT:
        raise ValueError(data["format"])
    files = {inside(name): Written(str(e["sha256"]), int(e["size"]), str(e["by"])) for name, e in data["files"].items()}
    return Manifest(files, tuple(inside(name) for name in data["folders"]))


def inside(name: str) -> str:
    """A path that stays within its folder; ValueError for any other."""
    path = PurePosixPath(name)
    if not path.parts or path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name or "\0" in name:
        raise ValueError(name)
    return str(path)
