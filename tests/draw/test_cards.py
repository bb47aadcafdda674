"""Gates of the card, and a blank laid out from nothing but what a card says."""

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from making import every_second
from page_texts import clashes, texts_of
from shapely.geometry import LinearRing, LineString, Point

from flatgen.core.outline import contains, flatten, rectangle, rounded
from flatgen.develop.datum import datum_edges
from flatgen.develop.develop import develop
from flatgen.draw.card import Bench, card_pages, cards
from flatgen.draw.card_groups import CardPart
from flatgen.draw.card_steps import Source
from flatgen.draw.card_tables import hole_tables
from flatgen.draw.card_view import card_view
from flatgen.draw.view import clamped_faces, sight_line
from flatgen.drawings import card_bench, job_cards
from flatgen.library import entries
from flatgen.model.tally import Counts
from flatgen.page.content import Beside, Steps, Table
from flatgen.page.drawing import Line, OrdinateDimension, extents
from flatgen.page.paper import PAPERS
from flatgen.read.drills import usual_drills
from flatgen.read.job import read_job
from flatgen.read.sample import sample_part
from flatgen.records.checklist import checklist

SHOPS = {"in": "letter", "mm": "a4"}


def card_part(part, blank, shop, units):
    faces = clamped_faces(part, blank)
    checks = checklist(part, blank, shop, (), units)
    return CardPart(
        part, blank, faces, Counts(part.id, part.quantity, 1, 0, 0, 0), Source(shop.tools[0], (1,)), (), checks
    )


def bench(units):
    return Bench("Oxbow floats, set 1", units, PAPERS[SHOPS[units]], (), (1.002, 0.997))


def held(pages, made):
    """The gates: what every page of a card must keep."""
    group = made.parts
    for page in pages:
        assert [] == clashes(page), page.title
        texts = list(texts_of(page))
        assert all(text.height >= 2.0 for text in texts)
        x0, y0, x1, y1 = extents(page.items)
        sx, sy = page.stretch
        assert x0 >= 0.0 and y0 >= 0.0 and x1 * sx <= page.size[0] and y1 * sy <= page.size[1], page.title
    said = " ".join(text.text for text in texts_of(pages[0]))
    for one in group:
        assert "".join(one.part.name.split()) in "".join(said.split())
        if one.part.hand != "none":
            assert f"{one.part.hand.upper()} HAND" in said


def test_every_table_of_holes_says_which_are_drilled_when_the_part_is_bent(clip):
    """In the table of the card, and in the remark that templates and the dimensioned drawing print."""
    part, blank = clip
    hole = replace(blank.holes[0], after_bending=True)
    blank = replace(blank, holes=(hole, *blank.holes[1:]))
    (table,) = hole_tables(blank, usual_drills(), "in")
    told = {row[0]: "AFTER bending" in " ".join((table.title, *row)) for row in table.rows}
    assert {str(one.number): one.after_bending for one in blank.drilled} == told
    assert "drill after bending" in hole.remark


def test_reliefs_of_a_tray_are_holes_with_a_drill_and_a_centre():
    """Four corners, so four reliefs of 3/16 in, alike to the left and the right."""
    job = read_job(Path("examples/float-fittings/job.toml"))
    part = next(part for part in job.parts if part.id == "TF-103")
    (table,) = hole_tables(develop(part, job.shop), usual_drills(), "in")
    reliefs = [row[1:4] for row in table.rows if "relief" in row[-1]]
    assert [("3/16 in", x, y) for y in ("0.791", "3.024") for x in ("0.791", "4.524")] == reliefs


def held_view(one, made):
    """Lines of a bend, datum edges and grain on the metal."""
    view = card_view(one.blank, one.faces, "in", made.scale)
    kinds = {item.layer for item in view.items}
    assert not kinds & {"bend-up", "bend-down", "tangent"}
    for edge in datum_edges(one.blank):
        if edge.exists:
            border = LineString([*flatten(one.blank.outline, 0.01), one.blank.outline[0][:2]])
            assert all(border.distance(Point(p)) < 0.01 for piece in edge.pieces for p in piece)
    said = [text.text for text in texts_of(view)]
    for bend in one.blank.bends:
        assert any(text.startswith(f"{bend.id} {bend.direction.upper()}") for text in said) or any(
            bend.id in text.split(", ") for text in said
        ), (one.part.id, bend.id)
    if one.blank.grain is not None:
        arrows = [item for item in view.items if item.layer == "grain" and isinstance(item, Line)]
        middle = [(a + b) / 2.0 / made.scale for a, b in zip(arrows[0].start, arrows[0].end, strict=True)]
        assert contains(one.blank.outline, tuple(middle))


