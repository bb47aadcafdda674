"""Orders laid blank by blank into rooms: everything once, in its room, and the same again."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import few

from flatgen.nest.guillotine.beam_search import Beam, Ranking, Room
from flatgen.nest.guillotine.block import leaves
from flatgen.nest.guillotine.knapsacks import Option, Rules

PLAIN = Ranking(0.1, 1.0, width=20)


def options(*sizes: tuple[float, float]) -> list[Option]:
    return [Option(kind, 0, along, across) for kind, (along, across) in enumerate(sizes)]


def content(rooms, kinds: int) -> list[int]:
    found = [0] * kinds
    for strips in rooms:
        for strip in strips:
            for kind, many in strip.counts:
                found[kind] += many
    return found


@given(
    st.lists(st.tuples(st.integers(1, 40), st.integers(1, 40), st.integers(0, 6)), min_size=1, max_size=5),
    st.integers(40, 90),
    st.integers(1, 9),
)
@settings(max_examples=few(60))
def test_every_blank_lies_once_and_in_its_room(kinds, length, seed):
    ways = options(*((a, b) for a, b, _ in kinds))
    demand = [many for *_, many in kinds]
    found = Beam([Room(length, 60.0, ways)] * 40, demand, Rules()).run(Ranking(0.1, 0.5, 10, 2, seed))
    assert found is not None  # every blank fits, and there are more rooms than blanks
    assert content(found, len(kinds)) == demand
    for strips in found:
        assert sum(strip.block.height for strip in strips) <= 60.0 + 1e-6
        for strip in strips:
            assert strip.block.width <= length + 1e-6
            counted = [0] * len(kinds)
            for kind, turn, x, y in leaves(strip.block):
                assert turn == 0
                assert x + ways[kind].along <= strip.block.width + 1e-6
                assert y + ways[kind].across <= strip.block.height + 1e-6
                counted[kind] += 1
            assert [(k, n) for k, n in enumerate(counted) if n] == list(strip.counts)


def test_a_sheet_that_can_be_filled_without_waste_is():
    ways = options((60.0, 40.0), (40.0, 20.0), (40.0, 40.0))
    (strips,) = Beam([Room(100.0, 80.0, ways)], [2, 2, 1], Rules()).run(PLAIN)
    assert sum(strip.block.height for strip in strips) == pytest.approx(80.0)


def test_what_does_not_fit_is_said_so():
    ways = options((60.0, 40.0), (101.0, 20.0))
    assert Beam([Room(100.0, 80.0, ways)], [0, 1], Rules()).run(PLAIN) is None  # too long
    assert Beam([Room(100.0, 80.0, ways)], [3, 0], Rules()).run(PLAIN) is None  # one too many


def test_two_stages_put_no_blank_on_another_in_a_strip():
    ways = options((60.0, 40.0), (40.0, 20.0))
    found = Beam([Room(100.0, 80.0, ways)] * 3, [2, 3], Rules(stages=2)).run(PLAIN)
    assert found is not None
    for strips in found:
        for strip in strips:
            assert all(part.kind >= 0 for part in strip.block.parts)


def test_no_strip_is_higher_than_the_longest_cut():
    ways = options((60.0, 40.0), (40.0, 20.0))
    found = Beam([Room(100.0, 80.0, ways)] * 3, [2, 3], Rules(longest=50.0)).run(PLAIN)
    assert found is not None
    assert max(strip.block.height for strips in found for strip in strips) <= 50.0


def test_the_same_again():
    ways = options((60.0, 40.0), (40.0, 20.0), (33.0, 27.0))
    rooms = [Room(100.0, 80.0, ways)] * 5
    assert Beam(rooms, [4, 7, 5], Rules()).run(PLAIN) == Beam(rooms, [4, 7, 5], Rules()).run(PLAIN)
