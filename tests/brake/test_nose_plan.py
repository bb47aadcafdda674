"""The nose plan against an exhaustive choice by code of its own, and against the job once a choice is taken."""

import random
import shutil
from dataclasses import replace
from itertools import combinations

import ezdxf
import pytest
from click.testing import CliRunner
from page_texts import clashes, texts_of
from random_jobs import random_job

from flatgen.brake.bars import mounted
from flatgen.cli import flatgen
from flatgen.draw.nose_bar import Drawn, nose_subject, radius_gauge, section
from flatgen.errors import InputError
from flatgen.jobs.brake import bench, printed_on
from flatgen.jobs.developed import develop_all, developed
from flatgen.jobs.loading import load
from flatgen.jobs.nose_bar import take
from flatgen.jobs.nose_plan import Planner
from flatgen.jobs.nose_words import change, key_of
from flatgen.model.shop import NoseBar
from flatgen.page.flow import pages
from flatgen.records.coupon_plan import needs
from flatgen.units import format_length

FIRST = "examples/first-clips"


def has_a_flat_pattern(job):
    try:
        develop_all(job)
    except InputError:
        return False
    return True


def by_hand(job, bars):
    """Pieces stopped and minutes of some bars, straight from the job's own developing; None where one is idle."""
    brake = replace(job.shop.brake(), noses=mounted(bars), aside=())
    shop, m = replace(job.shop, brakes=(brake,)), job.shop.minutes
    flat = [part for part in job.parts if has_a_flat_pattern(replace(job, shop=shop, parts=(part,)))]
    made, plan = developed(replace(job, shop=shop, parts=tuple(flat)))
    made = [one for one in made if one.part.kind == "part"]
    over = [(one, bend) for one in made for bend in one.blank.bends if bend.bent.bar]
    bent = {(bend.bent.bar, bend.bent.shoes) for _, bend in over}
    for bar in bars:
        shoes = {s for name, s in bent if name == bar.nose.name}
        new = {other.wrap for other in bars if other.nose.name == bar.nose.name and other.wrap}
        if not ((bar.wrap,) in shoes if bar.wrap else any(not s or s[0] not in new for s in shoes)):
            return None
    good = [one for one in made if not one.stopped and one.part.id not in plan.not_made]
    asks = sum(len({f.rule for f in one.findings if f.state == "decide"}) for one in good)
    strips = needs([one.part for one in good], {one.part.id: one.blank for one in good}, ()) if job.coupons else ()
    sets = {(b.bent.bar, b.bent.shoes, o.part.material.key, o.part.thickness) for o, b in over if o in good}
    minutes = sum(bar.minutes for bar in bars) + asks * m.decide + sum(need.missing for need in strips) * m.coupon
    minutes += len({one[:2] for one in sets}) * m.nose + len(sets) * (m.setback + m.leaf)
    stopped = sum(part.quantity for part in job.parts if part.id not in {one.part.id for one in good})
    return stopped, pytest.approx(minutes)


def held_against_every_choice(seed, folder):
    job = load(random_job(seed, folder))
    planner = Planner(job)
    planner.candidates = tuple(random.Random(seed).sample(planner.candidates, min(5, len(planner.candidates))))
    got = {tuple(sorted(b.name for b in one.bars)): (one.stopped, one.minutes) for one in planner.plan().choices}
    wanted = {}
    for count in (1, 2, 3):
        for bars in combinations(planner.candidates, count):
            twice = {bar.nose.name for bar in bars if bar.wrap} & {bar.name for bar in bars}
            if not twice and (cost := by_hand(job, bars)) is not None:
                wanted[tuple(sorted(bar.name for bar in bars))] = cost
    assert wanted == got
    costs = [(one.stopped, round(one.minutes, 6)) for one in planner.plan().choices]
    assert sorted(costs) == costs


@pytest.mark.parametrize("seed", [3, 8])
def test_plan_is_the_exhaustive_choice(tmp_path, seed) -> None:
    held_against_every_choice(seed, tmp_path)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(40))
def test_plan_is_the_exhaustive_choice_on_forty_jobs(tmp_path, seed) -> None:
    held_against_every_choice(seed, tmp_path)


