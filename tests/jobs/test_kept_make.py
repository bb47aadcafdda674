"""A make over an old packet, with what earlier runs kept, gives what a make into an empty folder gives."""

import random
import re
import shutil
from pathlib import Path

import pytest

from flatgen.errors import FlatgenError
from flatgen.jobs.loading import load
from flatgen.jobs.make import make

ROOT = Path(__file__).resolve().parents[2]
NUMBER = re.compile(r"(?<== )\d+(\.\d+)?(?=\s|$)|(?<== \")\d+ \d/\d(?= in\")", re.MULTILINE)


def changed(draw: random.Random, folder: Path) -> str:
    """Change one figure in job or shop, or drop a part; says what was changed."""
    path = folder / draw.choice(("job.toml", "job.toml", "shop.toml"))
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
    shutil.copytree(ROOT / "examples" / "first-clips", folder / "job")
    job, old = folder / "job" / "job.toml", folder / "old"
    texts = {path: path.read_text(encoding="utf-8") for path in (job, job.with_name("shop.toml"))}
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
