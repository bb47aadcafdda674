"""Broken descriptions, kept as files: each gives one sentence that names file, line, part and key, and what to do."""

from pathlib import Path

import pytest

from flatgen.errors import InputError
from flatgen.jobs.developed import develop_all
from flatgen.jobs.loading import load

FOLDER = Path(__file__).resolve().parent.parent / "data" / "broken"
FILES = sorted(path for path in FOLDER.glob("*.toml") if path.name != "shop.toml")


def test_there_are_twenty_at_least():
    assert len(FILES) >= 20


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_one_right_sentence(path):
    expected = path.read_text(encoding="utf-8").splitlines()[0].removeprefix("# expect: ")
    with pytest.raises(InputError) as caught:
        develop_all(load(path))
    said = str(caught.value).replace(f"{FOLDER}/", "")
    assert expected == said
