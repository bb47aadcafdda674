"""Odd but possible input: texts, numbers and names that once ended in a traceback, a broken file or a lost one."""

import json
import os
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from small_shop import HEAD, PART, SHOP

from flatgen.cli import flatgen
from flatgen.drawings import file_name
from flatgen.read.profile import library

BIG = "9" * 400

IN_JOB = {
    "a count of 400 digits": (PART.replace("= 2", f"= {BIG}"), "is larger than any count of things"),
    "a length of 400 digits": (PART + f"leg_a = {BIG}\n", "is not a finite number"),
    "a number of 5000 digits": (PART + f"leg_a = {'9' * 5000}\n", "this is not TOML"),
    "a month that is none": (PART + "leg_a = 2026-13-01\n", "this is not TOML"),
    "brackets 5000 deep": (PART + f"leg_a = {'[' * 5000}\n", "nested too deep"),
    "a ratio that is no number": (PART + "neutral_axis_ratio = nan\n", "nan is not a finite number"),
    "an angle of 10^9 degrees": (PART + "angle = 1e9\n", "ten times round"),
    "a file name with a null": (PART + 'sizes = "a\\u0000b"\n', "is no name of a file"),
    "a control character": (PART + 'title = "a\\u0001b"\n', "cannot be written on a drawing"),
    "no character at all": (PART + 'title = "a\\uFFFEb"\n', "cannot be written on a drawing"),
    "a title of nothing to be seen": (PART + 'title = "\u200b\u00ad"\n', "has no sign that can be seen"),
    "a table that is not there": (PART + 'sizes = "R"\n', 'line 10, part "clip-3", sizes: '),
    "ids of the same letters": (PART + PART.replace("clip", "CLIP"), 'part "CLIP-3": this id is used twice'),
}
IN_SHOP = {
    "a name that is a list": (SHOP.replace('"bench"', "[1, 2]"), "[1, 2] is not a text"),
    "a name that is a table": (SHOP.replace('"nose 1/8"', "{a = 1}"), "is not a text"),
    "a cost that is no number": (SHOP + "cost = nan\n", "nan is not a finite number"),
    "spoilage that is no number": ("spoilage = nan\n" + SHOP, "nan is not a finite number"),
}


def make(folder: Path, job: str, shop: str = SHOP) -> Result:
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    (folder / "job.toml").write_text(HEAD + job, encoding="utf-8")
    return CliRunner().invoke(flatgen, ["make", str(folder / "job.toml"), "--out", str(folder / "out"), "--quiet"])


@pytest.mark.parametrize("case", [*IN_JOB, *IN_SHOP])
def test_one_sentence(tmp_path: Path, case: str) -> None:
    job, message = IN_JOB.get(case, (PART, ""))
    shop, in_shop = IN_SHOP.get(case, (SHOP, ""))
    result = make(tmp_path, job, shop)
    assert result.exit_code == 2, result.output
    assert (message or in_shop) in result.stderr
    assert not (tmp_path / "out").exists()


IN_PROFILE = {
    "a power that is no number": ('leg = "2 in * 2^(1e308*10 - 1e308*10)"\n', "derived value leg: "),
    "one name by way of 5000": (
        "".join(f'd{k} = "d{k + 1} + 1 in"\n' for k in range(5000)) + 'd5000 = "1 in"\nleg = "d0"\n',
        "by way of too many other values",
    ),
}


@pytest.mark.parametrize("case", IN_PROFILE)
def test_one_sentence_of_a_profile(tmp_path: Path, case: str) -> None:
    derived, message = IN_PROFILE[case]
    own = (library() / "angle.toml").read_text("utf-8").replace('["length", "leg_a"]', '["length", "leg"]')
    (tmp_path / "own.toml").write_text(own + "\n[derived]\n" + derived, encoding="utf-8")
    result = make(tmp_path, PART.replace('"angle"', '"own.toml"'))
    assert result.exit_code == 2, result.output
    assert message in result.stderr and "own.toml" in result.stderr


