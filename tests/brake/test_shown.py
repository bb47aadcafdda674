"""Set-up sheets of some parts: the same settings as in the packet, and no change of the brake left out."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.brake.shown import only
from flatgen.cli import flatgen
from flatgen.jobs.setups import make_setups
from flatgen.model.plan import BrakeCount, BrakePlan, Operation, Setup

DEMO = Path("examples/float-fittings/job.toml")
COUNT = BrakeCount(1, 4, 4, 4, 1.0)


def setting(number: int, part: str, changes: str, *, coupon: bool = False) -> Setup:
    operation = Operation(part, "b1", 1, False, 0.0, 5)
    return Setup("b", "n", 3.0, 25.0, "back", 1.0, 92.0, (operation,), number, "m", 1.0, changes=tuple(changes.split()),
                 coupon_first=coupon, pieces=5)  # fmt: skip


PLAN = BrakePlan(
    (
        setting(1, "A", "nose set-back leaf stop", coupon=True),
        setting(2, "B", "stop"),
        setting(3, "C", "set-back stop"),
        setting(4, "B", "leaf stop"),
    ),
    (), COUNT, COUNT, 4, (("A", ("b1",)), ("B", ("b1",)), ("C", ("b1",))), ("D",),
)  # fmt: skip


def test_changes_are_told_against_the_last_setting_shown() -> None:
    shown = only(PLAN, {"B"}).setups
    assert [2, 4] == [setup.number for setup in shown]
    assert [("nose", "set-back", "leaf", "stop"), ("set-back", "leaf", "stop")] == [setup.changes for setup in shown]


def test_coupon_of_a_combination_moves_to_its_first_setting_shown() -> None:
    assert [True, False] == [setup.coupon_first for setup in only(PLAN, {"B"}).setups]
    assert [True] == [setup.coupon_first for setup in only(PLAN, {"A"}).setups]


def test_other_parts_are_gone_and_the_counts_stay() -> None:
    found = only(PLAN, {"C"})
    assert (("C", ("b1",)),) == found.order and () == found.not_made and COUNT == found.planned


def settings(out: Path, *parts: str) -> dict[tuple[str, str], tuple[float, str, int]]:
    """Stop, face under the nose and number of the setting, by part and bend."""
    setups = make_setups(DEMO, parts, out, None).results.setups
    return {(op.part, op.bend): (s.stop, op.clamped, s.number) for s in setups for op in s.operations}


@pytest.mark.parametrize("part", ["TF-101", "TF-102", "SK-301"])
def test_a_part_by_itself_is_bent_as_in_the_packet(part: str, tmp_path: Path) -> None:
    whole, alone = settings(tmp_path / "all.pdf"), settings(tmp_path / "one.pdf", part)
    assert alone and alone == {key: value for key, value in whole.items() if key[0] == part}


def test_a_part_beside_one_without_a_flat_pattern_is_planned_by_itself_and_that_is_said(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    CliRunner().invoke(flatgen, ["new", str(tmp_path), "--yes"])
    # so thin on so large a nose that it springs back flat
    flat = '\n[[part]]\nid = "BAD"\nprofile = "angle"\nquantity = 1\nthickness = "0.02 in"\nradius = "3.9 in"\n'
    flat += 'leg_a = "9 in"\nleg_b = "9 in"\n'
    job.write_text(job.read_text(encoding="utf-8") + flat, encoding="utf-8")
    found = CliRunner().invoke(flatgen, ["setup", str(job), "CLIP-1", "--out", str(tmp_path / "s.pdf")])
    assert 0 == found.exit_code and "Planned by themselves" in found.output, found.output
    assert 2 == CliRunner().invoke(flatgen, ["setup", str(job), "--out", str(tmp_path / "s.pdf")]).exit_code
