"""Paper templates: true size on paper, tiles that fit together, nothing lost at a seam."""

import math
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from flatgen.cli import flatgen
from flatgen.core import arcs
from flatgen.core.outline import bounds, perimeter, rectangle, segments
from flatgen.develop.develop import develop
from flatgen.draw.template import Template, template, turned_over
from flatgen.draw.tiles import Layout, pages
from flatgen.draw.window import pieces
from flatgen.errors import InputError
from flatgen.page.drawing import Circle, Contour, Line, Text
from flatgen.page.paper import PAPERS, page_paper
from flatgen.read.job import read_job
from flatgen.write import pdf
from flatgen.write.shop_file import remember

JOB = Path(__file__).parent / "data" / "six.toml"
WIDE = ("legal", "a3", "tabloid", "roll")  # papers that the channel fits on: a larger plate instead
needs_poppler = pytest.mark.skipif(not shutil.which("pdftoppm"), reason="pdftoppm renders the pages")


@pytest.fixture(scope="module")
def channel():
    """TF-102: 12 in long, so tiled on any home printer's paper."""
    job = read_job(JOB)
    part = next(p for p in job.parts if p.id == "TF-102")
    return part, develop(part, job.shop)


def marks(page):
    """Centres of the registration marks on a page."""
    return [item.center for item in page.items if isinstance(item, Circle) and item.layer == "tile"]


def runs(page, layer="template"):
    """Straight and curved pieces of a layer on a page."""
    out = []
    for item in page.items:
        if isinstance(item, Contour) and item.layer == layer:
            ends = item.outline if not item.closed else (*item.outline, item.outline[0])
            out += [(a[:2], b[:2], a[2]) for a, b in zip(ends, ends[1:], strict=False)]
        if isinstance(item, Circle) and item.layer == layer:
            x, y, r = *item.center, item.diameter / 2.0
            out += [((x - r, y), (x + r, y), 1.0), ((x + r, y), (x - r, y), 1.0)]
    return out


@pytest.mark.parametrize("name", ["a4", "letter", "legal", "a3", "tabloid", "roll"])
def test_tiles_laid_over_each_other_give_the_template(channel, name):
    """Neighbouring tiles moved until their registration marks meet: every point of the outline is there."""
    part, blank = channel
    sheet = template(part, blank, "in")
    if name in WIDE:
        sheet = Template("wide", (Contour("template", rectangle(0, 0, 700.0, 500.0)),), (0.0, 0.0, 700.0, 500.0))
    made = pages([sheet], Layout(PAPERS[name]))
    assert len(made) > 1
    if name == "roll":  # as long as the template asks for, as wide as the roll: 24 in
        assert all(page.size[0] == pytest.approx(609.6) and 500.0 < page.size[1] < 600.0 for page in made)
    placed = {made[0].title: (0.0, 0.0)}
    for page in made[1:]:
        letter, number = page.title.split()[-1][0], int(page.title.split()[-1][1:])
        left = f"{page.title.rsplit(' ', 1)[0]} {letter}{number - 1}"
        above = f"{page.title.rsplit(' ', 1)[0]} {chr(ord(letter) - 1)}{number}"
        known = left if number > 1 else above
        other = next(p for p in made if p.title == known)
        shared = {}
        for a in marks(other):
            for b in marks(page):
                move = (round(a[0] - b[0], 6), round(a[1] - b[1], 6))
                shared[move] = shared.get(move, 0) + 1
        # other pairs of marks agree as well, with the tiles one upon the other; the neighbour lies beside or below
        move = max(shared, key=lambda m: (shared[m] >= 2, m[0] if number > 1 else -m[1]))
        assert 2 <= shared[move]
        placed[page.title] = (placed[known][0] + move[0], placed[known][1] + move[1])
    found = [carried(run, placed[p.title]) for p in made for run in runs(p)]
    wide = name in WIDE
    outlines = [rectangle(0, 0, 700.0, 500.0)] if wide else [blank.outline, *blank.cutouts]
    assert sum(perimeter(o) for o in outlines) == pytest.approx(length_covered(found, outlines), abs=0.1)


def carried(run, move):
    (a, b, bulge) = run
    return ((a[0] + move[0], a[1] + move[1]), (b[0] + move[0], b[1] + move[1]), bulge)


