"""Thousands of parts: counting settings part by part and walking through them give what plain counting gives."""

import random
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatgen.brake import batch, walks
from flatgen.brake.batch import Key
from flatgen.brake.windows import Windows, windows
from flatgen.model.shop import Minutes

values = st.floats(0.0, 20.0).map(lambda value: round(value, 1))


@given(st.lists(st.tuples(values, st.booleans())), st.floats(0.15, 3.0))
def test_windows_of_values_that_come_and_go(changes, width) -> None:
    """What is left at the end is gathered as by one look over all of it."""
    kept, tally = [], Windows(width)
    for value, take_out in changes:
        if take_out and kept:
            tally.change(kept.pop(len(kept) // 2), -1)
        else:
            kept.append(value)
            tally.change(value, 1)
        assert len(set(windows(kept, width).values())) == len(tally.starts)


def chain_of(*stops: int, leaf: int = 0) -> list[Key]:
    return [Key("b", "nose", (), 1.0, "6061-T6", (), 0, leaf, "back", 0.0, stop) for stop in stops]


def test_a_setting_is_made_once_where_no_order_forbids_it() -> None:
    """900 parts of two bends, each on its own stops: as many settings as there are, each before what follows it."""
    chance = random.Random(7)
    chains = [chain_of(*sorted(chance.sample(range(400), 2))) for _ in range(900)]
    found = batch.sequence(chains)
    assert sorted({key for chain in chains for key in chain}) == sorted(found)
    place = {key: k for k, key in enumerate(found)}
    assert all(place[first] < place[second] for first, second in chains)


def test_the_beam_finds_what_the_exact_search_finds(monkeypatch) -> None:
    chance = random.Random(11)
    jobs = [
        [chain_of(*(chance.randrange(5) for _ in range(3)), leaf=chance.randrange(2)) for _ in range(8)]
        for _ in range(12)
    ]
    exact = [batch.count(batch.sequence(job)).minutes for job in jobs]
    monkeypatch.setattr(walks, "STATES", 0)
    assert exact == [batch.count(batch.sequence(job)).minutes for job in jobs]


def test_the_sequence_goes_by_what_changes_take_in_this_shop() -> None:
    """Against every order of the settings in which the parts' own orders hold."""
    of, chance, shop_differs = Minutes(setback=1.0, leaf=40.0, stop=2.0), random.Random(5), 0
    for _ in range(20):
        keys = [
            Key("b", "n", (), 1.0, "6061-T6", (), chance.randrange(2), chance.randrange(2), "back", 0.0, k)
            for k in range(5)
        ]
        chains = [[keys[a], keys[b]] for a, b in (sorted(chance.sample(range(5), 2)) for _ in range(3))]
        used = sorted({key for chain in chains for key in chain})
        free = [o for o in permutations(used) if all(o.index(a) < o.index(b) for a, b in chains)]
        least = min(batch.count(order, of).minutes for order in free)
        assert least == pytest.approx(batch.count(batch.sequence(chains, of), of).minutes)
        shop_differs += batch.count(batch.sequence(chains), of).minutes > least + 1e-6
    assert shop_differs
