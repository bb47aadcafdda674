"""Labels for bags, and photographs by their digest."""

import base64
import hashlib
import io
import re
from pathlib import Path

from PIL import Image


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


def taken(upright: bool) -> bytes:
    """A photograph of 400 x 200 pixels; lying as the camera was held where not upright (EXIF orientation 6)."""
    file, exif = io.BytesIO(), Image.Exif()
    exif[0x0112] = 1 if upright else 6
    Image.new("RGB", (400, 200), (200, 80, 20)).save(file, "JPEG", exif=exif)
    return file.getvalue()


def test_the_log_shows_photographs_on_page_and_paper(job: Path, run) -> None:
    run("tally", "cut", job, "OX-8", 4)
    for name, data in (("a.jpg", taken(True)), ("b.jpg", taken(False)), ("c.heic", b"\0\0\0\x18ftypheic....")):
        (job.parent / name).write_bytes(data)
        run("tally", "photo", job, "OX-8", job.parent / name, "--of", f"piece {name[0]}")
    run("tally", "reject", job, "OX-8", 1, "--why", "cracked", "--at", "b1")
    page, paper = job.parent / "log.html", job.parent / "log.pdf"
    for out in (page, paper, page):
        run("stock", "log", job, "--out", out)
    text = page.read_text()
    held = [base64.b64decode(one) for one in re.findall('data:image/jpeg;base64,([^"]+)', text)]
    assert [(400, 200), (200, 400)] == [Image.open(io.BytesIO(one)).size for one in held]
    assert "of piece c: a format that is not shown here" in text and "1 cracked at b1" in text
    assert "default-src 'none'; img-src data:" in text.replace("&#x27;", "'") and 2 == paper.read_bytes().count(
        b"/DCTDecode"
    )
    mine = job.parent / "mine.html"
    mine.write_text("<!doctype html><p>my own")
    assert "no HTML of flatgen's" in run("stock", "log", job, "--out", mine, ok=2).output
    next((job.parent / "shop-book-photographs").glob("*.heic")).unlink()
    run("stock", "log", job, "--out", page)
    assert "its file is not beside the book" in page.read_text()
