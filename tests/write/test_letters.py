"""Lettering of the PDFs: embedded, readable back, as wide as planned, and what has no letter is told of."""

import json
import re
import shutil
import subprocess
import warnings
from pathlib import Path

import pytest
from click.testing import CliRunner
from making import Made

from flatgen.cli import flatgen
from flatgen.errors import LettersMissing
from flatgen.page.drawing import Drawing, Text
from flatgen.page.layers import used
from flatgen.page.lettering import CAP_HEIGHT, WIDTHS, text_width
from flatgen.page.typeface import USUAL, missing, printable, widths
from flatgen.write import pdf
from flatgen.write.letters import Letters, shown

# names in Polish, Greek, Russian and Turkish, signs of the trade
SAID = ("Łódź 0.8 ≤ 1", "Σκάφος ± 5°", "Ялта №3 → 4", "Iğdır ½ × ⅜", "“plain” – 1′ 2″")


def page(*texts: str, bold: bool = False) -> Drawing:
    items = tuple(Text("note", (10.0, 10.0 + 6.0 * k), text, 3.0, bold=bold) for k, text in enumerate(texts))
    return Drawing("page", (150.0, 100.0), items, used(items), "mm")


def read_back(drawing: Drawing, folder: Path) -> list[str]:
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext (Debian: apt-get install poppler-utils)")
    pdf.write(drawing, folder / "p.pdf")
    said = subprocess.run(["pdftotext", "-layout", str(folder / "p.pdf"), "-"], capture_output=True, check=True).stdout
    return [line.strip() for line in said.decode().splitlines() if line.strip()]


@pytest.mark.parametrize("bold", [False, True])
def test_what_is_written_is_read_back(bold: bool, tmp_path: Path) -> None:
    assert sorted(SAID) == sorted(read_back(page(*SAID, bold=bold), tmp_path))


def test_a_script_that_runs_to_the_left_stands_as_it_is_read() -> None:
    """The first letter of the word is the last on the line (Unicode standard annex 9)."""
    assert "B \u05df\u05d9\u05de\u05d9" == shown("B \u05d9\u05de\u05d9\u05df")


def test_every_pdf_of_a_packet_embeds_its_letters(demo: Made) -> None:
    files = list(demo.folder.rglob("*.pdf"))
    assert len(files) > 20
    for path in files:
        data = path.read_bytes()
        fonts = set(re.findall(rb"/BaseFont /([^\s/]+)", data))
        assert fonts and all(b"LiberationSans" in font for font in fonts), (path.name, fonts)
        assert data.count(b"/FontFile2") >= len(fonts) // 2 and b"Helvetica" not in data


@pytest.mark.parametrize("bold", [False, True])
def test_widths_that_pages_are_planned_with_are_those_of_the_font(bold: bool) -> None:
    """Helvetica's metrics (ISO 32000-1, 9.6.2.2) against the embedded font; both are whole thousandths."""
    for letter, width in WIDTHS[bold].items():
        assert width == pytest.approx(widths(bold)[letter], abs=1.0), letter
    from fpdf import FPDF

    document = FPDF(unit="mm")
    letters = Letters(document)
    for text in SAID:
        said = letters.set(text, bold, 10.0)
        planned = text_width(text, 10.0 * CAP_HEIGHT * 25.4 / 72.0, bold)
        assert planned == pytest.approx(document.get_string_width(said), rel=0.004), text
    letters.written()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Ø 3 · ⌀ 3 · ∅ 3", "Ø 3 · Ø 3 · Ø 3"),
        ("e\u0301", "é"),  # composed
        ("\u1e9b\u0323", "\u1e9b\u0323"),
        ("x\u202ey\u200bz", "xyz"),
        ("\u7248 2, \U0001f6e9", "□ 2, □"),
    ],
)
def test_letters_are_brought_to_what_is_there(text: str, said: str) -> None:
    assert said == printable(text)


def test_usual_letters_are_in_the_font_and_are_not_missing() -> None:
    assert USUAL - {"\n"} <= set(widths(False)) & set(widths(True))
    assert "" == missing("".join(USUAL)) and "\u7248" == missing("\u7248 2 \u7248")


def test_a_letter_that_is_not_there_is_told_of() -> None:
    with pytest.warns(LettersMissing, match=r'a box stands for "\u7248" \(U\+7248\)'):
        pdf.as_bytes((page("part \u7248"),))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        pdf.as_bytes((page(*SAID),))


def test_make_says_once_which_letters_paper_has_not(tmp_path: Path) -> None:
    CliRunner().invoke(flatgen, ["new", str(tmp_path), "--yes", "--title", "Ялта \u7248\u6b21 Łódź"])
    made = CliRunner().invoke(flatgen, ["make", str(tmp_path / "job.toml"), "--out", str(tmp_path / "o"), "--quiet"])
    assert 0 == made.exit_code, made.output
    assert 1 == made.output.count("a box stands for") and "U+7248" in made.output and "U+6B21" in made.output
    assert "\u7248\u6b21" in (tmp_path / "o" / "index.html").read_text(encoding="utf-8")
    (found,) = [
        f for f in json.loads((tmp_path / "o" / "results.json").read_text())["findings"] if "letters" in f["rule"]
    ]
    assert (found["severity"], found["part"], found["where"], found["value"]) == ("note", "", "title of the job", 2.0)
    assert "on paper a box stands for" in (tmp_path / "o" / "index.html").read_text(encoding="utf-8")


def test_check_tells_of_letters_that_a_part_s_texts_have_not(tmp_path: Path) -> None:
    """Beside the other notes, by part and text; a job in usual letters has no such note."""
    CliRunner().invoke(flatgen, ["new", str(tmp_path), "--yes"])
    job = tmp_path / "job.toml"
    assert "letters-missing" not in CliRunner().invoke(flatgen, ["check", str(job)]).output
    job.write_text(job.read_text(encoding="utf-8").replace('id = "', 'notes = ["\u7248"]\nid = "', 1), encoding="utf-8")
    said = CliRunner().invoke(flatgen, ["check", str(job)]).output
    assert "CLIP-1, notes: on paper a box stands for" in said and "[letters-missing]" in said
