"""The desk: changes of files keep what others wrote, and nothing wrong is written."""

import shutil
from pathlib import Path

import pytest

from flatgen.errors import InputError
from flatgen.served.files import Append, Conflict, Desk, Document, Drop, Set
from flatgen.write.edits import applied

TEXT = """# head
title = "x" # the job
units = "in"

[[part]] # first
id = "A"
quantity = 3 # many

[[part.holes]]
face = "leg"

# second part
[[part]]
id = "B"
quantity = 4

[[waive]]
rule = "r"
"""


@pytest.fixture
def desk(tmp_path: Path, root: Path) -> Desk:
    for name in ("job.toml", "shop.toml"):
        shutil.copy(root / "examples" / "first-clips" / name, tmp_path)
    return Desk(tmp_path / "job.toml")


def edit_on_disk(desk: Desk, before: str, after: str) -> None:
    text = desk.job_path.read_text(encoding="utf-8")
    assert before in text
    desk.job_path.write_text(text.replace(before, after, 1), encoding="utf-8")


def quantity(desk: Desk, k: int) -> object:
    return desk.text("job.toml").tree["part"][k]["quantity"]


def test_setting_a_key_changes_nothing_else() -> None:
    assert TEXT.replace("3 # many", "5 # many") == applied(TEXT, [Set(("part", 0, "quantity"), 5)])
    added = applied(TEXT, [Set(("part", 1, "leg"), "1/8 in")])
    assert TEXT.replace("quantity = 4\n", 'quantity = 4\nleg = "1/8 in"\n') == added


def test_taking_a_part_away_leaves_the_remark_over_the_next() -> None:
    first = applied(TEXT, [Drop(("part", 0))])
    assert '# second part\n[[part]]\nid = "B"' in first and '"A"' not in first and "holes" not in first
    assert TEXT.replace('[[part]]\nid = "B"\nquantity = 4\n\n', "") == applied(TEXT, [Drop(("part", 1))])


def test_a_new_part_comes_after_the_others_with_a_blank_line() -> None:
    text = applied(TEXT, [Append(("part",), {"id": "C", "quantity": 2})])
    assert TEXT.replace("[[waive]]", '[[part]]\nid = "C"\nquantity = 2\n\n[[waive]]') == text


def test_a_change_is_written_and_keeps_remarks(desk: Desk) -> None:
    before = desk.text("job.toml")
    after = desk.change("job.toml", before.revision, [Set(("part", 0, "quantity"), 17)])
    assert isinstance(after, Document) and after.revision != before.revision
    assert before.text.replace("quantity = 16", "quantity = 17") == desk.job_path.read_text(encoding="utf-8")


def test_what_the_job_cannot_be_is_not_written(desk: Desk) -> None:
    before = desk.text("job.toml")
    with pytest.raises(InputError, match="quantity"):
        desk.change("job.toml", before.revision, [Set(("part", 0, "quantity"), "many")])
    with pytest.raises(InputError, match="nose"):
        desk.change("shop.toml", desk.text("shop.toml").revision, [Drop(("brake", 0, "nose"))])
    assert before == desk.text("job.toml")


def test_another_key_changed_on_disk_stays(desk: Desk) -> None:
    before = desk.text("job.toml")
    edit_on_disk(
        desk, "[[part]] # three clips", '[[part]]\nid = "OX-0"\nprofile = "zed"\nquantity = 1\n\n[[part]] # three'
    )
    edit_on_disk(desk, 'leg_a = "1 1/4 in"', 'leg_a = "1 3/8 in" # by hand')
    after = desk.change("job.toml", before.revision, [Set(("part", 2, "quantity"), 9), Drop(("part", 5))])
    assert isinstance(after, Document)
    ids = [part["id"] for part in after.tree["part"]]
    assert ["OX-0", "OX-1", "OX-2", "OX-3", "OX-4", "OX-5"] == ids
    assert '"1 3/8 in" # by hand' in after.text and after.tree["part"][3]["quantity"] == 9


