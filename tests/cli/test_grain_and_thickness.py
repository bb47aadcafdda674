"""A sheet's grain and thickness: length along the grain, nominal thickness to choose by, measured thickness to make."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen

SHOP = """
units = "in"
[[brake]]
name = "b"
length = 24
largest_angle = 120
leaf_land = "3/8 in"
[[brake.nose]]
name = "three sixteenths"
radius = "3/16 in"
[[tool]]
name = "shear"
method = "shear"
"""
SHEET = (
    '[[sheet]]\nid = "S"\nmaterial = "2024-T3"\nthickness = {thickness}\nlength = {length}\nwidth = {width}\n{more}\n'
)
HEAD = 'title = "t"\nunits = "in"\nmaterial = "2024-T3"\nradius = "3/16 in"\ncoupons = false\n'
PART = '[[part]]\nid = "P"\nprofile = "angle"\nquantity = 2\nleg_a = 1.5\nleg_b = 1.125\nlength = 7\n'


def run(folder: Path, command: str, sheet: dict, head: str = "", shop: str = "") -> tuple[int, str]:
    usual = {"thickness": 0.04, "length": 48, "width": 24, "more": ""}
    (folder / "shop.toml").write_text(shop + SHOP + SHEET.format(**{**usual, **sheet}), encoding="utf-8")
    (folder / "job.toml").write_text(HEAD + head + PART, encoding="utf-8")
    result = CliRunner().invoke(
        flatgen, [command, str(folder / "job.toml"), *(["--json"] if command != "make" else [])]
    )
    assert "Traceback" not in result.output
    return result.exit_code, result.stdout if result.exit_code != 2 else result.output


def nested(folder: Path, part: str, sheet: dict) -> dict:
    status, said = run(folder, "nest", sheet, f"thickness = {part}\n")
    assert status == 0, said
    found = json.loads(said)
    return {**found["parts"][0], "pieces": len(found["nests"][0]["placements"])}


def test_the_keys_of_before_are_refused_with_what_to_write(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(SHOP + SHEET.format(thickness=0.04, length=1, width=1, more=""), "utf-8")
    text = (tmp_path / "shop.toml").read_text("utf-8").replace("length = 1\nwidth = 1\n", "width = 48\nheight = 24\n")
    (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
    (tmp_path / "job.toml").write_text(HEAD + "thickness = 0.04\n" + PART, encoding="utf-8")
    result = CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml")])
    assert result.exit_code == 2
    assert 'write length = "48" and width = "24"' in result.output
    assert "no such key" not in result.output


@pytest.mark.parametrize(
    ("length", "width", "more", "asked"),
    [(24, 48, "", 1), (48, 24, "", 0), (24, 48, "short_grain = true", 0), (24, 48, "remnant = true", 0)],
)
def test_grain_along_the_shorter_side_is_asked_about(
    tmp_path: Path, length: float, width: float, more: str, asked: int
) -> None:
    said = run(tmp_path, "check", {"length": length, "width": width, "more": more}, "thickness = 0.04\n")[1]
    assert asked == sum(f["rule"] == "sheet-grain" and f["severity"] == "warn" for f in json.loads(said))


def test_length_of_a_sheet_is_along_the_grain_and_a_part_is_laid_so(tmp_path: Path) -> None:
    """A leg's bend runs across the grain: of a narrow sheet the blank lies with its length across."""
    status, said = run(tmp_path, "nest", {"length": 3, "width": 8, "more": "short_grain = true"}, "thickness = 0.04\n")
    nest = json.loads(said)["nests"][0]
    assert (0, 3 * 25.4, 8 * 25.4) == (status, nest["sheet"]["width"], nest["sheet"]["height"])


def test_new_asks_how_the_grain_runs(tmp_path: Path) -> None:
    words = ["new", str(tmp_path / "a"), "--units", "in", "--title", "t", "--brake", "b", "--brake-length", "24"]
    words += ["--nose", "1/8", "--fingers", "0", "--back-stop", "--cut", "shear"]
    words += ["--sheet", "6061-T6, .04, 24, 48", "--spoiled", "5"]
    words += ["--paper", "a4", "--profile", "angle", "--part", "P", "--quantity", "1"]
    for answer, expected in (("n\n", '"48 in" # along'), ("y\n", '"24 in" # along')):
        asked = CliRunner().invoke(flatgen, words, input=answer)
        assert "run along its shorter side" in asked.output
        assert f"length = {expected}" in (tmp_path / "a" / "shop.toml").read_text("utf-8")
        (tmp_path / "a" / "shop.toml").unlink()
        (tmp_path / "a" / "job.toml").unlink()


