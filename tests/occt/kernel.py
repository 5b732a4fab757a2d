"""What an independent B-rep kernel (OpenCASCADE) makes of our STEP files. Millimetres throughout."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from pathlib import Path

import numpy as np
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex, BRepBuilderAPI_Transform
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepClass import BRepClass_FaceClassifier
from OCP.BRepClass3d import BRepClass3d_SolidClassifier
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepTools import BRepTools
from OCP.collections import Sequence_TDF_Label
from OCP.Geom2d import Geom2d_Curve
from OCP.GeomAbs import GeomAbs_SurfaceType
from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Pnt2d, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.Quantity import Quantity_Color
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.STEPControl import STEPControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_AttributeIterator, TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.TopAbs import TopAbs_ShapeEnum, TopAbs_State
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import (
    XCAFDoc_Area,
    XCAFDoc_Centroid,
    XCAFDoc_ColorType,
    XCAFDoc_DocumentTool,
    XCAFDoc_Material,
    XCAFDoc_ShapeTool,
    XCAFDoc_Volume,
)

# Integrals are refined until two results agree to this fraction. On faces with a hole in them that says little: asked for
# 1e-6 the kernel is still 0.036 % off on a bent tube (Pappus), asked for 1e-9 it is 0.002 % off.
INTEGRATION = 1e-9


@dataclass(frozen=True)
class Reading:
    """A STEP file as read: its shape, and everything the reader had to say."""

    shape: TopoDS_Shape
    load_messages: tuple[str, ...]
    transfer_messages: tuple[str, ...]

    @property
    def messages(self) -> tuple[str, ...]:
        return self.load_messages + self.transfer_messages


def _messages(checks) -> tuple[str, ...]:
    found = []
    checks.Start()
    while checks.More():
        check = checks.Value()
        found += [f"#{checks.Number()} fail: {check.CFail(i)}" for i in range(1, check.NbFails() + 1)]
        found += [f"#{checks.Number()} warning: {check.CWarning(i)}" for i in range(1, check.NbWarnings() + 1)]
        checks.Next()
    return tuple(found)


# Large enough for every body of a job in a few positions of the key.
@lru_cache(maxsize=160)
def read_step(path: Path) -> Reading:
    """Reads a file with every message of the load and transfer check lists."""
    reader = STEPControl_Reader()
    status = reader.ReadFile(str(path))
    if status != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise ValueError(f"{path.name}: the file cannot be read ({status})")
    load = _messages(reader.WS().ModelCheckList(True))
    reader.TransferRoots()
    transfer = _messages(reader.WS().TransferReader().TransientProcess().CheckList(False))
    return Reading(reader.OneShape(), load, transfer)


def explore(shape: TopoDS_Shape, kind: TopAbs_ShapeEnum) -> list[TopoDS_Shape]:
    found = []
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        found.append(explorer.Current())
        explorer.Next()
    return found


def solids(shape: TopoDS_Shape) -> list[TopoDS_Shape]:
    return explore(shape, TopAbs_ShapeEnum.TopAbs_SOLID)


def faces(shape: TopoDS_Shape) -> list:
    return [TopoDS.Face(face) for face in explore(shape, TopAbs_ShapeEnum.TopAbs_FACE)]


def is_valid(shape: TopoDS_Shape) -> bool:
    return BRepCheck_Analyzer(shape).IsValid()


def surface_kinds(shape: TopoDS_Shape) -> dict[str, int]:
    """Number of faces by the kind of surface they lie on, e.g. `{"Plane": 2}`."""
    counts: dict[str, int] = {}
    for face in faces(shape):
        kind = BRepAdaptor_Surface(face).GetType().name.removeprefix("GeomAbs_")
        counts[kind] = counts.get(kind, 0) + 1
    return counts


def bounding_box(shape: TopoDS_Shape) -> np.ndarray:
    """Least and greatest corner, from the surfaces themselves and without their tolerances."""
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    gap = box.GetGap()
    return np.array([[low.X() + gap, low.Y() + gap, low.Z() + gap], [high.X() - gap, high.Y() - gap, high.Z() - gap]])


@dataclass(frozen=True)
class Measures:
    volume: float
    area: float
    centroid: np.ndarray


def measures(shape: TopoDS_Shape, integration: float = INTEGRATION) -> Measures:
    volume, area = GProp_GProps(), GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, volume, integration)
    BRepGProp.SurfaceProperties_s(shape, area, integration)
    centre = volume.CentreOfMass()
    return Measures(volume.Mass(), area.Mass(), np.array([centre.X(), centre.Y(), centre.Z()]))


def worst_tolerance(shape: TopoDS_Shape) -> float:
    """Greatest tolerance the reader had to give a vertex or an edge."""
    vertices = (BRep_Tool.Tolerance_s(TopoDS.Vertex(v)) for v in explore(shape, TopAbs_ShapeEnum.TopAbs_VERTEX))
    edges = (BRep_Tool.Tolerance_s(TopoDS.Edge(e)) for e in explore(shape, TopAbs_ShapeEnum.TopAbs_EDGE))
    return max([*vertices, *edges])


def worst_edge_deviation(shape: TopoDS_Shape, samples: int = 23) -> float:
    """Greatest distance between an edge's curve and the surface of a face it bounds, as projected by the reader."""
    worst = 0.0
    for face in faces(shape):
        surface = BRep_Tool.Surface_s(face)
        for edge in explore(face, TopAbs_ShapeEnum.TopAbs_EDGE):
            edge = TopoDS.Edge(edge)
            first, last = BRep_Tool.Range_s(edge)
            curve = BRep_Tool.Curve_s(edge, first, last)
            flat: Geom2d_Curve = BRep_Tool.CurveOnSurface_s(edge, face, first, last)
            for t in np.linspace(first, last, samples):
                uv = flat.Value(t)
                worst = max(worst, curve.Value(t).Distance(surface.Value(uv.X(), uv.Y())))
    return worst


