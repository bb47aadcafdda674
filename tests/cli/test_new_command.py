"""flatgen new: what it writes is read, checked and made at once; what cannot be used is asked again or refused."""

import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from flatgen.cli import flatgen
from flatgen.read.profile import profile_names


def run(*words: object, typed: str | None = None) -> Result:
    result = CliRunner().invoke(flatgen, [str(word) for word in words], input=typed)
    assert "Traceback" not in result.output
    return result


@pytest.mark.parametrize("units", ["in", "mm"])
def test_what_is_written_is_made_at_once(tmp_path: Path, units: str) -> None:
    assert 0 == run("new", tmp_path / "job", "--yes", "--units", units).exit_code
    made = run("make", tmp_path / "job" / "job.toml", "--out", tmp_path / "out", "--quiet")
    assert (0, "") == (made.exit_code, made.output)
    assert (tmp_path / "out" / "index.html").is_file()


FEW = ("angle", "gusset", "tray", "zed")
ALL = [pytest.param(name, marks=() if name in FEW else pytest.mark.deep) for name in profile_names()]


@pytest.mark.parametrize("name", ALL)
def test_every_profile_can_be_the_first(tmp_path: Path, name: str) -> None:
    """Its file is accepted; whether that brake can make it is for the checks to say, in words."""
    made = run("new", tmp_path / name, "--yes", "--profile", name, "--part", "P-1", "--quantity", 3)
    if made.exit_code == 0:
        assert run("check", tmp_path / name / "job.toml").exit_code in (0, 3)
        (part,) = tomllib.loads((tmp_path / name / "job.toml").read_text(encoding="utf-8"))["part"]
        assert ("P-1", name, 3) == (part["id"], part["profile"], part["quantity"])
    else:
        assert 'part "P-1"' in made.output


def test_the_answers_are_in_the_files(tmp_path: Path) -> None:
    """Asked one by one, with slips: each is told of and asked again."""
    answers = ["mm", 'Floats "Oxbow" \\ 1', "bench", "-3", "900", "2;3", "2, 3.5", "x", "20, 30", "perhaps", "no"]
    answers += [
        "router",
        "2024-T3, 1",
        "6061-T6, 1.2, 1250, 625; 5052-H32, 0.8, 1250, 625, 40",
        "a4",
        "channle",
        "channel",
        "C-7",
        "0",
        "12",
    ]
    asked = run("new", tmp_path / "a", typed="\n".join(answers) + "\n0\n")
    assert 0 == asked.exit_code
    for slip in (
        '"-3" is too small; it must be more than 0',
        '";" is no unit of length',
        '"x" is not a length',
        '"2024-T3, 1" is not a sheet; write alloy, thickness, length along the grain, width, as 6061-T6, 1, 1250, 625',
        'there is no profile "channle". Did you mean "channel"?',
        "'perhaps' is not one of 'yes', 'no'",
        "0 is not in the range 1<=x<=100000",
    ):
        assert slip in asked.output
    shop = tomllib.loads((tmp_path / "a" / "shop.toml").read_text(encoding="utf-8"))
    job = tomllib.loads((tmp_path / "a" / "job.toml").read_text(encoding="utf-8"))
    (brake,) = shop["brake"]
    assert ("mm", "bench", "900 mm") == (shop["units"], brake["name"], brake["length"])
    assert ["2 mm", "3.5 mm"] == [nose["radius"] for nose in brake["nose"]]
    assert ["20 mm", "30 mm"] == brake["fingers"] and brake["back_stop"] is False
    assert "profile-cut" == shop["tool"][0]["method"]
    assert [("6061-T6", "1.2 mm", None), ("5052-H32", "0.8 mm", 40)] == [
        (sheet["material"], sheet["thickness"], sheet.get("cost")) for sheet in shop["sheet"]
    ]
    assert ('Floats "Oxbow" \\ 1', "channel", "C-7", 12) == (
        job["title"],
        *(job["part"][0][key] for key in ("profile", "id", "quantity")),
    )
    assert 0 == run("make", tmp_path / "a" / "job.toml", "--out", tmp_path / "out", "--quiet").exit_code


