"""Findings as they are read: one line a cause, and each that asks for a decision can be settled."""

from dataclasses import replace
from pathlib import Path

import pytest

from flatgen.jobs.developed import developed
from flatgen.jobs.loading import load
from flatgen.jobs.starter import begin, usual
from flatgen.model.finding import Finding, Severity
from flatgen.page.findings import lines, told
from flatgen.said import said, size

DEMO = Path("examples/float-fittings/job.toml")


def found(path: Path) -> list[Finding]:
    parts, _ = developed(load(path))
    return [finding for made in parts for finding in made.findings]


def near(part: str, where: str, have: float, **more) -> Finding:
    text = said("its edge is ", size(have), " from the bend")
    return Finding("hole-to-bend", Severity.WARN, part, where, have, 3.2, text, "a book", **more)


def test_one_cause_on_several_parts_is_one_line() -> None:
    """Other quantities, places and parts are one cause; another limit is another."""
    some = [near("A-L", "hole 1", 1.0), near("A-R", "hole 1", 2.0), near("B", "hole 7", 1.5)]
    (line,) = lines(some, "mm")
    assert "A-L, A-R, hole 1; B, hole 7: its edge is 1.00 to 2.00 mm from the bend" == told(line)
    assert 2 == len(lines([*some, replace(some[0], limit=4.0)], "mm"))
    assert 2 == len(lines([*some, replace(some[0], waived="agreed with the designer")], "mm"))


def test_the_starter_s_first_job_has_nothing_to_decide(tmp_path: Path) -> None:
    for units in ("in", "mm"):
        begin(tmp_path / units, usual(units))
        assert {"note"} >= {f.state for f in found(tmp_path / units / "job.toml")}


def test_the_demo_has_few_decisions_and_each_can_be_waived_by_its_lines(tmp_path: Path) -> None:
    """The lines to paste settle all of it, whatever the unit; each also says what else to do."""
    open_lines = [line for line in lines(found(DEMO), "in") if line.state == "decide"]
    assert 1 <= len(open_lines) <= 8
    assert all(line.same[0].todo for line in open_lines)
    pasted = "\n".join(line.waiver for line in open_lines)
    for name in ("shop.toml", "clips.csv", "stiffeners.csv"):
        (tmp_path / name).write_bytes((DEMO.parent / name).read_bytes())
    job = tmp_path / "job.toml"
    job.write_text(f"{DEMO.read_text(encoding='utf-8')}\n{pasted}\n", encoding="utf-8")
    assert "decide" not in {finding.state for finding in found(job)}


@pytest.mark.parametrize("line", ['units = "in"'])
def test_general_work_is_asked_only_what_the_metal_asks(line: str, tmp_path: Path) -> None:
    """Tables of aircraft work, coupons and tolerances do not ask; holes, flanges and the brake's limits do."""
    for name in ("shop.toml", "clips.csv", "stiffeners.csv"):
        (tmp_path / name).write_bytes((DEMO.parent / name).read_bytes())
    text = DEMO.read_text(encoding="utf-8")
    assert line in text
    (tmp_path / "job.toml").write_text(text.replace(line, f'{line}\nwork = "general"', 1), encoding="utf-8")
    rules = {finding.rule for finding in found(tmp_path / "job.toml") if finding.state == "decide"}
    assert rules and not rules & {"grain-along-bend", "tolerance-stack", "minimum-radius"}
