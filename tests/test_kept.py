"""Answers that are kept between runs: the same as computed ones, whatever happens to their file."""

import re
import sqlite3
import tomllib
import warnings
from pathlib import Path

import pytest

from flatgen.core.bend import allowance_from_neutral_axis as allowance
from flatgen.errors import LettersMissing
from flatgen.kept import LIBRARIES, answers, keeping, kept

asked: list[tuple[object, ...]] = []


def twice(value: object, extra: float = 0.0) -> list[object]:
    asked.append((value, extra))
    if value == "odd":
        warnings.warn(LettersMissing("x"), stacklevel=1)
    return [value, value, extra]


@pytest.fixture(autouse=True)
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("FLATGEN_KEPT", str(tmp_path / "kept"))
    asked.clear()
    return tmp_path / "kept" / "answers.sqlite"


def ask(*values: object, **more: float) -> list[object]:
    with keeping():
        return kept(twice, *values, **more)


def test_the_same_question_is_answered_from_the_file() -> None:
    assert ask(1.5) == ask(1.5) == [1.5, 1.5, 0.0]
    assert ask("1.5") == ["1.5", "1.5", 0.0] and ask(1.5, extra=2.0)[2] == 2.0
    assert [(1.5, 0.0), ("1.5", 0.0), (1.5, 2.0)] == asked


def test_without_keeping_everything_is_computed(monkeypatch: pytest.MonkeyPatch) -> None:
    assert kept(twice, 1) == kept(twice, 1) and 2 == len(asked)
    monkeypatch.setenv("FLATGEN_KEPT", "no")
    assert ask(1) == ask(1) and 4 == len(asked)


def test_what_does_not_show_all_that_it_holds_is_computed() -> None:
    thing = object()
    assert ask(thing)[0] is thing and ask(thing)[0] is thing and 2 == len(asked)


@pytest.mark.parametrize("harm", ["UPDATE answer SET value = x'00' || value", "DROP TABLE answer", "text"])
def test_a_damaged_file_loses_only_time(place: Path, harm: str) -> None:
    ask("a")
    if harm == "text":
        place.write_text("not a book at all, " * 100, encoding="utf-8")
    else:
        with sqlite3.connect(place) as file:
            file.execute(harm)
    assert ask("a") == ["a", "a", 0.0] and ask("a") == ["a", "a", 0.0]
    assert 2 == len(asked)


def test_a_program_that_changed_computes_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    ask("a")
    monkeypatch.setattr("flatgen.kept.program", lambda: b"another")
    ask("a")
    assert 2 == len(asked)


def test_what_was_told_is_told_again() -> None:
    for _ in range(2):
        with pytest.warns(LettersMissing):
            ask("odd")
    assert 1 == len(asked)


def test_the_longest_unused_go(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ask("a" * 400)
    with sqlite3.connect(place) as file:
        file.execute("UPDATE answer SET day = 1")
    monkeypatch.setattr("flatgen.kept.MOST", 600)
    monkeypatch.setattr("flatgen.kept.LEAST", 600)
    ask("b" * 400)
    ask("b" * 400)
    assert 2 == len(asked)
    ask("a" * 400)
    assert 3 == len(asked)


def test_many_answers_come_from_all_cores_in_their_order(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("flatgen.kept.MANY", 4)
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    questions = [(90.0, 1.0 + k / 8.0, 1.0, 0.4) for k in range(9)]
    with keeping():
        first = kept(allowance, *questions[3])
        found = list(answers(allowance, questions))
        assert [allowance(*question) for question in questions] == found == list(answers(allowance, questions))
    assert first == found[3]


def test_every_library_that_may_change_an_answer_counts(root: Path) -> None:
    asked = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    names = {re.split(r"[<>=]", one)[0] for one in asked}
    assert names - {"click", "rich", "platformdirs", "starlette", "uvicorn", "jinja2"} == set(LIBRARIES)


def test_a_folder_that_others_may_write_into_is_not_used(place: Path) -> None:
    place.parent.mkdir()
    place.parent.chmod(0o777)
    assert ask(1) == ask(1) and 2 == len(asked) and not place.exists()
