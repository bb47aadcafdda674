"""The sight line of a bend is the same on every sheet: the commands for one kind of sheet follow the packet's plan."""

import re
import shutil
import subprocess
from collections import Counter
from pathlib import Path

import pytest
from click.testing import CliRunner
from page_texts import texts_of

from flatgen.cli import flatgen

DEMO = Path(__file__).resolve().parent.parent.parent / "examples" / "float-fittings"
needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext reads the pages back")
# parts whose plan clamps another face than the one that the flange stands on, TF-151 only because of its neighbours
PARTS = ("GT-201-L", "SK-301", "TF-131", "TF-151")


def words(path):
    out = subprocess.run(["pdftotext", str(path), "-"], check=True, capture_output=True, text=True).stdout
    return " ".join(out.split())


def made(command, what, out):
    result = CliRunner().invoke(flatgen, [command, str(DEMO / "job.toml"), *what])
    assert 0 == result.exit_code, result.output
    return words(out)


@needs_poppler
@pytest.mark.parametrize("part", PARTS)
def test_blank_command_draws_the_sight_line_of_the_card(part, demo_drawn, tmp_path):
    _, _, drawn = demo_drawn
    (cards,) = [one for one in drawn if one.kind == "card"]
    said = {text.text for page in cards.drawings if page.title.startswith(part) for text in texts_of(page)}
    drawing = made("blank", [part, "--out", str(tmp_path), "--format", "pdf"], tmp_path / f"{part}.pdf")
    found = re.findall(r"([\d.]+) (b\d) sight line, clamp \w+", drawing)
    assert found
    for size, bend in found:
        assert size in said and bend in said


@needs_poppler
def test_template_command_draws_the_sight_lines_of_the_plan(demo, tmp_path):
    out = tmp_path / "templates.pdf"
    text = made("template", ["--out", str(out)], out)
    found = Counter(re.findall(r"sight line for (\w+) clamped", text))
    kinds = {part["id"]: part["kind"] for part in demo.results["parts"]}
    planned = {(op["part"], op["bend"]): op["clamped"] for one in demo.results["setups"] for op in one["operations"]}
    assert found == Counter(face for (part, _), face in planned.items() if kinds[part] == "part")
