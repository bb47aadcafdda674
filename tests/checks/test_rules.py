"""Every rule of the registry: it explains itself, names its source, is broken by one part and met by its neighbour.

Limits by head, inch: T 0.040, R 1/8, 2024-T3, handbook allowance, so setback 0.165 at a square bend.
"""

import itertools
import math
import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from flatgen.checks.rules import RULES, run_checks
from flatgen.develop.develop import develop
from flatgen.model.blank import BlankHole
from flatgen.model.part import Hole
from flatgen.read.job import read_job

SHOP = """
units = "in"
[[brake]]
name = "bench"
length = 30
largest_angle = {leaf}
[[brake.nose]]
name = "eighth"
radius = {nose}
[[tool]]
name = "shear"
method = "shear"
[[sheet]]
id = "a"
material = "{material}"
thickness = 0.040
{measured}length = {sheet}
width = {sheet}
[tolerance]
length = {tolerance}
"""
JOB = """
title = "t"
units = "in"
material = "2024-T3"
thickness = 0.040
radius = "1/8 in"
[[part]]
id = "P"
profile = "{profile}"
quantity = 1
{text}
"""
USUAL = {"measured": "", "leaf": 120, "nose": 0.125, "material": "2024-T3", "sheet": 48, "tolerance": 0.2}
PLATE = 'title = "p"\nbase = "a"\ngrain = "{grain}"\n[face.a]\nsize = [3, 2]\n[flange.b]\non = "a.top"\nheight = 1\n'


def hole(y: float, x: float = 1.0, extra: str = 'rivet = "1/8 in"', face: str = "leg_a") -> str:
    return f'leg_a = 2\n[[part.holes]]\nface = "{face}"\n{extra}\nat = [{x}, {y}]\n'


TAB = PLATE.format(grain="y") + "span = [1, 2]\n"
OVER = 'title = "p"\nbase = "a"\n[face.a]\nsize = [3, 2]\n[flange.b]\non = "a.top"\nheight = 1\nspan = [0, 1.4]\n'
OVER += '[flange.c]\non = "a.top"\nspan = [{start}, 3]\npoints = [[{start}, 0], [3, 0], [3, 1], [{lean}, 1]]\n'

# inside the channel 1.92, over a leg of 1.9 with 0.02 of play
FIT = """web = 2
[[part.fits]]
face = "web"
way = "over"
part = "Q"
their_face = "leg_a"
clearance = 0.02
allowed = 0.01
[[part]]
id = "Q"
profile = "angle"
quantity = 1
leg_a = {leg}
"""

# trade notes, section 6: two 1/8 rivets drilled #30 (.1285) in both mates, or as pilots in one
MATED = """leg_a = 2
[[part.holes]]
face = "leg_a"
rivet = "1/8 in"
stage = "{stage}"
same_as = "Q.row"
[[part]]
id = "Q"
profile = "angle"
quantity = 1
leg_a = 2
[[part.holes]]
face = "leg_a"
name = "row"
rivet = "1/8 in"
stage = "final"
from = [0.5, 0.5]
pitch = 0.5
count = 2
"""

WINDOW = 'leg_a = 2\n[[part.opening]]\nface = "leg_a"\nshape = "rectangle"\nat = [1.5, {y}]\nsize = [1, 1]\n'