ASKS = ("stop", "decide")


def findings_of(job):
    """What the main job asks or stops, of every part, parts without a flat pattern among them."""
    flat = tuple(part for part in job.parts if has_a_flat_pattern(replace(job, parts=(part,))))
    found = {("no-flat-pattern", part.id, "", "stop") for part in job.parts if part not in flat}
    made, _ = developed(replace(job, parts=flat))
    return found | {(f.rule, f.part, f.where, f.state) for one in made for f in one.findings if f.state in ASKS}


def takes_what_it_says(seed, folder):
    """The best choice taken: the shop's file with it, read and planned anew, against what the plan says of it."""
    job = load(random_job(seed, folder))
    before, plan = findings_of(job), Planner(job).plan(count=1)
    assert {key for key in map(key_of, plan.now.findings) if key[3] in ASKS} == before
    if plan.choices:
        gone, come = change(plan.now, plan.choices[0])
        take(job, plan, 1)
        after = findings_of(load(folder / "job.toml"))
        assert (before - after, after - before) == (set(gone), set(come))


@pytest.mark.parametrize("seed", [2, 5, 9])
def test_a_taken_choice_keeps_its_word(tmp_path, seed) -> None:
    takes_what_it_says(seed, tmp_path)


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(40))
def test_a_taken_choice_keeps_its_word_on_forty_jobs(tmp_path, seed) -> None:
    takes_what_it_says(seed, tmp_path)


def test_taking_a_choice_changes_exactly_the_findings_that_it_says(tmp_path, root) -> None:
    """Over the demo's clips: the shop's file with the choice in it, read and checked anew by the main job."""
    for name in ("job.toml", "shop.toml"):
        shutil.copy(root / FIRST / name, tmp_path)
    text = (tmp_path / "job.toml").read_text().replace('radius = "1/8 in"', 'radius = "5/32 in"')
    (tmp_path / "job.toml").write_text(text)
    job = load(tmp_path / "job.toml")
    plan = Planner(job).plan(count=1)
    assert plan.now.stopped and not plan.choices[0].stopped
    gone, come = change(plan.now, plan.choices[0])
    take(job, plan, 1)
    assert "# The smallest shop" in (tmp_path / "shop.toml").read_text()
    before, after = findings_of(job), findings_of(load(tmp_path / "job.toml"))
    assert (before - after, after - before) == (set(gone), set(come))


@pytest.mark.parametrize("made", ["machined", "rod", "wrap"])
@pytest.mark.parametrize("units", ["in", "mm"])
def test_bar_is_drawn_on_one_page_with_its_own_round(root, made, units) -> None:
    at = bench(root / FIRST / "shop.toml")
    drawn = Drawn(at.brake, NoseBar("R", 4.0, front_angle=40.0), made, 0.8 if made == "wrap" else 0.0)
    (page,) = pages((nose_subject(drawn, units),), printed_on(at.shop, "x", units, ""))
    assert [] == clashes(page)
    said = " ".join(text.text for text in texts_of(page))
    assert format_length(drawn.length - 12.7, units) + " to bend on" in said and ("Rod: bedded" in said) == (
        made == "rod"
    )
    outline = section(drawn.radius, drawn.nose)
    assert drawn.radius == pytest.approx(outline[0][0]) and 140.0 == drawn.arc
    assert 0.0 == pytest.approx(min(x for x, _, _ in radius_gauge(4.0)[1]))


def test_files_of_a_bar_hold_its_radius(root, tmp_path) -> None:
    shop = str(root / FIRST / "shop.toml")
    run = CliRunner().invoke(flatgen, ["nose", "draw", shop, "nose 1/8", "--out", str(tmp_path / "n")])
    assert 0 == run.exit_code, run.output
    for name in ("contour", "gauge-for-the-bar", "gauge-for-the-bend"):
        shape = ezdxf.readfile(tmp_path / "n" / f"{name}.dxf").modelspace().query("LWPOLYLINE")[0]
        radii = [ezdxf.math.bulge_radius(p[:2], q[:2], p[4]) for p, q in zip(shape, [*shape][1:], strict=False) if p[4]]
        assert [0.125] == pytest.approx(radii, abs=1e-6)
