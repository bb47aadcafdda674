"""``flatgen bend`` as a person uses it: what it prints, what it refuses, what it loads."""

import json
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen
from flatgen.core import bend as formulas

BASE = ("-m", "2024-T3", "-t", "0.040", "-r", "5/32")
ROOT = Path(__file__).parents[2]
SHOP = """
name = "bench"
units = "in"
radius_table = "airframe-chart"
[[brake]]
name = "hand"
length = 30
largest_angle = 95
capacity_thickness = 0.063
[[brake.nose]]
name = "small"
radius = "1/8"
[[brake.nose]]
name = "large"
radius = "3/16"
[[tool]]
name = "shear"
method = "shear"
"""


def run(*words):
    return CliRunner().invoke(flatgen, ["bend", *words])


def answer(*words):
    result = run(*words, "--json")
    assert 0 == result.exit_code, result.output
    return json.loads(result.output)


def refused(*words):
    result = run(*words)
    assert 2 == result.exit_code
    assert "" == result.stdout
    return result.stderr


@pytest.fixture
def shop(tmp_path):
    file = tmp_path / "shop.toml"
    file.write_text(SHOP)
    return str(file)


def test_every_method_side_by_side():
    text = run(*BASE, "--legs", "1.000, 0.750").output
    for name in ("handbook", "din-6935", "hardness-rule", "ratio-table"):
        assert name in text
    # worked part, common practice: allowance .2732, deduction .1193, blank 1.631, tangents .804 and 1.077
    assert "> handbook          0.2732     0.1193" in text
    # leaf 94.4, R' .1649: a clamped leg has .00865 less flat; sight lines at .9600 - .00865 and .9207 + .00865
    for number in ("1.6307", "0.8038", "1.0769", "0.9514", "0.9293"):
        assert number in text
    assert "thousandths of an inch" in text
    assert "used: handbook" in text


def test_json_agrees_with_the_formulas():
    found = answer(*BASE, "--between", "120", "--neutral-axis-ratio", "0.4", "--method", "neutral-axis")
    assert (60.0, 120.0, "neutral-axis") == (found["angle"], found["between_legs"], found["used"])
    radius, thickness = 5 / 32 * 25.4, 0.040 * 25.4
    for row in found["methods"]:
        taken = formulas.bend_deduction(60, radius, thickness, row["allowance"])
        assert taken == pytest.approx(row["deduction"], abs=1e-9)
    axis = next(row for row in found["methods"] if row["name"] == "neutral-axis")
    assert 0.4 == pytest.approx(axis["neutral_axis_ratio"])


@pytest.mark.parametrize(
    ("angle", "kind"), [("1", "open"), ("45", "open"), ("90", "square"), ("135", "closed"), ("180", "hem")]
)
def test_angles_from_one_to_180(angle, kind):
    assert kind == answer("-m", "2024-O", "-t", "0.032", "-r", "1/16", "-a", angle)["kind"]


def test_a_hem_has_no_mould_line_but_a_blank():
    found = answer("-m", "3003-H14", "-t", "0.032", "-r", "1/16", "-a", "180", "--legs", "1.000, 0.375")
    assert found["outside_setback"] is None
    row = next(row for row in found["methods"] if row["name"] == "handbook")
    assert row["deduction"] is None
    # legs run to the outside of the fold: each flat is a leg less R + T
    flats = (1.375 - 2 * (0.0625 + 0.032)) * 25.4
    assert flats + row["allowance"] == pytest.approx(row["developed"])


def test_measured_inside_and_tangent_give_the_same_blank():
    outside = answer(*BASE, "--legs", "1.000, 0.750")["methods"][0]["developed"]
    inside = answer(*BASE, "--legs", "0.960, 0.710", "--measured-to", "inside")["methods"][0]["developed"]
    tangent = answer(*BASE, "--legs", "0.80375, 0.55375", "--measured-to", "tangent")["methods"][0]["developed"]
    assert outside == pytest.approx(inside) == pytest.approx(tangent)


