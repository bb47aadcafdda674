"""The formed solid against a general-purpose mesh library (trimesh), against closed forms, and back from its files."""

import math
from dataclasses import replace

import pytest

from flatgen.develop.collide import collisions
from flatgen.develop.develop import develop
from flatgen.develop.measure import net_areas
from flatgen.develop.mesh import formed_solid
from flatgen.develop.unfold import overlaps
from flatgen.read.profile import find_profile, load_profile, profile_names
from flatgen.read.sample import sample_part
from flatgen.write.solid import write

trimesh = pytest.importorskip("trimesh")
FINE = 0.002  # mm


@pytest.fixture(scope="module")
def blanks():
    found = {}
    for name in profile_names():
        part, shop = sample_part(load_profile(find_profile(name)), "mm")
        found[name] = develop(part, shop)
    return found


def measured(blank):
    mesh = formed_solid(blank, FINE)
    return mesh, trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


@pytest.mark.parametrize("name", profile_names())
def test_solid_is_closed_and_has_its_volume(name, blanks):
    blank = blanks[name]
    mesh, solid = measured(blank)
    assert solid.is_watertight and solid.is_winding_consistent
    # Pappus: a strip's metal is its flat area, stretched from the neutral line to mid-thickness (trade: section 19)
    areas = net_areas(blank.faces, blank.bends, blank.cutouts)
    expected = sum(areas[face.id][0] for face in blank.faces)
    for bend in blank.bends:
        arc = math.radians(bend.angle) * (bend.bent.inside_radius + blank.thickness / 2.0)
        expected += areas[bend.id][0] * arc / bend.bent.allowance
    assert expected * blank.thickness == pytest.approx(solid.volume, rel=5e-4)


@pytest.mark.parametrize("name", profile_names())
def test_solid_is_as_large_as_said(name, blanks):
    blank = blanks[name]
    _, solid = measured(blank)
    assert list(blank.formed_size) == pytest.approx(solid.bounding_box.extents.tolist(), abs=0.02)
    # the blank's own centre weighs each strip by its flat metal, the solid by its room: they part by the thinning
    assert list(blank.center_of_gravity) == pytest.approx(solid.center_mass.tolist(), abs=0.1)


@pytest.mark.parametrize("name", profile_names())
def test_library_parts_stand_free_and_lie_flat(name, blanks):
    assert [] == collisions(blanks[name])
    assert [] == overlaps(blanks[name])


@pytest.mark.parametrize("width", [3.0, 12.0, 40.0])
def test_reliefs_of_any_size_leave_the_solid_folded(width):
    """A large hole cuts the strips back from their tangents' ends; the solid once stayed flat where it did."""
    part, shop = sample_part(load_profile(find_profile("tray")), "mm")
    part = replace(part, reliefs=tuple(replace(relief, width=width) for relief in part.reliefs))
    blank = develop(part, shop)
    mesh, solid = measured(blank)
    assert solid.is_watertight
    assert list(blank.formed_size) == pytest.approx(solid.bounding_box.extents.tolist(), abs=0.02)
    assert {face.id for face in blank.faces} | {f"bend {bend.id}" for bend in blank.bends} == set(mesh.owners)


def test_centre_of_a_plate_with_round_ends_is_exact():
    """Half discs: centroid 4r/3π beyond the diameter (textbook); arcs once were chords here."""
    part, shop = sample_part(load_profile(find_profile("strap")), "mm")
    r, length = 15.0, 40.0
    outline = ((0.0, 0.0, 0.0), (length, 0.0, 1.0), (length, 2.0 * r, 0.0), (0.0, 2.0 * r, 0.0))
    plate = replace(part.face(part.base), outline=outline, edges=("1", "2", "3", "4"), corners=())
    blank = develop(replace(part, faces=(plate,), holes=(), cutouts=()), shop)
    half, middle = math.pi * r * r / 2.0, length + 4.0 * r / (3.0 * math.pi)
    expected = (2.0 * r * length * length / 2.0 + half * middle) / (2.0 * r * length + half)
    assert (expected, r) == pytest.approx(blank.center_of_gravity[:2], abs=1e-9)


@pytest.mark.parametrize("kind", ["stl", "glb"])
def test_file_gives_the_solid_back(kind, blanks, tmp_path):
    blank = blanks["mitred-tray"]
    path = tmp_path / f"tray.{kind}"
    write(formed_solid(blank, 0.02), path)
    read = trimesh.load(path, force="mesh")
    read.merge_vertices()
    scale = 1000.0 if kind == "glb" else 1.0  # glTF 2.0: metres
    x, y, z = blank.formed_size
    size = (x, z, y) if kind == "glb" else (x, y, z)  # glTF 2.0: y up
    assert list(size) == pytest.approx([e * scale for e in read.bounding_box.extents], abs=0.02)
    assert read.is_watertight
