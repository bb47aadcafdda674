"""Each command that writes, aimed at what it must not touch: refused, and what stands there is as it was."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
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
# what commands read: every other path that one takes is a place it writes to
READ = {
    "job",
    "shop",
    "copy",
    "file",
    "csv",
    "csv_file",
    "fit",
    "shop_file",
    "job_file",
    "packet",
    "book",
    "stock book out",
}
# for what a command cannot do without: a new command with another word is added here
WORDS = {
    "job": "job.toml", "shop": "shop.toml", "part": "clip-3", "pieces": "1", "bend": "b1", "name": "nose 1/8",
    "mark": "S001",
    "out": "packet", "copy": "backups/none", "file": "photo.jpg", "why": "dent", "reason": "lost", "folder": "drawn",
    "entry": "1",
    "material": "2024-T3", "thickness": "0.04", "length": "10", "width": "9", "what": "job.toml",
}  # fmt: skip
MORE = {"stock log": "--note seen", "profiles": "own", "stock labels": "S001", "nest": "--keep", "new": "--yes"}


def commands() -> dict[str, click.Command]:
    """Every command that there is, by the words that call it."""

    def below(command: click.Command, words: tuple[str, ...], context: click.Context) -> Iterator[tuple[str, Any]]:
        if not isinstance(command, click.Group):
            yield " ".join(words), command
            return
        for name in command.list_commands(context):
            inner = command.get_command(context, name)
            assert inner
            yield from below(inner, (*words, name), click.Context(inner, parent=context))

    return dict(below(flatgen, (), click.Context(flatgen)))


def spoken(call: str, target: click.Parameter | None = None) -> list[str]:
    """A command with all that it cannot do without; last the option or argument that is the target."""
    asked, last = [], []
    for one in commands()[call].params:
        if one is target:
            last = [one.opts[0]] if isinstance(one, click.Option) else []
        elif one.required:
            asked += [one.opts[0]] * isinstance(one, click.Option) + [WORDS[one.name or ""]]
    return [*call.split(), *asked, *MORE.get(call, "").split(), *last]


def targets(folder: bool) -> dict[str, tuple[str, click.Parameter]]:
    """Each option and argument of a command that names a file, or a folder, to write."""
    found = {}
    for call, command in commands().items():
        for one in command.params:
            written = isinstance(one.type, click.Path) and not {one.name, f"{call} {one.name}"} & READ
            if isinstance(one.type, click.Path) and written and one.type.dir_okay == folder:
                found[f"{call} {one.name}"] = (call, one)
    return found


TO_FILE, TO_FOLDER = targets(folder=False), targets(folder=True)
NEW = TO_FOLDER.pop("new folder")  # writes beside what is there, by intent
BOOKS = {call: one for call, command in commands().items() for one in command.params if one.name == "book"}
REFUSALS = (
    *("is read for what is to be written", "there is a file already", "no ordinary", "there is such a file already"),
    *("is not the shop's book", "is no book"),
)


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
    cut = CliRunner().invoke(flatgen, ["tally", "cut", str(folder / "job.toml"), "clip-3", "1"])
    assert cut.exit_code == 0, cut.output
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


def refused(words: str | list[str], target: Path, status: int | None = None) -> str:
    """What a command says that is to end with a status; without one, that refuses: 1 or 2."""
    given = words.split() if isinstance(words, str) else words
    result = CliRunner().invoke(flatgen, [*given, str(target)])
    assert result.exit_code in ((1, 2) if status is None else (status,)), result.output
    assert not result.exception or isinstance(result.exception, SystemExit)
    return result.output


@pytest.mark.parametrize("command", TO_FILE)
def test_no_input_of_the_job_becomes_an_output(here: Path, tmp_path: Path, command: str) -> None:
    """By its own name, through a link, and under a second name; the book keeps all its rows."""
    (tmp_path / "link").symlink_to(here / "profiles" / "plate.svg")
    (tmp_path / "second").hardlink_to(here / "shop.toml")
    (tmp_path / "pipe-to").symlink_to("/dev/null")
    before = seen(tmp_path)
    for target in (*(here / name for name in INPUTS), tmp_path / "link", tmp_path / "second", tmp_path / "pipe-to"):
        said = refused(spoken(*TO_FILE[command]), target)
        assert any(why in said for why in REFUSALS), said
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
        assert "theirs" in refused(spoken(*TO_FILE[command]), path)
        assert seen(tmp_path) == before, path


@pytest.mark.parametrize("command", TO_FOLDER)
def test_no_folder_of_somebody_else_is_written_into(here: Path, tmp_path: Path, command: str) -> None:
    """Nor that of the job itself; a link to one is as good as the folder."""
    theirs = somebody_elses(tmp_path / "theirs")
    (tmp_path / "link").symlink_to(theirs)
    before = seen(tmp_path)
    for target in (theirs, tmp_path / "link", here, here / "profiles"):
        assert "holds files that flatgen did not write" in refused(spoken(*TO_FOLDER[command]), target)
        assert seen(tmp_path) == before, target


def test_a_new_job_leaves_what_is_there(here: Path, tmp_path: Path) -> None:
    theirs = somebody_elses(tmp_path / "theirs")
    before = snapshot(theirs)
    refused(spoken(*NEW), theirs, 0)
    after = snapshot(theirs)
    assert all(after[name] == before[name] for name in before if name != ".") and "job.toml" in after
    before = seen(here)
    refused(spoken(*NEW), here)
    assert seen(here) == before


@pytest.mark.parametrize("call", BOOKS)
def test_no_other_file_becomes_the_book(here: Path, tmp_path: Path, call: str) -> None:
    theirs = somebody_elses(tmp_path / "theirs")
    before = seen(tmp_path)
    for target in (
        *(here / name for name in INPUTS if name != "book.sqlite"),
        theirs / "results.json",
        theirs / "empty",
    ):
        refused(spoken(call, BOOKS[call]), target)
        assert seen(tmp_path) == before, target


@pytest.mark.parametrize("call", [call for call in commands() if call not in ("new", "bench")])
def test_where_nothing_is_named_nothing_of_somebody_else_is_replaced(here: Path, call: str) -> None:
    """Their files stand where the command would write by itself; they stay, whether it ends well or not.

    ``new`` has a test of its own, ``bench`` serves a page until it is stopped.
    """
    for one in commands()[call].params:
        if isinstance(one.type, click.Path) and f"{call} {one.name}" in TO_FILE | TO_FOLDER:
            name = str(one.default or "")
            (here / (name if Path(name).suffix else f"{name or 'out'}/index.html")).parent.mkdir(exist_ok=True)
            (here / (name if Path(name).suffix else f"{name or 'out'}/index.html")).write_text("mine")
    for name in ("setup.pdf", "templates.pdf", "brake-check.pdf", "brake-survey.pdf", "nest.lock", "photo.jpg"):
        (here / name).write_text("mine")
    (here / "nose-nose-1-8").mkdir()
    (here / "nose-nose-1-8" / "bar.pdf").write_text("mine")
    before = seen(here)
    result = CliRunner().invoke(flatgen, spoken(call), input="")
    assert not result.exception or isinstance(result.exception, SystemExit)
    after = seen(here)
    kept = {name for name in before if not name.startswith("book") and name != "shop.toml"}
    assert all(after.get(name) == before[name] for name in kept)


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
