"""The user's own files that a command changes, and the one way in which files leave the program."""

import ast
from pathlib import Path

import pytest

from flatgen.errors import InputError
from flatgen.output.csv_text import csv_text
from flatgen.output.single import new_files, replace_text
from flatgen.write.shop_file import remember

PACKAGE = Path(__file__).resolve().parent.parent.parent / "flatgen"
WRITES = {"write_text", "write_bytes", "touch", "mkstemp", "rename", "replace", "unlink", "rmtree", "link", "copy2"}
# the book, its copies and kept answers are SQLite's; letters and a new job's trial lie in folders of the system that go
ELSEWHERE = {
    "kept.py",
    "records/backups.py",
    "records/copies.py",
    "records/known.py",
    "write/letters.py",
    "jobs/starter.py",
}


def test_only_the_writer_changes_the_disk() -> None:
    """Names of methods and functions that do; ``replace`` but with one argument is that of texts and of dataclasses."""
    found = set()
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or name.startswith("output/"):
                continue
            method = isinstance(node.func, ast.Attribute)
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            single = called != "replace" or (method and len(node.args) == 1 and not node.keywords)
            mode = [a.value for a in node.args if isinstance(a, ast.Constant) and called == "open"]
            if (called in WRITES and single) or any(isinstance(m, str) and set(m) & set("wxa+") for m in mode):
                found.add(name)
    assert found <= ELSEWHERE


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_measured_bars_leave_link_mode_and_line_ends(tmp_path: Path, end: str, mark: str) -> None:
    shop, link = tmp_path / "all" / "shop.toml", tmp_path / "shop.toml"
    shop.parent.mkdir()
    link.symlink_to(shop)
    lines = ['units = "in" # \u2028 é', "[printer]", 'paper = "a4" # home', 'measured_x = "99 mm"', "[[tool]]", "#"]
    shop.write_bytes((mark + end.join(lines)).encode())
    shop.chmod(0o640)
    remember(link, {"measured_x": "99.7 mm"})
    new = [*lines[:3], 'measured_x = "99.7 mm"', *lines[4:]]
    assert shop.read_bytes().decode() == mark + end.join([*new, ""])
    assert link.is_symlink() and shop.stat().st_mode & 0o777 == 0o640
    assert ["shop.toml"] == [path.name for path in shop.parent.iterdir()]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("", '[printer]\nx = "1"\n'),
        ("a = 1", 'a = 1\n\n[printer]\nx = "1"\n'),
        ("[printer]", '[printer]\nx = "1"\n'),
        ("a = 1\r\n", 'a = 1\r\n\r\n[printer]\r\nx = "1"\r\n'),
    ],
)
def test_the_table_is_added_where_there_is_none(tmp_path: Path, before: str, after: str) -> None:
    (tmp_path / "shop.toml").write_bytes(before.encode())
    remember(tmp_path / "shop.toml", {"x": "1"})
    assert (tmp_path / "shop.toml").read_bytes().decode() == after


def test_a_shop_file_with_a_second_name_is_not_parted_from_it(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text("[printer]\n")
    (tmp_path / "second.toml").hardlink_to(tmp_path / "shop.toml")
    with pytest.raises(InputError, match="second name"):
        remember(tmp_path / "shop.toml", {"x": "1"})
    assert (tmp_path / "second.toml").read_text() == "[printer]\n"


def test_new_files_are_written_all_or_none(tmp_path: Path) -> None:
    (tmp_path / "b").write_text("mine")
    with pytest.raises(Exception, match=r"b: cannot be written \(File exists\)"):
        new_files({tmp_path / "a": "1", tmp_path / "b": "2"})
    assert ["b"] == [path.name for path in tmp_path.iterdir()] and (tmp_path / "b").read_text() == "mine"
    replace_text(tmp_path / "c", "1")
    replace_text(tmp_path / "c", "2")
    assert (tmp_path / "c").read_text() == "2"


def test_cells_are_no_formulas_and_numbers_stay_numbers() -> None:
    row = ["=1", "+1", "-1.5e3", "-", "@x", "\t=1", -2.5, None, "1/8 in", "-1/8 in", "\uff1d1"]
    assert csv_text([row]) == "'=1,+1,-1.5e3,'-,'@x,'\t=1,-2.5,,1/8 in,'-1/8 in,'\uff1d1\n"
