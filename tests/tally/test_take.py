"""Ticks of the page come into the book by one command, with the cuts of their sheets."""

import json
from pathlib import Path

from flatgen.jobs.loading import load


def test_ticks_are_taken_once(job: Path, run) -> None:
    out, saved = job.parent / "out", job.parent / "bench.json"
    run("make", job, "--out", out, "--quiet")
    results = json.loads((out / "results.json").read_text())
    entries = [
        {"key": f"cut/1/{results['nests'][0]['sheet']['id']}/1", "value": True},
        {"key": "bent/OX-8/b1", "value": 3},
        {"key": "bent/OX-7/b1", "value": 3},
    ]
    told = {"job": "job", "digest": results["input_digest"], "saved": "2026-11-25T10:00:00Z", "entries": entries}
    saved.write_text(json.dumps(told))
    assert "name its packet" in run("tally", "take", job, saved).output
    assert 0 == load(job).counts("OX-8").cut
    said = run("tally", "take", job, saved, "--packet", out, "--by", "anna").output
    assert "Entered: sheet S001 to cut" in said and "OX-8: 3 pieces bent at b1" in said
    assert "left out bent/OX-7/b1: the job has nothing of this name" in said
    counts = load(job).counts("OX-8")
    assert (4, {"b1": 3, "b2": 0}) == (counts.cut, dict(counts.done))
    again = run("tally", "take", job, saved, "--packet", out).output
    assert "Entered: 0 entries" in again and "already" in again


def test_a_sheet_whose_cuts_do_not_fit_is_not_begun(job: Path, run) -> None:
    """A box of a cut that the packet has not, from a file that was changed by hand."""
    out, saved = job.parent / "out", job.parent / "bench.json"
    run("make", job, "--out", out, "--quiet")
    digest = json.loads((out / "results.json").read_text())["input_digest"]
    entries = [{"key": f"cut/1/040/{n}", "value": n < 100} for n in (1, 99, 100)]
    told = {"job": "job", "digest": digest, "saved": "2026-11-25T10:00:00Z", "entries": entries}
    saved.write_text(json.dumps(told))
    assert "left out cuts of sheet 1" in run("tally", "take", job, saved, "--packet", out).output
    assert "begun" not in run("stock", "list", "--all", "--shop", job.parent / "shop.toml").output