def test_deduction_leg_and_radius_from_a_blank():
    blank = answer(*BASE, "--legs", "1.000, 0.750")["methods"]
    length = f"{next(row for row in blank if row['name'] == 'handbook')['developed']:.9f} mm"
    leg = answer(*BASE, "--legs", "1.000, ?", "--blank", length)
    assert 0.750 * 25.4 == pytest.approx(leg["legs"][1])
    radius = answer(*BASE[:-1], "?", "--legs", "1.000, 0.750", "--blank", length)
    assert 5 / 32 * 25.4 == pytest.approx(radius["radius"], abs=1e-6)
    made = answer(*BASE, "--legs", "1.000, 0.750", "--blank", length)
    row = next(row for row in blank if row["name"] == "handbook")
    assert row["neutral_axis_ratio"] == pytest.approx(made["neutral_axis_ratio"], abs=1e-6)


def test_fit_of_parts_already_made(tmp_path):
    file = tmp_path / "made.csv"
    file.write_text("blank,leg_a,leg_b\n1.6300,1.000,0.750\n1.6320,1.000,0.750\n1.6310,1.001,0.750\n")
    found = answer(*BASE, "--fit", str(file))
    assert 3 == found["count"]
    assert 0.3 < found["ratio"] < 0.5
    assert found["error"] > 0
    assert "standard error" in run(*BASE, "--fit", str(file)).output


def test_a_shop_bends_what_it_has(shop):
    found = answer(*BASE, "--shop", shop)
    assert ("large", pytest.approx(3 / 16 * 25.4)) == (found["nose"], found["radius"])
    assert "airframe-chart" == found["radius_verdict"]["governing"]["table"]
    assert "in place of the drawing's 0.1562" in run(*BASE, "--shop", shop).output


def test_the_shop_book_comes_before_any_formula(tmp_path):
    from flatgen.records.coupons import Coupon, record_coupons

    file = tmp_path / "shop.toml"
    file.write_text(SHOP)
    blank, legs = 1.880 * 25.4, (1.0 * 25.4, 1.0 * 25.4)
    measured = Coupon("2024-T3", 0.040 * 25.4, 3 / 16 * 25.4, 90.0, "across", blank, *legs, 0.040 * 25.4, 95.0, 90.0)
    record_coupons(tmp_path / "shop-book.sqlite", [replace(measured, mark=f"C1/{k}") for k in range(3)])
    found = answer(*BASE, "--shop", str(file))
    assert "shop-record" == found["used"]
    own = next(row for row in found["methods"] if row["name"] == "shop-record")
    assert 0.120 * 25.4 == pytest.approx(own["deduction"])
    assert 95.0 == pytest.approx(found["springback"]["best"])
    assert "3 coupons at 90°" in found["springback"]["record"]
    # another sheet of this nominal thickness goes by the same test bends
    found = answer(*BASE, "--measured", "0.0432", "--shop", str(file))
    assert ("shop-record", 1.016) == (found["used"], found["nominal"])
    assert 0.0432 * 25.4 == pytest.approx(found["thickness"])
    assert "0.0432 (nominal 0.0400) in thick" in run(*BASE, "--measured", "0.0432", "--shop", str(file)).output
    assert '"0.063" is more than a tenth off the nominal' in refused(*BASE, "--measured", "0.063")


def test_leaf_travel_and_capacity_are_judged(shop):
    text = run("-m", "2024-T3", "-t", "0.063", "-r", "3/16", "-a", "94", "--shop", shop).output
    assert 'brake "hand" ends at 95°' in text
    assert "MORE THAN the brake's capacity" in text
    assert "stated for mild steel at full length" in text


