"""A sheet that was begun keeps its layout; when that holds no more, its rest is stock, and nothing is booked twice."""

import json
from pathlib import Path


def nests(out: Path) -> list[dict]:
    return json.loads((out / "results.json").read_text())["nests"]


def test_what_is_left_of_a_sheet_is_cut_on_by_its_layout(job: Path, run) -> None:
    out, shop = job.parent / "out", ("--shop", job.parent / "shop.toml")
    run("make", job, "--out", out, "--quiet")
    last = max(cut["order"] for cut in nests(out)[0]["cuts"])
    run("tally", "cut", job, "--sheet", 1, "--upto", last // 2, "--packet", out)
    assert "S001: begun" in run("stock", "list", *shop).output
    shown = run("tally", "show", job).output
    left = 11 - sum(part["cut"] for part in json.loads(run("tally", "show", job, "--json").output))
    assert f"Sheet S001: cut to cut {last // 2} of {last}, {left} blanks still on it" in shown
    run("make", job, "--out", out, "--quiet")
    left = nests(out)
    assert {"S001"} == {nest["begun"] for nest in left}
    assert all(cut["order"] > last // 2 for nest in left for cut in nest["cuts"])
    run("stock", "book", out, *shop)
    shown = json.loads(run("tally", "show", job, "--json").output)
    assert [(7, 0), (4, 0)] == [(part["cut"], part["to_cut"]) for part in shown]
    assert "already" in run("stock", "book", out, *shop, ok=1).output


def test_a_layout_that_holds_no_more_leaves_stock(job: Path, run) -> None:
    out = job.parent / "out"
    run("make", job, "--out", out, "--quiet")
    run("tally", "cut", job, "--sheet", 1, "--upto", 2, "--packet", out)
    job.write_text(job.read_text().replace("quantity = 4", 'quantity = 4\nlength = "5 in"'))
    run("make", job, "--out", out, "--quiet")
    laid = nests(out)
    assert all(nest["begun"] == "" and nest["sheet"]["id"].startswith("S001/") for nest in laid)
    run("tally", "cut", job, "--sheet", 1, "--packet", out)
    rests = run("stock", "list", "--all", "--shop", job.parent / "shop.toml").output
    assert "R001" in rests and "S001" in rests


def test_blanks_entered_by_number_and_then_by_sheet_count_once(job: Path, run) -> None:
    out = job.parent / "out"
    run("make", job, "--out", out, "--quiet")
    run("tally", "cut", job, "OX-9", 3)
    run("stock", "book", out, "--shop", job.parent / "shop.toml")
    shown = json.loads(run("tally", "show", job, "OX-9", "--json").output)
    assert 7 == shown[0]["cut"]
