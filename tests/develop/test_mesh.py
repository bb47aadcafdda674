"""The formed solid against a general-purpose mesh library (trimesh), against closed forms, and back from its files."""

import math

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
    assert mesh.volume() == pytest.approx(solid.volume, rel=1e-9)


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