def library(units):
    for one in every_second(entries(), units == "mm"):
        part, shop = sample_part(one.profile, units)
        yield part, develop(part, shop), shop


@pytest.mark.parametrize("units", ["in", "mm"])
def test_every_profile_of_the_library_has_a_card_that_can_be_read(units):
    for part, blank, shop in library(units):
        (made,) = cards([card_part(part, blank, shop, units)], bench(units))
        pages = card_pages([replace(made, scale=1.0)], bench(units))
        held(pages, made)
        held_view(made.parts[0], made)
        assert len(pages) <= 3, part.id


def inner(contents):
    """Contents of all columns, one after the other."""
    for content in contents:
        if isinstance(content, Beside):
            for _, column in content.columns:
                yield from inner(column)
        else:
            yield content


def rows_of(card, kind):
    """Rows of the tables of a kind, what the title says of all of them added."""
    for content in inner(card.subject.contents):
        if isinstance(content, Table) and content.title.startswith(kind):
            said = content.title.partition(": ")[2].removeprefix("all ")
            yield from (row if "then" in content.heads else (*row, said) for row in content.rows)


def outline_of(card, steps, unit):
    """The outline, marked out as the card says: the sheared rectangle and its corners, or the table of corners."""
    wide, high = (float(v) * unit for v in re.search(r"([\d.]+) × ([\d.]+)", steps[0]).groups())
    corners = [(float(x) * unit, float(y) * unit, what) for _, x, y, what in rows_of(card, "Corners")]
    said = next((text for text in steps if "all four corners" in text), "")
    rounds = re.search(r"R ([\d.]+)\.$", said)
    if not corners:
        corners = [(x, y, rounds and f"rounded R {rounds[1]}" or "") for x, y, _ in rectangle(0.0, 0.0, wide, high)]
    clip = re.search(r"Clip all four corners ([\d.]+) along A, ([\d.]+) along B", said)
    if clip:
        a, b = (float(v) * unit for v in clip.groups())
        places = (a, 0), (wide - a, 0), (wide, b), (wide, high - b), (wide - a, high), (a, high), (0, high - b), (0, b)
        corners = [(x, y, "") for x, y in places]
    shape = tuple((x, y, 0.0) for x, y, _ in corners)
    for k in reversed(range(len(corners))):
        radius = re.match(r"rounded R ([\d.]+)", corners[k][2])
        if radius:
            shape = rounded(shape, k, float(radius[1]) * unit)
    return shape


@pytest.mark.parametrize("units", ["in", "mm"])
def test_blanks_are_laid_out_from_the_figures_of_their_cards(units):
    """Within 0.1 mm of what was developed: edges, holes and sight lines, from printed figures only."""
    unit, tried = {"in": 25.4, "mm": 1.0}[units], 0
    for part, blank, shop in library(units):
        one = card_part(part, blank, shop, units)
        (card,) = cards([one], bench(units))
        steps = [s.text for c in inner(card.subject.contents) if isinstance(c, Steps) for s in c.steps]
        holes = {int(row[0]): (float(row[2]) * unit, float(row[3]) * unit) for row in rows_of(card, "Holes")}
        assert all(math.dist(holes[hole.number], hole.center) < 0.1 for hole in blank.drilled), part.id
        view = card_view(blank, one.faces, units, card.scale)
        figures = [float(i.text) * unit for i in view.items if isinstance(i, OrdinateDimension)]
        skew = [float(v) * unit for row in rows_of(card, "Skew") for v in row[1:5]]
        for bend in blank.bends:
            (x0, y0), (x1, y1) = sight_line(bend, one.faces[bend.id])
            wanted = [y0] if abs(y1 - y0) < 1e-6 else [x0] if abs(x1 - x0) < 1e-6 else [x0, y0, x1, y1]
            known = skew if len(wanted) > 1 else figures
            assert all(min(abs(v - f) for f in known) < 0.1 for v in wanted), (part.id, bend.id)
        if any("about" in row[-1] or "edge of" in row[-1] for row in rows_of(card, "Corners")):
            continue  # arcs about a middle of their own are drawn with compasses
        laid = LinearRing(flatten(outline_of(card, steps, unit), 0.005))
        true = LinearRing(flatten(blank.outline, 0.005))
        assert laid.hausdorff_distance(true) < 0.1, part.id
        tried += 1
    assert tried > 6


