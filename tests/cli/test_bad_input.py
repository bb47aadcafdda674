"""Bad input: one clear sentence with file, part, key and value, exit status 2, nothing written."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from small_shop import HEAD, PART, SHOP

from flatgen.cli import flatgen

BROKEN = {
    "unknown key": (
        HEAD + PART + "lenght = 2\n",
        'part "clip-3", lenght: there is no such key. Did you mean "length"?',
    ),
    "unknown key of the job": (
        "unit = 3\n" + HEAD + PART,
        'job.toml, line 1, unit: there is no such key. Did you mean "units"?',
    ),
    "missing key": (HEAD + '[[part]]\nid = "a"\nprofile = "angle"\n', 'part "a", quantity: this key is missing'),
    "missing material": (
        HEAD.replace('material = "2024-T3"\n', "") + PART,
        "material: this key is missing, on the part or",
    ),
    "an angle for a length": (
        HEAD + PART + 'leg_a = "90 deg"\n',
        'job.toml, line 10, part "clip-3", leg_a: "90 deg" is an angle, expected a length',
    ),
    "a length for an angle": (HEAD + PART + 'angle = "3 mm"\n', 'angle: "3 mm" is a length, expected an angle'),
    "negative size": (HEAD + PART + "leg_a = -1\n", 'leg_a: -1 is too small; "leg_a" must be at least 1/16 in'),
    "absurd size": (HEAD + PART + 'leg_a = "2 km"\n', "no part or sheet here is longer than 100 m"),
    "not TOML": ("title = \n", "job.toml, line 1: this is not TOML: invalid value"),
    "duplicate ids": (HEAD + PART + PART, 'part "clip-3": this id is used twice; give each part its own'),
    "unknown profile": (HEAD + PART.replace("angle", "angel"), 'there is no profile "angel". Did you mean "angle"?'),
    "unknown material": (
        HEAD + PART + 'material = "2024-T33"\n',
        'part "clip-3", material: there is no material "2024-T33". Did you mean "2024-T3"?',
    ),
    "10^9 holes": (
        HEAD
        + PART
        + '[[part.holes]]\nface = "leg_a"\ndrill = "#40"\nfrom = [0.3, 0.3]\npitch = 0.5\ncount = 1000000000\n',
        'part "clip-3", holes 1, count: 1000000000 comes to 1e+09; it must be 0 to 2000',
    ),
    "divides by zero": (
        HEAD + PART + '[[part.holes]]\nface = "leg_a"\ndrill = "#40"\nat = ["length/0", 0.3]\n',
        '"length/0" divides by zero',
    ),
    "unknown face": (
        HEAD + PART + '[[part.holes]]\nface = "leg_c"\ndrill = "#40"\nat = [1, 1]\n',
        'Did you mean "leg_b"?',
    ),
    "unknown drill": (
        HEAD + PART + '[[part.holes]]\nface = "leg_a"\ndrill = "#99"\nat = [1, 1]\n',
        '"#99" is no drill of the number (#80 to #1) or letter (A to Z) series',
    ),
    "flats of less than nothing": (
        HEAD + '[[part]]\nid = "u"\nprofile = "channel"\nquantity = 1\nweb = 0.2\n',
        'part "u": the bends beside edge',
    ),
    "half-quarter quantity": (HEAD + PART.replace("quantity = 2", "quantity = 2.5"), "2.5 is not a whole number"),
    "endless part number": (
        HEAD + PART.replace("clip-3", "x" * 61),
        "a part number of 61 characters is too long; at most 60",
    ),
    "no parts": (HEAD + "part = []\n", "the job has no parts"),
    "shop missing": (
        HEAD + 'shop = "nowhere.toml"\n' + PART,
        "job.toml, line 6, shop: nowhere.toml: there is no such file",
    ),
    "waives a rule that is none": (
        HEAD + PART + '[[waive]]\nrule = "hole-to-edgy"\npart = "clip-3"\nreason = "the designer said so"\n',
        'there is no rule "hole-to-edgy". Did you mean "hole-to-edge"?',
    ),
    "waives without a reason": (
        HEAD + PART + '[[waive]]\nrule = "hole-to-edge"\npart = "clip-3"\nreason = "ok"\n',
        "the reason must say in words why the finding is accepted",
    ),
    "too sharp a corner": (HEAD + PART + "corner_radius = 5\n", "corner"),
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("case", BROKEN)
def test_one_sentence_and_nothing_written(folder: Path, case: str) -> None:
    text, message = BROKEN[case]
    (folder / "job.toml").write_text(text, encoding="utf-8")
    result = CliRunner().invoke(flatgen, ["make", str(folder / "job.toml"), "--out", str(folder / "out")])
    assert (2, "") == (result.exit_code, result.stdout), result.output
    assert message in result.stderr
    assert "Traceback" not in result.output
    assert not (folder / "out").exists()


def test_every_error_in_one_list(folder: Path) -> None:
    (folder / "job.toml").write_text(
        HEAD + PART + 'leg_a = "x"\n' + PART.replace("clip-3", "b") + "leg_b = -2\n", "utf-8"
    )
    result = CliRunner().invoke(flatgen, ["check", str(folder / "job.toml")])
    assert 'part "clip-3", leg_a' in result.stderr and 'part "b", leg_b' in result.stderr


def test_self_reference(folder: Path) -> None:
    (folder / "profiles").mkdir()
    profile = 'title = "t"\nbase = "a"\n[derived]\np = "q + 1"\nq = "p"\n[face.a]\nsize = ["p", 2]\n'
    (folder / "profiles" / "loop.toml").write_text(profile, encoding="utf-8")
    (folder / "job.toml").write_text(HEAD + PART.replace("angle", "loop"), encoding="utf-8")
    result = CliRunner().invoke(flatgen, ["check", str(folder / "job.toml")])
    assert result.exit_code == 2
    assert '"p" refers to itself: p -> q -> p' in result.stderr and "loop.toml, line" in result.stderr


@pytest.mark.parametrize("name", ["job.toml", "."])
def test_unreadable(tmp_path: Path, name: str) -> None:
    result = CliRunner().invoke(flatgen, ["make", str(tmp_path / name)])
    assert result.exit_code == 2
    assert "there is no such file" in result.stderr or "this is a folder" in result.stderr


def test_binary_file(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_bytes(b"\xff\xfe\x00title")
    result = CliRunner().invoke(flatgen, ["make", str(tmp_path / "job.toml")])
    assert result.exit_code == 2 and "this is not UTF-8 text" in result.stderr


def test_unknown_command() -> None:
    result = CliRunner().invoke(flatgen, ["mkae"])
    assert result.exit_code == 2 and 'There is no command "mkae". Did you mean "make"?' in result.output


def test_lack_of_sheet_is_not_a_fault_of_the_part(folder: Path) -> None:
    """Exit status 1 where stock runs out; the packet says what is lacking, and nothing is dropped in silence."""
    (folder / "shop.toml").write_text(SHOP + "copies = 1\n", encoding="utf-8")
    (folder / "job.toml").write_text(HEAD + PART.replace("quantity = 2", "quantity = 400") + "length = 20\n", "utf-8")
    result = CliRunner().invoke(flatgen, ["nest", str(folder / "job.toml")])
    assert result.exit_code == 1, result.output
    assert "no-stock" in result.output and "not nested" in result.output


def test_very_many_errors_are_counted(tmp_path) -> None:
    """The same slip in two hundred sheets does not fill the screen."""
    sheet = '[[sheet]]\nid = "S{}"\nmaterial = "2024-T3"\nthickness = 0.04\nlength = 48\nwidth = 24\nsize = 3\n'
    (tmp_path / "shop.toml").write_text(SHOP + "".join(map(sheet.format, range(200))), encoding="utf-8")
    (tmp_path / "job.toml").write_text(HEAD + PART, encoding="utf-8")
    result = CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml")])
    assert 2 == result.exit_code
    lines = result.output.splitlines()
    assert 26 == len(lines)
    assert "what comes after these was not looked at" in lines[-1]