@pytest.mark.parametrize(("part", "sheet"), [("0.0505", "0.050"), ("0.050", "0.0505"), ("0.0322", "0.032")])
def test_two_figures_for_one_nominal_size_find_each_other(tmp_path: Path, part: str, sheet: str) -> None:
    found = nested(tmp_path, part, {"thickness": sheet})
    assert found["pieces"] == 2
    assert round(found["nominal"] / 25.4, 6) == min(float(part), float(sheet))
    assert round(found["thickness"] / 25.4, 6) == float(part)


def test_a_near_size_of_another_gauge_is_no_stock(tmp_path: Path) -> None:
    status, said = run(tmp_path, "nest", {"thickness": 0.05}, "thickness = 0.045\n")
    assert status in (1, 3) and "no sheet of" in said


@pytest.mark.parametrize(
    ("part", "sheet", "made"),
    [("", "", 0.05), ("measured = 0.0492", "", 0.0492), ("measured = 0.0492", "measured = 0.0508", 0.0508)],
)
def test_what_is_measured_is_developed_and_the_tables_stay(tmp_path: Path, part: str, sheet: str, made: float) -> None:
    """The sheet's own measure goes before the part's; least radius and stock are those of the nominal size."""
    head = f"thickness = 0.050\n{part}\n"
    found = json.loads(run(tmp_path, "nest", {"thickness": 0.05, "more": sheet}, head)[1])
    (bend,) = found["parts"][0]["bends"]
    assert (round(made, 6), 0.05) == tuple(round(found["parts"][0][k] / 25.4, 6) for k in ("thickness", "nominal"))
    handbook = 90 * (0.01743 * 0.1875 + 0.0078 * made)  # FAA-H-8083-31, chapter 4: bend allowance
    assert round(bend["allowance"] / 25.4, 4) == pytest.approx(handbook, abs=1e-4)
    said = {f["rule"]: f for f in json.loads(run(tmp_path, "check", {"thickness": 0.05, "more": sheet}, head)[1])}
    assert round(said["minimum-radius"]["limit"] / 25.4, 4) == 0.25  # of 2024-T3, .050, as ever


def test_a_measure_that_the_nominal_size_cannot_have_is_refused(tmp_path: Path) -> None:
    status, said = run(tmp_path, "check", {"more": "measured = 0.063"}, "thickness = 0.04\n")
    assert status == 2 and "more than a tenth off the nominal thickness, 0.0400 in" in said


@pytest.mark.parametrize(("head", "shop", "warned"), [("", "", True), ('work = "general"\n', "", False)])
def test_general_work_decides_on_no_aircraft_table(tmp_path: Path, head: str, shop: str, warned: bool) -> None:
    found = json.loads(run(tmp_path, "check", {}, "thickness = 0.04\n" + head, shop)[1])
    asked = {f["rule"] for f in found if f["severity"] == "warn"}
    assert warned == ("minimum-radius" in asked)


def test_general_work_of_a_shop_wants_no_coupons_and_still_stops_at_the_brake(tmp_path: Path) -> None:
    part = PART.replace("leg_b = 1.125", "leg_b = 0.27")
    (tmp_path / "shop.toml").write_text(
        'work = "general"\n' + SHOP + SHEET.format(thickness=0.04, length=48, width=24, more=""), encoding="utf-8"
    )
    head = HEAD.replace("coupons = false\n", "") + "thickness = 0.04\n"
    (tmp_path / "job.toml").write_text(head + part, encoding="utf-8")
    result = CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml"), "--json"])
    found = json.loads(result.stdout)
    assert 3 == result.exit_code and "flange-too-short" in {f["rule"] for f in found}
    assert not any(f["part"].startswith("CP") for f in found)
