"""The deep runs in short: a few spoiled inputs, and the planting of mistakes itself."""

import ast
import pickle
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parent
SOURCE = b"""
def kept(a, b, sizes):
    \"\"\"A text of 2 words stays.\"\"\"
    if a < b and not sizes:
        note(f"{a} left")
        return max(-a, kept(b, 3 * a))
    return [size for size in sizes if size > b]
"""


@pytest.fixture(autouse=True)
def beside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(FOLDER))


def test_spoiled_inputs_end_in_a_sentence() -> None:
    from fuzz_inputs import fuzz

    fell: list[str] = []
    fuzz(range(12), 5, fell.append)
    assert not fell, "\n".join(fell)


def test_mistakes_of_each_kind_are_found_and_planted() -> None:
    from mistakes import changes, mistakes

    found = mistakes(SOURCE)
    kinds = {
        "comparison",
        "dropped condition",
        "dropped not",
        "other of a pair",
        "sign",
        "swapped arguments",
        "one more",
        "lost line",
        "other word",
    }
    assert kinds == {one.kind for one in found}
    planted = [one.planted(SOURCE) for one in found]
    assert all(changes(SOURCE, one) for one in found) and len(set(planted)) == len(planted)
    assert all(ast.get_docstring(ast.parse(text).body[0]) == "A text of 2 words stays." for text in planted)


def test_the_tests_of_a_line_come_quickest_first(tmp_path: Path) -> None:
    """A test that shares what is slow to make counts its time, and the lines that making it runs."""
    from trying import Covered

    notes = {
        "tests/a.py::slow": ({"core/x.py": 1 << 7}, 3.0, set()),
        "tests/a.py::other line": ({"core/x.py": 1 << 9}, 0.1, set()),
        "tests/a.py::shares": ({}, 0.2, {"shared demo"}),
        "tests/a.py::fell": ({"core/x.py": 1 << 7}, 0.1, set()),
        "tests/a.py::quick": ({"core/x.py": 1 << 8}, 1.0, set()),
        "shared demo": ({"core/x.py": 1 << 8}, 20.0, set()),
    }
    (tmp_path / "1.pickle").write_bytes(pickle.dumps(notes))
    (tmp_path / "failed.txt").write_text("tests/a.py::fell\n")
    found = Covered(tmp_path).tests_of("core/x.py", 7, 8)
    assert ["tests/a.py::quick", "tests/a.py::slow", "tests/a.py::shares"] == [one.name for one in found]
