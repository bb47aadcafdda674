"""The deep runs in short: a few spoiled inputs, and the planting of mistakes itself."""

import ast
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parent
SOURCE = b"""
def kept(a, b, sizes):
    \"\"\"A text of 2 words stays.\"\"\"
    if a < b and not sizes:
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
    }
    assert kinds == {one.kind for one in found}
    planted = [one.planted(SOURCE) for one in found]
    assert all(changes(SOURCE, one) for one in found) and len(set(planted)) == len(planted)
    assert all(ast.get_docstring(ast.parse(text).body[0]) == "A text of 2 words stays." for text in planted)


def test_tests_of_a_module_begin_with_those_that_name_it() -> None:
    from mutate import ROOT, tests_of

    found = tests_of(Path("flatgen/records/chain.py"), ROOT)
    assert "tests/records/test_chain.py" in found[:4]
    assert any(name.startswith("tests/demo/") for name in found)
    assert str(ROOT) not in " ".join(found)
