"""The formed part as a file for other programs: STL (millimetres) or binary glTF 2.0 (metres, y up, as it asks).

Written through trimesh, which is asked for only here: ``pip install flatgen[mesh]``.
"""

from pathlib import Path

from flatgen.develop.mesh import Mesh
from flatgen.errors import FlatgenError, InputError
from flatgen.output.disk import put

KINDS = ("stl", "glb")


def write(mesh: Mesh, path: Path) -> None:
    """Write a new file of a mesh; the file name's ending says how."""
    kind = path.suffix.lower().lstrip(".")
    if kind not in KINDS:
        raise InputError(f'a solid is written as .{" or .".join(KINDS)}, not "{path.name}"')
    try:
        import trimesh
    except ImportError:
        raise FlatgenError("writing a solid needs the package trimesh: pip install flatgen[mesh]") from None
    points = [(x / 1000.0, z / 1000.0, -y / 1000.0) for x, y, z in mesh.points] if kind == "glb" else mesh.points
    solid = trimesh.Trimesh(points, mesh.triangles, process=False)
    put(path, solid.export(file_type=kind))
