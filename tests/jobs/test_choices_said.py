"""Choices laid before the user as a table or as JSON: ways to make a family of parts, bars for a nose."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from small_shop import HEAD, SHOP

from flatgen.cli import flatgen

PARTS = '[[part]]\nid = "OX-9"\nprofile = "angle"\nquantity = 7\nlength = 1.2\n'
PARTS += '[[part]]\nid = "OX-8"\nprofile = "channel"\nquantity = 4\n'


@pytest.fixture
def job(tmp_path: Path) -> str:
    (tmp_path / "shop.toml").write_text('work = "general"\n' + SHOP)
    (tmp_path / "job.toml").write_text(HEAD + PARTS)
    return str(tmp_path / "job.toml")


def said(*words: str) -> str:
    result = CliRunner().invoke(flatgen, words)
    assert result.exit_code == 0, result.output
    return result.output


def test_ways_count_the_clampings(job: str) -> None:
    """Seven angles are seven clampings one by one, one side by side; four channels of two bends are eight, or two."""
    rows, part = {}, ""
    for line in said("setup", job, "--ways", "--units", "in").splitlines()[2:-1]:
        part = line[:7].strip() or part
        rows[part, line[7:27].strip().split(",")[0]] = line
    counts = {key: int(line[39:49]) for key, line in rows.items()}
    assert {("OX-9", "one by one (as now)"): 7, ("OX-9", "side by side"): 1, ("OX-9", "long"): 1} == {
        key: n for key, n in counts.items() if key[0] == "OX-9"
    }
    assert [8, 2] == [counts["OX-8", "one by one (as now)"], counts["OX-8", "side by side"]]
    assert ["OX-9"] == [part for (part, way), line in rows.items() if "proposed" in line and "side by side" in way]


def test_nose_choices_as_json(job: str) -> None:
    """Three bends of one radius (1 + 2) and no coupon yet: all to be proved, and each table asks for three."""
    now = json.loads(said("nose", "plan", job, "--json"))["now"]
    assert [("nose 1/8", "on hand", 3.175, 0.0)] == [tuple(bar.values()) for bar in now["bars"]]
    assert {"proved": 0, "to_prove": 3, "below_every_table": 0} == now["bends"]
    assert {3} == {table["of"] for table in now["tables"].values()} and 1 == now["bars_used"]
    assert all(minutes >= 0.0 for minutes in now["minutes"].values())