def test_a_radius_below_every_table_is_forbidden():
    result = run("-m", "2024-T3", "-t", "0.063", "-r", "1/16")
    assert 3 == result.exit_code
    assert "FORBIDDEN, below every table" in result.output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("-m", "2024-T33", "-t", "1", "-r", "1"), '--material: no material "2024-T33". Did you mean "2024-T3"?'),
        (("-t", "0.040", "-r", "1/8"), "--material: missing; name the alloy and temper"),
        (("-m", "2024-T3", "-r", "1/8"), "--thickness: missing; a length is needed here"),
        ((*BASE, "-a", "181"), '--angle: "181" must be from 1 to 180 deg'),
        ((*BASE, "-a", "90", "--between", "90"), "--between: give --angle or --between, not both"),
        ((*BASE, "-t", "90 deg"), '--thickness: "90 deg" is an angle, expected a length'),
        ((*BASE, "-t", "-1"), '--thickness: "-1" must be above 0'),
        ((*BASE, "--legs", "1.0, x"), "--legs: "),
        ((*BASE, "--legs", "1.0, 0.1"), "leg 2 is 2.54 mm (0.1 in); its bends take 4.985 mm (0.1962 in) of it"),
        ((*BASE, "--legs", "1.0"), "one leg makes no bend; give two or more"),
        ((*BASE, "--method", "handbok"), 'no allowance method "handbok". Did you mean "handbook"?'),
        ((*BASE, "--table", "multipels"), '--table: no table "multipels" for 2024-T3 bare. Did you mean "multiples"?'),
        ((*BASE, "--blank", "1.6", "--legs", "?, ?"), "only one leg or the radius can be found at a time"),
        ((*BASE, "--brake", "x"), "--brake: a brake is chosen from a shop file; give --shop too"),
        ((*BASE, "--deduction", "2"), "a deduction of 50.80 mm (2.000 in) would leave"),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence(words, says):
    text = refused(*words)
    assert says in text
    assert 1 == len(text.splitlines())


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("blank,legb\n1,1\n", 'line 1: no column "legb" here. Did you mean "leg_b"?'),
        ("blank,leg_a,leg_b\n1.6,1.0,x\n", 'line 2, column "leg_b": '),
        ("blank,leg_a,leg_b\n1.6,1.0,-1\n", 'line 2, column "leg_b": "-1" must be above 0'),
        ("blank,leg_a,leg_b\n", "the file holds no part"),
    ],
)
def test_a_bad_file_of_made_parts_is_named_with_its_line(tmp_path, text, says):
    file = tmp_path / "made.csv"
    file.write_text(text)
    assert says in refused(*BASE, "--fit", str(file))


def test_a_chart_is_one_page_as_pdf_and_svg(tmp_path, shop):
    result = run("-m", "6061-T6", "--chart", str(tmp_path / "wall"), "--shop", shop)
    assert 0 == result.exit_code, result.output
    assert (tmp_path / "wall.pdf").read_bytes().startswith(b"%PDF")
    root = ET.parse(tmp_path / "wall.svg").getroot()
    assert "279.4mm" == root.get("width")
    words = [node.text for node in root.iter() if node.tag.endswith("text")]
    # two noses on this shop's brake, by rising radius
    assert {"R 1/8", "R 3/16"} <= set(words)


def test_a_chart_without_a_name_is_named_after_its_metal(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert 0 == run("--chart", "--material", "6061-T6").exit_code
    assert ["bend-chart-6061-T6.pdf", "bend-chart-6061-T6.svg"] == sorted(file.name for file in tmp_path.iterdir())


def test_help_shows_an_example_and_cautions():
    text = run("--help").output
    assert 'flatgen bend -m 2024-T3 -t 0.040 -r 5/32 --legs "1.000, 0.750"' in text
    assert "Keep hands clear" in text


def test_no_drawing_or_geometry_library_is_loaded():
    code = (
        "import sys\nfrom flatgen.cli import flatgen\n"
        f"try: flatgen({['bend', *BASE, '--legs', '1, 1']!r}, prog_name='flatgen')\nexcept SystemExit: pass\n"
        "heavy = ('pint', 'shapely', 'ezdxf', 'numpy', 'fpdf', 'svgwrite', 'highspy', 'spyrrow', 'sqlite3')\n"
        "print([name for name in heavy if name in sys.modules], file=sys.stderr)"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, check=True)
    assert "[]" == done.stderr.strip()


def test_force_over_a_length_is_said_in_the_shop_s_units(shop):
    """The same bend in pounds and in newtons: 1 lbf is 4.4482216 N."""
    said = {}
    for units in ("in", "mm"):
        text = run(
            "-m", "2024-T3", "-t", "0.040 in", "-r", "5/32 in", "--shop", shop, "--length", "12 in", "--units", units
        ).stdout
        found = re.search(
            r"over (\S+) (in|mm): about (\d+) (lbf|N) at the leaf's edge, (\d+) (lbf|N) of clamping", text
        )
        assert found, text
        said[units] = (float(found[1]), found[2], float(found[3]), found[4], float(found[5]), found[6])
    assert (12.0, "in", "lbf") == (*said["in"][:2], said["in"][3]) and (304.8, "mm", "N") == (
        *said["mm"][:2],
        said["mm"][3],
    )
    for k in (2, 4):
        assert said["in"][k] * 4.4482216 == pytest.approx(said["mm"][k], rel=0.02)
