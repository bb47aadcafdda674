"""Every value of every library profile, replaced by what does not belong there: a sentence each time, no traceback."""

import copy
import random

import pytest

from flatgen.develop.collide import collisions
from flatgen.develop.develop import develop
from flatgen.errors import FlatgenError
from flatgen.read import profile as profiles
from flatgen.read.keys import TomlFile
from flatgen.read.sample import sample_part

ODD = (0, -1, 1e9, "", "x", "-1 in", "1e400 in", True, [], [1], [[1, 2], "a"], {}, {"to": [1, 2]}, "nan", "1/0 in", "é")


def spots(data, path=()):
    """Places of every value in a TOML document."""
    items = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in items:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from spots(value, (*path, key))


def replaced(data, path, value):
    data = copy.deepcopy(data)
    at = data
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = value
    return data


@pytest.mark.parametrize("name", profiles.profile_names())
def test_odd_values_give_sentences(name, tmp_path, monkeypatch):
    original = profiles.load_profile(profiles.find_profile(name))
    places = [path for path in spots(original.file.data) if path[0] != "parameter" or path[-1] in ("default", "least")]
    dice = random.Random(name)
    for path in dice.sample(places, min(40, len(places))):
        value = dice.choice(ODD)
        data = replaced(original.file.data, path, value)
        file = TomlFile(original.file.path, original.file.text, data)
        monkeypatch.setattr(profiles, "open_toml", lambda _, file=file: file)
        profiles._load.cache_clear()
        try:
            part, shop = sample_part(profiles._load(original.file.path, 0), "mm")
            collisions(develop(part, shop))
        except FlatgenError as error:
            assert str(error).strip(), (path, value)
        except Exception as error:  # pragma: no cover - what this test is for
            pytest.fail(f"{name}: {path} = {value!r} gives {type(error).__name__}: {error}")
    monkeypatch.undo()
    profiles._load.cache_clear()