def turned(shape: TopoDS_Shape, point, direction, degrees: float) -> TopoDS_Shape:
    """A shape turned about an axis, right-handed."""
    turn = gp_Trsf()
    turn.SetRotation(gp_Ax1(gp_Pnt(*map(float, point)), gp_Dir(*map(float, direction))), np.radians(degrees))
    return BRepBuilderAPI_Transform(shape, turn, False).Shape()


def shifted(shape: TopoDS_Shape, by) -> TopoDS_Shape:
    shift = gp_Trsf()
    shift.SetTranslation(gp_Vec(*map(float, by)))
    return BRepBuilderAPI_Transform(shape, shift, False).Shape()


def round_axis(shape: TopoDS_Shape) -> tuple[np.ndarray, np.ndarray]:
    """A point of the axis of a turned part and its direction, as its widest cylinder has them."""
    kinds = ((BRepAdaptor_Surface(face).GetType(), BRepAdaptor_Surface(face)) for face in faces(shape))
    cylinders = [surface.Cylinder() for kind, surface in kinds if kind == GeomAbs_SurfaceType.GeomAbs_Cylinder]
    axis = max(cylinders, key=lambda cylinder: cylinder.Radius()).Axis()
    at, along = axis.Location(), axis.Direction()
    return np.array([at.X(), at.Y(), at.Z()]), np.array([along.X(), along.Y(), along.Z()])


def box_distance(a: np.ndarray, b: np.ndarray) -> float:
    """Distance of two boxes, each its least and greatest corner: never more than that of what is in them."""
    return float(np.linalg.norm(np.maximum(0.0, np.maximum(a[0] - b[1], b[0] - a[1]))))


# The kernel's booleans depend on luck where surfaces nearly coincide, and then find nothing: a solid is also looked at
# shifted by these, mm, in directions of no part.
NUDGES = ((0.0, 0.0, 0.0), (3e-4, 5e-4, -4e-4), (-5e-4, 2e-4, 6e-4))


