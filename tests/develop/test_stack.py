"""Stack-up rows of developed parts: which sizes there are, which leg is free, what is allowed."""

import dataclasses

import pytest

from flatgen.core.outline import rectangle
from flatgen.develop.allowance import bent_radius
from flatgen.develop.methods import Case
from flatgen.develop.stack import angle_limits, chains, shorter_legs, tolerance_rows, with_spreads
from flatgen.develop.unfold import unfold
from flatgen.model.part import Bend, Face, Part, Tolerance
from flatgen.model.shop import Brake, NoseBar, Shop, Tolerances
from flatgen.tables.load import material

EDGES = ("bottom", "right", "top", "left")
ALLOY = material("6061-T6")
BRAKE = Brake("small", 600.0, (NoseBar("1/8", 3.175),))
SHOP = Shop("bench", "mm", (BRAKE,), (), ())


def flat(name, width, height):
    return Face(name, rectangle(0.0, 0.0, width, height), EDGES)


def channel(**more):
    faces = (flat("web", 50.0, 300.0), flat("a", 20.0, 300.0), flat("b", 20.0, 300.0))
    bends = (
        Bend("1", "web", "left", "a", "right", 90.0, 3.175),
        Bend("2", "web", "right", "b", "left", 90.0, 3.175),
    )
    return Part("c", "channel", "channel", "web", faces, bends, ALLOY, 1.0, 1, **more)


def blank_of(part):
    bents = {b.id: bent_radius(Case(b.angle, b.radius, part.thickness, ALLOY, SHOP), brake=BRAKE) for b in part.bends}
    return unfold(part, bents)


def rows_of(part, shop=SHOP, **more):
    return {(row.where, row.kind): row for row in tolerance_rows(part, blank_of(part), shop, **more)}


def test_a_channel_has_two_flanges_a_web_and_overall_sizes():
    rows = rows_of(channel())
    assert {"flange": 2, "web": 1, "overall": 2} == {
        kind: sum(1 for _, k in rows if k == kind) for kind in ("flange", "web", "overall")
    }
    assert (50.0, 20.0, 20.0) == tuple(
        pytest.approx(rows[key].size) for key in (("web", "web"), ("a", "flange"), ("b", "flange"))
    )


def test_overall_sizes_are_those_of_the_drawing():
    sizes = sorted(row.size for row in rows_of(channel()).values() if row.kind == "overall")
    assert [20.0, 50.0] == pytest.approx(sizes)


def test_the_free_leg_varies_most_and_mating_faces_are_gauged():
    rows = rows_of(channel())
    assert [True, True, False] == [rows["a", "flange"].gauged, rows["web", "web"].gauged, rows["b", "flange"].gauged]
    assert rows["b", "flange"].rss > rows["a", "flange"].rss
    mated = rows_of(channel(mating=("b",)))
    assert (False, True) == (mated["a", "flange"].gauged, mated["b", "flange"].gauged)
    told = rows_of(channel(mating=("b",)), gauged=("a",))
    assert told["a", "flange"].gauged


def test_worst_case_is_never_less_than_the_root_sum_square():
    assert all(row.worst >= row.rss > 0 for row in rows_of(channel()).values())


def test_the_part_tolerance_decides_what_exceeds():
    tight = rows_of(channel(tolerance=Tolerance(0.1, 1.0, 0.1)))
    assert all(row.exceeds and 0.1 == row.limit for row in tight.values())
    exact = dataclasses.replace(SHOP, tolerances=Tolerances(0.1, 0, 0, 0, 0, 0, 0, 0, 0))
    assert not any(row.exceeds for row in rows_of(channel(), exact).values())


def test_a_tray_has_one_chain_each_way():
    base = flat("base", 100.0, 60.0)
    sides = (("w", "left", 60.0), ("e", "right", 60.0), ("s", "bottom", 100.0), ("n", "top", 100.0))
    faces = [base]
    bends = []
    for name, edge, width in sides:
        along = edge in ("bottom", "top")
        faces.append(flat(name, width if along else 20.0, 20.0 if along else width))
        other = {"left": "right", "right": "left", "bottom": "top", "top": "bottom"}[edge]
        bends.append(Bend(name, "base", edge, name, other, 90.0, 3.175))
    tray = Part("t", "tray", "tray", "base", tuple(faces), tuple(bends), ALLOY, 1.0, 1)
    found = chains(tray, blank_of(tray))
    assert [("w", "base", "e"), ("s", "base", "n")] == [
        tuple(chain.faces) if chain.faces[0] in "ws" else tuple(reversed(chain.faces)) for chain in found
    ]
    webs = [row for row in tolerance_rows(tray, blank_of(tray), SHOP) if row.kind == "web"]
    assert [60.0, 100.0] == pytest.approx(sorted(row.size for row in webs))


