"""A finding speaks the job's unit, wherever it is read; a waiver names its place."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen
from flatgen.jobs.developed import developed
from flatgen.jobs.loading import load
from flatgen.jobs.make import shown_in
from flatgen.model.results import Results
from flatgen.said import said

JOB = """
title = "t"
units = "{units}"
shop = "shop.toml"
material = "2024-T3"
thickness = "0.040 in"
radius = "1/8 in"
[[part]]
id = "P"
profile = "angle"
quantity = 1
leg_a = "2 in"
[[part.holes]]
face = "leg_a"
rivet = "1/8 in"
at = [["1 in", "0.2 in"]]
"""


def written(folder: Path, units: str, more: str = "") -> Path:
    CliRunner().invoke(flatgen, ["new", str(folder), "--yes", "--sheet", "2024-T3, 0.040 in, 48 in, 24 in"])
    (folder / "job.toml").write_text(JOB.format(units=units) + more, encoding="utf-8")
    return folder / "job.toml"


OTHER = {"in": re.compile(r"\d mm²?\b"), "mm": re.compile(r"\d in²?\b")}
DRIFT = "1/32 in"  # the trade's own name of a size, in either shop


@pytest.mark.parametrize("units", ["in", "mm"])
def test_only_the_job_s_unit_is_read(units: str, tmp_path: Path) -> None:
    job = written(tmp_path, units)
    found = CliRunner().invoke(flatgen, ["check", str(job)])
    assert 3 == found.exit_code
    assert not OTHER[units].search(found.output.replace(DRIFT, "")), found.output
    assert "P, hole 1, leg_a: edge distance " + {"in": "0.200 in", "mm": "5.08 mm"}[units] in found.output


def test_shown_in_another_unit_nothing_is_computed_anew(tmp_path: Path) -> None:
    job = load(written(tmp_path, "in"))
    parts, plan = developed(job)
    results = Results(job, parts, tuple(f for made in parts for f in made.findings), (), plan)
    metric = shown_in(results, "mm")
    assert results.findings == metric.findings and "mm" == metric.job.units
    assert any("5.08 mm" in finding.words("mm") and "0.200 in" in finding.words("in") for finding in results.findings)


def test_no_finding_of_the_demo_holds_a_size_as_words() -> None:
    """Else the other unit would stand in it, or a waiver would have to spell it."""
    parts, _ = developed(load(Path("examples/float-fittings/job.toml")))
    for finding in (f for made in parts for f in made.findings):
        words = "".join(part for part in said(finding.text).parts if isinstance(part, str)).replace(DRIFT, "")
        assert not re.search(r"\d (mm|in)\b", words + finding.where), finding


@pytest.mark.parametrize(("place", "status"), [("hole 1, leg_a", 0), ("hole 2, leg_a", 3), ("", 0)])
def test_a_waiver_names_the_place(place: str, status: int, tmp_path: Path) -> None:
    waiver = f'[[waive]]\nrule = "hole-to-edge"\npart = "P"\nwhere = "{place}"\nreason = "carries no load"\n'
    found = CliRunner().invoke(flatgen, ["check", str(written(tmp_path, "in", waiver))])
    assert status == found.exit_code and (status or "waived  P, hole 1, leg_a: " in found.output), found.output


def test_coupons_are_counted_apart_from_parts() -> None:
    found = CliRunner().invoke(flatgen, ["check", "examples/float-fittings/job.toml"])
    listed = json.loads(
        CliRunner().invoke(flatgen, ["coupon", "plan", "examples/float-fittings/job.toml", "--json"]).stdout
    )
    assert 1 < len(listed) and f"22 parts and {len(listed)} coupons checked; " in found.output


def test_what_the_brake_cannot_do_names_the_key_to_look_at(tmp_path: Path) -> None:
    """A solid bar cannot make the last walls of a tray: its fingers, brake and nose bar are named as in shop.toml."""
    CliRunner().invoke(flatgen, ["new", str(tmp_path), "--yes", "--fingers", "0", "--profile", "tray"])
    found = json.loads(CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml"), "--json"]).stdout)
    (stop,) = (f for f in found if f["rule"] == "brake-collision")
    assert 'on brake "hand brake" with nose bar "nose 3/16 in"' in stop["message"]
    assert "(fingers of [[brake]])" in stop["todo"]
    assert '[[brake]] "hand brake" and [[brake.nose]] "nose 3/16 in" in shop.toml' in stop["source"]
