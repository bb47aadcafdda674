"""Mitres, hems, joggles, tabs and collisions, each against sizes worked out here by hand or measured on the solid."""

import math

import pytest

from flatgen.core.outline import bounds, rectangle
from flatgen.core.points import placed
from flatgen.develop.allowance import bent_radius
from flatgen.develop.collide import collisions
from flatgen.develop.mesh import formed_solid
from flatgen.develop.methods import Case
from flatgen.develop.unfold import unfold
from flatgen.errors import CannotMake
from flatgen.model.part import SKIRT_EDGES, Bend, Face, Mitre, Part, Skirt, Tab
from flatgen.tables.load import material

METAL = material("5052-H32")
T, R = 1.0, 2.0
EDGES = ("bottom", "right", "top", "left")
WALLS = (("north", "top"), ("east", "right"), ("south", "bottom"), ("west", "left"))


def blank_of(part, ratio=0.5):
    bents = {
        bend.id: bent_radius(
            Case(bend.angle, bend.radius, part.thickness, METAL, neutral_axis_ratio=ratio), "neutral-axis"
        )
        for bend in part.bends
    }
    return unfold(part, bents)


def part_of(faces, bends, **more):
    return Part("p", "", "", faces[0].id, tuple(faces), tuple(bends), METAL, T, 1, **more)


def flange(name, height, **inset):
    return Face(name, (), SKIRT_EDGES, skirt=Skirt(height, height, **inset))


def tray(angle=90.0, gap=0.5, returns=0.0, mitred=True, length=100.0, width=80.0, height=30.0):
    faces, bends = [Face("base", rectangle(0.0, 0.0, length, width), EDGES)], []
    for name, edge in WALLS:
        faces.append(flange(name, height))
        bends.append(Bend(name, "base", edge, name, "bend", angle, R))
    ring = [(WALLS[k][0], WALLS[(k + 1) % 4][0]) for k in range(4)]
    pairs = list(ring)
    if returns:
        for name, _ in WALLS:
            faces.append(flange(f"lip_{name}", returns))
            bends.append(Bend(f"lip_{name}", name, "free", f"lip_{name}", "bend", angle, R))
        pairs += [(f"lip_{a}", f"lip_{b}") for a, b in ring]
    mitres = tuple(Mitre(pair, gap) for pair in pairs) if mitred else ()
    return part_of(faces, bends, mitres=mitres)


def corners(blank, face, thickness=T):
    """Corners of a flat in space, in the axes of the base face."""
    flat, home = blank.face(face), blank.face("base").motion
    points = [placed(flat.frame, (x, y, z)) for x, y, _ in flat.outline for z in (0.0, -thickness)]
    return [(x - home[4], y - home[5], z) for x, y, z in points]


def least_distance(blank, one, other):
    """Least distance of two flats' solids, from points along the edges of one to the triangles of the other."""
    trimesh = pytest.importorskip("trimesh")
    import numpy as np

    mesh = formed_solid(blank)

    def piece(name):
        keep = [t for t, owner in zip(mesh.triangles, mesh.owners, strict=True) if owner == name]
        return trimesh.Trimesh(mesh.points, keep, process=False)

    a, b = piece(one), piece(other)
    points = edge_points(a)
    best = math.inf
    for triangle in b.triangles:
        closest = trimesh.triangles.closest_point(np.repeat(triangle[None], len(points), axis=0), points)
        best = min(best, float(np.linalg.norm(closest - points, axis=1).min()))
    return best


def edge_points(mesh):
    import numpy as np

    ends = mesh.vertices[mesh.edges_unique]
    shares = np.linspace(0.0, 1.0, 41)[:, None, None]
    return (ends[None, :, 0] * (1 - shares) + ends[None, :, 1] * shares).reshape(-1, 3)


