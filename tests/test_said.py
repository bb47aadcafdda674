"""Sentences keep their quantities as values and are worded in the reader's unit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatgen.said import after_head, extent, fine, joined, over, said, size, spot

LENGTHS = st.floats(-5000, 5000)


@pytest.mark.parametrize(
    ("units", "words"),
    [
        # 1 in is 25.4 mm (international yard and pound agreement of 1959)
        ("in", "hole at 1.000, -0.500 in: ±0.250 in, over 1.000 in², 3.14961 mm off, 1.0000 in"),
        ("mm", "hole at 25.40, -12.70 mm: ±6.35 mm, over 645.16 mm², 3.14961 mm off, 25.400 mm"),
    ],
)
def test_a_sentence_is_worded_in_one_unit(units: str, words: str) -> None:
    text = said("hole at ", spot(25.4, -12.7), ": ±", size(6.35), ", over ", extent(645.16), ", 3.14961 mm off, ")
    assert words == (text + fine(25.4)).within(units)


@given(LENGTHS, st.text(min_size=1, max_size=8))
def test_what_is_said_in_pieces_is_said_alike(mm: float, word: str) -> None:
    """Wherever it is cut, and with a head that is taken off again."""
    whole = said("part: ", word, size(mm), word)
    assert whole == "part: " + (said(word, size(mm)) + word) == joined("", ["part: ", word, size(mm), word])
    assert said(word, size(mm), word) == after_head(whole, "part: ")


def test_several_that_differ_in_quantities_are_said_once_with_their_range() -> None:
    texts = [said("leg ", size(leg), " at ", size(5.0)) for leg in (50.8, 25.4, 30.0)]
    assert "leg 1.000 to 2.000 in at 0.197 in" == over(texts, "in")
    assert "leg 25.40 to 50.80 mm at 5.00 mm" == over(texts, "mm")


def test_for_a_reader_of_unknown_units_both_stand() -> None:
    assert "leg 25.40 mm (1.000 in) long" == f"leg {size(25.4)} long" == str(said("leg ", size(25.4), " long"))
