"""Six invented parts whose blanks were worked out by hand beforehand: handbook allowance, R' = R, rounded at the end.

All figures inch, to ±0.001. The sums behind them: SB = (R + T)·tan(A/2), BA = (0.01743·R + 0.0078·T)·A, blank = sum of
flats and allowances (FAA-H-8083-31, ch. 4, layout; constants as read in a shop workbook).
"""

import math

import pytest

INCH = 25.4
BLANKS = {
    "TF-101": (3.000, 1.631),
    "TF-102": (12.000, 3.309),
    "GT-201-L": (4.000, 2.979),
    "GT-201-R": (4.000, 2.979),
    "SK-301": (9.000, 3.625),
    "TF-103": (5.315, 3.815),
}


@pytest.mark.parametrize(("part", "size"), BLANKS.items())
def test_blank_size(six, part: str, size: tuple[float, float]) -> None:
    blank = six.part(part)["blank"]
    assert size == pytest.approx((blank["width"] / INCH, blank["height"] / INCH), abs=0.001)


# part, bend: allowance, setback, deduction
BENDS = [
    ("TF-101", 0, 0.2732, 0.1962, 0.1193),
    ("TF-102", 0, 0.2186, 0.1570, 0.0954),
    ("GT-201-L", 0, 0.2403, 0.1880, 0.1357),
    ("SK-301", 0, 0.2312, 0.1750, 0.1188),
    ("TF-103", 0, 0.1751, 0.1337, 0.0924),
    ("SK-302-L", 0, 0.4364, 0.3130, 0.1896),
    ("SK-302-L", 1, 0.3637, 0.2402, 0.1167),
]


@pytest.mark.parametrize(("part", "bend", "allowance", "setback", "deduction"), BENDS)
def test_bend(six, part: str, bend: int, allowance: float, setback: float, deduction: float) -> None:
    found = six.part(part)["bends"][bend]
    assert allowance == pytest.approx(found["allowance"] / INCH, abs=0.0001)
    assert setback == pytest.approx(found["outside_setback"] / INCH, abs=0.0001)
    assert deduction == pytest.approx(found["deduction"] / INCH, abs=0.0001)


# bend tangent lines from edge a, across the bends
TANGENTS = {
    "TF-101": (0.804, 1.077),
    "TF-102": (0.593, 0.812, 2.498, 2.716),
    "GT-201-L": (0.687, 0.927, 2.051, 2.292),
    "SK-301": (0.500, 0.731, 1.131, 1.362, 2.262, 2.494, 2.894, 3.125),
}


@pytest.mark.parametrize(("part", "lines"), TANGENTS.items())
def test_tangent_lines(six, part: str, lines: tuple[float, ...]) -> None:
    found = sorted(line[0][1] / INCH for bend in six.part(part)["bends"] for line in bend["tangents"])
    assert lines == pytest.approx(found, abs=0.001)


def test_tray_tangents_and_relief_centres(six) -> None:
    """Pump tray: tangents along both sides, relief holes of 3/16 centred on the inner crossings at 0.791 from both
    edges (FAA-H-8083-31, ch. 4, folding a box: centre on the intersection of the inside tangent lines)."""
    part = six.part("TF-103")
    across = {"y": (0.616, 0.791, 3.024, 3.199), "x": (0.616, 0.791, 4.524, 4.699)}
    for axis, expected in across.items():
        k = "xy".index(axis)
        found = sorted(
            line[0][k] / INCH
            for bend in part["bends"]
            for line in bend["tangents"]
            if abs(line[0][k] - line[1][k]) < 1e-9
        )
        assert expected == pytest.approx(found, abs=0.001)
    outline = part["blank"]["outline"]
    arcs = [
        (p, q)
        for p, q in zip(outline, [*outline[1:], outline[0]], strict=True)
        if p[2] < 0  # cut into the metal
    ]
    assert len(arcs) == 4
    centre = (0.791 * INCH, 0.791 * INCH)
    near = min(arcs, key=lambda a: math.dist(a[0][:2], centre))
    for end in near:
        assert math.dist(end[:2], centre) == pytest.approx(3 / 32 * INCH, abs=0.02)


def test_holes_in_the_flat(six) -> None:
    """Bulkhead clip: rivet rows at 0.3125 and 1.350 from edge a."""
    rows = sorted({round(hole["y"] / INCH, 3) for hole in six.part("TF-101")["blank"]["holes"]})
    assert (0.3125, 1.350) == pytest.approx(rows, abs=0.001)


def test_ski_bracket(six) -> None:
    """Flat positions of SK-302: x + 0.685, y + 0.633 for a base point; far edge at 3.944 less the taper."""
    part = six.part("SK-302-L")
    holes = [h for h in part["blank"]["holes"] if h["face"] == "plate"]
    middle = [sum(h[k] for h in holes) / 4 / INCH for k in "xy"]
    assert (2.285, 1.883) == pytest.approx(middle, abs=0.001)
    assert part["blank"]["width"] / INCH == pytest.approx(3.685, abs=0.001)
    # straight part of the tapered edge, carried to x = 0 of the part (0.685 in the flat)
    outline = part["blank"]["outline"]
    edge = max(
        zip(outline, [*outline[1:], outline[0]], strict=True),
        key=lambda s: (s[0][1] + s[1][1]) if s[0][2] == 0 and abs(s[0][0] - s[1][0]) > 30 else 0,
    )
    (x1, y1, _), (x2, y2, _) = edge
    slope = (y2 - y1) / (x2 - x1)
    assert slope == pytest.approx(-0.104167, abs=1e-6)
    assert (y1 + slope * (0.685 * INCH - x1)) / INCH == pytest.approx(3.944, abs=0.001)


def test_right_hand_is_the_mirror_of_the_left(six) -> None:
    left, right = six.part("SK-302-L")["blank"], six.part("SK-302-R")["blank"]
    mirrored = {(round(left["width"] - x, 6), round(y, 6)) for x, y, _ in left["outline"]}
    assert mirrored == {(round(x, 6), round(y, 6)) for x, y, _ in right["outline"]}


PLANTED = [
    ("head-to-bend", "hole 10, far"),  # 0.140 from the tangent line, a 1/8 head needs 0.155
    ("hole-to-edge", "hole 4, side"),  # bolts at 1.5 diameters
    ("hole-to-bend", "hole 4, side"),  # edge 0.062 from the tangent line, less than 2T
    ("grain-along-bend", "bend b3"),  # the side flange runs along the grain
    ("tapered-free-edge", "far"),  # no front stop
]


@pytest.mark.parametrize(("rule", "where"), PLANTED)
def test_planted_fault_is_found(six, rule: str, where: str) -> None:
    found = [f for f in six.results["findings"] if f["part"] == "SK-302-L" and f["rule"] == rule]
    assert any(f["where"].startswith(where) for f in found), found


def test_planted_values(six) -> None:
    """The figures of the planted faults as worked by hand."""
    values = {
        (f["rule"], f["where"]): f["value"] / INCH
        for f in six.results["findings"]
        if f["part"] == "SK-302-L" and f["unit"] == "mm" and f["value"] is not None
    }
    assert values["head-to-bend", "hole 10, far, bend b1"] == pytest.approx(0.140, abs=0.001)
    assert values["hole-to-bend", "hole 4, side, bend b3"] == pytest.approx(0.062, abs=0.001)
