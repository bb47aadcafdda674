"""Ways to make parts: what each takes, and a job whose parts are bent long, from sheet to saw."""

import json
import math
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from making import make_job
from random_jobs import random_job

from flatgen.cli import flatgen
from flatgen.draw.setting_words import warnings
from flatgen.errors import InputError, InputErrors
from flatgen.jobs.loading import load
from flatgen.jobs.make import planned
from flatgen.jobs.processes import families, proposed, reasons, ways, without_section

LENGTHS = ((0.75, 30), (1, 28), (1.25, 26), (1.5, 26), (2, 24), (2.5, 22), (3, 20), (4, 16), (6, 14))
HEAD = """title = "clips"
units = "in"
shop = "shop.toml"
material = "6061-T6"
thickness = "0.040 in"
radius = "1/8 in"
"""


def clips(root, folder: Path, process: str, lengths=LENGTHS, more="") -> Path:
    """Clips of nine lengths and one section."""
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copy(root / "examples/first-clips/shop.toml", folder)
    text = HEAD
    for k, (length, many) in enumerate(lengths, 1):
        text += f'[[part]]\nid = "C{k}"\nprofile = "angle"\nquantity = {many}\nlength = {length}\nleg_a = 1\n'
        text += f'leg_b = "3/4 in"\ncorner_radius = "1/8 in"\nprocess = "{process}"\n{more}'
    (folder / "job.toml").write_text(text)
    return folder / "job.toml"


def test_two_hundred_and_six_clips_take_few_clampings(root, tmp_path) -> None:
    job = load(clips(root, tmp_path, "one by one"))
    (family,) = families(job)
    one, beside, long = ways(job, family)
    assert (206, 206) == (sum(many for _, many in LENGTHS), one.clampings)
    assert beside.clampings < 25 and long.clampings < 45 and long.count == long.clampings
    assert one.metal == beside.metal < long.metal < 1.15 * one.metal
    assert proposed((one, beside, long)).minutes == min(one.minutes, beside.minutes, long.minutes)
    length, patterns = long.lengths
    assert length <= family.longest <= job.shop.brake().length
    for k, (_, many) in enumerate(LENGTHS):
        assert many == sum(times * pattern[k] for times, pattern in patterns)


def test_clips_bent_long_are_one_part_at_shear_and_brake_and_nine_at_the_saw(root, tmp_path) -> None:
    made = make_job(clips(root, tmp_path / "in", "long", LENGTHS[:4]), tmp_path / "out")
    long, *members = [part for part in made.results["parts"] if part["kind"] == "part"]
    assert ("L1", {"L1"}) == (long["id"], {part["cut_from"] for part in members})
    nested = [laid["part"] for nest in made.results["nests"] for laid in nest["placements"]]
    assert {"L1", "CP1"} == set(nested) and long["quantity"] == nested.count("L1")
    assert {"L1"} == {op["part"] for setup in made.results["setups"] for op in setup["operations"]}
    for member in members:
        rows = [(row["lengths"], one) for row in long["cut_list"] for one in row["pieces"]]
        assert member["quantity"] == sum(times * one["pieces"] for times, one in rows if one["part"] == member["id"])
        across = sorted((member["blank"]["width"], member["blank"]["height"]))
        assert any(math.isclose(long["blank"]["height"], size, abs_tol=1e-6) for size in across)
    assert made.results["totals"]["pieces_wanted"] == sum(part["quantity"] for part in members)
    cut = (made.folder / "cut-list.csv").read_text()
    assert '"saw, from L1"' in cut and not (made.folder / "blanks" / "C1.dxf").exists()


def test_a_length_has_the_section_of_its_parts(root, tmp_path) -> None:
    """Flats, allowances and grain of the formed length are those of the part, whichever way it was described."""
    job = load(root / "examples/first-clips/job.toml")
    for family in families(job):
        member = family.members[0]
        results = planned(load(_with_process(root, tmp_path, member.part.id)))
        made = {one.part.id: one for one in results.parts}
        assert member.section.key() == _section(made["L1"])


