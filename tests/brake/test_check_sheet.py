"""The check sheet: on one page, followed to the letter on a brake with hidden errors, kept in the book, asked again."""

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from hidden_brake import HiddenBrake
from page_texts import clashes

from flatgen.cli import flatgen
from flatgen.core.aligning import Found, Moves
from flatgen.draw.check_sheet import SAFE, advice, check_subject
from flatgen.jobs.brake import bench, printed_on
from flatgen.jobs.brake_check import Read, counting, enter, strip_for
from flatgen.jobs.loading import load
from flatgen.jobs.make import planned
from flatgen.page.flow import pages
from flatgen.records.book import book_path, open_book
from flatgen.records.brake_checks import series
from flatgen.said import within
from flatgen.write.packet_words import next_steps


@pytest.fixture
def at(root, tmp_path):
    shutil.copy(root / "examples/first-clips/shop.toml", tmp_path)
    return bench(tmp_path / "shop.toml")


@pytest.mark.parametrize("units", ["in", "mm"])
def test_sheet_is_one_page_with_figures_of_the_plan(at, units) -> None:
    strip = strip_for(at)
    size = (strip.wide, strip.deep, strip.length)
    subject = check_subject(at.brake, at.nose, strip.setup, strip.leg, size, units, 1)
    (page,) = pages((subject,), printed_on(at.shop, "x", units, SAFE))
    assert [] == clashes(page) and ("6061-T6", 38.1) == (strip.material, pytest.approx(strip.leg))


@pytest.mark.parametrize("seed", [1, 7, 19])
def test_followed_to_the_letter_a_brake_comes_square(at, seed) -> None:
    brake, strip = HiddenBrake(seed), strip_for(at)
    for number in range(5):
        gauge = tuple(strip.setup.bare_setback + x for x in brake.gauge())
        if number:
            narrow, long = brake.bent(False), brake.bent(True)
            legs = [tuple(strip.leg + x for x in one.legs) for one in (narrow, long)]
            angles = [tuple(90.0 + x for x in one.angles) for one in (narrow, long)]
            told = enter(at, strip, Read(gauge, legs[0], angles[0], legs[1], angles[1]), None)
        else:
            told = enter(at, strip, Read(gauge), None)
        if number and told.square:
            break
        brake.moved(told.moves)
    assert brake.is_square() and "square" in str(advice(told, "back")[0])
    with open_book(book_path(at.shop), writing=False) as book:
        assert number + 1 == len(series(book, "bench-30", "nose 1/8"))


def test_a_changed_bar_begins_a_series_anew(at) -> None:
    strip = strip_for(at)
    for anew in (False, False, True):
        enter(at, strip, Read((1.5, 1.5)), Moves(), anew=anew)
    with open_book(book_path(at.shop), writing=False) as book:
        assert 1 == len(series(book, "bench-30", "nose 1/8"))


def test_a_brake_that_does_not_repeat_is_said_to_be_worn(at) -> None:
    strip = strip_for(at)
    for wild in (1.5, -1.5, 1.4):
        legs = tuple(strip.leg + x for x in (wild, -wild, wild))
        told = enter(at, strip, Read((1.2, 1.2), legs, (93, 87, 91), legs, (86, 94, 88)), Moves())
    assert "hinge" in str(advice(told, "back")[0])


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        (["--gauge", ".04"], "not 2 values"),
        (["--narrow-legs", "1,1,1"], "three legs and three angles"),
        (["--narrow-legs", "1.5,1.5,99", "--narrow-angles", "90,90,90"], "--narrow-legs: a leg is"),
        (["--long-legs", "1.5,1.5,1.5", "--long-angles", "90,190,90"], "--long-angles: an angle"),
        (["--gauge", ".04,.05", "--gaps", "0,0,0"], "not 5 values"),
        (["--gauge", ".04,.05", "--moved", "lift=3"], "nothing to move"),
        ([], "nothing was read"),
    ],
)
def test_wrong_readings_are_one_sentence(at, given, sentence) -> None:
    run = CliRunner().invoke(flatgen, ["brake", "align", at.shop.file, *given])
    assert 2 == run.exit_code and sentence in run.stderr and 1 == run.stderr.count("\n")
    assert not book_path(at.shop).exists()


