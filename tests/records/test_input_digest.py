"""The digest of a job's input takes in what the shop's book gave, and nothing else of the book."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen
from flatgen.jobs.loading import load

COUPONS = """mark,measured_thickness,blank_length,leaf_angle,released_angle,leg_a,leg_b,stop
CP1/1,.0400,2.905,92,90.1,1.497,1.510,1.502
CP1/2,.0402,2.904,92,90.2,1.499,1.506,1.502
CP1/3,.0401,2.906,92,90.0,1.496,1.512,1.502
"""


def run(*words: object) -> None:
    done = CliRunner().invoke(flatgen, [str(word) for word in words])
    assert 0 == done.exit_code, done.output


@pytest.fixture
def job(tmp_path: Path) -> Path:
    run("new", tmp_path, "--yes")
    return tmp_path / "job.toml"


def test_a_new_book_without_rows_changes_nothing(job: Path) -> None:
    bare = load(job).digest
    (job.parent / "other.toml").write_text(job.read_text(encoding="utf-8"), encoding="utf-8")
    assert bare == load(job).digest != ""


def test_coupons_that_count_change_the_digest(job: Path) -> None:
    before = load(job)
    (job.parent / "c.csv").write_text(COUPONS, encoding="utf-8")
    run("coupon", "record", "--job", job, "--csv", job.parent / "c.csv")
    after = load(job)
    assert after.shop.records and before.digest != after.digest == load(job).digest


def test_a_sheet_on_hand_changes_the_digest_and_its_leaving_too(job: Path) -> None:
    before = load(job).digest
    sheet = ("--material", "6061-T6", "--thickness", "0.040 in", "--length", "20 in", "--width", "10 in")
    run("stock", "add", "--shop", job.parent / "shop.toml", *sheet)
    held = load(job).digest
    run("stock", "give-up", "--shop", job.parent / "shop.toml", "S001", "--reason", "dented")
    assert before != held and before == load(job).digest


def test_a_measured_piece_is_one_less_to_make(job: Path) -> None:
    before = load(job)
    run("inspect", "record", job, "--part", "CLIP-1", "--piece", "1", "--value", "1=1.000")
    after = load(job)
    assert before.digest != after.digest
    assert before.counts("CLIP-1").to_cut - 1 == after.counts("CLIP-1").to_cut