def _with_process(root, folder: Path, part: str) -> Path:
    shutil.copytree(root / "examples/first-clips", folder, dirs_exist_ok=True)
    text = (root / "examples/first-clips/job.toml").read_text()
    (folder / "job.toml").write_text(text.replace(f'id = "{part}"', f'id = "{part}"\nprocess = "long"'))
    return folder / "job.toml"


def _section(made):
    from flatgen.develop.formed_length import section_of

    return section_of(made.part, made.blank).key()


def test_of_as_many_lengths_none_is_longer_than_its_pieces_ask_for(root) -> None:
    """26 clips, 49 in: of four lengths each needs 14 in at most, not the 17 that would come out straight (by hand)."""
    job = load(root / "examples/first-clips/job.toml")
    (long,) = [way for way in ways(job, families(job)[0]) if way.process == "long"]
    length, patterns = long.lengths
    assert 4 == long.count and length <= 14.0 * 25.4
    assert [16, 10] == [sum(times * pattern[k] for times, pattern in patterns) for k in (0, 1)]


def test_what_cannot_be_bent_long_says_why(root, tmp_path) -> None:
    folder = tmp_path / "tray"
    folder.mkdir()
    shutil.copy(root / "examples/first-clips/shop.toml", folder)
    text = HEAD + '[[part]]\nid = "T"\nprofile = "tray"\nquantity = 3\nprocess = "long"\n'
    (folder / "job.toml").write_text(text)
    with pytest.raises(InputError, match=r'part "T", process.*cannot be made long'):
        load(folder / "job.toml")


def test_the_heads_process_holds_for_parts_that_can_and_says_which_cannot(root, tmp_path) -> None:
    path = clips(root, tmp_path, "side by side", LENGTHS[:2])
    text = path.read_text().replace("units", 'process = "long"\nunits', 1).replace('process = "side by side"\n', "", 1)
    path.write_text(text + '[[part]]\nid = "T"\nprofile = "tray"\nquantity = 3\n')
    job = load(path)
    made = {part.id: (part.process, part.cut_from) for part in job.parts}
    assert {"C1": ("long", "L1"), "C2": ("side by side", ""), "T": ("one by one", "")}.items() <= made.items()
    (told,) = [f for part in planned(job).parts for f in part.findings if f.rule == "process"]
    assert ("T", "not long: its bends do not lie one way") == (told.part, str(told.message).partition(", ")[2])
    with pytest.raises(InputErrors) as both:
        load(_asking(path, text, ('process = "long"', 'process = "wide"')))
    assert ["C1", "T"] == [str(error.where)[6:8].strip('"') for error in both.value.errors]


def _asking(path: Path, text: str, processes: tuple[str, str]) -> Path:
    """Two parts that ask, each for what it cannot have."""
    one, two = (f'[[part]]\nid = "{name}"\nprofile = "tray"\nquantity = 1\n{ask}\n' for name, ask in
                zip(("C1", "T"), processes, strict=True))  # fmt: skip
    path.write_text(HEAD + one + two)
    return path


def test_ways_say_why_the_others_are_not_there(root) -> None:
    job = load(root / "examples/float-fittings/job.toml")
    found = {part.id: ([way.process for way in some], why) for part, some, why in without_section(job)}
    assert (["one by one", "side by side"], "it has reliefs, which a length cannot have") == found["TF-141-L"]
    assert (["one by one"], "its bends do not lie one way") == found["TF-103"]
    (family,) = [one for one in families(job) if one.members[0].part.id == "TF-102"]
    assert {"long": "no length that brake and sheet take holds two of its pieces"} == reasons(job, family)


