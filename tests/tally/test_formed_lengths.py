"""Lengths that are bent and then sawn: no pieces of the job, wanted as their parts need them, used up by sawing."""

import json
import re
from pathlib import Path

import pytest
from small_shop import HEAD, SHOP

from flatgen.jobs.evening import evening

PARTS = """
[[part]]
id = "OX-5"
profile = "angle"
quantity = 9
process = "long"
length = "2 in"
[[part]]
id = "OX-7"
profile = "angle"
quantity = 4
process = "long"
length = "3 in"
[[part.holes]]
face = "leg_a"
drill = "#30"
at = [["1 in", "0.4 in"]]
"""


@pytest.fixture
def long(tmp_path: Path) -> Path:
    """Two parts that are sawn from formed lengths of one section."""
    (tmp_path / "shop.toml").write_text('work = "general"\n' + SHOP)
    (tmp_path / "job.toml").write_text(HEAD + PARTS)
    return tmp_path / "job.toml"


def shown(job: Path, run) -> dict:
    return {one["part"]: one for one in json.loads(run("tally", "show", job, "--json").output)}


def test_formed_lengths_are_no_pieces_of_the_job(long: Path, run) -> None:
    assert "13 wanted   0 good   0 rejected   0 in work   13 to cut" in run("tally", "show", long).output
    lengths = shown(long, run)["L1"]["to_cut"]
    assert 1 <= lengths < 13
    run("tally", "cut", long, "L1", lengths)
    assert "13 wanted   0 good   0 rejected   0 in work   13 to cut" in run("tally", "show", long).output


def test_sawing_uses_lengths_up_and_says_that_they_were_bent(long: Path, run) -> None:
    run("tally", "cut", long, "OX-5", 9)
    run("tally", "cut", long, "OX-7", 4)
    found = shown(long, run)
    one = found["L1"]
    assert one["cut"] == one["good"] == one["wanted"] and 0 == one["to_cut"] == one["in_work"]
    assert {"b1": one["cut"]} == one["done"]
    made = run("make", long, "--out", long.parent / "out", "--quiet")
    results = json.loads((long.parent / "out" / "results.json").read_text())
    assert [] == results["nests"] == results["setups"] and made.exit_code == 0
    shop = ("--why", "slip", "--shop", long.parent / "shop.toml")
    assert "later entries stand on it: L1" in run("tally", "undo", 2, *shop, ok=2).output
    run("tally", "undo", 5, *shop)
    run("tally", "undo", 2, *shop)
    found = shown(long, run)
    assert (9, 4, 0) == (found["OX-5"]["to_cut"], found["OX-7"]["to_cut"], found["L1"]["cut"])


def test_a_rejected_piece_asks_for_another_length_only_where_none_is_left(long: Path, run) -> None:
    lengths = shown(long, run)["L1"]["to_cut"]
    run("tally", "cut", long, "OX-5", 9)
    run("tally", "cut", long, "OX-7", 4)
    run("tally", "reject", long, "OX-7", 2, "--why", "miscut")
    found = shown(long, run)
    assert (2, 1) == (found["OX-7"]["to_cut"], found["L1"]["to_cut"]) and lengths + 1 == found["L1"]["wanted"]
    assert "sawn into OX-5, OX-7" in run("tally", "good", long, "L1", 1, ok=2).output


def test_sawing_and_drilling_are_in_the_evening(long: Path, run) -> None:
    lengths = shown(long, run)["L1"]["to_cut"]
    run("tally", "cut", long, "L1", lengths)
    _, tasks = evening(long, 400.0)
    assert ["bend", "saw", "drill", "measure", "measure"] == [task.kind for task in tasks]
    assert f"saw up {lengths} of L1: OX-5 9, OX-7 4" in tasks[1].text


def test_ticks_of_the_page_are_taken_in_the_order_of_the_work(long: Path, run) -> None:
    """A whole evening in one file: lengths bent, sawn, the pieces drilled and measured."""
    out, saved = long.parent / "out", long.parent / "bench.json"
    run("make", long, "--out", out, "--quiet")
    keys = set(re.findall('type="number"[^>]*data-keep="([^"]+)"', (out / "index.html").read_text()))
    assert keys == {"sawn/OX-5", "sawn/OX-7", "drilled/OX-7", "measured/OX-5", "measured/OX-7", "bent/L1/b1"}
    lengths = shown(long, run)["L1"]["to_cut"]
    many = {"bent/L1/b1": lengths, "sawn/OX-5": 9, "sawn/OX-7": 4, "drilled/OX-7": 3, "measured/OX-5": 8}
    entries = [{"key": key, "value": value} for key, value in reversed(many.items())]
    told = {"job": "job", "digest": "", "saved": "2026-11-25T10:00:00Z", "entries": entries}
    saved.write_text(json.dumps(told))
    assert "0 of 0 cut wait for b1" in run("tally", "take", long, saved).output  # its sheets were not ticked
    found = shown(long, run)
    assert (lengths, 9, 8, 4) == (found["L1"]["cut"], found["OX-5"]["cut"], found["OX-5"]["good"], found["OX-7"]["cut"])
    assert "Entered: 0 entries" in run("tally", "take", long, saved).output