def test_left_and_right_share_a_card_that_says_which_side_is_up(demo_drawn):
    _, results, _ = demo_drawn
    (shared,) = [card for card in job_cards(results) if card.parts[0].part.id == "GT-201-L"]
    assert ["GT-201-L", "GT-201-R"] == [one.part.id for one in shared.parts]
    pages = card_pages([shared], card_bench(results))
    said = " ".join(text.text for text in texts_of(pages[0]))
    assert "GT-201-L LEFT HAND" in said and "GT-201-R RIGHT HAND" in said


def test_the_words_for_each_hand_give_the_blank_and_the_bends_of_that_hand(demo_drawn):
    """Figures of the card laid off from A at the foot and from B at the side that the words name; bends as written."""
    shared = [c for c in job_cards(demo_drawn[1]) if {one.part.hand for one in c.parts} == {"left", "right"}]
    assert len(shared) > 3
    for card, one in ((c, one) for c in shared for one in c.parts):
        steps = " ".join(s.text for c in inner(card.subject.contents) if isinstance(c, Steps) for s in c.steps)
        right = re.search(f"{one.part.hand.upper()} HAND B at your (LEFT|RIGHT)", steps)[1] == "RIGHT"
        blank = one.blank
        laid = {int(row[0]): (float(row[2]) * 25.4, float(row[3]) * 25.4) for row in rows_of(card, "Holes")}
        seen = {n: (blank.width - x if right else x, y) for n, (x, y) in laid.items()}
        assert all(math.dist(seen[hole.number], hole.center) < 0.1 for hole in blank.drilled), one.part.id
        view = card_view(card.parts[0].blank, card.parts[0].faces, "in", card.scale)
        figures = {(i.axis, float(i.text) * 25.4) for i in view.items if isinstance(i, OrdinateDimension)}
        for bend in blank.bends:
            assert re.search(rf"{bend.id}[^.]* BEND {bend.direction.upper()} ", steps), (one.part.id, bend.id)
            (x0, y0), (x1, y1) = sight_line(bend, one.faces[bend.id])
            axis, at = ("y", y0) if abs(y1 - y0) < 1e-6 else ("x", blank.width - x0 if right else x0)
            assert any(axis == a and abs(at - v) < 0.1 for a, v in figures), (one.part.id, bend.id)


def test_cards_of_the_demo_hold_the_gates(demo_drawn):
    _, results, _ = demo_drawn
    for card in job_cards(results):
        pages = card_pages([replace(card, scale=1.0)], card_bench(results))
        held(pages, card)
        held_view(card.parts[0], card)


def counted_out(texts):
    """Numbers of the holes that texts name."""
    named = [run.split("-") for text in texts for run in re.findall(r"\d+(?:-\d+)?", text)]
    return {n for run in named for n in range(int(run[0]), int(run[-1]) + 1)}


def test_every_hole_is_cut_with_the_outline_or_drilled_by_hand(demo_drawn):
    """A bit cuts no hole as narrow as itself; what it leaves in corners is said on the card as on the sheet."""
    results, routed = demo_drawn[1], 0
    for card in job_cards(results):
        one = card.parts[0]
        steps = [s.text for c in inner(card.subject.contents) if isinstance(c, Steps) for s in c.steps]
        cut = counted_out(re.findall(r"holes? ([\d, -]+\d)", " ".join(t for t in steps if t.startswith("Cut "))))
        drilled = counted_out(re.findall(r"rill holes? ([\d, -]+\d)", " ".join(steps)))
        every = [hole for each in card.parts for hole in each.blank.drilled]
        assert not cut & drilled and cut | drilled == {hole.number for hole in every}, one.part.id
        bit = one.source.tool.router_bit
        assert all(bit and hole.diameter > bit for hole in every if hole.number in cut)
        routed += bool(bit)
    assert routed > 1
    said = [
        " ".join(s.text for c in inner(card.subject.contents) if isinstance(c, Steps) for s in c.steps)
        for card in job_cards(results)
        if card.parts[0].part.id == "TF-141-L"
    ]
    assert "does not reach 2 inside corners, up to 0.243 in stays: file by hand" in said[0]