def test_a_profile_that_is_a_folder(tmp_path: Path) -> None:
    (tmp_path / "profiles" / "own.toml").mkdir(parents=True)
    assert "own.toml: this is a folder" in make(tmp_path, PART.replace('"angle"', '"own"')).stderr


def test_a_text_of_several_lines_stands_on_one(tmp_path: Path) -> None:
    import ezdxf

    result = make(tmp_path, PART + 'title = "a\\nb"\nmark = """x\n  y"""\n')
    assert result.exit_code == 0, result.output
    for path in (tmp_path / "out").rglob("*.dxf"):
        assert not ezdxf.readfile(path).audit().errors
    for path in (tmp_path / "out").rglob("*.svg"):
        ElementTree.parse(path)


def test_no_part_overwrites_the_file_of_another(tmp_path: Path) -> None:
    ids = ("A", "A ", "A/", "A_", "NUL")
    assert len({file_name(name) for name in ids}) == len(ids)
    shop = SHOP.replace('method = "shear"', 'method = "shear"\nbend_lines = true')  # so it reads files
    result = make(tmp_path, "".join(PART.replace("clip-3", name) for name in ("A/B", "A_B")), shop)
    assert result.exit_code == 0, result.output
    parts = [p["id"] for p in json.loads((tmp_path / "out/results.json").read_text("utf-8"))["parts"]]
    assert parts[:2] == ["A/B", "A_B"]
    for folder in ("", "machine"):
        assert len(list((tmp_path / "out/blanks" / folder).glob("A_B*.dxf"))) == 2


def test_a_corner_radius_of_next_to_nothing(tmp_path: Path) -> None:
    result = make(tmp_path, PART + "corner_radius = 1e-300\n")
    assert result.exit_code == 0, result.output
    part = json.loads((tmp_path / "out/results.json").read_text("utf-8"))["parts"][0]
    assert len(part["blank"]["outline"]) == 4


def test_a_nose_bar_lower_than_its_edge_is_round(tmp_path: Path) -> None:
    result = make(tmp_path, PART, SHOP.replace('radius = "1/8 in"', 'radius = "1/8 in"\nheight = "0.5 mm"'))
    assert result.exit_code in (0, 3), result.output


OPENING = '[[part.opening]]\nface = "leg_a"\nshape = "round"\nsize = 0.5\nat = {}\n'
HOLE = '[[part.holes]]\nface = "leg_a"\ndrill = "1/4 in"\nat = [[1, 0.4]]\n'
TAKEN_TWICE = {
    "openings": (OPENING.format("[[1, 0.4], [1.2, 0.4]]"), "runs into another opening"),
    "hole in an opening": (OPENING.format("[[1, 0.4]]") + HOLE, "runs into hole 1 (1/4 in)"),
    "a hole as wide as the part": (
        "length = 0.5\n" + HOLE.replace("1/4 in", "1 in").replace("[1, 0.4]", "[0.25, 0.9]"),
        "leave nothing of",
    ),
}


@pytest.mark.parametrize("case", TAKEN_TWICE)
def test_metal_is_taken_out_once(tmp_path: Path, case: str) -> None:
    text, message = TAKEN_TWICE[case]
    result = make(tmp_path, PART + text)
    assert result.exit_code == 2, result.output
    assert message in result.stderr and 'part "clip-3"' in result.stderr


def test_a_finding_at_hundreds_of_places(tmp_path: Path) -> None:
    """It fills more than a page."""
    rows = "".join(
        HOLE.replace("1/4 in", "#40").replace("[1, 0.4]", f"[{k % 30 / 10 + 0.05}, {0.3 + k / 1e4}]")
        for k in range(200)
    )
    result = make(tmp_path, PART + rows)
    assert result.exit_code == 3, result.output
    assert (tmp_path / "out" / "index.html").stat().st_size > 0


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes there")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "job.toml").write_text('shop = "pipe.toml"\n' + HEAD + PART, encoding="utf-8")
    result = CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml")])
    assert result.exit_code == 2 and "this is no plain file" in result.stderr
