"""Blanks that were cut to old figures are listed with the difference until somebody says what becomes of each."""

import json
from pathlib import Path


def change(job: Path, old: str, new: str) -> None:
    job.write_text(job.read_text().replace(old, new))


def asked(job: Path, run) -> list[str]:
    return [line for line in run("tally", "show", job).output.splitlines() if line.startswith("decide")]


def test_they_are_findings_with_difference_and_answers(job: Path, run) -> None:
    out = job.parent / "out"
    run("tally", "cut", job, "OX-9", 5)
    run("tally", "good", job, "OX-9", 2)
    change(job, 'id = "OX-9"', 'id = "OX-9"\nleg_a = "0.9 in"')
    run("make", job, "--out", out, "--quiet")
    (found,) = [f for f in json.loads((out / "results.json").read_text())["findings"] if f["rule"] == "old-blanks"]
    assert ("warn", 3.0, "OX-9") == (found["severity"], found["value"], found["part"])
    assert "3 blanks of OX-9 cut to old figures: high 1.644 in, now 1.544 in" in found["message"]
    assert "rework, shear 0.100 in off its height (tally rework OX-9 3)" in found["todo"]
    page = (out / "index.html").read_text()
    assert 2 <= page.count("3 blanks of OX-9 cut to old figures")  # at the findings and in the tally


def test_each_is_used_reworked_or_rejected(job: Path, run) -> None:
    run("tally", "cut", job, "OX-9", 4)
    change(job, 'id = "OX-9"', 'id = "OX-9"\nleg_a = "0.9 in"')
    assert "1 blank of OX-9 reworked: shear" in run("tally", "rework", job, "OX-9", 1).output
    run("tally", "use", job, "OX-9", 1, "--note", "designer says so")
    run("tally", "good", job, "OX-9", 2)  # those that were decided on are finished first
    assert "2 blanks of OX-9 cut to old figures" in asked(job, run)[0]
    run("tally", "reject", job, "OX-9", 2, "--old", "--why", "too long")
    assert [] == asked(job, run)
    assert "0 blanks of it wait" in run("tally", "reject", job, "OX-9", 1, "--old", "--why", "x", ok=2).output
    assert 5 == json.loads(run("tally", "show", job, "OX-9", "--json").output)[0]["to_cut"]


def test_new_blanks_that_are_finished_do_not_hide_old_ones(job: Path, run) -> None:
    run("tally", "cut", job, "OX-9", 4)
    run("tally", "good", job, "OX-9", 1)
    change(job, 'id = "OX-9"', 'id = "OX-9"\nleg_a = "0.9 in"')
    run("tally", "cut", job, "OX-9", 5)
    run("tally", "good", job, "OX-9", 4)
    assert "3 blanks of OX-9 cut to old figures" in asked(job, run)[0]
    change(job, '"0.9 in"', '"0.8 in"')  # what was let pass for one figure is asked for again at the next
    run("tally", "use", job, "OX-9", 1)
    assert ["2 blanks", "1 blank"] == [line.split("decide  ")[1].split(" of ")[0] for line in asked(job, run)]
