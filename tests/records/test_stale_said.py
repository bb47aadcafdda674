"""What is said of blanks cut to figures that are no longer the drawing's."""

import pytest

from flatgen.records.stale import Stale
from flatgen.said import within

OLD = {"revision": "A", "thickness": 1.0, "width": 40.0, "height": 60.0, "shape": "s1"}
SHAPE = "holes or outline are others inside the same size"


@pytest.mark.parametrize(
    ("now", "differences", "rework"),
    [
        ({"shape": "s2"}, SHAPE, "drill and trim anew where the drawing has changed"),
        ({"revision": "B", "shape": "s2"}, f"revision A, now B; {SHAPE}", "drill and trim anew"),
        ({"revision": ""}, "revision A, now none", "drill and trim anew"),
        ({"width": 38.5, "shape": "s2"}, "wide 40.00 mm, now 38.50 mm", "shear 1.50 mm off its width"),
        (
            {"width": 38.5, "height": 59.0, "shape": "s2"},
            "wide 40.00 mm, now 38.50 mm; high 60.00 mm, now 59.00 mm",
            "shear 1.50 mm off its width and shear 1.00 mm off its height",
        ),
        ({"height": 60.5, "shape": "s2"}, "high 60.00 mm, now 60.50 mm", ""),
        ({"thickness": 1.6}, "developed for a thickness of 1.00 mm, now 1.60 mm", ""),
    ],
)
def test_each_difference_is_named_and_what_cuts_away_can_be_reworked(now, differences, rework) -> None:
    """A blank that is too small, or of other metal, cannot be cut right."""
    one = Stale("P-1", 3, OLD, OLD | now)
    assert differences == within(one.differences, "mm")
    assert within(one.rework, "mm").startswith(rework) and bool(rework) == bool(one.rework)
    assert ("no cut can rework them" in within(one.todo, "mm")) != bool(rework)