def test_side_by_side_is_said_at_the_setting(root, tmp_path) -> None:
    job = load(clips(root, tmp_path, "side by side", LENGTHS[:2]))
    results = planned(job)
    ops = [op for setup in results.setups for op in setup.operations]
    assert {int((762.0 + 10.0) / (size * 25.4 + 10.0)) for size in (0.75, 1)} == {op.abreast for op in ops}
    assert any("side by side in a clamping" in text for text in warnings([(ops[0], ("b1",))], "in"))


def test_command_shows_the_ways(root, tmp_path) -> None:
    run = CliRunner().invoke(flatgen, ["setup", str(clips(root, tmp_path, "one by one")), "--ways", "--json"])
    (family,) = json.loads(run.stdout)
    assert 9 == len(family["parts"]) and ["one by one", "side by side", "long"] == [
        w["process"] for w in family["ways"]
    ]


def test_a_setting_says_where_along_the_bar_and_its_minutes(root, tmp_path) -> None:
    from page_texts import texts_of

    from flatgen.drawings import setup_drawings

    results = planned(load(clips(root, tmp_path, "one by one", LENGTHS[:1])))
    (enclosure,) = setup_drawings(results)
    said = " ".join(text.text for page in enclosure.drawings for text in texts_of(page))
    assert "round the bar's middle mark, scrap of this sheet at its ends" in said
    assert "about 32 + 15 min" in said and "AT EVERY SETTING" in said and "common practice, no source" in said


def test_a_long_narrow_flange_is_bent_wide_and_ripped(root, tmp_path) -> None:
    path = clips(root, tmp_path / "in", "one by one", ((14, 5),))
    path.write_text(path.read_text().replace('leg_b = "3/4 in"', 'leg_b = "3/8 in"'))
    job = load(path)
    (family,) = families(job)
    found = {way.process: way for way in ways(job, family)}
    assert not found["one by one"].holds and found["wide"] is proposed(tuple(found.values()))
    path.write_text(path.read_text().replace('process = "one by one"', 'process = "wide"'))
    made = make_job(path, tmp_path / "out")
    wide, part = (made.part(name) for name in ("W1", "C1"))
    assert ("W1", 5) == (part["cut_from"], wide["quantity"])
    legs = {size["where"]: size["outside"] for size in wide["dimensions"] if size["kind"] == "flange"}
    assert legs["leg_b"] - 25.4 * 3 / 8 >= 12.0 and legs["leg_a"] == pytest.approx(25.4)
    assert wide["blank"]["area"] > part["blank"]["area"] + 14 * 25.4 * 11.9
    rips = found["wide"].minutes - found["one by one"].minutes
    assert made.results["totals"]["minutes"]["saw"] == pytest.approx(rips) and rips > 5.0
    assert {"W1"} == {op["part"] for setup in made.results["setups"] for op in setup["operations"]}


def test_what_need_not_be_ripped_is_refused(root, tmp_path) -> None:
    with pytest.raises(InputError, match="no flange of it is so narrow"):
        load(clips(root, tmp_path, "wide", LENGTHS[:1]))


@pytest.mark.parametrize("seed", range(12))
def test_formed_lengths_of_random_jobs_lose_nothing_and_fit_the_brake(tmp_path, seed) -> None:
    job = load(random_job(seed, tmp_path))
    for family in families(job):
        for way in ways(job, family):
            assert way.clampings > 0 and way.minutes > 0.0
            if way.lengths is None:
                continue
            length, patterns = way.lengths
            assert length <= min(family.usable, job.shop.brake().length) + 1e-6
            sizes = [one.section.length for one in family.members]
            for k, one in enumerate(family.members):
                assert one.pieces == sum(times * pattern[k] for times, pattern in patterns)
            for _, pattern in patterns:
                cut = [size for size, many in zip(sizes, pattern, strict=True) for _ in range(many)]
                lost = 2.0 * job.shop.saw_trim + job.shop.saw_kerf * (len(cut) - 1)
                assert math.fsum(cut) + lost <= length + 1e-6
