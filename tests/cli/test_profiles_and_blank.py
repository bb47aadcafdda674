"""flatgen profiles and flatgen blank as a person uses them: what is listed, what is written, what is refused."""

import json
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen
from flatgen.core.outline import bounds
from flatgen.develop.develop import develop
from flatgen.read.profile import find_profile, library, load_profile, profile_names
from flatgen.read.single import single_job

ROOT = Path(__file__).resolve().parent.parent.parent
# what the trade makes of sheet on a hand brake (trade notes, sections 13 and 15; common practice, no source)
WANTED = (
    *("angle", "bevel-angle", "lipped-angle", "channel", "unequal-channel", "lipped-channel", "zed", "lipped-zed"),
    *("hat", "footed-hat", "jay", "u-clip", "joggled-strap", "stepped-bracket", "gusset", "flanged-gusset", "tray"),
    *("mitred-tray", "lidded-box", "end-cap", "rib", "hinge-bracket", "corner-clip", "tab-plate", "doubler"),
)


def run(*words, ok=0):
    result = CliRunner().invoke(flatgen, [str(word) for word in words])
    assert ok == result.exit_code, result.output
    return result


def test_library_has_what_the_trade_makes():
    assert len(profile_names()) >= 24
    assert [] == [name for name in WANTED if name not in profile_names()]


@pytest.mark.parametrize("name", profile_names())
def test_profile_is_commented_and_has_defaults_in_both_units(name):
    text = (library() / f"{name}.toml").read_text(encoding="utf-8")
    assert text.startswith("# ")
    profile = load_profile(find_profile(name))
    assert profile.values["title"] and profile.values["summary"].endswith(".")
    for parameter in profile.parameters.values():
        assert parameter.explain, parameter.name
        if isinstance(parameter.default, dict):
            assert {"in", "mm"} == set(parameter.default)


def test_list_names_every_profile():
    out = run("profiles").output
    assert [] == [name for name in profile_names() if name not in out]


@pytest.mark.parametrize("name", profile_names())
@pytest.mark.parametrize("units", ["in", "mm"])
def test_entry_to_paste_makes_the_part_at_once(name, units, tmp_path):
    out = run("profiles", name, "--units", units).output
    entry = out[out.index("[[part]]") :]
    entry = entry.replace("# material", "material").replace("# thickness", "thickness").replace("# radius", "radius")
    (tmp_path / "shop.toml").write_bytes((ROOT / "tests" / "data" / "six" / "shop.toml").read_bytes())
    head = f'title = "Pasted"\nunits = "{units}"\n'
    (tmp_path / "job.toml").write_text(head + entry, encoding="utf-8")
    assert 1 == len(tomllib.loads(head + entry)["part"])
    made = json.loads(run_any("blank", tmp_path / "job.toml", "--out", tmp_path / "b", "--json"))
    assert name == made[0]["profile"]


def run_any(*words):
    result = CliRunner().invoke(flatgen, [str(word) for word in words])
    assert result.exit_code in (0, 3), result.output
    return result.stdout


def test_picture_and_sheet_are_written(tmp_path):
    run("profiles", "hat", "--svg", tmp_path / "hat.svg")
    run("profiles", "--svg", tmp_path / "all.svg")
    text = (tmp_path / "all.svg").read_text(encoding="utf-8")
    assert [] == [name for name in profile_names() if f">{name}<" not in text]
    assert (tmp_path / "hat.svg").stat().st_size > 1000


