"""A make over an old packet, with what earlier runs kept, gives what a make into an empty folder gives."""

import random
import re
import shutil
from pathlib import Path

import pytest

from flatgen.errors import FlatgenError
from flatgen.jobs.loading import load
from flatgen.jobs.make import make
from flatgen.jobs.tallying import entered, event_of, tally_place

ROOT = Path(__file__).resolve().parents[2]
NUMBER = re.compile(r"(?<=[=,] )\d+(\.\d+)?(?=[\s,]|$)|(?<=,)\d+(\.\d+)?(?=,|$)", re.MULTILINE)


SIZES = """
[[part]]
sizes = "sizes.csv"
profile = "angle"
leg_b = "7/8 in"
"""
TEXTS = ("job.toml", "job.toml", "shop.toml", "profiles/angle.toml", "sizes.csv")


def prepared(folder: Path) -> Path:
    """The first job with a profile of its own and a table of sizes."""
    shutil.copytree(ROOT / "examples" / "first-clips", folder)
    (folder / "profiles").mkdir()
    shutil.copy(ROOT / "profiles" / "angle.toml", folder / "profiles")
    (folder / "sizes.csv").write_text("id,quantity,length,leg_a\nT-1,3,1.5,1.125\nT-2,4,2,1.25\n", encoding="utf-8")
    job = folder / "job.toml"
    job.write_text(job.read_text(encoding="utf-8") + SIZES, encoding="utf-8")
    return job


def told(draw: random.Random, job: Path) -> str:
    """A line in the book: pieces cut, or one rejected."""
    at = tally_place(job)
    part = draw.choice([one.part for one in at.order])
    entered(at, [event_of({"what": "cut", "part": part, "pieces": "1"}, "bench")])
    if draw.random() < 0.4:
        entered(at, [event_of({"what": "rejected", "part": part, "pieces": "1", "why": "lost"}, "bench")])
    return f"book: {part}"


def changed(draw: random.Random, folder: Path) -> str:
    """Change one figure in job, shop, profile or table, drop a part, or enter work in the book; says what it was."""
    if draw.random() < 0.2:
        return told(draw, folder / "job.toml")
    path = folder / draw.choice(TEXTS)
    text = path.read_text(encoding="utf-8")
    if path.name == "job.toml" and draw.random() < 0.15 and text.count("[[part]]") > 2:
        parts = text.split("[[part]]")
        del parts[draw.randrange(1, len(parts))]
        path.write_text("[[part]]".join(parts), encoding="utf-8")
        return "a part dropped"
    spot = draw.choice([one for one in NUMBER.finditer(text) if " " not in one.group()])
    value = float(spot.group())
    new = draw.choice((value * 1.1, value + 0.125, value * 0.8))
    said = str(round(new)) if spot.group().isdigit() and value > 5 else f"{new:.4g}"
    path.write_text(text[: spot.start()] + said + text[spot.end() :], encoding="utf-8")
    return f"{path.name}: {spot.group()} -> {said}"


def files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def harmed(draw: random.Random, out: Path) -> None:
    """Touch, truncate or remove a file of the packet, as somebody may have done."""
    path = draw.choice(
        sorted(one for one in out.rglob("*") if one.is_file() and one.suffix in (".dxf", ".svg", ".pdf"))
    )
    how = draw.choice(("change", "cut", "remove"))
    if how == "remove":
        path.unlink()
    else:
        path.write_bytes(path.read_bytes()[:100] if how == "cut" else path.read_bytes() + b" ")


def follow(seed: int, changes: int, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Change after change, each made over the old packet and made afresh."""
    draw = random.Random(seed)
    job, old = prepared(folder / "job"), folder / "old"
    texts = {path: path.read_text(encoding="utf-8") for path in {job.parent / name for name in TEXTS}}
    for k in range(changes + 1):
        what = changed(draw, job.parent) if k else "nothing"
        new = folder / f"new-{k}"
        monkeypatch.setenv("FLATGEN_KEPT", "no")
        try:
            make(load(job), new)
        except FlatgenError:
            for path, text in texts.items():  # what cannot be made is taken back
                path.write_text(text, encoding="utf-8")
            continue
        monkeypatch.setenv("FLATGEN_KEPT", str(folder / "kept"))
        if k:
            harmed(draw, old)
        make(load(job), old)
        assert files(new) == files(old), (seed, k, what)
        texts = {path: path.read_text(encoding="utf-8") for path in texts}
        shutil.rmtree(new)


def test_after_any_change_the_packet_is_that_of_a_fresh_make(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    follow(1, 2, tmp_path, monkeypatch)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(2, 32))
def test_after_many_changes_too(seed: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    follow(seed, 10, tmp_path, monkeypatch)
