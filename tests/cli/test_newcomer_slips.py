"""Slips of somebody's first evening with flatgen: the sentence says what is wrong and what to do."""

import shutil
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen
from flatgen.read.profile import library

DEMO = Path(__file__).resolve().parent.parent.parent / "examples" / "float-fittings"


def run(*words, ok=0, given=None):
    result = CliRunner().invoke(flatgen, [str(word) for word in words], input=given)
    assert ok == result.exit_code, result.output
    return result.output


@pytest.fixture
def job(tmp_path):
    shutil.copytree(DEMO, tmp_path / "job")
    return tmp_path / "job" / "job.toml"


@pytest.mark.parametrize(
    ("file", "kind"), [(DEMO / "shop.toml", "shop"), (library() / "tray.toml", "profile")], ids=["shop", "profile"]
)
def test_another_kind_of_file_gets_one_sentence(file, kind):
    out = run("check", file, ok=2)
    assert f"this is a {kind} file; name the job file, the one with [[part]] in it" in out
    assert 1 == len(out.strip().splitlines())


def test_size_without_quotes(job):
    job.write_text(job.read_text(encoding="utf-8").replace("length = 3\n", "length = 3 in\n", 1), encoding="utf-8")
    assert 'a text or a size with its unit in double quotes, as length = "6 in"' in run("check", job, ok=2)


def test_misnamed_column_is_told_once(job):
    table = job.parent / "clips.csv"
    table.write_text(table.read_text(encoding="utf-8").replace("quantity", "qty", 1), encoding="utf-8")
    out = run("check", job, ok=2)
    assert 1 == out.count('column "qty": there is no key or parameter "qty"')


def test_millimetres_taken_for_inches():
    out = run("bend", "-m", "6061-T6", "-t", "1.2", "-r", "3", ok=2)
    assert '--thickness: "1.2" is 30.48 mm here, and 13 mm is the most' in out and "--units mm" in out
    assert "3.000 mm" in run("bend", "-m", "6061-T6", "-t", "1.2", "-r", "3", "--units", "mm")


def test_coupon_that_the_plan_does_not_have(job):
    out = run("coupon", "record", "--job", job, "--mark", "CP99/2", "--measured-thickness", ".040", ok=2)
    assert f'the plan of {job} has no coupon "CP99/2"' in out


def test_profile_names_its_faces():
    assert "faces, for holes and openings: base, " in run("profiles", "tray")


@pytest.mark.parametrize(("typed", "units"), [("inches", "in"), ("Millimetres", "mm")])
def test_units_spelled_out(typed, units, tmp_path):
    run("new", tmp_path / "mine", given=typed + "\n" * 20)
    shop = tomllib.loads((tmp_path / "mine" / "shop.toml").read_text(encoding="utf-8"))
    assert units == shop["units"]


def test_one_page_is_no_pages(job, tmp_path):
    out = run("inspect", "sheet", job, "TF-151", "--out", tmp_path / "i.pdf")
    assert "i.pdf: 1 page, " in out


def test_sheet_that_came_in_is_known_by_its_sizes(job):
    """So that it keeps its margin and is taken first when a nest on that stock size is booked."""
    add = ("stock", "add", "--shop", job.parent / "shop.toml", "--material", "2024-T3 clad", "--thickness", ".040")
    assert 'Entered: S001, of "2024-040-4x4".' in run(*add, "--length", "48", "--width", "48")
    made = job.parent / "out"
    one = 'title = "one"\nshop = "shop.toml"\n[[part]]\nid = "P-1"\nprofile = "angle"\nquantity = 4\n'
    job.write_text(one + 'material = "2024-T3 clad"\nthickness = "0.040 in"\nradius = "5/32 in"\n', encoding="utf-8")
    run("make", job, "--effort", "0", "--quiet", "--out", made)
    out = run("stock", "book", made, "--shop", job.parent / "shop.toml")
    assert "S001" in out.split("sheets used")[1].splitlines()[0]
    assert ", of " not in run(*add, "--length", "47", "--width", "48", "--short-grain")
    wrong = run(*add, "--length", "47", "--width", "48", ok=2)
    assert "the length, along the grain, is the shorter side here; say --short-grain" in wrong
