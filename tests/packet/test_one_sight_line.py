"""The sight line of a bend is the same on every sheet: the commands for one kind of sheet follow the packet's plan."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen

DEMO = Path(__file__).resolve().parent.parent.parent / "examples" / "float-fittings"
needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext reads the pages back")
# parts whose plan clamps another face than the one that the flange stands on, TF-151 only because of its neighbours
PARTS = ("GT-201-L", "SK-301", "TF-131", "TF-151")


def words(path):
    out = subprocess.run(["pdftotext", str(path), "-"], check=True, capture_output=True, text=True).stdout
    return " ".join(out.split())


@pytest.fixture
def packet(demo):
    return demo.folder


@needs_poppler
@pytest.mark.parametrize("part", PARTS)
def test_blank_command_draws_the_sight_line_of_the_packet(part, packet, tmp_path):
    result = CliRunner().invoke(
        flatgen, ["blank", str(DEMO / "job.toml"), part, "--out", str(tmp_path), "--format", "pdf"]
    )
    assert 0 == result.exit_code, result.output
    pattern = r"[\d.]+ b\d sight line, clamp \w+"
    in_packet = re.findall(pattern, words(packet / "blanks" / f"{part}.pdf"))
    assert in_packet
    assert in_packet == re.findall(pattern, words(tmp_path / f"{part}.pdf"))


@needs_poppler
def test_template_command_draws_the_sight_lines_of_the_packet(packet, tmp_path):
    out = tmp_path / "templates.pdf"
    result = CliRunner().invoke(flatgen, ["template", str(DEMO / "job.toml"), "--out", str(out)])
    assert 0 == result.exit_code, result.output
    pattern = r"sight line for \w+ clamped"
    in_packet = re.findall(pattern, words(packet / "templates.pdf"))
    assert len(in_packet) > 20
    assert in_packet == re.findall(pattern, words(out))
