"""A part tried with changes is the part that the file would give with them; nothing is written."""

import shutil
from pathlib import Path

import pytest

from flatgen.errors import InputError
from flatgen.jobs.developed import develop_all
from flatgen.jobs.loading import load
from flatgen.jobs.trial import Trials, changed
from flatgen.write.edits import Append, Drop, Edit, Set, applied


@pytest.fixture
def job(root: Path, tmp_path: Path) -> Path:
    for file in (root / "examples" / "float-fittings").iterdir():
        if file.suffix in (".toml", ".csv"):
            shutil.copy(file, tmp_path)
    return tmp_path / "job.toml"


CHANGES: tuple[tuple[int, tuple[Edit, ...]], ...] = (
    (0, (Set(("part", 0, "leg_b"), "1 1/16 in"), Set(("part", 0, "holes", 1, "along"), [0.5, "1.25 in"]))),
    (
        0,
        (
            Drop(("part", 0, "holes", 0)),
            Append(("part", 0, "holes"), {"face": "leg_a", "drill": "#30", "at": [1, 0.5]}),
        ),
    ),
    (1, (Set(("part", 1, "thickness"), "0.032 in"),)),
    (8, (Set(("part", 8, "length"), "5 in"), Set(("part", 8, "relief"), []))),
)


@pytest.mark.parametrize("row, edits", CHANGES)
def test_a_trial_is_what_the_file_would_give(job: Path, row: int, edits: tuple[Edit, ...]) -> None:
    trials = Trials(job)
    trials.look(row)  # what is remembered of it as it was is not taken for it as it is
    look = trials.look(row, edits)
    before = job.read_text(encoding="utf-8")
    job.write_text(applied(before, edits), encoding="utf-8")
    made = next(one for one in develop_all(load(job)) if one.part.id == look.part.id)
    assert (made.part, made.blank, made.findings) == (look.part, look.blank, look.made.findings)


def test_a_part_that_others_refer_to_is_told_of_its_own_change(job: Path) -> None:
    """Holes that are taken over move with those that they are taken from, though their own entry stays."""
    text = job.read_text(encoding="utf-8")
    plate = 'profile = "angle"\nquantity = 1\nmaterial = "6061-T6"\nthickness = "0.04 in"\nradius = "1/8 in"\n'
    plate += '[[part.holes]]\nface = "leg_a"\n'
    text += f'\n[[part]]\nid = "Z"\n{plate}same_as = "Y.row"\n'
    text += f'[[part]]\nid = "Y"\n{plate}name = "row"\ndrill = "#30"\nat = [[1, 0.5]]\n'
    job.write_text(text, encoding="utf-8")
    trials, last = Trials(job), text.count("[[part]]") - 1
    first = trials.look(last - 1).part.holes
    moved = trials.look(last - 1, [Set(("part", last, "holes", 0, "at"), [[2, 0.5]])]).part.holes
    assert [hole.center[0] for hole in (*first, *moved)] == pytest.approx([25.4, 50.8])


def test_what_cannot_be_names_its_key(job: Path) -> None:
    with pytest.raises(InputError, match='part "TF-101", leg_b: "3 blue"'):
        Trials(job).look(0, [Set(("part", 0, "leg_b"), "3 blue")])


def test_the_description_given_stays(job: Path) -> None:
    data = {"part": [{"id": "A", "holes": [{"at": [1, 2]}]}]}
    assert changed(data, [Set(("part", 0, "holes", 0, "at", 1), 5)])["part"][0]["holes"][0]["at"] == [1, 5]
    assert data["part"][0]["holes"][0]["at"] == [1, 2]


def test_a_change_of_what_is_no_place_is_told() -> None:
    with pytest.raises(InputError, match="there is no 0 in it any more"):
        changed({"title": "clips"}, [Set(("title", 0), "x")])
