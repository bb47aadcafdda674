"""Each command that writes, aimed at what it must not touch: refused, and what stands there is as it was."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from small_shop import HEAD, PART, SHOP
from snapshots import snapshot, somebody_elses

from flatgen.cli import flatgen
from flatgen.output.single import SVG_MARK
from flatgen.records.stock import StockSheet, add_sheets

OUTLINE = f"""<?xml version="1.0" encoding="utf-8"?>
{SVG_MARK}
<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40"><path d="M 0 0 H 60 V 40 H 0 Z"/>
</svg>"""
PLATE = 'title = "Plate"\nunits = "mm"\nbase = "plate"\n[face.plate]\noutline = "plate.svg"\n'
INPUTS = ("job.toml", "shop.toml", "sizes.csv", "profiles/own.toml", "profiles/plate.svg", "book.sqlite")
TO_FILE = {
    "setup": "setup job.toml --out",
    "template": "template job.toml --out",
    "inspect sheet": "inspect sheet job.toml --out",
    "inspect report": "inspect report job.toml --out",
    "stock labels": "stock labels S001 --shop shop.toml --out",
    "stock log": "stock log job.toml --note seen --out",
    "profiles": "profiles own --svg",
    "stock book": "stock book packet --shop shop.toml --labels",
}
TO_FOLDER = {
    "make": "make job.toml --out",
    "blank": "blank job.toml --out",
    "coupon plan": "coupon plan job.toml --out",
    "inspect report": "inspect report job.toml --svg",
    "stock export": "stock export --shop shop.toml",
}


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job with a table of sizes and a profile of its own on an outline that flatgen drew; a book with a sheet."""
    folder = tmp_path_factory.mktemp("shop")
    (folder / "profiles").mkdir()
    (folder / "shop.toml").write_text('book = "book.sqlite"\n' + SHOP)
    (folder / "profiles" / "own.toml").write_text(PLATE)
    (folder / "profiles" / "plate.svg").write_text(OUTLINE)
    (folder / "sizes.csv").write_text("id,leg_a\nclip-4,1.1\nclip-5,1.2\n")
    table = '[[part]]\nid = "clips"\nprofile = "angle"\nquantity = 3\nsizes = "sizes.csv"\n'
    own = '[[part]]\nid = "plate-1"\nprofile = "own"\nquantity = 1\n'
    (folder / "job.toml").write_text(HEAD + PART + table + own)
    add_sheets(folder / "book.sqlite", StockSheet("", "2024-T3", 1.016, 1219.2, 609.6, batch="H-1"))
    return folder


