"""A profile written flange by flange is one that the reader takes, and a person reads."""

import random
import tomllib
from pathlib import Path

import pytest
from making import few
from small_shop import HEAD, SHOP

from flatgen.errors import InputError
from flatgen.jobs.own_profile import NewFlange, begun, with_flange
from flatgen.jobs.trial import Trials


def test_it_reads_like_those_of_the_library() -> None:
    text = begun("Pump \u201ccleat\u201d", "mm", "100 mm", "50 mm")
    text = with_flange(text, NewFlange("wall", "base.top", "20 mm", "60", "down", "3 mm", ("", "2 mm")), "mm")
    data = tomllib.loads(text)
    assert text.startswith("# Pump \u201ccleat\u201d: base and what is bent up from it.")
    assert text.index("[parameter.wall]") < text.index("[face.base]") < text.index("[flange.wall]")
    assert data["grain"] == "across wall"
    assert data["flange"]["wall"] == {
        "on": "base.top",
        "height": "wall",
        "angle": "wall_angle",
        "fold": "down",
        "radius": "3 mm",
        "inset": ["0 mm", "2 mm"],
    }
    assert all(parameter["explain"] for parameter in data["parameter"].values())


@pytest.mark.parametrize("name", ["", "2nd", "if", "a b", 'x"]', "wall"])
def test_a_name_that_cannot_be_is_told(name: str) -> None:
    text = with_flange(begun("A", "in", "3 in", "1 in"), NewFlange("wall", "base.top", "1 in"), "in")
    with pytest.raises(InputError, match="name"):
        with_flange(text, NewFlange(name, "base.left", "1 in"), "in")


def test_any_tree_of_flanges_is_a_part(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "job.toml").write_text(f'{HEAD}[[part]]\nid = "A"\nquantity = 1\nprofile = "own"\n', encoding="utf-8")
    (tmp_path / "profiles").mkdir()
    for seed in range(few(24)):
        draw = random.Random(seed)
        text, free = begun("Own", "in", "4 in", "3 in"), [f"base.{edge}" for edge in ("top", "bottom", "left", "right")]
        count = draw.randint(1, 7)
        for k in range(count):
            on = free.pop(draw.randrange(len(free)))
            angle, fold = f"{draw.uniform(20, 120):.1f}", draw.choice(("up", "down"))
            flange = NewFlange(f"f{k}", on, f"{draw.uniform(0.6, 0.9):.3f} in", angle, fold)
            text = with_flange(text, flange, "in")
            free.append(f"f{k}.free")
        (tmp_path / "profiles" / "own.toml").write_text(text, encoding="utf-8")
        assert len(Trials(tmp_path / "job.toml").look(0).part.bends) == count