def test_gaps_at_five_places_are_kept_and_told_of(at) -> None:
    given = ["--gauge", ".048,.048", "--gaps", "0, 0, .008, 0, 0"]
    run = CliRunner().invoke(flatgen, ["brake", "align", at.shop.file, *given])
    assert 0 == run.exit_code and "the gap differs by 0.008 in, widest middle" in run.stderr
    gaps = bench(Path(at.shop.file)).brake.nose_gaps
    assert (0.0, 0.0, 0.2032, 0.0, 0.0) == pytest.approx(gaps)


def test_square_is_said_of_the_long_strip_and_what_short_parts_do_beside_it() -> None:
    """A long strip bows the beam 0.4 mm more: by answers of -0.5 and -1.5 a short one is 0.2 longer, 0.6 farther."""
    state = Found(0, 0, -0.4, 0.4, 0, (0.05, 0, -0.08), (0.1, 0, -0.3), (0.2, 0.6), (1,) * 5, 0.5, Moves())
    long, short = (within(text, "mm") for text in advice(state, "back"))
    assert "a strip as long as the bar comes within 0.08 mm of its leg and 0.3° of its angle" in long
    assert "short parts in the middle" in short and "0.20 mm longer, bent 0.6° farther" in short


def test_shims_are_thinner_at_the_quarters() -> None:
    """An evenly loaded beam bends 0.7125 as much at a quarter of its length as in its middle (x - 2x³ + x⁴)."""
    found = Found(0, 0, 0.3, 0.1, 0, (0.3, 0, 0), (0, 0, 0), (0, 0), (1,) * 5, 0.5, Moves(shim=0.8))
    assert "shim 0.80 mm under the middle of the nose, 0.57 mm at its quarters" == within(
        advice(found, "back")[0], "mm"
    )


def test_after_a_change_of_bar_the_check_is_asked_for_again(at, root) -> None:
    """Never done; then not square; then square; then another bar checked on the same brake; then one filed anew."""
    shutil.copy(root / "examples/first-clips/job.toml", Path(at.shop.file).parent)
    job, other = Path(at.shop.file).parent / "job.toml", replace(at, nose=replace(at.nose, name="nose 1/4"))
    strip, right = strip_for(at), ((38.1,) * 3, (90.0,) * 3)
    exact = Read((strip.setup.bare_setback,) * 2, *right, *right)

    def asked() -> list[str]:
        results = planned(load(job))
        return [text.partition(": ")[2] for text in next_steps(results) if "check sheet" in text]

    assert ["not done yet."] == asked()
    enter(at, strip, Read(exact.gauge), Moves())
    assert "not yet square on" in asked()[0]
    enter(at, strip, exact, Moves())
    assert [] == asked() and 3 == len(counting(at)[0]) + 1
    enter(other, strip, exact, Moves())
    assert "nose 1/4 was fitted since" in asked()[0] and () == counting(at)[0]
    assert enter(at, strip, exact, None).square and [] == asked() and 1 == len(counting(at)[0])
    text = Path(at.shop.file).read_text()
    Path(at.shop.file).write_text(text.replace('radius = "1/8 in"', 'radius = "0.131 in"'))
    assert "the figures of nose 1/8 were changed since" in asked()[0]


@pytest.mark.parametrize(
    ("moves", "said"),
    [
        (Moves(left=0.4), "left end of the nose: back by 0.40 mm"),
        (Moves(right=-0.25), "right end of the nose: forward by 0.25 mm"),
        (Moves(shim=0.3), "shim 0.30 mm under the middle of the nose, 0.21 mm at its quarters"),
        (Moves(shim=-0.3), "take 0.30 mm of shims or crown out of the middle"),
        (Moves(twist=0.5), "leaf: its right end 0.50° farther"),
        (Moves(twist=-0.5), "leaf: its right end 0.50° less far"),
        (Moves(stop=0.6), "back stop, both ends: from the bed's edge by 0.60 mm"),
        (Moves(stop=-0.6), "back stop, both ends: toward the bed's edge by 0.60 mm"),
        (Moves(leaf=1.2), "leaf's stop: 1.2° farther"),
        (Moves(leaf=-1.2), "leaf's stop: 1.2° less far"),
    ],
)
def test_each_move_of_the_brake_says_its_way(moves: Moves, said: str) -> None:
    """Each alone: whichever is lost or turned round, the bench would move the wrong thing."""
    found = Found(0, 0, 0.3, 0.1, 0, (0.3, 0, 0), (0, 0, 0), (0, 0), (1,) * 5, 0.5, moves)
    assert [said] == [within(line, "mm") for line in advice(found, "back")]