@pytest.fixture
def here(shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "here"
    shutil.copytree(shop, folder)
    monkeypatch.chdir(folder)
    return folder


def seen(folder: Path) -> dict[str, tuple[object, ...]]:
    """All but the times of the book's folder: whoever reads the book, SQLite puts its log beside it for that time."""
    return {name: about for name, about in snapshot(folder).items() if name not in (".", "here")}


def refused(words: str, target: Path, status: int = 2) -> str:
    result = CliRunner().invoke(flatgen, [*words.split(), str(target)])
    assert result.exit_code == status, result.output
    return result.output


@pytest.mark.parametrize("command", TO_FILE)
def test_no_input_of_the_job_becomes_an_output(here: Path, tmp_path: Path, command: str) -> None:
    """By its own name, through a link, and under a second name; the book keeps all its rows."""
    (tmp_path / "link").symlink_to(here / "profiles" / "plate.svg")
    (tmp_path / "second").hardlink_to(here / "shop.toml")
    (tmp_path / "pipe-to").symlink_to("/dev/null")
    before = seen(tmp_path)
    for target in (*(here / name for name in INPUTS), tmp_path / "link", tmp_path / "second", tmp_path / "pipe-to"):
        said = refused(TO_FILE[command], target)
        assert "is read for what is to be written" in said or "there is a file already" in said or "no ordinary" in said
        assert seen(tmp_path) == before, target


@pytest.mark.parametrize("command", TO_FILE)
def test_no_file_of_somebody_else_is_replaced(here: Path, tmp_path: Path, command: str) -> None:
    """Whatever it is called, and be it a PDF or an SVG: only one that bears flatgen's mark may go."""
    theirs = somebody_elses(tmp_path / "theirs")
    (theirs / "book.pdf").write_bytes(b"%PDF-1.7\n/Creator (another)\n")
    (theirs / "logo.svg").write_text('<?xml version="1.0"?><svg/>')
    before = seen(tmp_path)
    for path in theirs.rglob("*"):
        if path.is_dir():
            continue
        assert "theirs" in refused(TO_FILE[command], path)
        assert seen(tmp_path) == before, path


@pytest.mark.parametrize("command", TO_FOLDER)
def test_no_folder_of_somebody_else_is_written_into(here: Path, tmp_path: Path, command: str) -> None:
    """Nor that of the job itself; a link to one is as good as the folder."""
    theirs = somebody_elses(tmp_path / "theirs")
    (tmp_path / "link").symlink_to(theirs)
    before = seen(tmp_path)
    for target in (theirs, tmp_path / "link", here, here / "profiles"):
        assert "holds files that flatgen did not write" in refused(TO_FOLDER[command], target)
        assert seen(tmp_path) == before, target


def test_beside_files_of_somebody_else_only_new_ones_are_put(here: Path, tmp_path: Path) -> None:
    theirs = somebody_elses(tmp_path / "theirs")
    before = snapshot(theirs)
    said = refused("make job.toml --into --out", theirs)
    assert "move it away" in said or "move away" in said
    assert snapshot(theirs) == before
    refused("blank job.toml --into --out", theirs, 0)
    after = snapshot(theirs)
    assert all(after[name] == before[name] for name in before if name != ".")
    assert {"clip-3.dxf", "clip-4.svg", "plate-1.dxf"} <= set(after)


def test_an_outline_that_flatgen_drew_is_not_drawn_over_while_it_is_read(here: Path) -> None:
    """The profile takes its outline from the folder that blanks go to."""
    refused("blank job.toml plate-1 --out", here / "drawn", 0)
    text = PLATE.replace("plate.svg", "../drawn/plate-1.svg").replace("[face.plate]", '[face.plate]\nlayer = "outline"')
    (here / "profiles" / "own.toml").write_text(text)
    before = seen(here)
    assert "is read for what is to be written" in refused("blank job.toml plate-1 --out", here / "drawn")
    assert seen(here) == before


def test_a_page_of_ours_is_made_anew_and_one_of_the_packet_is_not(here: Path) -> None:
    refused("setup job.toml --out", here / "sheets" / "setup.pdf", 0)
    (here / "sheets" / "setup.pdf").chmod(0o640)
    refused("setup job.toml clip-3 --out", here / "sheets" / "setup.pdf", 0)
    assert (here / "sheets" / "setup.pdf").stat().st_mode & 0o777 == 0o640
    assert "flatgen setup wrote this file" in refused("inspect sheet job.toml --out", here / "sheets" / "setup.pdf")
    refused("make job.toml --out", here / "packet", 0)
    before = seen(here)
    assert "flatgen make wrote this file" in refused("setup job.toml --out", here / "packet" / "setup.pdf")
    assert seen(here) == before


def test_a_part_that_may_not_be_cut_any_more_loses_its_drawing(here: Path) -> None:
    """A hole that breaks out of the edge forbids cutting; what was drawn before would still be cut by."""
    refused("blank job.toml --out", here / "drawn", 0)
    assert (here / "drawn" / "clip-3.dxf").exists()
    small = PART + '[[part.holes]]\nface = "leg_a"\ndrill = "#30"\nat = [[0.5, 0.01]]\n'
    (here / "job.toml").write_text(HEAD + small)
    refused("blank job.toml --out", here / "drawn", 3)
    assert not (here / "drawn" / "clip-3.dxf").exists() and (here / "drawn" / "clip-4.dxf").exists()