@pytest.mark.parametrize("angle", [90.0, 60.0, 45.0])
@pytest.mark.parametrize("gap", [0.2, 1.5])
def test_mitred_walls_close_to_the_stated_gap(angle, gap):
    blank = blank_of(tray(angle, gap))
    assert gap == pytest.approx(least_distance(blank, "north", "east"), abs=1e-3)


def test_square_corner_by_hand():
    # inner skins meet at the inner corner line, one thickness in; half the gap each, laid out along the wall
    gap = 0.8
    blank = blank_of(tray(90.0, gap))
    end = max(x for x, _, _ in corners(blank, "north"))
    assert 100.0 - T - gap / math.sqrt(2.0) == pytest.approx(end, abs=1e-9)


def test_mitred_returns_halve_the_corner():
    gap = 0.6
    blank = blank_of(tray(90.0, gap, returns=12.0))
    assert [] == collisions(blank)
    # a return's cut runs at 45 degrees, half the gap from the diagonal through the outer corner of the walls
    tips = [(x, y) for x, y, _ in corners(blank, "lip_north")]
    away = [abs((100.0 - x) - (80.0 - y)) / math.sqrt(2.0) for x, y in tips if x > 50.0]
    assert [gap / 2.0] * len(away) == pytest.approx(away, abs=1e-9)


def test_collision_is_reported_with_both_names():
    found = collisions(blank_of(tray(90.0, 0.5, returns=12.0, mitred=False)))
    names = {frozenset(pair[:2]) for pair in found}
    assert frozenset(("lip_north", "lip_east")) in names
    # the overlap of two square-ended lips: a square of what each reaches in beyond its tangent line
    area = next(a for *pair, a in found if set(pair) == {"lip_north", "lip_east"})
    assert (12.0 - R - T) ** 2 == pytest.approx(area, rel=0.02)


def test_flange_through_a_flange():
    # a channel with one flange bent over at 150 degrees runs through the other
    faces = [Face("web", rectangle(0, 0, 60, 30), EDGES), flange("a", 60.0), flange("b", 25.0)]
    bends = [Bend("a", "web", "top", "a", "bend", 140.0, R), Bend("b", "web", "bottom", "b", "bend", 90.0, R)]
    assert {frozenset(pair[:2]) for pair in collisions(blank_of(part_of(faces, bends)))} >= {frozenset(("a", "b"))}


def test_lip_square_through_a_flange():
    faces = [Face("web", rectangle(0, 0, 60, 30), EDGES), flange("a", 15.0), flange("lip", 40.0), flange("b", 25.0)]
    bends = [
        Bend("a", "web", "top", "a", "bend", 90.0, R),
        Bend("lip", "a", "free", "lip", "bend", 90.0, R),
        Bend("b", "web", "bottom", "b", "bend", 90.0, R),
    ]
    assert [{"lip", "b"}] == [set(pair[:2]) for pair in collisions(blank_of(part_of(faces, bends)))]
    faces[2] = flange("lip", 28.5)  # half a millimetre short of b's inner face, 30 − T
    assert [] == collisions(blank_of(part_of(faces, bends)))


def test_open_tray_and_hems_only_touch():
    assert [] == collisions(blank_of(tray(mitred=False)))
    faces = [Face("web", rectangle(0, 0, 60, 30), EDGES), flange("hem", 8.0)]
    hem = Bend("hem", "web", "top", "hem", "bend", 180.0, 0.0, measured_parent="fold", measured_child="fold", hem=True)
    assert [] == collisions(blank_of(part_of(faces, [hem])))


def test_planes_that_do_not_meet_have_no_mitre():
    part = tray(90.0, 0.5, returns=12.0)
    faces = tuple(Face(f.id, (), SKIRT_EDGES, skirt=Skirt(35.0, 35.0)) if f.id == "north" else f for f in part.faces)
    with pytest.raises(CannotMake, match="lie in planes 5.00 mm .* apart and do not meet"):
        blank_of(Part("p", "", "", "base", faces, part.bends, METAL, T, 1, mitres=part.mitres))


