"""The files of a packet: their names, and that a second run makes the same."""

import os
import subprocess
import sys
from pathlib import Path

from flatgen.drawings import file_name
from flatgen.output.manifest import read


def test_file_names_are_safe() -> None:
    """No path separators, no hidden names, and two part numbers never share a file."""
    names = [file_name(name) for name in ("TF-101", "a/b", "a_b", "..", "/../x", "")]
    assert names[0] == "TF-101" and len(set(names)) == len(names)
    assert all(name and "/" not in name and not name.startswith(".") for name in names)


def test_every_file_is_the_same_to_the_last_byte_however_sets_are_ordered(root: Path, tmp_path: Path) -> None:
    """Text is hashed another way in every process, and with it sets come in another order."""
    job, lists = root / "examples" / "handbook-channel" / "job.toml", []
    for seed in ("0", "4"):
        words = [sys.executable, "-m", "flatgen", "make", str(job), "--out", str(tmp_path / seed), "--quiet"]
        subprocess.run(words, check=True, cwd=root, env={**os.environ, "PYTHONHASHSEED": seed, "FLATGEN_KEPT": "no"})
        lists.append(read(tmp_path / seed).files)
    assert lists[0] == lists[1] and {".dxf", ".svg", ".pdf", ".html", ".json", ".csv"} <= {
        Path(name).suffix for name in lists[0]
    }
