"""The brake's sections in shop.toml: read in either unit, refused in one sentence when they are no figure."""

import pytest

from flatgen.errors import InputError
from flatgen.read.shop import read_shop

SHOP = """
units = "mm"
[[brake]]
name = "slim"
length = 600
bed_section = [[0, 0], [0, -40], [18, -40], [18, 0]]
leaf_section = [[0, 0], ["3/8 in", 0], [9.525, -50], [0, -50]]
beam_depth = 70
fingers = [25, 50, 75]
[[brake.nose]]
name = "3"
radius = 3
section = [[3, 0], [0.9, 0.9], [0, 3], [20, 40], [28, 40], [28, 0]]
[[tool]]
name = "shear"
method = "shear"
"""


def read(tmp_path, text):
    (tmp_path / "shop.toml").write_text(text)
    return read_shop(tmp_path / "shop.toml")


def test_sections_come_through_in_millimetres(tmp_path) -> None:
    bar = read(tmp_path, SHOP).brakes[0]
    assert (9.525, 0.0) == pytest.approx(bar.leaf_section[1])
    assert (18.0, -40.0) == bar.bed_section[2]
    assert 6 == len(bar.noses[0].section)
    assert 70.0 == bar.beam_depth


@pytest.mark.parametrize("bad", ["[[0, 0], [0, -40]]", "[[0, 0], [18, -40], [18, 0], [0, -40]]", "[[0, 0, 1]]"])
def test_a_section_that_is_no_figure_is_refused(tmp_path, bad) -> None:
    with pytest.raises(InputError, match=r'shop.toml, line 6.*brake "slim"'):
        read(tmp_path, SHOP.replace("[[0, 0], [0, -40], [18, -40], [18, 0]]", bad))
