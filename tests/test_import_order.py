"""Imports point one way, and the command line starts light."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from flatgen.cli import COMMANDS

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "flatgen"
LEVELS = (
    {"said"},
    {"errors", "track"},
    {"budget"},
    {"registry", "output"},
    {"core"},
    {"model"},
    {"tally"},
    {"units"},
    {"tables"},
    {"develop"},
    {"page"},
    {"read", "checks", "brake", "nest", "draw", "write", "records"},
    {"drawings", "rules_reference", "library"},
    {"jobs"},
    {"served"},
    {"cli"},
)
RANK = {name: k for k, level in enumerate(LEVELS) for name in level}
# what may be used beside the order: units only as text at the boundary
UNITS_USERS = {"read", "library", "tables", "draw", "write", "cli", "records", "jobs", "served"}


def room(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else ""


def imports() -> list[tuple[str, str, str]]:
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("flatgen"):
                found.append((name, room(name), room(node.module)))
            elif isinstance(node, ast.Import):
                found += [(name, room(name), room(a.name)) for a in node.names if a.name.startswith("flatgen.")]
    return found


def test_imports_point_down() -> None:
    """A stage uses what lies below it, never a neighbour: stages meet in the model."""
    wrong = [
        (name, other)
        for name, own, other in imports()
        if own in RANK and other in RANK and other != own and RANK[other] >= RANK[own]
    ]
    assert [] == wrong


def test_units_stay_at_the_boundary() -> None:
    assert {own for _, own, other in imports() if other == "units"} <= UNITS_USERS


HEAVY = (
    "pint",
    "shapely",
    "ezdxf",
    "numpy",
    "fpdf",
    "svgwrite",
    "highspy",
    "spyrrow",
    "rich",
    "tomlkit",
    "starlette",
    "uvicorn",
    "jinja2",
)


@pytest.mark.parametrize("arguments", [["--help"], *([name, "--help"] for name in COMMANDS)])
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    code = (
        "import sys; from flatgen.cli import flatgen\n"
        f"try: flatgen({arguments!r}, prog_name='flatgen')\n"
        "except SystemExit: pass\n"
        "print('LOADED', *sorted(m for m in sys.modules if '.' not in m))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT).stdout
    loaded = set(out.rsplit("LOADED", 1)[1].split())
    assert set() == loaded & set(HEAVY)
