"""The change that is offered for a finding takes it away and brings no other: on the file, by the real checks."""

import random
from pathlib import Path

import pytest
from making import few
from small_shop import HEAD, PART, SHOP

from flatgen.errors import FlatgenError
from flatgen.jobs.cures import as_written, cures
from flatgen.jobs.trial import Trials, worse
from flatgen.read.profile import find_profile, library, load_profile, profile_names
from flatgen.units import parse_length
from flatgen.write import csv_edits
from flatgen.write.edits import Set, applied

TO_DECIDE = ("stop", "decide")


def written(folder: Path, part: str, units: str = "in") -> Path:
    (folder / "shop.toml").write_text(f'units = "{units}"\nwork = "general"\n{SHOP}', encoding="utf-8")
    (folder / "job.toml").write_text(HEAD.replace('"in"', f'"{units}"', 1) + part, encoding="utf-8")
    return folder / "job.toml"


def cured(path: Path) -> list[tuple[str, str]]:
    """Every finding with its cure made in the file, each time from the file as it was; what was written, by rule."""
    trials, text = Trials(path), path.read_text(encoding="utf-8")
    look = trials.look(0)
    profile = load_profile(find_profile(look.part.profile, path.parent))
    wanted = [finding for finding in look.findings if finding.state in TO_DECIDE][:2]
    made = []
    for cure in cures(trials, 0, look, wanted, profile):
        if cure is None:
            continue
        path.write_text(applied(text, [cure.edit]), encoding="utf-8")
        after = Trials(path).look(0).findings
        same = [f for f in after if (f.rule, f.where) == (cure.finding.rule, cure.finding.where)]
        assert all(f.state not in TO_DECIDE for f in same), (cure.words, text)
        assert not worse(look.findings, after), (cure.words, text)
        made.append((cure.finding.rule, cure.words))
        path.write_text(text, encoding="utf-8")
    return made


def random_part(draw: random.Random, units: str) -> str:
    """A part of the library with a few sizes far from its usual ones and a row of rivets near an edge."""
    name = draw.choice(profile_names())
    profile = load_profile(library() / f"{name}.toml")
    lengths = [key for key, parameter in profile.parameters.items() if parameter.kind == "length"]
    part = f'[[part]]\nid = "P"\nprofile = "{name}"\nquantity = 3\nradius = "{draw.choice((2, 3.175, 5))} mm"\n'
    for key in draw.sample(lengths, min(2, len(lengths))):
        part += f'{key} = "{draw.uniform(5.0, 60.0):.2f} mm"\n'
    if draw.random() < 0.6:
        part += f'[[part.holes]]\nface = "{profile.values["base"]}"\nrivet = "3.2 mm"\n'
        part += f'at = [["{draw.uniform(3, 20):.1f} mm", "{draw.uniform(3, 20):.1f} mm"]]\n'
    return part


@pytest.mark.parametrize("units", ["in", "mm"])
def test_a_cure_removes_its_finding_from_the_file(tmp_path: Path, units: str) -> None:
    found: list[tuple[str, str]] = []
    for seed in range(few(40)):
        try:
            found += cured(written(tmp_path, random_part(random.Random(f"{units} {seed}"), units), units))
        except FlatgenError:
            continue  # sizes that make no part
    assert found, "no random part had a finding that a change of one key cures"


def test_a_short_leg_grows_to_the_next_mark_of_the_rule(tmp_path: Path) -> None:
    """The least land on the leaf is 0.19 in (checks/flanges): the mark just above it, not one more."""
    (short,) = cured(written(tmp_path, PART + 'leg_b = "0.28 in"\n'))
    assert short == ("flange-too-short", "leg_b: 19/64 in, not 0.28 in")


def test_a_hole_moves_and_nothing_else_does(tmp_path: Path) -> None:
    """Two diameters of a 1/8 in rivet and 1/32 in for the drill (AC 43.13-1B) are 9/32 in."""
    holes = '[[part.holes]]\nface = "leg_a"\nrivet = "1/8 in"\nat = [[0.5, 0.2], ["1 1/2 in", 0.5]]\n'
    (moved,) = cured(written(tmp_path, PART + holes))
    assert moved == ("hole-to-edge", "holes 1, at 1, y: 9/32 in, not 0.2")


def test_what_a_word_settles_is_no_size(tmp_path: Path) -> None:
    holes = '[[part.holes]]\nface = "leg_b"\ndrill = "#40"\nat = [[1.5, 0.26]]\n'
    assert ("hole-to-bend", "holes 1, drilled: after bending") in cured(written(tmp_path, PART + holes))


def test_a_row_of_a_table_is_cured_in_its_table(tmp_path: Path) -> None:
    path = written(tmp_path, '[[part]]\nsizes = "clips.csv"\nprofile = "angle"\n')
    table = "id,quantity,leg_b\nC-1,2,3/4\nC-2,4,0.28\n"
    (tmp_path / "clips.csv").write_text(table, encoding="utf-8")
    trials = Trials(path)
    look, profile = trials.look(0, (), "C-2"), load_profile(library() / "angle.toml")
    wanted = [finding for finding in look.findings if finding.state == "stop"]
    (cure,) = cures(trials, 0, look, wanted, profile)
    assert cure is not None and cure.edit == Set(("sizes", "C-2", "leg_b"), "19/64 in")
    after = csv_edits.applied(table, [Set(cure.edit.path[1:], cure.edit.value)])
    assert after == "id,quantity,leg_b\nC-1,2,3/4\nC-2,4,19/64 in\n"
    (tmp_path / "clips.csv").write_text(after, encoding="utf-8")
    assert not [f for f in Trials(path).look(0, (), "C-2").findings if f.state == "stop"]


def test_written_sizes_read_back_as_themselves() -> None:
    for k in range(1, 300):
        assert abs(parse_length(as_written(k * 25.4 / 64, "in", 25.4 / 64), "in") - k * 25.4 / 64) < 1e-9
        assert parse_length(as_written(k * 0.5, "mm", 0.5), "mm") == k * 0.5