def common_volume(a: TopoDS_Shape, b: TopoDS_Shape, nudges=NUDGES) -> float:
    """Volume of the common solid of two solids, the first that is found; 0 where none is."""
    for nudge in nudges:
        common = BRepAlgoAPI_Common(a, shifted(b, nudge) if any(nudge) else b)
        if common.IsDone() and solids(common.Shape()):
            return measures(common.Shape(), 1e-4).volume
    return 0.0


def surface_points(shape: TopoDS_Shape, box: np.ndarray, along: int = 60) -> list[np.ndarray]:
    """Points on the faces of a solid, on a grid of each, those within a box."""
    found = []
    for face in faces(shape):
        if box_distance(bounding_box(face), box) > 0:
            continue
        surface = BRep_Tool.Surface_s(face)
        u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
        for u in np.linspace(u0, u1, along):
            for v in np.linspace(v0, v1, along):
                point = surface.Value(u, v)
                point = np.array([point.X(), point.Y(), point.Z()])
                if (point < box[0]).any() or (point > box[1]).any():
                    continue
                if BRepClass_FaceClassifier(face, gp_Pnt2d(u, v), 1e-7).State() != TopAbs_State.TopAbs_OUT:
                    found.append(point)
    return found


def distance(a: TopoDS_Shape, b: TopoDS_Shape) -> float:
    """The kernel's least distance, which is an upper bound of the true one.

    It answers 0 as soon as it takes a vertex of one solid for one inside the other, and can be wrong in that: a corner of a
    key arm 9.8 mm above the outside of the tube was said to be in its wall. So a 0 of this kind is only believed where the
    solids have metal in common; else the distance is that of their skins."""
    extrema = _extrema(a, b)
    if extrema.InnerSolution() and solids(a) and solids(b) and common_volume(a, b) == 0.0:
        shells = (explore(shape, TopAbs_ShapeEnum.TopAbs_SHELL) for shape in (a, b))
        return min(_extrema(*two).Value() for two in product(*shells))
    return extrema.Value()


def _extrema(a: TopoDS_Shape, b: TopoDS_Shape) -> BRepExtrema_DistShapeShape:
    extrema = BRepExtrema_DistShapeShape(a, b)
    if not extrema.IsDone():
        raise ValueError("the kernel found no distance")
    return extrema


def distance_from_point(point, shape: TopoDS_Shape) -> float:
    """Distance of a point from a shape; 0 inside a solid."""
    return distance(BRepBuilderAPI_MakeVertex(gp_Pnt(*map(float, point))).Vertex(), shape)


def distance_from_skin(point, shape: TopoDS_Shape) -> float:
    """Distance of a point from the surface of a shape, inside or out."""
    vertex = BRepBuilderAPI_MakeVertex(gp_Pnt(*map(float, point))).Vertex()
    return min(distance(vertex, shell) for shell in explore(shape, TopAbs_ShapeEnum.TopAbs_SHELL))


def is_inside(point, solid: TopoDS_Shape) -> bool:
    classifier = BRepClass3d_SolidClassifier(solid, gp_Pnt(*map(float, point)), 1e-6)
    return classifier.State() == TopAbs_State.TopAbs_IN


@dataclass(frozen=True)
class Material:
    """What a part is said to be made of."""

    name: str
    description: str
    density_g_cm3: float


@dataclass(frozen=True)
class Component:
    """One part of an assembly: what a reader shows of it."""

    name: str
    instance_name: str
    colour_srgb: tuple[float, float, float] | None
    at_origin: bool
    shape: TopoDS_Shape
    material: Material | None
    said: Measures | None
    """Its validation properties, as the file says them."""


@dataclass(frozen=True)
class Assembly:
    name: str
    said: Measures | None
    components: tuple[Component, ...]


def _name(label) -> str:
    name = TDataStd_Name()
    return name.Get().ToExtString() if label.FindAttribute(TDataStd_Name.GetID_s(), name) else ""


