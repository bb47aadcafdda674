"""The tally at the bench: entered one way, seen by make, taken back with a reason."""

import json
from pathlib import Path

from flatgen.jobs.loading import load


def left(job: Path, part: str) -> dict[str, int]:
    return load(job).counts(part).as_dict()


def test_each_kind_of_entry_is_seen_by_make(job: Path, run) -> None:
    run("tally", "cut", job, "OX-8", 4)
    run("tally", "bent", job, "OX-8", "b1", 3)
    said = run("tally", "reject", job, "OX-8", 1, "--why", "cracked", "--at", "b1").output
    assert "4 wanted, 4 cut, b1 3, b2 0, 0 good, 1 rejected; 1 to cut" in said
    run("tally", "good", job, "OX-8", 2)
    run("tally", "cut", job, "OX-9", 7)
    run("tally", "good", job, "OX-9", 7)
    run("make", job, "--out", job.parent / "out", "--quiet")
    results = json.loads((job.parent / "out" / "results.json").read_text())
    counts = {part["id"]: part["counts"] for part in results["parts"]}
    assert counts["OX-8"] == {
        "wanted": 4, "spares": 0, "cut": 4, "in_work": 1, "good": 2, "rejected": 1, "to_cut": 1
    }  # fmt: skip
    assert 0 == counts["OX-9"]["to_cut"]
    ops = {(op["part"], op["bend"]): op["pieces"] for setup in results["setups"] for op in setup["operations"]}
    assert {("OX-8", "b1"): 2, ("OX-8", "b2"): 2} == ops
    assert {"OX-8": 1} == {p["part"]: 1 for nest in results["nests"] for p in nest["placements"]}


def test_the_whole_and_parts_by_name_can_be_planned_too(job: Path, run) -> None:
    run("tally", "cut", job, "OX-9", 7)
    run("make", job, "OX-8", "--out", job.parent / "one", "--quiet")
    run("make", job, "--all", "--out", job.parent / "whole", "--quiet")
    named = json.loads((job.parent / "one" / "results.json").read_text())
    whole = json.loads((job.parent / "whole" / "results.json").read_text())
    assert ["OX-8"] == [part["id"] for part in named["parts"]]
    assert [7, 4] == [part["pieces"] for part in whole["parts"]]


def test_measured_pieces_are_in_the_same_account(job: Path, run) -> None:
    run("tally", "cut", job, "OX-9", 3)
    run("inspect", "record", job, "--part", "OX-9", "--piece", 1, "--value", "1=1.00", "--why", "scratched")
    assert (3, 0, 1, 5) == tuple(left(job, "OX-9")[key] for key in ("cut", "good", "rejected", "to_cut"))
    assert "0 of 3 cut wait" not in run("tally", "bent", job, "OX-9", "b1", 2).output
    assert "0 of 3 cut wait for b1" in run("tally", "bent", job, "OX-9", "b1", 1, ok=2).output


def test_an_entry_is_taken_back_with_what_came_with_it(job: Path, run) -> None:
    run("tally", "cut", job, "OX-8", 2)
    said = run("tally", "good", job, "OX-8", 2).output
    entry = said.split("Entered: ")[1].split(",")[0]
    shop = ("--shop", job.parent / "shop.toml")
    assert "later entries stand on it" in run("tally", "undo", 2, "--why", "slip", *shop, ok=2).output
    run("tally", "undo", entry, "--why", "was OX-9", *shop)
    shown = json.loads(run("tally", "show", job, "OX-8", "--json").output)
    assert (2, 0, {"b1": 0, "b2": 0}) == (shown[0]["cut"], shown[0]["good"], shown[0]["done"])
    assert "no entry" in run("tally", "undo", entry, "--why", "again", *shop, ok=1).output
    assert "taken back (was OX-9)" in run("stock", "log", job).output


def test_entries_by_csv_are_all_or_none(job: Path, run) -> None:
    rows = "what,part,pieces,place,why\ncut,OX-9,5,,\nbent,OX-9,5,b1,\nrejected,OX-9,1,,lost\n"
    (job.parent / "in.csv").write_text(rows)
    run("tally", "enter", job, "--csv", job.parent / "in.csv", "--by", "R")
    assert (5, 1) == (left(job, "OX-9")["cut"], left(job, "OX-9")["rejected"])
    (job.parent / "in.csv").write_text("what,part,pieces\ncut,OX-8,1\nbent,OX-8,9\n")
    assert "entry 2" in run("tally", "enter", job, "--csv", job.parent / "in.csv", ok=2).output
    assert 0 == left(job, "OX-8")["cut"]


def test_entries_by_questions(job: Path, run) -> None:
    typed = "cut\nOX-9\n4\nbent\nOX-9\n3\nbent\nOX-7\nrejected\nOX-9\n1\ncracked\nb1\nstop\n"
    shown = run("tally", "enter", job, "--ask", typed=typed).output
    assert 'no part "OX-7"' in shown
    assert "b1 3, 0 good, 1 rejected" in shown


def test_counting_does_not_wait_for_the_parts_to_be_built(job: Path, run, monkeypatch) -> None:
    """As long as no file of the job has changed; then it is read anew."""
    run("tally", "cut", job, "OX-9", 4)
    monkeypatch.setattr("flatgen.jobs.loading.load", lambda *_, **__: 1 / 0)
    assert "OX-9       7" in run("tally", "show", job).output
    monkeypatch.undo()
    job.write_text(job.read_text().replace("quantity = 7", "quantity = 9"))
    shown = run("tally", "show", job).output
    assert "changed OX-9: raised from 7 to 9 wanted" in shown and "OX-9       9" in shown


def test_what_changed_in_the_order_is_told(job: Path, run) -> None:
    """OX-8 goes after three were cut and one of them rejected, OX-9 is lowered, OX-7 comes in both hands."""
    run("tally", "cut", job, "OX-8", 3)
    run("tally", "reject", job, "OX-8", 1, "--why", "dent")
    both = '[[part]]\nid = "OX-7"\nprofile = "angle"\nquantity = 2\nhand = "pair"\n'
    text = job.read_text()
    job.write_text(text[: text.index('[[part]]\nid = "OX-8"')].replace("quantity = 7", "quantity = 5") + both)
    told = [line for line in run("tally", "show", job).output.splitlines() if line.startswith("changed")]
    assert [
        "changed OX-9: lowered from 7 to 5 wanted",
        "changed OX-7-L: new in the job, left hand, 2 wanted",
        "changed OX-7-R: new in the job, right hand, 2 wanted",
        "changed OX-8: no longer in the job; 2 pieces of it are there",
    ] == told