# rule: breaking and passing, each (text of the part, shop, own profile)
CASES = {
    "hole-to-edge": ((hole(0.249), {}, ""), (hole(0.2813), {}, "")),
    "hole-to-hole": (
        (
            hole(1, extra='rivet = "1/8 in"\npitch = 1')
            .replace("at = [1.0, 1]", "from = [1, 1]\npitch = 0.37\ncount = 2")
            .replace("\npitch = 1\n", "\n"),
            {},
            "",
        ),
        (hole(1, extra='rivet = "1/8 in"').replace("at = [1.0, 1]", "from = [1, 1]\npitch = 0.376\ncount = 2"), {}, ""),
    ),
    "full-size-in-both": ((MATED.format(stage="final"), {}, ""), (MATED.format(stage="pilot"), {}, "")),
    # a window .2 mm and .3 mm from the free edge
    "neck": ((WINDOW.format(y=0.508), {}, ""), (WINDOW.format(y=0.512), {}, "")),
    "hole-on-blank": ((hole(0.05, extra='drill = "1/4 in"'), {}, ""), (hole(0.5, extra='drill = "1/4 in"'), {}, "")),
    # edge of a 0.098 hole 2T = 0.080 from the tangent line at 2 - 0.165
    "hole-to-bend": ((hole(1.835 - 0.049 - 0.079), {}, ""), (hole(1.835 - 0.049 - 0.081), {}, "")),
    "head-to-bend": ((hole(1.835 - 0.154), {}, ""), (hole(1.835 - 0.156), {}, "")),
    "opening-across-bend": (
        ('leg_a = 2\n[[part.opening]]\nface = "leg_a"\nshape = "round"\nat = [1.5, 1.8]\nsize = 0.5\n', {}, ""),
        ('leg_a = 2\n[[part.opening]]\nface = "leg_a"\nshape = "round"\nat = [1.5, 1]\nsize = 0.5\n', {}, ""),
    ),
    # on the leaf: M - BD, deduction 0.1058, so 0.19 needs 0.2958
    "flange-too-short": (("leg_b = 0.29", {}, ""), ("leg_b = 0.30", {}, "")),
    "bend-without-relief": (("", {}, TAB), ("", {}, TAB + 'relief = "square-ended"\n')),
    "overlap-when-flat": (
        ("", {}, OVER.format(start=1.5, lean=1.0)),
        ("", {}, OVER.format(start=1.5, lean=1.5)),
    ),
    "tapered-free-edge": (("", {}, PLATE.format(grain="y") + "height_high = 1.1\n"), ("", {}, PLATE.format(grain="y"))),
    "blank-larger-than-stock": (("length = 48.1", {}, ""), ("length = 47.9", {}, "")),
    # two sheets of one nominal size that measure differently, or as much as the part
    "sheet-thickness": (
        ("measured = 0.0422", {"measured": "measured = 0.0398\n"}, ""),
        ("measured = 0.0398", {"measured": "measured = 0.0398\n"}, ""),
    ),
    "grain-along-bend": (('grain = "along leg_b"', {}, ""), ('grain = "across leg_b"', {}, "")),
    "grain-not-stated": (('grain = "any"', {}, ""), ('grain = "x"', {}, "")),
    "minimum-radius": (('radius = "1/32 in"', {"nose": 0.03125}, ""), ('radius = "1/4 in"', {"nose": 0.25}, "")),
    "nose-not-on-hand": (('radius = "1/2 in"', {}, ""), ("", {}, "")),
    "nose-differs": (('radius = "3/32 in"', {}, ""), ("", {}, "")),
    "over-bend-reach": (("angle = 114", {}, ""), ("angle = 90", {}, "")),
    "collision-when-formed": (
        ("web = 1\nflange = 2\nangle = 120", {}, "channel"),
        ("web = 1\nflange = 2", {}, "channel"),
    ),
    "fit-to-mate": ((FIT.format(leg=1.85), {}, "channel"), (FIT.format(leg=1.9), {}, "channel")),
    "hand": (('hand = "right"', {}, "angle"), ("", {}, "angle")),
    "tolerance-stack": (("", {"tolerance": 0.001}, ""), ("", {}, "")),
}


def found_by(folder: Path, rule: str, text: str, shop: dict, profile: str) -> list:
    (folder / "shop.toml").write_text(SHOP.format(**{**USUAL, **shop}), encoding="utf-8")
    (folder / "profiles").mkdir(exist_ok=True)
    if "\n" in profile:
        (folder / "profiles" / "own.toml").write_text(profile, encoding="utf-8")
    name = "own" if "\n" in profile else profile or "angle"
    (folder / "job.toml").write_text(JOB.format(profile=name, text=text), encoding="utf-8")
    job = read_job(folder / "job.toml")
    part = next(part for part in job.parts if part.id == "P")
    return [f for f in run_checks(part, develop(part, job.shop), job.shop) if f.rule == rule]


@pytest.mark.parametrize(("relief", "told"), [("", 1), ('[[relief]]\nflange = ["n", "e"]\nkind = "drilled"\n', 0)])
def test_bends_that_meet_at_a_corner_want_a_relief_hole_there(tmp_path: Path, relief: str, told: int) -> None:
    """FAA-H-8083-31, ch. 4, folding a box: holes where the inside bend tangent lines cross."""
    corner = 'title = "Corner"\nbase = "base"\n[face.base]\nsize = [3, 2]\n'
    corner += '[flange.n]\non = "base.top"\nheight = 1\n[flange.e]\non = "base.right"\nheight = 1\n' + relief
    found = found_by(tmp_path, "bend-without-relief", "", {}, corner)
    assert ["bend b1, b2"] * told == [f.where for f in found]


