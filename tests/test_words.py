"""One word a concept: nothing that a person reads uses a word that the list gives up."""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

WORDS = tomllib.loads((Path(__file__).parent / "words.toml").read_text(encoding="utf-8"))["word"]
ROOT = Path(__file__).resolve().parent.parent


def read() -> Iterator[tuple[str, str]]:
    """Guides, and every text of the code but its docstrings; those of commands are their help."""
    guides = (ROOT / "README.md", *sorted(ROOT.glob("examples/*.md")), *sorted(ROOT.glob("profiles/*.md")))
    for path in (*guides, *sorted(ROOT.glob("profiles/*.toml")), *sorted(ROOT.glob("examples/*/*.toml"))):
        yield path.name, path.read_text(encoding="utf-8")
    for path in sorted((ROOT / "flatgen").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        silent = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr) and not help_in(path)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
                yield f"{path.relative_to(ROOT)}:{node.lineno}", node.value


def help_in(path: Path) -> bool:
    return path.parent.name == "cli"


TEXTS = list(read())


def test_each_word_has_its_concept_and_source() -> None:
    assert all(set(word) == {"concept", "use", "not", "source"} and word["source"] for word in WORDS)


@pytest.mark.parametrize("word", WORDS, ids=lambda word: word["use"])
def test_no_other_word_is_used(word) -> None:
    found = [(where, found[0]) for where, text in TEXTS for no in word["not"] if (found := re.search(no, text, re.I))]
    assert [] == found
