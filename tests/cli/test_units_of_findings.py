"""A finding speaks the job's unit first, wherever it is read; a waiver may write its place in either."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen
from flatgen.jobs.make import developed, load, shown_in
from flatgen.model.results import Results

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
FIRST = {"in": re.compile(r"\d in \(-?[\d.]+ mm\)"), "mm": re.compile(r"\d mm \(-?[\d.]+ in\)")}


def written(folder: Path, units: str, more: str = "") -> Path:
    CliRunner().invoke(flatgen, ["new", str(folder), "--yes", "--sheet", "2024-T3, 0.040 in, 48 in, 24 in"])
    (folder / "job.toml").write_text(JOB.format(units=units) + more, encoding="utf-8")
    return folder / "job.toml"


@pytest.mark.parametrize(("units", "other"), [("in", "mm"), ("mm", "in")])
def test_the_job_s_unit_comes_first(units: str, other: str, tmp_path: Path) -> None:
    job = written(tmp_path, units)
    found = CliRunner().invoke(flatgen, ["check", str(job)])
    assert 3 == found.exit_code
    assert FIRST[units].search(found.output) and not FIRST[other].search(found.output), found.output
    place = {"in": "hole 1, leg_a at 1.000, 0.200 in:", "mm": "hole 1, leg_a at 25.40, 5.08 mm:"}[units]
    assert f"P, {place}" in found.output


def test_shown_in_another_unit_a_finding_turns_round(tmp_path: Path) -> None:
    job = load(written(tmp_path, "in"))
    parts, plan = developed(job)
    results = shown_in(Results(job, parts, tuple(f for made in parts for f in made.findings), (), plan), "mm")
    for finding in (*results.findings, *(f for made in results.parts for f in made.findings)):
        assert not FIRST["in"].search(finding.message + finding.where), finding
    assert any("5.08 mm (0.200 in)" in finding.message for finding in results.findings)


@pytest.mark.parametrize(
    "place",
    [
        "hole 1, leg_a at 1.000, 0.200 in",
        "hole 1, leg_a at 25.40, 5.08 mm",
        "hole 1, leg_a at 25.40, 5.08 mm (1.000, 0.200 in)",
    ],
)
def test_a_waiver_writes_the_place_in_either_unit(place: str, tmp_path: Path) -> None:
    waiver = f'[[waive]]\nrule = "hole-to-edge"\npart = "P"\nwhere = "{place}"\nreason = "carries no load"\n'
    found = CliRunner().invoke(flatgen, ["check", str(written(tmp_path, "in", waiver))])
    assert 0 == found.exit_code and "waived  P, hole 1, leg_a at" in found.output, found.output


def test_coupons_are_counted_apart_from_parts() -> None:
    found = CliRunner().invoke(flatgen, ["check", "examples/float-fittings/job.toml"])
    assert "22 parts and 13 coupons checked; " in found.output
    listed = json.loads(
        CliRunner().invoke(flatgen, ["coupon", "plan", "examples/float-fittings/job.toml", "--json"]).stdout
    )
    assert 13 == len(listed)


def test_what_the_brake_cannot_do_names_the_key_to_look_at(tmp_path: Path) -> None:
    """A solid bar cannot make the last walls of a tray: its fingers, brake and nose bar are named as in shop.toml."""
    CliRunner().invoke(flatgen, ["new", str(tmp_path), "--yes", "--fingers", "0", "--profile", "tray"])
    found = json.loads(CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml"), "--json"]).stdout)
    (stop,) = (f for f in found if f["rule"] == "brake-collision")
    assert 'on brake "hand brake" with nose bar "nose 3/16 in"' in stop["message"]
    assert "(fingers of [[brake]])" in stop["message"]
    assert '[[brake]] "hand brake" and [[brake.nose]] "nose 3/16 in" in shop.toml' in stop["source"]
