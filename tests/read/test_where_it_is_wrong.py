"""An error names the line that is wrong, and gives lengths in the unit that the file is written in."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from small_shop import HEAD, SHOP

from flatgen.cli import flatgen

PROFILE = """title = "p"
base = "plate"
units = "in"
[parameter.long]
default = 4
[parameter.lip]
default = 0.8
[face.plate]
size = ["long", 2]
"""
OPENING = '[[opening]]\nface = "plate"\nshape = "points"\npoints = {}\ncorner_round = 0.1\n'
A = '[flange.a]\non = "plate.top"\nheight = 0.8\n'


def check(folder: Path, profile: str, part: str = "", units: str = "in") -> tuple[int, str]:
    (folder / "profiles").mkdir()
    (folder / "profiles" / "own.toml").write_text(PROFILE + profile, encoding="utf-8")
    (folder / "shop.toml").write_text(SHOP, encoding="utf-8")
    text = HEAD.replace('units = "in"', f'units = "{units}"')
    text += '[[part]]\nid = "OK"\nprofile = "own"\nquantity = 1\nlip = "2 in"\n'
    text += f'[[part]]\nid = "P"\nprofile = "own"\nquantity = 1\n{part}'
    (folder / "job.toml").write_text(text, encoding="utf-8")
    result = CliRunner().invoke(flatgen, ["check", str(folder / "job.toml")])
    assert "Traceback" not in result.output and "a mistake of flatgen's own" not in result.output
    return result.exit_code, result.output


@pytest.mark.parametrize(
    ("profile", "part", "place"),
    [
        ('[flange.a]\non = "plate.top"\nheight = "lip"\n', 'lip = "0.1 in"', 'job.toml, line 15, part "P", lip'),
        ('[flange.a]\non = "plate.top"\nheight = 0.1\n', "", 'own.toml, line 12, part "OK", flange "a", height'),
        (
            A + 'relief = "drilled"\nspan = [0, 3.5]\n',
            'long = "3 in"',
            'own.toml, line 14, part "P", flange "a", span',
        ),
        (A + '[flange.b]\non = "plate.bottom"\nheight = 1\n[flange.c]\non = "plate.top"\nheight = 1\n', "", "line 17"),
        (A + 'span = [0.2, 1.5]\n[flange.c]\non = "plate.top"\nheight = 1\nspan = [1.2, 3]\n', "", "line 17"),
        (A + "height_high = 0.1\n", "", 'own.toml, line 13, part "OK", flange "a", height_high'),
    ],
)
def test_the_line_is_that_of_what_is_wrong(tmp_path: Path, profile: str, part: str, place: str) -> None:
    status, said = check(tmp_path, profile, part)
    assert status == 2 and place in said.splitlines()[0]


@pytest.mark.parametrize(
    ("points", "sentence"),
    [
        (
            "[[1, 0.5], [2, 1.5], [2, 0.5], [1, 1.5]]",
            "crosses itself at 1.500, 1.000 in",
        ),
        ("[[1, 0.5], [2, 1.5], [2, 0.5], [1, 1.2]]", "this opening crosses itself"),
        ("[[1, 0.5], [2, 0.5], [2, 0.5], [2, 1.5]]", "two corners in turn are the same place, 2.000, 0.500 in"),
        ("[[1, 0.5], [2, 0.5], [1, 0.5]]", "this opening encloses nothing"),
    ],
)
def test_an_opening_goes_once_round(tmp_path: Path, points: str, sentence: str) -> None:
    status, said = check(tmp_path, OPENING.format(points))
    assert status == 2 and "own.toml, line 13" in said and sentence in said


def test_an_opening_may_come_back_to_its_first_corner(tmp_path: Path) -> None:
    """As a face's outline may; it was divided by nothing."""
    assert check(tmp_path, OPENING.format("[[1, 0.5], [2, 0.5], [2, 1.5], [1, 0.5]]"))[0] == 0


@pytest.mark.parametrize(("units", "first"), [("in", "more than 0.1"), ("mm", "more than 4.1")])
def test_lengths_stand_in_the_unit_of_the_job(tmp_path: Path, units: str, first: str) -> None:
    assert first in check(tmp_path, '[flange.a]\non = "plate.top"\nheight = "lip"\n', 'lip = "0.1 in"', units)[1]


def test_limits_of_keys_stand_in_the_unit_of_the_file(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(SHOP.replace('"0.040 in"', '"0.001 in"'), encoding="utf-8")
    (tmp_path / "job.toml").write_text(HEAD + '[[part]]\nid = "P"\nprofile = "angle"\nquantity = 1\n', encoding="utf-8")
    said = CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml")]).output
    assert "it must be at least 0.003937 in" in said and " mm" not in said


def test_an_opening_of_a_drawing_file_that_crosses_itself_is_refused(tmp_path: Path) -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">'
    svg += '<path d="M0 0H80V50H0Z"/><path d="M10 10L40 40L40 10L10 25Z"/></svg>'
    (tmp_path / "profiles").mkdir()
    (tmp_path / "profiles" / "own.toml").write_text(
        'title = "p"\nbase = "plate"\nunits = "mm"\n[face.plate]\noutline = "plate.svg"\n', encoding="utf-8"
    )
    (tmp_path / "profiles" / "plate.svg").write_text(svg, encoding="utf-8")
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "job.toml").write_text(HEAD + '[[part]]\nid = "P"\nprofile = "own"\nquantity = 1\n', encoding="utf-8")
    result = CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml")])
    assert result.exit_code == 2 and "an opening crosses itself" in result.output