def test_a_hem_has_legs_but_no_overall_size():
    faces = (flat("plate", 50.0, 100.0), flat("hem", 10.0, 100.0))
    hem = Part("h", "hem", "hem", "plate", faces, (
        Bend("1", "plate", "right", "hem", "left", 180.0, 3.175, measured_parent="tangent", measured_child="tangent"),
    ), ALLOY, 1.0, 1)  # fmt: skip
    assert {"flange"} == {row.kind for row in tolerance_rows(hem, blank_of(hem), SHOP)}


def test_overall_width_of_a_hat_is_less_two_thicknesses():
    # brims to their mould lines 0.675 and top 1.250 in of .050 in sheet: 2.500 in over all (worked hat stiffener)
    inch = 25.4
    sizes = {"top": 1.25, "wl": 0.75, "wr": 0.75, "bl": 0.675, "br": 0.675}
    faces = tuple(flat(name, size * inch, 100.0) for name, size in sizes.items())
    bends = (
        Bend("1", "top", "left", "wl", "right", -90.0, 3.175),
        Bend("2", "top", "right", "wr", "left", -90.0, 3.175),
        Bend("3", "wl", "left", "bl", "right", 90.0, 3.175),
        Bend("4", "wr", "right", "br", "left", 90.0, 3.175),
    )
    hat = Part("hat", "hat", "hat", "top", faces, bends, ALLOY, 0.05 * inch, 1)
    rows = tolerance_rows(hat, blank_of(hat), SHOP)
    assert [0.75 * inch, 2.5 * inch] == pytest.approx(sorted(row.size for row in rows if row.kind == "overall"))


def test_a_developed_part_carries_its_spreads():
    part = channel()
    blank = with_spreads(part, blank_of(part), SHOP)
    rows = {(row.where, row.kind): row for row in tolerance_rows(part, blank, SHOP)}
    assert 3 == len(blank.dimensions)
    for size in blank.dimensions:
        row = rows[size.where, size.kind]
        assert (row.rss, row.worst) == (size.likely, size.worst)
    assert [20.0, 50.0] == pytest.approx(sorted(size.outside for size in blank.overall))


def test_a_class_allows_by_the_size():
    # ISO 2768-1, table 1 (from memory): medium ±0.2 over 6 to 30 mm, ±0.3 over 30 to 120
    rows = rows_of(channel(tolerance=Tolerance(0.8, 1.0, 0.4, general="medium")))
    assert [0.2, 0.2, 0.3] == [rows[key].limit for key in (("a", "flange"), ("b", "flange"), ("web", "web"))]
    assert {20.0: 0.2, 50.0: 0.3} == {round(r.size, 6): r.limit for r in rows.values() if r.kind == "overall"}
    stated = rows_of(channel(tolerance=Tolerance(0.6, 1.0, 0.4, general="medium", stated=("length",))))
    assert {0.6} == {row.limit for row in stated.values()}


def test_a_class_allows_angles_by_the_shorter_leg():
    # ISO 2768-1, table 3 (from memory): coarse ±1° for a leg over 10 to 50 mm; legs here are 20 and 50 mm
    part = channel(tolerance=Tolerance(0.8, 3.0, 0.4, general="coarse"))
    assert {"1": 20.0, "2": 20.0} == pytest.approx(shorter_legs(part, blank_of(part)))
    assert {"1": 1.0, "2": 1.0} == angle_limits(part, blank_of(part), SHOP)
    stated = channel(tolerance=Tolerance(0.8, 3.0, 0.4, general="coarse", stated=("angle",)))
    assert {"1": 3.0, "2": 3.0} == angle_limits(stated, blank_of(stated), SHOP)
