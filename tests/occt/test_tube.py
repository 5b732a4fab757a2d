"""The tube against its definition, worked out a second time in neck_by_hand.py, and against Pappus."""

from __future__ import annotations

import exports
import kernel
import numpy as np
import pytest
from neck_by_hand import (
    NeckByHand,
    bore_radius,
    bore_volume,
    hole_volume,
    measured_points,
    wall,
    wall_volume,
)
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt
from OCP.TopoDS import TopoDS_Compound

# A modelled surface may depart from its definition by this much, mm.
FIDELITY = 0.002

PIECES = [name for name in exports.job_names() if "pieces" in exports.job(name)["centreline"]]
POINTS = [name for name in exports.job_names() if "points" in exports.job(name)["centreline"]]


def swept_faces(job_name: str, part: str) -> list:
    """The free surfaces of a part: bore and outside."""
    faces = kernel.faces(kernel.read_step(exports.step_file(job_name, part)).shape)
    return [f for f in faces if BRepAdaptor_Surface(f).GetType() == GeomAbs_SurfaceType.GeomAbs_BSplineSurface]


def misses(neck: NeckByHand, face, along: int = 300, round_: int = 9) -> tuple[float, float]:
    """Least and greatest signed distance of a face's surface from the bore by definition, over a grid."""
    surface = BRep_Tool.Surface_s(face)
    u0, u1, v0, v1 = surface.Bounds()
    # The stations run along the longer side.
    start, end_u, end_v = (surface.Value(*uv) for uv in ((u0, v0), (u1, v0), (u0, v1)))
    counts = (along, round_) if start.Distance(end_u) > start.Distance(end_v) else (round_, along)
    found = []
    for u in np.linspace(u0, u1, counts[0]):
        for v in np.linspace(v0, v1, counts[1]):
            point = surface.Value(u, v)
            station, distance = neck.nearest(np.array([point.X(), point.Y(), point.Z()]))
            found.append(distance - float(neck.radius(station)))
    return min(found), max(found)


@pytest.mark.parametrize("bent_job", PIECES)
@pytest.mark.parametrize("part", ["tube", "half_left", "half_right"])
def test_sections_are_circles_of_the_right_size(bent_job, part):
    neck = NeckByHand(exports.job(bent_job))
    faces = swept_faces(bent_job, part)
    inside = outside = 0
    for face in faces:
        low, high = misses(neck, face)
        offset = neck.wall if high > neck.wall / 2 else 0.0
        inside, outside = inside + (offset == 0.0), outside + (offset != 0.0)
        assert low >= offset - FIDELITY
        assert high <= offset + FIDELITY
    assert inside == outside == len(faces) / 2


@pytest.mark.parametrize("bent_job", PIECES)
def test_ends_are_square_and_where_they_belong(bent_job):
    neck = NeckByHand(exports.job(bent_job))
    shape = kernel.read_step(exports.step_file(bent_job, "tube")).shape
    for station in (0.0, neck.tube_end):
        at = neck.at(station)
        side = np.cross(at.tangent, at.up)
        for radius in (float(neck.radius(station)), float(neck.radius(station)) + neck.wall):
            for angle in np.linspace(0, 2 * np.pi, 12, endpoint=False):
                point = at.centre + radius * (np.cos(angle) * at.up + np.sin(angle) * side)
                assert kernel.distance_from_skin(point, shape) <= FIDELITY
        # Just beyond the end there is no metal.
        out = -1 if station == 0.0 else 1
        middle = at.centre + at.up * (float(neck.radius(station)) + neck.wall / 2) + out * 0.01 * at.tangent
        assert kernel.distance_from_point(middle, shape) == pytest.approx(0.01, abs=1e-4)


@pytest.mark.parametrize("bent_job", PIECES)
def test_wall_volume_is_that_of_pappus(bent_job):
    """The halves carry no hole: together they are the whole swept wall."""
    neck = NeckByHand(exports.job(bent_job))
    halves = [kernel.read_step(exports.step_file(bent_job, half)).shape for half in ("half_left", "half_right")]
    volumes = [kernel.measures(half).volume for half in halves]
    assert volumes[0] == pytest.approx(volumes[1], rel=1e-6)
    assert sum(volumes) == pytest.approx(wall_volume(neck), rel=5e-5)


@pytest.mark.parametrize("bent_job", PIECES)
def test_tube_volume_is_that_of_pappus_less_the_hole(bent_job):
    job = exports.job(bent_job)
    neck = NeckByHand(job)
    radius = job["vent"]["outer_diameter_mm"] / 2 + job["limits"]["joint_gap_mm"]
    hole = hole_volume(neck, job["vent"]["station_mm"], radius)
    expected = wall_volume(neck) - hole
    assert exports.summary(bent_job)["tube"]["volume_mm3"] == pytest.approx(expected, rel=5e-5)
    shape = kernel.read_step(exports.step_file(bent_job, "tube")).shape
    assert kernel.measures(shape).volume == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("bent_job", PIECES)
def test_bore_volume_is_that_of_pappus(bent_job):
    """The air is bounded by the bore's faces of both halves and a disc at each end, all facing into it as out of metal."""
    neck = NeckByHand(exports.job(bent_job))
    builder, skin = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(skin)
    for half in ("half_left", "half_right"):
        for face in swept_faces(bent_job, half):
            if misses(neck, face, 3, 3)[1] < neck.wall / 2:
                builder.Add(skin, face)
    for station, inward in ((0.0, 1.0), (neck.tube_end, -1.0)):
        at = neck.at(station)
        axes = gp_Ax2(gp_Pnt(*at.centre), gp_Dir(*(inward * at.tangent)))
        rim = BRepBuilderAPI_MakeEdge(gp_Circ(axes, float(neck.radius(station)))).Edge()
        builder.Add(skin, BRepBuilderAPI_MakeFace(BRepBuilderAPI_MakeWire(rim).Wire()).Face())
    assert -kernel.measures(skin).volume == pytest.approx(bore_volume(neck), rel=5e-5)


@pytest.mark.parametrize("measured_job", POINTS)
def test_tube_runs_through_the_measured_points(measured_job):
    """The bore's wall lies r cos(half angle) from a point of the axis of a cone, whichever way the tube bends."""
    job = exports.job(measured_job)
    radius = bore_radius(job["bore"])
    shape = kernel.read_step(exports.step_file(measured_job, "tube")).shape
    for point, station in measured_points(job):
        slope = float(radius(station + 0.5) - radius(station - 0.5))
        expected = float(radius(station)) / np.hypot(1.0, slope)
        assert kernel.distance_from_skin(point, shape) == pytest.approx(expected, abs=FIDELITY)
        assert not kernel.is_inside(point, shape)
        # The wall: from the bore outward to the side, where the bend changes nothing.
        beside = point + np.array([0.0, float(radius(station)) + wall(job["tube"]) / 2, 0.0])
        assert kernel.is_inside(beside, shape)
