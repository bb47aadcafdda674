"""packet.pdf read back by a general-purpose reader: title and number on each page, everything inside the margins."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest


def pages(path: Path, *arguments: str) -> list[str]:
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext (Debian: apt-get install poppler-utils)")
    text = subprocess.run(["pdftotext", *arguments, str(path), "-"], capture_output=True, check=True).stdout.decode()
    return text.rstrip("\f").split("\f")


def test_title_and_number_on_each_page(demo) -> None:
    found = pages(demo.folder / "packet.pdf", "-layout")
    for number, page in enumerate(found, 1):
        assert demo.results["job"] in page
        assert f"Page {number} of {len(found)}" in page


def test_every_part_cut_and_setting_is_on_paper(demo) -> None:
    text = "\n".join(pages(demo.folder / "packet.pdf", "-layout"))
    for part in demo.results["parts"]:
        assert part["id"] in text
    for number in range(1, len(demo.results["nests"]) + 1):
        assert f"Sheet {number}: " in text
    assert len(demo.results["setups"]) == len(re.findall(r"^\s*Setting \d+: ", text, re.MULTILINE))
    assert "nothing here says that a part is strong enough" in text


def test_nothing_runs_off_the_paper(demo) -> None:
    """Every word lies 14 mm inside the long edges: neither clipped nor lost in a printer's margin."""
    for page in pages(demo.folder / "packet.pdf", "-bbox")[0].split("<page ")[1:]:
        width = float(page.split('width="')[1].split('"')[0])
        words = re.findall(r'xMin="([\d.-]+)" yMin="[\d.-]+" xMax="([\d.-]+)"', page)
        assert all(39.0 < float(low) and float(high) < width - 39.0 for low, high in words)


def test_paper_is_the_printers(demo) -> None:
    """Letter in this shop: 8.5 by 11 in."""
    page = pages(demo.folder / "packet.pdf", "-bbox")[0]
    assert 'width="612.000000" height="792.000000"' in page


def test_equal_results_give_equal_files(six, root, tmp_path) -> None:
    from making import make_job

    again = make_job(root / "tests" / "data" / "six" / "job.toml", tmp_path / "out")
    assert (six.folder / "packet.pdf").read_bytes() == (again.folder / "packet.pdf").read_bytes()
    assert (six.folder / "index.html").read_bytes() == (again.folder / "index.html").read_bytes()
    assert six.results == again.results


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm renders the page")
@pytest.mark.parametrize("unit", ["pt", "mm"])
def test_line_is_as_wide_as_its_layer_says(unit, tmp_path) -> None:
    """A line of 1 mm, seen at 508 dots to the inch, is 20 dots wide, whatever unit the document counts in."""
    from fpdf import FPDF
    from PIL import Image

    from flatgen.page.drawing import Drawing, Layer, Line, LineType
    from flatgen.write.letters import Letters
    from flatgen.write.pdf import picture

    layer = Layer("edge", "a line", LineType("CONTINUOUS", ()), 1.0, (0, 0, 0), 7)
    drawing = Drawing("line", (20.0, 20.0), (Line("edge", (2.0, 10.0), (18.0, 10.0)),), (layer,))
    document = FPDF(unit=unit)
    document.add_page()
    letters = Letters(document)
    picture(letters, drawing, 0.0, 0.0, 1.0 if unit == "mm" else 72.0 / 25.4)
    (tmp_path / "line.pdf").write_bytes(letters.written())
    words = ["pdftoppm", "-r", "508", "-gray", "-png", str(tmp_path / "line.pdf"), str(tmp_path / "line")]
    subprocess.run(words, check=True)
    image = Image.open(next(tmp_path.glob("line*.png"))).convert("L")
    ink = sum(255 - image.getpixel((200, y)) for y in range(400)) / 255.0
    assert 20.0 == pytest.approx(ink, abs=1.0)


def test_head_of_a_nest_stands_over_its_picture(demo) -> None:
    """On the page of a sheet's head the list of its cuts begins, which follows the picture."""
    found = [page for page in pages(demo.folder / "packet.pdf", "-layout") if re.search(r"^\s*Sheet \d+: ", page, re.M)]
    assert found
    for page in found:
        for sheet in re.split(r"Sheet \d+: ", page)[1:]:
            assert "lay aside" in sheet or "keep" in sheet or "Cut with: router" in sheet, sheet[:200]