@pytest.mark.parametrize(("radius", "ratio"), [(0.0, 0.40), (1.5, 0.40)])
def test_hem_over_its_fold(radius, ratio):
    """Closed and open hem, legs over the fold: flat = body + h − 2(R + T) + π(R + kT).

    Derived (handbook notes, section 17, hems); T .032, k .40, R 0 gives an allowance of 0.040212 in there.
    """
    body, leg = 40.0, 10.0
    faces = [Face("web", rectangle(0, 0, 60, body), EDGES), flange("hem", leg)]
    bend = Bend("h", "web", "top", "hem", "bend", 180.0, radius, None, None, "fold", "fold", hem=True)
    blank = blank_of(part_of(faces, [bend]), ratio)
    assert body + leg - 2.0 * (radius + T) + math.pi * (radius + ratio * T) == pytest.approx(blank.height, abs=1e-9)
    assert body == pytest.approx(blank.formed_size[1], abs=1e-9)
    assert 2.0 * (radius + T) == pytest.approx(blank.formed_size[2], abs=1e-9)


def test_joggle_sets_off_by_its_offset_whatever_the_radius():
    offset, run, landing = 1.2, 9.0, 20.0
    angle = math.degrees(math.atan2(offset, run))
    slope = math.hypot(offset, run)
    for radius in (0.5, 2.0, 6.0):
        faces = [Face("strap", rectangle(0, 0, 60, 25), EDGES), flange("ramp", slope), flange("end", landing)]
        bends = [
            Bend("one", "strap", "right", "ramp", "bend", angle, radius),
            Bend("two", "ramp", "free", "end", "bend", -angle, radius, None, None, "inside", "inside"),
        ]
        blank = blank_of(part_of(faces, bends))
        lower = [placed(blank.face("end").frame, (x, y, -T)) for x, y, _ in blank.face("end").outline]
        assert [offset - T] * len(lower) == pytest.approx([z for *_, z in lower], abs=1e-9)
        assert 60.0 + run + landing == pytest.approx(max(x for x, _, _ in lower), abs=1e-9)


def test_joggle_agrees_with_the_closed_form():
    """Offset D = 2(R + T/2)(1 − cos A) + s·sin A and run X = 2(R + T/2) sin A + s·cos A; derived."""
    radius, offset, run = 2.0, 1.2, 9.0
    angle, slope = math.atan2(offset, run), math.hypot(offset, run)
    flat = slope - (2.0 * radius + T) * math.tan(angle / 2.0)
    middle = radius + T / 2.0
    assert offset == pytest.approx(2.0 * middle * (1.0 - math.cos(angle)) + flat * math.sin(angle), abs=1e-12)


def test_tab_adds_its_own_area_and_no_more():
    plate = Face("plate", rectangle(0, 0, 60, 40), EDGES)
    for edge, low in (("left", 10.0), ("right", 10.0), ("top", 20.0), ("bottom", 20.0)):
        blank = blank_of(part_of([plate], [], tabs=(Tab("plate", edge, low, low + 12.0, 5.0, 1.0),)))
        assert 60.0 * 40.0 + 12.0 * 5.0 - 2.0 * (1.0 - math.pi / 4.0) == pytest.approx(blank.area, abs=1e-9)
        box = bounds([blank.outline])
        assert sorted((65.0, 40.0) if edge in ("left", "right") else (60.0, 45.0)) == pytest.approx(
            sorted((box[2] - box[0], box[3] - box[1]))
        )


def test_tab_off_its_edge_is_refused():
    plate = Face("plate", rectangle(0, 0, 60, 40), EDGES)
    with pytest.raises(CannotMake, match="does not lie on a free straight part"):
        blank_of(part_of([plate], [], tabs=(Tab("plate", "left", 35.0, 50.0, 5.0),)))