@pytest.mark.parametrize("name", RULES.names())
def test_rule_is_broken_by_one_part_and_met_by_its_neighbour(tmp_path: Path, name: str) -> None:
    assert name in CASES, f"say a part that breaks {name} and one that just meets it"
    breaking, passing = CASES[name]
    findings = found_by(tmp_path, name, *breaking)
    assert findings
    assert all(f.words("mm") and f.source and f.where for f in findings)
    assert [] == found_by(tmp_path, name, *passing)


def test_mates_drilled_full_size_are_told_with_figures(tmp_path: Path) -> None:
    """A #30 hole gives a 1/8 rivet .0035, so ±.00175; a pattern comes out within .010 (trade notes, section 6)."""
    (found,) = found_by(tmp_path, "full-size-in-both", MATED.format(stage="final"), {}, "")
    assert "holes 1, 2, leg_a" == found.where and 'in Q (pattern "row")' in found.words("mm")
    assert (0.010, 0.00175) == pytest.approx((found.value / 25.4, found.limit / 25.4), abs=1e-6)


@pytest.mark.parametrize(
    ("mine", "theirs", "told"),
    [("#30", "#30", 1), ("#40", "#40", 1), ("#40", "#30", 0), ("#30", "#40", 0), ("#30", "#21", 0), ("#21", "#21", 1)],
)
def test_plain_holes_count_by_their_drill(tmp_path: Path, mine: str, theirs: str, told: int) -> None:
    """#40, #30, #21 are final for 3/32, 1/8, 5/32 and each the next one's pilot (trade notes, section 6)."""
    plain = MATED.replace('rivet = "1/8 in"\nstage = "{stage}"', f'drill = "{mine}"')
    plain = plain.replace('rivet = "1/8 in"\nstage = "final"', f'drill = "{theirs}"')
    assert told == len(found_by(tmp_path, "full-size-in-both", plain, {}, ""))


ROW = '[[part.holes]]\nface = "{0}"\nrivet = "1/8 in"\nstage = "{1}"\nfrom = {2}\nto = {3}\ncount = 3\n'
OTHER = '[[part]]\nid = "Q"\nprofile = "angle"\nquantity = 1\nleg_a = 1.9\n' + ROW.format(
    "leg_a", "final", "[0.5, 0.5]", "[0.5, 1.7]"
)
GOES_OVER = FIT.partition("[[part]]")[0].replace("web = 2\n", "")


@pytest.mark.parametrize(
    ("stage", "far", "said", "severity"),
    [
        ("final", 1.5, GOES_OVER, "warn"),
        ("pilot", 1.5, GOES_OVER, None),
        ("final", 1.6, GOES_OVER, None),
        ("final", 1.5, "", None),
    ],
)
def test_parts_that_fit_one_another_mate(tmp_path: Path, stage, far, said, severity) -> None:
    """Three #30 holes .6 apart, along x in the one and along y in the other, in a channel that goes over an angle."""
    text = "web = 2\n" + ROW.format("web", stage, "[0.3, 1]", f"[{far}, 1]") + said + OTHER
    found = found_by(tmp_path, "full-size-in-both", text, {}, "channel")
    assert [severity] * bool(severity) == [f.severity.value for f in found]


@pytest.mark.parametrize(("face", "told"), [("foot", ["note"]), ("plate", [])])
def test_faces_that_mate_may_lie_on_each_other(tmp_path: Path, face: str, told: list[str]) -> None:
    """The profile says of the gusset's foot that it lies on another part, and nothing of its plate."""
    row = ROW.format(face, "final", "[0.5, 0.4]", "[1.3, 0.4]")
    text = f'{row}[[part]]\nid = "Q"\nprofile = "gusset"\nquantity = 2\n{row}'
    assert told == [f.severity.value for f in found_by(tmp_path, "full-size-in-both", text, {}, "gusset")]


HOLES = st.lists(
    st.tuples(st.floats(0.0, 60.0), st.floats(0.0, 60.0), st.sampled_from([2.5, 3.3, 6.0, 25.0])), max_size=9
)


