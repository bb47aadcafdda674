"""Contents on paper and on the page: nothing is lost, nothing leaves the paper, small subjects share a page."""

from dataclasses import replace

import pytest
from page_texts import clashes, texts_of

from flatgen.page.content import (
    Beside,
    Box,
    Count,
    Entry,
    Facts,
    Figure,
    Fold,
    Heading,
    Step,
    Steps,
    Subject,
    Table,
    Words,
)
from flatgen.page.flow import Setting, pages
from flatgen.page.paper import paper
from flatgen.write.screen import article

LETTER = Setting(paper("letter"), "Oxbow floats, set 1", "in", caution="Edges are sharp. The drawing decides.")
A4 = replace(LETTER, paper=paper("a4"), units="mm", across=True)
ALL = (
    Heading("Bend"),
    Words("Bend a test strip first.", "decide"),
    Facts((("leaf", "94.1°"), ("gauge", "94.0"))),
    Beside(
        (
            (1.0, (Figure("BACK stop", "1.007 in", "from the bed's edge"),)),
            (2.0, (Box("b", "first piece", "first piece"),)),
        )
    ),
    Table(
        "bends",
        ("part", "pieces", "done", "leg"),
        (("TF-101", "13", Count("c", "pieces", 13), Entry("e", "leg")),),
        (1,),
    ),
    Steps((Step("Shear 5.315 x 3.815.", "s1"), Step("Drill 1 to 4.", tone="strong"))),
    Fold("Why", (Words("AC 43.13-1B, table 4-6"),)),
)


def many(rows: int) -> Table:
    return Table("pieces", ("part", "pieces"), tuple((f"P-{k:03d}", str(k)) for k in range(rows)), numbers=(1,))


@pytest.mark.parametrize("setting", [LETTER, A4], ids=["letter", "a4 across"])
@pytest.mark.parametrize("rows", [1, 30, 190])
def test_everything_is_on_paper_once_and_inside_the_edges(setting: Setting, rows: int) -> None:
    drawn = pages([Subject("k", "SETTING 9 of 14", (*ALL, many(rows)), side="nose 1/8, bare")], setting)
    said = [text.text for page in drawn for text in texts_of(page)]
    assert [1] * rows == [said.count(f"P-{k:03d}") for k in range(rows)]
    assert len(drawn) == sum(text.startswith("SETTING 9 of 14") for text in said)
    for page in drawn:
        assert [] == clashes(page, 0.05)
        x0, y0, x1, y1 = _extent(page)
        assert x0 >= 11.0 and y0 >= 11.0 and x1 <= page.size[0] - 11.0 and y1 <= page.size[1] - 11.0
    assert all(text.height >= 2.0 for page in drawn for text in texts_of(page))


def _extent(page):
    boxes = [item.box() for item in page.items]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def test_two_small_subjects_share_a_page_and_a_whole_one_does_not() -> None:
    small = [Subject(f"k{k}", f"SETTING {k}", (many(16),), whole=False) for k in range(4)]
    assert 2 == len(pages(small, LETTER))
    assert 4 == len(pages([replace(subject, whole=True) for subject in small], LETTER))


def test_the_page_says_the_same_and_keeps_the_keys() -> None:
    html = article(Subject("k", "SETTING 9", ALL))
    for said in ("Bend a test strip first.", "94.1°", "1.007 in", "Shear 5.315 x 3.815.", "AC 43.13-1B, table 4-6"):
        assert said in html
    for key in ("b", "c", "e", "s1"):
        assert f'data-keep="{key}"' in html


def test_markup_in_a_content_comes_out_as_text() -> None:
    assert "<b>" not in article(Subject("k", "<b>", (Words("<b>"), Table("<b>", ("<b>",), (("<b>",),)))))