def test_own_profiles_come_first(tmp_path, monkeypatch):
    (tmp_path / "profiles").mkdir()
    own = 'title = "Mine"\nsummary = "Own."\nbase = "p"\n[face.p]\nsize = [1, 1]\n'
    (tmp_path / "profiles" / "own-plate.toml").write_text(own, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert "own-plate" in run("profiles").output.splitlines()[2]


def test_blank_of_a_profile_with_sizes(tmp_path):
    words = ("--set", "length=6 in", "--set", "thickness=0.040 in", "--set", "radius=5/32 in", "--set", "web=2 in")
    made = json.loads(run("blank", "channel", *words, "--set", "flange=1 in", "--out", tmp_path, "--json").stdout)[0]
    # FAA-H-8083-31, ch. 4, channel 1.00 x 2.00 x 1.00: 3.761379 with one radius of 5/32 and the formula, unrounded
    assert 3.761379 == pytest.approx(made["blank"]["height"] / 25.4, abs=5e-5)
    assert {"channel.dxf", "channel.svg"} == {Path(path).name for path in made["files"]}


def test_blank_of_some_parts_of_a_job(tmp_path):
    job = ROOT / "tests" / "data" / "six" / "job.toml"
    out = run_any("blank", job, "TF-101", "--out", tmp_path, "--format", "svg")
    assert "TF-101" in out and "TF-102" not in out
    assert ["TF-101.svg"] == sorted(path.name for path in tmp_path.glob("[!.]*"))


@pytest.mark.parametrize("kind", ["stl", "glb"])
def test_blank_writes_the_solid(kind, tmp_path):
    pytest.importorskip("trimesh")
    run("blank", "hat", "--out", tmp_path, "--solid", kind)
    assert (tmp_path / f"hat.{kind}").stat().st_size > 1000


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("profiles", "chanel"), 'there is no profile "chanel". Did you mean "channel"?'),
        (("blank", "chanel"), '"chanel" is neither a job file nor a profile. Did you mean "channel"?'),
        (("blank", "channel", "--set", "lenght=3"), 'lenght: there is no such key. Did you mean "length"?'),
        (("blank", "channel", "--set", "angle"), '"angle" is not written NAME=VALUE'),
        (("blank", "channel", "--set", "angle=170"), '170 is too large; "angle" must be at most 150'),
        (("blank", "channel", "P-1"), '"channel" is no job, so it has no part "P-1"'),
        (("blank", "no-such-job.toml"), "no-such-job.toml: there is no such file"),
    ],
)
def test_one_sentence_and_nothing_written(words, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = run(*words, ok=2)
    assert said in result.output and "Traceback" not in result.output
    assert [] == list(tmp_path.iterdir())


def test_sheet_of_the_examples_shows_the_library_as_it_is():
    text = (ROOT / "examples" / "profiles.svg").read_text(encoding="utf-8")
    assert [] == [name for name in profile_names() if f">{name}<" not in text]


@pytest.mark.parametrize("name", profile_names())
@pytest.mark.parametrize(
    ("units", "thickness", "radius"), [("mm", "1.0 mm", "3.2 mm"), ("in", "0.040 in", "1/8 in")], ids=["mm", "in"]
)
def test_defaults_develop_in_the_usual_sheet(name, units, thickness, radius):
    """Thickness and radius that ``flatgen new`` writes."""
    metal = {"thickness": thickness, "radius": radius, "material": "6061-T6"}
    job = single_job(name, metal, units, None)
    for part in job.parts:
        blank = develop(part, job.shop)
        assert 0 < blank.area <= blank.width * blank.height
        assert part.id == name


@pytest.mark.parametrize("units", ["in", "mm"])
def test_hat_can_be_bent_on_the_brake_of_a_first_shop(units, tmp_path):
    run("new", tmp_path, "--yes", "--profile", "hat", "--units", units)
    found = json.loads(run("check", tmp_path / "job.toml", "--json").stdout)
    assert [] == [f for f in found if f["severity"] == "forbid"]


@pytest.mark.parametrize("count", [0, 1, 2, 3, 4, 7])
def test_tab_plate_has_as_many_slots_as_asked(count):
    part = single_job("tab-plate", {"slots": str(count)}, "mm", None).parts[0]
    boxes = sorted(bounds([cut.outline]) for cut in part.cutouts)
    middles = [(low + high) / 2.0 for low, _, high, _ in boxes]
    assert [125.0 * k / (count + 1) for k in range(1, count + 1)] == pytest.approx(middles)


def test_more_slots_than_there_is_room_for_are_refused(tmp_path):
    result = run("blank", "tab-plate", "--set", "slots=50", "--units", "mm", "--out", tmp_path / "b", ok=2)
    assert 'part "tab-plate": the opening about' in result.output and "runs into another opening" in result.output
    assert not (tmp_path / "b").exists()
