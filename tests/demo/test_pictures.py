"""The README's pictures show what the code makes now; if not: ``python examples/pictures.py``, and look at them."""

import importlib.util
import json
import re
from pathlib import Path

from flatgen.drawings import enclosures
from flatgen.jobs.loading import load
from flatgen.jobs.make import compute


def test_pictures_are_of_the_code_as_it_is(root: Path) -> None:
    spec = importlib.util.spec_from_file_location("pictures", root / "examples" / "pictures.py")
    assert spec and spec.loader
    pictures = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(pictures)
    results = compute(load(pictures.JOB))
    kept = json.loads((root / "out" / "pictures" / "sources.json").read_text(encoding="utf-8"))
    assert kept == pictures.sources(results, enclosures(results)), "python examples/pictures.py makes them anew"


def test_every_picture_of_the_readme_is_there(root: Path) -> None:
    shown = re.findall(r"!\[[^]]*\]\(([^)]+)\)", (root / "README.md").read_text(encoding="utf-8"))
    assert shown and [] == [name for name in shown if not (root / name).is_file()]
