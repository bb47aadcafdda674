"""Labels for bags, photographs by their digest, and blanks of an older revision that are asked for."""

import hashlib
from pathlib import Path


def test_a_label_a_bag(job: Path, run) -> None:
    out = job.parent / "labels.pdf"
    assert "nothing to label" in run("tally", "labels", job, "--out", out, ok=2).output
    run("tally", "cut", job, "OX-8", 4)
    run("tally", "good", job, "OX-8", 3)
    assert "1 label" in run("tally", "labels", job, "--out", out).output
    assert out.read_bytes().startswith(b"%PDF")


def test_a_photograph_is_kept_once_by_its_digest(job: Path, run) -> None:
    data = b"\xff\xd8\xff\xe0 a crack"
    (job.parent / "crack.JPG").write_bytes(data)
    (job.parent / "notes.txt").write_text("no picture")
    run("tally", "cut", job, "OX-8", 1)
    for _ in range(2):
        run("tally", "photo", job, "OX-8", job.parent / "crack.JPG", "--of", "piece 1", "--by", "R")
    kept = list((job.parent / "shop-book-photographs").iterdir())
    assert [f"{hashlib.sha256(data).hexdigest()}.jpg"] == [file.name for file in kept]
    assert "no photograph" in run("tally", "photo", job, "OX-8", job.parent / "notes.txt", ok=2).output
    assert "photograph (of piece 1)" in run("stock", "log", job).output


def test_blanks_of_an_older_size_are_asked_for(job: Path, run) -> None:
    run("tally", "cut", job, "OX-9", 5)
    run("tally", "good", job, "OX-9", 2)
    job.write_text(job.read_text().replace('id = "OX-9"', 'id = "OX-9"\nleg_a = "0.9 in"'))
    shown = run("make", job, "--out", job.parent / "out").output
    assert "3 blanks of OX-9:" in shown and "Rework: shear" in shown
    said = run("tally", "rework", job, "OX-9", 1).output
    assert "1 blank of OX-9 reworked: shear" in said
    run("tally", "use", job, "OX-9", 1, "--note", "designer says so")
    run("tally", "reject", job, "OX-9", 1, "--old", "--why", "too long")
    assert "decide" not in run("tally", "show", job).output
    assert "0 blanks of it wait" in run("tally", "use", job, "OX-9", 1, ok=2).output
    assert "deviation" not in shown