def test_the_radius_is_one_that_the_tables_allow(tmp_path: Path) -> None:
    """2024-T3, Aluminum Association 2005, table 3-1: 3 T at 1/32 in, 4 T at 1/16 in; 1/16 in is 1.6 T of 0.040 in."""
    sheet = "2024-T3, 0.040, 48, 24"
    run("new", tmp_path / "a", "--yes", "--nose", "1/16", "--nose", "1/4 in", "--sheet", sheet)
    assert 'radius = "1/4 in"' in (tmp_path / "a" / "job.toml").read_text(encoding="utf-8")
    only = run("new", tmp_path / "b", "--yes", "--nose", "1/64", "--sheet", sheet)
    assert 0 == only.exit_code and "STOP" in only.output, "told at once, before any metal is cut"


def test_nothing_that_is_there_is_lost(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("mine", encoding="utf-8")
    refused = run("new", tmp_path, "--yes")
    assert 2 == refused.exit_code and "there is a job here already; name another folder" in refused.output
    assert ["job.toml"] == [path.name for path in tmp_path.iterdir()]
    assert "mine" == (tmp_path / "job.toml").read_text(encoding="utf-8")


def test_a_shop_that_is_there_is_kept_and_used(tmp_path: Path) -> None:
    """Its units, nose bars and first sheet are those of the new job."""
    run("new", tmp_path / "a", "--yes", "--units", "mm", "--nose", "2.5", "--sheet", "5052-H32, 0.8, 1250, 625")
    (tmp_path / "a" / "job.toml").unlink()
    before = (tmp_path / "a" / "shop.toml").read_text(encoding="utf-8")
    again = run("new", tmp_path / "a", "--yes", "--profile", "zed")
    assert 0 == again.exit_code and f"kept {tmp_path / 'a' / 'shop.toml'} as it was" in again.output
    assert before == (tmp_path / "a" / "shop.toml").read_text(encoding="utf-8")
    job = tomllib.loads((tmp_path / "a" / "job.toml").read_text(encoding="utf-8"))
    assert ("mm", "5052-H32", "0.8 mm") == (job["units"], job["material"], job["thickness"])
    assert "2.5 mm" == job["radius"]


def test_what_nobody_said_of_the_brake_is_no_figure_of_it(tmp_path: Path) -> None:
    """Neither fingers nor depths are made up; 0 says that there are no fingers."""
    run("new", tmp_path / "a", "--yes")
    run("new", tmp_path / "bar", "--yes", "--fingers", "0", "--no-back-stop")
    files = (tmp_path / name / "shop.toml" for name in ("a", "bar"))
    (plain,), (bar,) = (tomllib.loads(path.read_text(encoding="utf-8"))["brake"] for path in files)
    assert {"name", "length", "nose"} == {*plain} and all({"name", "radius"} == {*nose} for nose in plain["nose"])
    assert [] == bar["fingers"] and bar["back_stop"] is False


@pytest.mark.parametrize(("profile", "asked"), [("tray", "fingers"), ("angle", "")])
def test_a_brake_that_nobody_measured_stops_no_part(tmp_path: Path, profile: str, asked: str) -> None:
    begun = run("new", tmp_path, "--yes", "--profile", profile)
    assert 0 == begun.exit_code and "STOP" not in begun.output
    checked = run("check", tmp_path / "job.toml")
    assert 0 == checked.exit_code and (not asked or f"({asked} of [[brake]])" in checked.output)


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--nose", "x", '--nose: "x" is not a length'),
        ("--fingers", "1, wide", '--fingers: "wide" is not a length'),
        ("--sheet", "tin, 1, 2, 3", '--sheet: no material "tin". Known here: 2024-O'),
        ("--sheet", "6061-T6, 1, 2, 3, dear", '--sheet: "dear" is not a price; write a number'),
        ("--profile", "angel", '--profile: there is no profile "angel". Did you mean "angle"?'),
        ("--quantity", "0", "0 is not in the range"),
        ("--brake-length", "90 deg", '--brake-length: "90 deg" is an angle, expected a length'),
    ],
)
def test_an_option_that_cannot_be_used_is_refused(tmp_path: Path, option: str, value: str, said: str) -> None:
    refused = run("new", tmp_path / "a", "--yes", option, value)
    assert 2 == refused.exit_code and said in refused.output
    assert not (tmp_path / "a").exists()


def test_leaving_off_half_way_writes_nothing(tmp_path: Path) -> None:
    left = run("new", tmp_path / "a", typed="in\nmy job\n")
    assert 1 == left.exit_code and "stopped" in left.output
    assert not (tmp_path / "a").exists()
