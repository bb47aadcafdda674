"""Sheets on paper: every cut numbered with its gauge, every blank with its place, whatever is on the sheet."""

from collections import Counter
from dataclasses import replace

import pytest
from page_texts import clashes, texts_of

from flatgen.core.outline import bounds, moved, rectangle
from flatgen.draw.sheet_views import run_picture
from flatgen.draw.sheets import Shown, part_numbers, sheet_subject
from flatgen.draw.strips import runs
from flatgen.model.plan import Cut, Nest, Offcut, Placement
from flatgen.model.shop import Sheet
from flatgen.page.drawing import Text
from flatgen.page.flow import Setting, pages
from flatgen.page.paper import paper

PAPERS = ("letter", "a4")
SHEET = Sheet("S1", "2024-T3", 1.016, 900.0, 600.0, 6.0)


def many(clip, kinds, method="shear"):
    """Plates of so many part numbers, 30 x 20 and a little longer each, in rows of twenty; cut row by row."""
    blanks, places, cuts = {}, [], [Cut(1, (6.0, 0.0), (6.0, 600.0), 6.0, 0, "square the edge, scrap", trim=True)]
    for k in range(kinds):
        row, column = divmod(k, 20)
        part, x, y = f"PLATE-{k:03d}", 6.0 + 40.0 * column, 22.0 * row
        blanks[part] = replace(clip[1], part=part, outline=rectangle(0, 0, 40, 22), cutouts=(), holes=(), bends=())
        places.append(Placement(part, 1, x, y, 0.0))
    rows = -(-kinds // 20)
    for row in range(rows):
        note = f"strip {row + 1}: keep on cutting"
        cuts.append(Cut(len(cuts) + 1, (6.0, 22.0 * (row + 1)), (900.0, 22.0 * (row + 1)), 22.0, 1, note))
    for k in range(kinds):
        row, column = divmod(k, 20)
        x, y = 46.0 + 40.0 * column, 22.0 * row
        cuts.append(Cut(len(cuts) + 1, (x, y), (x, y + 22.0), 40.0, 2, f"PLATE-{k:03d}: lay aside"))
    offcut = Offcut("A", 6.0, 22.0 * rows, 894.0, 600.0 - 22.0 * rows)
    shear = method == "shear"
    return blanks, Nest(
        "2024-T3", 1.016, method, method, SHEET, tuple(places), tuple(cuts) if shear else (), (offcut,), 0.3
    )


def drawn(nest, blanks, on="letter", units="in"):
    subject = sheet_subject(nest, Shown(blanks, units, trims=("PLATE-001",)))
    return pages((subject,), Setting(paper(on), "Fittings", units))


def check(nest, sheets, units, blanks):
    said = [text for page in sheets for text in texts_of(page)]
    for page in sheets:
        assert [] == clashes(page), page.title
        boxes = [item.box() for item in page.items]
        assert min(b[0] for b in boxes) > 10 and max(b[2] for b in boxes) < page.size[0] - 10, page.title
        assert min(b[1] for b in boxes) > 10 and max(b[3] for b in boxes) < page.size[1] - 10, page.title
    assert all(text.height >= 2.0 for text in said)
    found = runs(nest, blanks)
    assert [run.cuts[0].order for run in found] == sorted(run.cuts[0].order for run in found)
    large = Counter(text.text for text in said if text.height >= 10.0)
    assert sum(large.values()) == len(found)
    numbered = [order for run in found for _, orders in run.names for order in orders]
    assert sorted(numbered) == [cut.order for cut in nest.cuts]
    words = Counter(text.text for text in said)
    assert all(words[part] for part in part_numbers(nest))
    for page in sheets[:-1]:
        low = min(t.at[1] for t in texts_of(page) if t.at[1] > 22.0)
        assert page.size[1] - low > page.size[1] / 3.0, page.title


@pytest.mark.parametrize("on", PAPERS)
def test_gates_of_the_bench(demo_drawn, on) -> None:
    results = demo_drawn[1]
    blanks = {made.part.id: made.blank for made in results.parts}
    assert results.nests
    count = 0
    for nest in (nest for report in results.nests for nest in report.nests):
        sheets = drawn(nest, blanks, on, results.job.units)
        check(nest, sheets, results.job.units, blanks)
        count += len(sheets)
    assert count <= 14


@pytest.mark.parametrize("on", PAPERS)
@pytest.mark.parametrize("method", ["shear", "router"])
@pytest.mark.parametrize("kinds", [1, 60, 150])
def test_any_number_of_part_numbers_finds_room(clip, kinds, method, on) -> None:
    blanks, nest = many(clip, kinds, method)
    check(nest, drawn(nest, blanks, on), "in", blanks)


def test_every_cut_has_its_number_above_it_in_the_picture(clip) -> None:
    blanks, nest = many(clip, 60)
    for run in runs(nest, blanks):
        picture = run_picture(run)
        written = [item.text for item in picture.items if isinstance(item, Text) and item.layer == "cut"]
        assert sorted(written) == sorted(str(cut.order) for cut in run.cuts)


def test_the_metal_on_the_table_is_what_earlier_cuts_left(clip) -> None:
    """By hand: the sheet loses 6 at the left, then three strips of 22; each strip is 894 long and gives 20 plates."""
    blanks, nest = many(clip, 60)
    squared, strips, *plates = runs(nest, blanks)
    assert (900.0, 600.0, "back under the blade") == (squared.long, squared.across, squared.back)
    assert (600.0, 894.0, (22.0, 44.0, 66.0)) == (strips.long, strips.across, strips.places)
    assert "off-cut A: mark it, keep it" == strips.back
    assert [(894.0, 22.0, "scrap")] * 3 == [(run.long, run.across, run.back) for run in plates]


def test_a_router_s_blanks_are_measured_from_its_zero(clip) -> None:
    blanks, nest = many(clip, 5, "router")
    turned = replace(
        nest, placements=(*nest.placements[:-1], replace(nest.placements[-1], x=300.0, y=80.0, rotation=90.0))
    )
    words = [text.text for page in drawn(turned, blanks, units="mm") for text in texts_of(page)]
    x0, y0, _, _ = bounds([moved(blanks["PLATE-004"].outline, turned.placements[-1].motion)])
    at = words.index("PLATE-004-1")
    assert [f"{x0:.2f}", f"{y0:.2f}"] == words[at + 1 : at + 3] == ["278.00", "80.00"]
    assert "0, 0" in words and any(text.startswith("ZERO") for text in words)


def test_what_is_cut_first_is_said_and_numbered_first(clip) -> None:
    blanks, nest = many(clip, 5)
    first = replace(nest, first=("PLATE-003",))
    assert 1 == part_numbers(first)["PLATE-003"]
    said = " ".join(text.text for page in drawn(first, blanks) for text in texts_of(page))
    assert "FIRST PLATE-003: bend, measure" in said and "Trim to the outline after the shear: PLATE-001." in said
