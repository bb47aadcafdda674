"""A make over a packet: done again only where something changed, and what changed is told."""

import shutil
from pathlib import Path

import pytest

from flatgen.jobs.again import Made, make_again

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("FLATGEN_KEPT", str(tmp_path / "kept"))
    shutil.copytree(ROOT / "examples" / "first-clips", tmp_path / "job")
    return tmp_path / "job" / "job.toml"


def again(job: Path) -> Made:
    return make_again(job, job.parent.parent / "out")


def changed(job: Path, old: str, new: str) -> tuple[str, ...] | None:
    text = job.read_text(encoding="utf-8")
    assert old in text
    job.write_text(text.replace(old, new, 1), encoding="utf-8")
    return again(job).changes


def test_what_a_change_changed_is_told(job: Path) -> None:
    """By hand: a leg of 1 in made 1.05 is a blank 0.050 wider; six parts, of which one changed."""
    assert again(job).changes is None
    second = again(job)
    assert (None, ()) == (second.results, second.changes)
    told = changed(job, "leg_a = 1\n", "leg_a = 1.05\n")
    assert told is not None and "5 parts as before" == told[-1]
    before, after = (float(size) for size in told[0].split("blank ")[1].split(" in")[0].split(" -> "))
    assert "OX-1: blank" in told[0] and 0.050 == pytest.approx(after - before, abs=0.0011)
    assert "sheet 1 laid anew" in told
    told = changed(job, "quantity = 16", "quantity = 18")
    assert told is not None and "OX-1: 16 -> 18 wanted; 16 -> 18 to cut" == told[0]


def test_findings_come_and_go(job: Path) -> None:
    again(job)
    told = changed(job, 'at = [["3/8 in", "3/8 in"]', 'at = [["0.1 in", "3/8 in"]')
    assert told is not None and any(line.startswith("STOP OX-1: ") and "hole-to-edge" in line for line in told)
    told = changed(job, 'at = [["0.1 in", "3/8 in"]', 'at = [["3/8 in", "3/8 in"]')
    assert told is not None and any(line.startswith("settled: OX-1: ") for line in told)


@pytest.mark.parametrize("harm", ["touched", "missing", "cut", "results"])
def test_a_file_that_somebody_changed_is_put_right(job: Path, harm: str) -> None:
    again(job)
    out = job.parent.parent / "out"
    file = out / ("results.json" if harm == "results" else "blanks/OX-1.dxf")
    right = file.read_bytes()
    if harm == "missing":
        file.unlink()
    else:
        file.write_bytes(right[: len(right) // 2] if harm == "cut" else right + b" ")
    made = again(job)
    assert made.results is not None and file.read_bytes() == right
    assert again(job).results is None