@given(holes=HOLES)
@example(holes=[(0.0, 0.0, 2.5), (8.0, 30.0, 2.5), (10.0, 0.0, 25.0)])
def test_every_pair_of_holes_that_run_together_is_told(holes: list[tuple[float, float, float]]) -> None:
    """Against all pairs; a third hole between two changes nothing."""
    made = [
        BlankHole((x, y), d, "", Hole("f", (x, y), d, "", d if d < 6.0 else None), k, k + 1)
        for k, (x, y, d) in enumerate(holes)
    ]
    seen = RULES["hole-to-hole"].function(None, SimpleNamespace(holes=made), None)
    told = {frozenset(map(int, re.findall(r"hole (\d+)", f"{s.where} {s.message}"))) for s in seen}
    wanted = set()
    for one, two in itertools.combinations(made, 2):
        apart = math.dist(one.center, two.center)
        rivets = one.diameter < 6.0 and two.diameter < 6.0
        near = 3.0 * max(one.diameter, two.diameter) - 1e-6 if rivets else 0.0
        if apart <= (one.diameter + two.diameter) / 2.0 or apart < near:
            wanted.add(frozenset((one.number, two.number)))
    assert wanted == told


@pytest.mark.parametrize("name", RULES.names())
def test_rule_explains_itself(name: str) -> None:
    assert RULES[name].explain.endswith(".")
    assert str(RULES[name].source)


def test_waiver_covers_its_rule_and_part_only(tmp_path: Path) -> None:
    waive = '[[waive]]\nrule = "hole-to-edge"\npart = "P"\nreason = "the designer has agreed to it"\n'
    (tmp_path / "shop.toml").write_text(SHOP.format(**USUAL), encoding="utf-8")
    text = hole(0.2) + '[[part.holes]]\nface = "leg_a"\nrivet = "1/8 in"\nat = [2, 1.75]\n'
    (tmp_path / "job.toml").write_text(JOB.format(profile="angle", text=text) + waive, encoding="utf-8")
    job = read_job(tmp_path / "job.toml")
    findings = run_checks(job.parts[0], develop(job.parts[0], job.shop), job.shop, job.waivers)
    waived = {f.rule for f in findings if f.waived}
    assert waived == {"hole-to-edge"}
    assert any(f.rule == "hole-to-bend" and not f.waived for f in findings)
    assert not any(f.stops for f in findings)


@pytest.mark.parametrize(("guessed", "severity"), [("", "forbid"), ('guessed = ["smallest_flange"]', "warn")])
def test_the_brake_s_own_smallest_flange_is_held_outside(tmp_path: Path, guessed: str, severity: str) -> None:
    """A flange of 0.30 in on a brake that holds 0.31 in; its own limit takes the place of the usual one."""
    for limit, wrong in ((0.31, True), (0.30, False)):
        shop = SHOP.replace("length = 30", f"length = 30\nsmallest_flange = {limit}\n{guessed}", 1)
        (tmp_path / "shop.toml").write_text(shop.format(**USUAL))
        (tmp_path / "job.toml").write_text(JOB.format(profile="angle", text="leg_b = 0.30"))
        job = read_job(tmp_path / "job.toml")
        found = [
            f
            for f in run_checks(job.parts[0], develop(job.parts[0], job.shop, "handbook"), job.shop)
            if f.rule == "flange-too-short"
        ]
        assert [severity] * wrong == [str(f.severity) for f in found]
        if wrong:
            assert 'the flange is 0.300 in outside; brake "bench" holds no less than 0.310 in' in found[0].words("in")
            assert bool(guessed) == found[0].words("in").startswith("smallest_flange is a guess. Up to 0.300 in")


def test_the_leaf_s_reach_is_said_with_its_angles(tmp_path: Path) -> None:
    """A bend of 114 on a leaf that goes to 120: it opens again, so the leaf would have to go further."""
    (tmp_path / "shop.toml").write_text(SHOP.format(**USUAL))
    (tmp_path / "job.toml").write_text(JOB.format(profile="angle", text="angle = 114"))
    job = read_job(tmp_path / "job.toml")
    blank = develop(job.parts[0], job.shop, "handbook")
    (found,) = [f for f in run_checks(job.parts[0], blank, job.shop) if f.rule == "over-bend-reach"]
    said = re.search(r"the leaf has to go to between (\S+)° and (\S+)° for 114°; brake", found.words("in"))
    assert said, found.words("in")
    assert 114.0 < float(said[1]) < float(said[2]) and float(said[2]) > 120.0
