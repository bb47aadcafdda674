"""ISO 2768-1, tables 1 and 3. The figures here are from memory, written down apart from the data file."""

import pytest

from flatgen.errors import InputError
from flatgen.tables.general import COLUMNS, LETTERS, angle_limit, called, length_limit, parse_bands

ENDS = (3, 6, 30, 120, 400, 1000, 2000)  # upper ends of the bands [mm]; each belongs to its own band
LENGTHS = {
    "fine": (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5),
    "medium": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2),
    "coarse": (0.2, 0.3, 0.5, 0.8, 1.2, 2, 3),
    "very coarse": (None, 0.5, 1, 1.5, 2.5, 4, 6),
}
LEGS = (10, 50, 120, 400)
MINUTES = {
    "fine": (60, 30, 20, 10),
    "medium": (60, 30, 20, 10),
    "coarse": (90, 60, 30, 15),
    "very coarse": (180, 120, 60, 30),
}


@pytest.mark.parametrize("grade", LETTERS)
def test_lengths(grade):
    assert list(LENGTHS[grade]) == [length_limit(grade, end) for end in ENDS]
    # just over an end the next band holds
    assert list(LENGTHS[grade][1:]) == [length_limit(grade, end + 0.01) for end in ENDS[:-1]]
    assert LENGTHS[grade][0] == length_limit(grade, 0.5) and length_limit(grade, 0.49) is None


@pytest.mark.parametrize("grade", LETTERS)
def test_angles(grade):
    assert list(MINUTES[grade]) == pytest.approx([60.0 * angle_limit(grade, leg) for leg in LEGS])
    assert list(MINUTES[grade][1:]) == pytest.approx([60.0 * angle_limit(grade, leg + 0.01) for leg in LEGS[:-1]])
    assert 60.0 * angle_limit(grade, 401.0) < MINUTES[grade][-1]


def test_names_on_a_drawing():
    assert ["ISO 2768-f", "ISO 2768-m", "ISO 2768-c", "ISO 2768-v"] == [called(grade) for grade in LETTERS]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("medium,length,1,3,.1,nowhere,p,memory", 'no publication "nowhere"'),
        ("rough,length,1,3,.1,iso-2768-1,p,memory", 'there is no class "rough"'),
        ("medium,length,3,1,.1,iso-2768-1,p,memory", "a band must rise and its limit be above 0"),
        ("medium,angle,0,10,1.5,iso-2768-1,p,memory", '"1.5" is not written in degrees and minutes'),
    ],
)
def test_a_bad_row_is_named_with_its_line(row, says):
    with pytest.raises(InputError) as caught:
        parse_bands(",".join(COLUMNS) + "\n" + row + "\n")
    assert "general_tolerances.csv, line 2" in str(caught.value) and says in str(caught.value)
