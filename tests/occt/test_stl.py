"""Every STL file against a mesh library, and against the solid it was made from."""

from __future__ import annotations

import exports
import kernel
import numpy as np
import trimesh
from OCP.TopAbs import TopAbs_ShapeEnum

# Points of each mesh that are held against the solid.
SAMPLES = 40


def read(path) -> trimesh.Trimesh:
    mesh = trimesh.load(path, file_type="stl")
    mesh.merge_vertices()
    return mesh


def test_header_is_no_text_file_and_names_the_part(stl_file):
    data = stl_file.path.read_bytes()
    count = int.from_bytes(data[80:84], "little")
    assert len(data) == 84 + 50 * count
    header = data[:80].decode("ascii")
    assert not header.startswith("solid") and "COLOR=" not in header
    assert stl_file.part in header and "mm" in header


def test_is_closed_and_faces_outward(stl_file):
    mesh = read(stl_file.path)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0


def test_has_as_many_holes_as_the_solid(stl_file):
    """Euler's number of the mesh is V - E + F; of the solid the same, less one for each inner bound (Euler-Poincaré)."""
    shape = kernel.read_step(exports.step_file(stl_file.job, stl_file.part)).shape
    kinds = TopAbs_ShapeEnum
    count = lambda shape, kind: len({part.TShape() for part in kernel.explore(shape, kind)})
    inner = sum(count(face, kinds.TopAbs_WIRE) - 1 for face in kernel.faces(shape))
    euler = (
        count(shape, kinds.TopAbs_VERTEX) - count(shape, kinds.TopAbs_EDGE) + count(shape, kinds.TopAbs_FACE) - inner
    )
    assert read(stl_file.path).euler_number == euler


def test_keeps_to_the_chord_error(stl_file):
    """Corners on the surface; middles of triangles and of their sides within the chord error of it; volume within
    chord error times area."""
    mesh = read(stl_file.path)
    shape = kernel.read_step(exports.step_file(stl_file.job, stl_file.part)).shape
    # Always the same sample. Large triangles first: they are where a chord would show.
    largest = np.argsort(-mesh.area_faces, kind="stable")[: SAMPLES // 2]
    spread = np.linspace(0, len(mesh.faces) - 1, SAMPLES // 2).astype(int)
    for face in np.unique([*largest, *spread]):
        corners = mesh.vertices[mesh.faces[face]]
        # Corners are written in single precision.
        assert kernel.distance_from_skin(corners[0], shape) <= 2e-5
        for point in (corners.mean(axis=0), corners[:2].mean(axis=0)):
            assert kernel.distance_from_skin(point, shape) <= exports.CHORD_MM
    volume = kernel.measures(shape).volume
    assert abs(mesh.volume - volume) <= exports.CHORD_MM * mesh.area