def _srgb(linear: float) -> float:
    """The kernel hands out linear values (IEC 61966-2-1 is the way back)."""
    return 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055


def _attributes(label) -> list:
    found, attributes = [], TDF_AttributeIterator(label)
    while attributes.More():
        found.append(attributes.Value())
        attributes.Next()
    return found


def _said(label) -> Measures | None:
    volume, area, centroid = XCAFDoc_Volume(), XCAFDoc_Area(), XCAFDoc_Centroid()
    wanted = (volume, XCAFDoc_Volume), (area, XCAFDoc_Area), (centroid, XCAFDoc_Centroid)
    if not all(label.FindAttribute(kind.GetID_s(), value) for value, kind in wanted):
        return None
    at = centroid.Get()
    return Measures(volume.Get(), area.Get(), np.array([at.X(), at.Y(), at.Z()]))


def _materials(document) -> dict[int, Material]:
    """Materials by the tag of the part that is made of them. The way from a part to its material ends in a crash of the
    bindings, so it is gone from the material's end."""
    tool, labels, found = XCAFDoc_DocumentTool.MaterialTool_s(document.Main()), Sequence_TDF_Label(), {}
    tool.GetMaterialLabels(labels)
    for index in range(1, labels.Length() + 1):
        material = XCAFDoc_Material()
        labels.Value(index).FindAttribute(XCAFDoc_Material.GetID_s(), material)
        texts = material.GetName().ToCString(), material.GetDescription().ToCString()
        for attribute in _attributes(labels.Value(index)):
            node = attribute.First() if attribute.DynamicType().Name() == "TDataStd_TreeNode" else None
            while node is not None:
                found[node.Label().Tag()] = Material(*texts, material.GetDensity())
                node = node.Next()
    return found


@lru_cache(maxsize=4)
def read_assembly(path: Path) -> Assembly:
    """An assembly with names, colours, materials and validation properties; a part alone is its own only component."""
    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    reader = STEPCAFControl_Reader()
    for mode in (reader.SetColorMode, reader.SetNameMode, reader.SetMatMode, reader.SetPropsMode):
        mode(True)
    if reader.ReadFile(str(path)) != IFSelect_ReturnStatus.IFSelect_RetDone or not reader.Transfer(document):
        raise ValueError(f"{path.name}: the file cannot be read with names and colours")
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    materials = _materials(document)
    roots = Sequence_TDF_Label()
    shapes.GetFreeShapes(roots)
    if roots.Length() != 1:
        raise ValueError(f"{path.name}: {roots.Length()} roots instead of one assembly")
    root = roots.Value(1)
    labels = Sequence_TDF_Label()
    alone = not XCAFDoc_ShapeTool.GetComponents_s(root, labels)
    components = []
    for label in [root] if alone else [labels.Value(index) for index in range(1, labels.Length() + 1)]:
        part, colour = label if alone else TDF_Label(), Quantity_Color()
        if not alone:
            XCAFDoc_ShapeTool.GetReferredShape_s(label, part)
        shape = XCAFDoc_ShapeTool.GetShape_s(part)
        kinds = (XCAFDoc_ColorType.XCAFDoc_ColorSurf, XCAFDoc_ColorType.XCAFDoc_ColorGen)
        coloured = any(colours.GetColor_s(part, kind, colour) for kind in kinds) or any(
            colours.GetColor(solid, kind, colour) for solid in solids(shape) for kind in kinds
        )
        srgb = tuple(_srgb(value) for value in (colour.Red(), colour.Green(), colour.Blue())) if coloured else None
        placement = XCAFDoc_ShapeTool.GetLocation_s(label).Transformation()
        rows = [[placement.Value(row, column) for column in range(1, 5)] for row in range(1, 4)]
        at_origin = np.allclose(rows, np.eye(3, 4), atol=1e-12)
        material = materials.get(part.Tag())
        components.append(Component(_name(part), _name(label), srgb, at_origin, shape, material, _said(part)))
    return Assembly(_name(root), _said(root), tuple(components))