def test_the_same_key_changed_on_disk_is_shown_and_not_overwritten(desk: Desk) -> None:
    before = desk.text("job.toml")
    edit_on_disk(desk, "quantity = 16", "quantity = 20")
    now = desk.job_path.read_text(encoding="utf-8")
    met = desk.change("job.toml", before.revision, [Set(("part", 0, "quantity"), 17)])
    assert isinstance(met, Conflict) and met.rows == (('part "OX-1", quantity', "16", "20", "17"),)
    assert 'part "OX-1", quantity' in str(met) and now == desk.job_path.read_text(encoding="utf-8")
    assert isinstance(desk.change("job.toml", met.theirs.revision, met.mine), Document)


def test_two_windows_keep_each_others_changes(desk: Desk) -> None:
    seen = desk.text("job.toml").revision
    desk.change("job.toml", seen, [Set(("part", 0, "quantity"), 1)])
    desk.change("job.toml", seen, [Set(("part", 1, "quantity"), 2)])
    assert (1, 2) == (quantity(desk, 0), quantity(desk, 1))


def test_undo_and_redo_go_back_and_forth_and_keep_what_others_did(desk: Desk) -> None:
    first = desk.text("job.toml")
    desk.change("job.toml", first.revision, [Set(("part", 0, "quantity"), 1)])
    desk.undo()
    assert first == desk.text("job.toml")
    desk.redo()
    edit_on_disk(desk, "quantity = 10", "quantity = 11")
    desk.undo()
    assert (16, 11) == (quantity(desk, 0), quantity(desk, 1))
    desk.redo()
    edit_on_disk(desk, "quantity = 1\nlength", "quantity = 5\nlength")
    assert isinstance(desk.undo(), Conflict) and quantity(desk, 0) == 5


@pytest.mark.parametrize(
    "name", ["../shop.toml", "/etc/passwd", "out/x.dxf", ".hidden.toml", "a/../../x.toml", "x\0.toml"]
)
def test_nothing_outside_the_folder_has_a_name(desk: Desk, name: str) -> None:
    with pytest.raises(InputError):
        desk.text(name)
    with pytest.raises(InputError):
        desk.put(name, "", "x = 1")


def test_a_link_out_of_the_folder_is_refused(desk: Desk, tmp_path_factory: pytest.TempPathFactory) -> None:
    away = tmp_path_factory.mktemp("away") / "a.toml"
    away.write_text("x = 1", encoding="utf-8")
    (desk.folder / "b.toml").symlink_to(away)
    with pytest.raises(InputError, match="outside"):
        desk.put("b.toml", "", "y = 2")
    assert "x = 1" == away.read_text(encoding="utf-8")


def test_a_row_of_a_table_of_sizes(tmp_path: Path, root: Path) -> None:
    shutil.copytree(root / "examples" / "float-fittings", tmp_path / "job")
    desk = Desk(tmp_path / "job" / "job.toml")
    before = desk.text("clips.csv")
    row = next(iter(before.tree))
    desk.change("clips.csv", before.revision, [Set((row, "quantity"), "7")])
    assert "7" == desk.text("clips.csv").tree[row]["quantity"]
    assert len(before.text.splitlines()) == len(desk.text("clips.csv").text.splitlines())
    assert any(part.id == row and part.quantity == 7 for part in desk.job().parts)


def test_a_new_profile_is_tried_before_it_is_there(desk: Desk, root: Path) -> None:
    text = (root / "profiles" / "zed.toml").read_text(encoding="utf-8")
    assert isinstance(desk.put("profiles/own.toml", "", text), Document)
    made = desk.change("job.toml", desk.text("job.toml").revision, [Set(("part", 4, "profile"), "own")])
    assert isinstance(made, Document)
    with pytest.raises(InputError):
        desk.put("profiles/own.toml", desk.text("profiles/own.toml").revision, "title = 3\nfoo = 1\n")
    assert text == desk.text("profiles/own.toml").text