def length_covered(found, outlines):
    """Length of the outlines that some found piece lies on, sampled every half millimetre to within 0.01 mm."""
    low = bounds(outlines)
    xs = [p[0] for run in found for p in run[:2]]
    ys = [p[1] for run in found for p in run[:2]]
    shift = (min(xs) - low[0], min(ys) - low[1])
    total = 0.0
    for outline in outlines:
        for p, q, bulge in segments(outline):
            size = arcs.length(p, q, bulge)
            n = max(1, math.ceil(size / 0.5))
            for k in range(n):
                x, y = arcs.point_at(p, q, bulge, (k + 0.5) / n)
                place = (x + shift[0], y + shift[1])
                if any(math.dist(arcs.nearest_point(*run, place), place) < 0.01 for run in found):
                    total += size / n
    return total


@needs_poppler
def test_check_bars_measure_right_at_600_dpi(channel, tmp_path):
    """Rendered by a program that is not ours: bars of 100 mm and 4 in (101.6 mm) within 0.05 mm, both ways."""
    page = pages([template(*channel, "in")], Layout(PAPERS["a4"]))[0]
    bars_only = [item for item in page.items if item.layer == "bar" and isinstance(item, Line)]
    pdf.write(replace(page, items=tuple(bars_only)), tmp_path / "bars.pdf")
    subprocess.run(
        ["pdftoppm", "-r", "600", "-gray", "-png", str(tmp_path / "bars.pdf"), str(tmp_path / "bars")], check=True
    )
    image = Image.open(next(tmp_path.glob("bars*.png"))).convert("L")
    dot = 25.4 / 600.0
    assert (210.0 / dot, 297.0 / dot) == pytest.approx(image.size, abs=1.0)
    lines = [item for item in bars_only if math.dist(item.start, item.end) > 50.0]
    lengths = []
    for line in lines:
        upright = line.start[0] == line.end[0]
        # beside the bar lie only its two end ticks: their middles are the bar's ends
        off = line.start[0] + 1.0 if upright else line.start[1] + 1.0
        if upright:
            profile = [image.getpixel((round(off / dot), y)) for y in range(image.size[1])]
        else:
            profile = [image.getpixel((x, round((297.0 - off) / dot))) for x in range(image.size[0])]
        ink = [(255 - v) for v in profile]
        middles, k = [], 0
        while k < len(ink):
            if ink[k] > 10:
                end = k
                while end < len(ink) and ink[end] > 10:
                    end += 1
                middles.append(sum(i * ink[i] for i in range(k, end)) / sum(ink[k:end]))
                k = end
            k += 1
        ends = [m * dot for m in middles]
        lengths.append(max(abs(a - b) for a in ends for b in ends if abs(a - b) < 103.0))
    assert sorted([100.0, 101.6] * 2) == pytest.approx(sorted(lengths), abs=0.05)


def test_printer_correction_stretches_each_axis(channel, tmp_path):
    """A printer that prints 100 mm as 99.6 across and 100.3 up gets the inverse."""
    layout = Layout(PAPERS["a4"], stretch=(100.0 / 99.6, 100.0 / 100.3))
    page = pages([template(*channel, "in")], layout)[0]
    said = []
    line = next(i for i in page.items if i.layer == "bar" and isinstance(i, Line) and i.start[1] == i.end[1])
    pdf._trace(said, line, pdf._placing(page))
    start, end = ([float(word) for word in point.split()[:2]] for point in said)
    assert 100.0 / 99.6 * 100.0 == pytest.approx(math.dist(start, end) / 72.0 * 25.4, abs=1e-3)


@pytest.mark.parametrize("name", ["a4", "letter", "tabloid"])
def test_a_page_laid_across_is_corrected_as_the_printer_turns_it(name):
    """The printer's errors go with its paper: short and long side, however a page lies on it. Bars named so, too."""
    job = read_job(JOB)
    paper, errors = PAPERS[name], {"short": 0.996, "long": 1.003}
    layout = Layout(paper, stretch=(1.0 / errors["short"], 1.0 / errors["long"]))
    made = pages([template(p, develop(p, job.shop), "in") for p in job.parts], layout)
    assert {page.size[0] > page.size[1] for page in made} == {True, False}
    for page in made:
        side = "long" if page.size[0] == paper.height else "short"
        bars = [i for i in page.items if i.layer == "bar" and isinstance(i, Line) and i.start[1] == i.end[1]]
        said = [i.text for i in page.items if i.layer == "bar" and isinstance(i, Text) and not i.angle]
        assert [f"{bar} along the paper's {side} side" for bar in ("100 mm", "4 in")] == said
        place = pdf._placing(page)
        on_paper = [math.dist(place(b.start), place(b.end)) / 72.0 * 25.4 * errors[side] for b in bars]
        assert [100.0, 101.6] == pytest.approx([length for length in on_paper if length > 50.0])


