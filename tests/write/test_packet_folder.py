"""The packet's folder is swapped whole: a run that fails leaves the old one as it was."""

import pytest

from flatgen.drawings import file_name
from flatgen.errors import FlatgenError
from flatgen.write.packet import replaced


def test_failure_leaves_the_old_packet(tmp_path) -> None:
    out = tmp_path / "out"
    with replaced(out) as fresh:
        (fresh / "results.json").write_text("old")
    with pytest.raises(RuntimeError), replaced(out) as fresh:
        (fresh / "results.json").write_text("half")
        raise RuntimeError
    assert (out / "results.json").read_text() == "old"
    assert [out] == list(tmp_path.iterdir())


def test_what_the_user_put_there_is_kept_and_what_we_wrote_is_replaced(tmp_path) -> None:
    out = tmp_path / "out"
    with replaced(out) as fresh:
        (fresh / "blanks").mkdir()
        (fresh / "blanks" / "A.dxf").write_text("A")
    (out / "notes.txt").write_text("mine")
    with replaced(out) as fresh:
        (fresh / "blanks").mkdir()
        (fresh / "blanks" / "B.dxf").write_text("B")
    assert (out / "notes.txt").read_text() == "mine"
    assert ["B.dxf"] == [p.name for p in (out / "blanks").iterdir()]


def test_a_file_in_the_way(tmp_path) -> None:
    (tmp_path / "out").write_text("x")
    with pytest.raises(FlatgenError, match="is a file; name a folder"), replaced(tmp_path / "out"):
        pass


def test_file_names_are_safe() -> None:
    """No path separators, no hidden names, and two part numbers never share a file."""
    names = [file_name(name) for name in ("TF-101", "a/b", "a_b", "..", "/../x", "")]
    assert names[0] == "TF-101" and len(set(names)) == len(names)
    assert all(name and "/" not in name and not name.startswith(".") for name in names)