def test_a_bar_that_is_far_off_is_refused(channel):
    with pytest.raises(
        InputError, match="a 100 mm bar that measures 90 mm along the paper's short side is no printer's error"
    ):
        pages([template(*channel, "in")], Layout(PAPERS["a4"], stretch=(100.0 / 90.0, 1.0)))


def test_small_templates_share_a_page_and_nothing_leaves_it():
    job = read_job(JOB)
    sheets = [template(p, develop(p, job.shop), "in") for p in job.parts]
    for name, paper in PAPERS.items():
        if name in ("a0", "a1", "a2", "c", "d"):
            continue
        made = pages(sheets, Layout(paper))
        assert len(made) < len(sheets) + 2
        for page in made:
            for item in page.items:
                x0, y0, x1, y1 = item.box()
                assert 6.0 <= x0 and 6.0 <= y0 and x1 <= page.size[0] - 6.0 and y1 <= page.size[1] - 3.0, (name, item)


def test_mirror_is_the_blank_turned_over(clip):
    part, blank = clip
    over = turned_over(blank)
    assert "down" == over.bends[0].direction
    assert blank.width - blank.holes[0].center[0] == pytest.approx(over.holes[0].center[0])
    texts = [i.text for i in template(part, blank, "in", mirror=True).caption if isinstance(i, Text)]
    assert any("MIRRORED" in t for t in texts)


def test_template_says_drill_bend_and_clamped_side(clip):
    part, blank = clip
    sheet = template(part, blank, "in")
    said = " ".join(i.text for i in (*sheet.items, *sheet.caption) if isinstance(i, Text))
    for text in (
        "#40",
        "B1 UP 90° R 0.156",
        "sight line for A clamped",
        "THIS SIDE UP",
        "revision B",
        "GRAIN",
        "3.000 × 1.631 in",
    ):
        assert text in said


def test_a_piece_of_an_arc_keeps_its_circle():
    """Half circle of radius 10 about 0, 0 seen through x > 0: a quarter each way of the top."""
    (piece,) = pieces((10.0, 0.0), (-10.0, 0.0), 1.0, (0.0, -20.0, 20.0, 20.0))
    assert math.tan(math.pi / 8) == pytest.approx(piece[2])
    assert (0.0, 10.0) == pytest.approx(piece[1])


def test_measured_bars_are_kept_in_shop_toml(tmp_path):
    shop = tmp_path / "shop.toml"
    shop.write_text('name = "x" # keep\n[printer]\npaper = "a4"\nmeasured_x = "99 mm"\n[tolerance]\nhole = 1\n')
    remember(shop, {"measured_x": "99.6 mm", "measured_y": "100.2 mm"})
    text = shop.read_text()
    assert "# keep" in text and 'measured_x = "99.6 mm"' in text and "99 mm" not in text and "[tolerance]" in text


def test_a_printer_written_in_one_line_stays_on_it(tmp_path):
    shop = tmp_path / "shop.toml"
    shop.write_text('printer = { paper = "a4" } # home\n')
    remember(shop, {"measured_x": "99.6 mm"})
    assert 'printer = { paper = "a4", measured_x = "99.6 mm"} # home\n' == shop.read_text()


def test_command_writes_the_pages(tmp_path):
    for name in ("six.toml", "shop.toml"):
        shutil.copy(JOB.parent / name, tmp_path)
    out = tmp_path / "t.pdf"
    run = CliRunner().invoke(
        flatgen, ["template", str(tmp_path / "six.toml"), "TF-102", "--paper", "a4", "--out", str(out)]
    )
    assert 0 == run.exit_code, run.output
    assert "tile A2" in run.output
    assert out.read_bytes().startswith(b"%PDF")
    wrong = CliRunner().invoke(
        flatgen, ["template", str(tmp_path / "six.toml"), "--paper", "a5", "--out", str(tmp_path / "x.pdf")]
    )
    assert 2 == wrong.exit_code
    assert 'there is no paper "a5"' in wrong.output
    assert not (tmp_path / "x.pdf").exists()


def test_pages_beside_a_roll_are_the_usual_sheet_of_the_unit():
    assert [PAPERS["a4"], PAPERS["letter"]] == [page_paper("roll", units) for units in ("mm", "in")]
    assert PAPERS["a3"] == page_paper("a3", "in")
