"""Flat outlines as a cutting shop's programs read them, held against the solids they are cut for."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import exports
import kernel
import numpy as np
import pytest
from ezdxf import path as paths
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepAlgoAPI import BRepAlgoAPI_Section
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
from OCP.TopAbs import TopAbs_ShapeEnum
from OCP.TopoDS import TopoDS
from scipy.integrate import quad
from test_shop import folder, packed  # noqa: F401  (the fixture is used by its name)

pytestmark = pytest.mark.xdist_group("shop")

FLAT_PARTS = ("key_arm", "brace", "saddle", "guide", "spring", "badge")
LAYERS = {"cut", "mark", "note"}
# Arcs are promised to keep that near the exact outline, mm.
PROMISED = 0.01
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def flat(job_name, folder) -> Path:  # noqa: F811
    return packed(job_name, folder).with_suffix("") / "flat"


def given(job: str) -> dict:
    return json.loads((exports.ROOT / "examples" / "jobs" / f"{job}.json").read_text())


def parts_of(folder: Path) -> list[str]:  # noqa: F811
    return [part for part in FLAT_PARTS if (folder / f"{part}.dxf").exists()]


def lines(entity, chord: float = 1e-5) -> np.ndarray:
    """A path as points, by ezdxf's own reading of its bulges."""
    return np.array([(p.x, p.y) for p in paths.make_path(entity).flattening(chord)])


def shoelace(points: np.ndarray) -> float:
    x, y = points[:, 0], points[:, 1]
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def cut_paths(drawing) -> list[np.ndarray]:
    return [lines(entity) for entity in drawing.modelspace().query('*[layer=="cut"]')]


def contains(outer: np.ndarray, point: np.ndarray) -> bool:
    a, b = outer, np.roll(outer, -1, axis=0)
    crosses = (a[:, 1] <= point[1]) != (b[:, 1] <= point[1])
    at = a[crosses, 0] + (b[crosses, 0] - a[crosses, 0]) * (point[1] - a[crosses, 1]) / (b - a)[crosses, 1]
    return int((at > point[0]).sum()) % 2 == 1


def area_left(drawing) -> float:
    """Outlines less the holes in them."""
    cut = cut_paths(drawing)
    total = 0.0
    for i, path in enumerate(cut):
        inside = any(contains(other, path[0]) for k, other in enumerate(cut) if k != i)
        total += -abs(shoelace(path)) if inside else abs(shoelace(path))
    return total


def test_every_sheet_part_has_its_outline(job_name, flat):
    expected = set(FLAT_PARTS) - (set() if given(job_name)["badge"] else {"badge"})
    assert {path.name for path in flat.iterdir()} == {f"{part}.{kind}" for part in expected for kind in ("dxf", "svg")}


def test_dxf_is_sound(job_name, flat):
    order = given(job_name)["order"]
    for part in parts_of(flat):
        drawing = ezdxf.readfile(flat / f"{part}.dxf")
        assert drawing.dxfversion == "AC1015"
        assert not drawing.audit().errors and not drawing.audit().fixes, part
        assert drawing.header["$INSUNITS"] == 4 and drawing.header["$MEASUREMENT"] == 1
        assert {layer.dxf.name for layer in drawing.layers} - {"0", "Defpoints"} == LAYERS
        assert {entity.dxf.layer for entity in drawing.modelspace()} <= LAYERS
        for entity in drawing.modelspace().query('*[layer=="cut"]'):
            assert entity.dxftype() == "LWPOLYLINE" and entity.closed, part
            points = np.array([(x, y) for x, y, *_ in entity.get_points("xy")])
            # The first vertex is not repeated, none lies on its neighbour.
            assert np.linalg.norm(points - np.roll(points, -1, axis=0), axis=1).min() > 1e-4
            assert all(abs(bulge) <= 1 for *_, bulge in entity.get_points("xyb"))
        low, high = drawing.header["$EXTMIN"], drawing.header["$EXTMAX"]
        every = np.vstack([lines(entity) for entity in drawing.modelspace().query("LWPOLYLINE")])
        assert (every.min(axis=0) >= np.array(low[:2]) - 1e-5).all()
        assert (every.max(axis=0) <= np.array(high[:2]) + 1e-5).all()
        said = " ".join(text.dxf.text for text in drawing.modelspace().query("TEXT"))
        for words in (order["number"], order["serial"], part, "millimetres", "kerf", "1:1", "thick"):
            assert words in said, (part, words)
        # Nothing but words and their lines stands outside the metal.
        if part in ("brace", "saddle", "badge"):
            (outline,) = cut_paths(drawing)
            marks = np.vstack([lines(e) for e in drawing.modelspace().query('*[layer=="mark"]')])
            # A side as good as straight is a line, to a thousandth.
            assert (marks.min(axis=0) >= outline.min(axis=0) - 1e-3).all()
            assert (marks.max(axis=0) <= outline.max(axis=0) + 1e-3).all()


def test_curves_are_true_arcs(flat):
    arm = ezdxf.readfile(flat / "key_arm.dxf")
    bulges = [b for e in arm.modelspace().query('*[layer=="cut"]') for *_, b in e.get_points("xyb")]
    arcs = sum(b != 0 for b in bulges)
    assert arcs >= 12 and len(bulges) <= 160, "arcs, and not hundreds of short lines"
    saddle = ezdxf.readfile(flat / "saddle.dxf")
    (outline,) = saddle.modelspace().query('*[layer=="cut"]')
    assert sum(b != 0 for *_, b in outline.get_points("xyb")) >= 2


def section(solid, y: float) -> tuple[float, list[np.ndarray]]:
    """Area of a solid's cut by a plane of constant y, by its edges: half the integral of x dz - z dx round them. The edges
    come in any order and sense, so each closed chain is put together by its ends."""
    cut = BRepAlgoAPI_Section(solid, gp_Pln(gp_Pnt(0, y, 0), gp_Dir(0, 1, 0)))
    cut.Build()
    assert cut.IsDone()
    pieces = []
    for edge in kernel.explore(cut.Shape(), TopAbs_ShapeEnum.TopAbs_EDGE):
        curve = BRepAdaptor_Curve(TopoDS.Edge(edge))
        at = np.linspace(curve.FirstParameter(), curve.LastParameter(), 400)
        pieces.append(np.array([(p.X(), p.Z()) for p in (curve.Value(t) for t in at)]))
    loops = []
    while pieces:
        loop = pieces.pop()
        while np.linalg.norm(loop[0] - loop[-1]) > 1e-4:
            ends = [(np.linalg.norm(loop[-1] - piece[k]), i, k) for i, piece in enumerate(pieces) for k in (0, -1)]
            off, index, end = min(ends)
            assert off < 1e-3, "the section is closed"
            piece = pieces.pop(index)
            loop = np.vstack([loop, piece[1:] if end == 0 else piece[::-1][1:]])
        loops.append(loop)
    areas = sorted((abs(shoelace(loop[:-1])) for loop in loops), reverse=True)
    return areas[0] - sum(areas[1:]), loops


def distance(points: np.ndarray, path: np.ndarray) -> float:
    """Greatest distance of points from a closed line of points."""
    a, b = path, np.roll(path, -1, axis=0)
    way = b - a
    square = np.maximum((way * way).sum(axis=1), 1e-18)
    worst = 0.0
    for point in points:
        share = np.clip(((point - a) * way).sum(axis=1) / square, 0, 1)
        worst = max(worst, np.linalg.norm(a + way * share[:, None] - point, axis=1).min())
    return worst


def test_the_arm_is_the_section_of_its_solid(job_name, flat):
    """Truth: OpenCASCADE's section of the solid, beside the middle plane, where the screw's hole in the edge is not met."""
    drawing = ezdxf.readfile(flat / "key_arm.dxf")
    (step,) = (flat.parent / "step").glob("*_key_arm.step")
    thickness = given(job_name)["key"]["arm_thickness_mm"]
    area, loops = section(kernel.read_step(step).shape, 0.47 * thickness)
    cut = cut_paths(drawing)
    around = sum(np.linalg.norm(path - np.roll(path, -1, axis=0), axis=1).sum() for path in cut)
    ours = area_left(drawing)
    assert ours == pytest.approx(area, abs=0.002 * around), "far less than a hundredth all round"
    outer = max(loops, key=lambda loop: np.ptp(loop, axis=0).max())
    # Both lie with their lower left corner at the origin.
    outline = max(cut, key=lambda path: abs(shoelace(path)))
    moved = outer[::5] - outer.min(axis=0) + outline.min(axis=0)
    assert distance(moved, outline) < PROMISED
    assert len(loops) == len(cut) == 2, "the outline and the hinge's hole"


def test_formed_parts_keep_their_metal(job_name, flat):
    """Truth: OpenCASCADE's volume by the thickness. With the neutral line in the middle of the sheet both are equal but
    for what the taper slants (cos 1.6 degrees) and, on a bridge, what the strip is thicker when measured across the
    slope."""
    job = given(job_name)
    thickness = {
        "saddle": job["saddle"]["thickness_mm"],
        "brace": job["brace"]["thickness_mm"],
        "spring": job["spring"]["thickness_mm"],
        "guide": job["guide"]["strip_thickness_mm"],
    }
    if job["badge"]:
        thickness["badge"] = job["badge"]["thickness_mm"]
    bridge = job["brace"]["form"] == "bridge"
    for part, thick in thickness.items():
        (step,) = (flat.parent / "step").glob(f"*_{part}.step")
        volume = kernel.measures(kernel.read_step(step).shape).volume
        drawing = ezdxf.readfile(flat / f"{part}.dxf")
        area = area_left(drawing)
        said = " ".join(text.dxf.text for text in drawing.modelspace().query("TEXT"))
        assert "0.5 of the thickness from the inside" in said, part
        if part == "spring":
            # Its hole is drilled, and its tip, a half disc in the solid, is cut square.
            screw = thick * job["spring"]["width_mm"]
            hole = [e for e in drawing.modelspace().query('*[layer=="mark"]')]
            assert len(hole) == 2, "a centre mark"
            tip = (0.5 - math.pi / 8) * thick * job["spring"]["width_mm"]
            assert 0 < area - volume / thick - tip < 1.2 * math.pi * (screw / thick / 2) ** 2
            continue
        # Prongs are cut square where the foot's curve slants.
        allowed = {"guide": 0.012, "brace": 0.015 if bridge else 1e-3}.get(part, 1e-3)
        assert 0 <= area / (volume / thick) - 1 < allowed, part


def test_a_brace_is_as_long_as_its_bends_say(folder):  # noqa: F811
    """Truth: the handbook's allowance, angle times radius of the neutral line, summed over the alto's pieces by another
    integrator: at every station the mean over the strip's width of centreline less tube."""
    job = given("alto")
    drawing = ezdxf.readfile(packed("alto", folder).with_suffix("") / "flat" / "brace.dxf")
    (outline,) = cut_paths(drawing)
    brace, bore = job["brace"], job["bore"]
    slope = math.tan(math.radians(bore["half_angle_deg"]))
    neutral = lambda s: (  # noqa: E731
        bore["entry_diameter_mm"] / 2 + slope * s + job["tube"]["wall_mm"] + job["limits"]["joint_gap_mm"]
        + brace["thickness_mm"] / 2
    )
    bends, at = [], 0.0
    for piece in job["centreline"]["pieces"]:
        if "straight_mm" in piece:
            at += piece["straight_mm"]
            continue
        length = math.radians(piece["bend_deg"]) * piece["radius_mm"]
        bends.append((at, at + length, 1 / piece["radius_mm"]))
        at += length

    def along(s: float) -> float:
        curved = next((c for a, b, c in bends if a <= s <= b), 0.0)
        half = brace["width_mm"] / 2 / neutral(s)
        return quad(lambda turn: math.hypot(1 - curved * neutral(s) * math.cos(turn), slope), -half, half)[0] / (2 * half)

    edges = [brace["from_station_mm"], *(s for a, b, _ in bends for s in (a, b)), brace["to_station_mm"]]
    edges = sorted(s for s in edges if brace["from_station_mm"] <= s <= brace["to_station_mm"])
    # The ends are shallow arcs, so the strip is longest a hair beside its middle.
    length = sum(quad(along, a + 1e-9, b - 1e-9)[0] for a, b in zip(edges, edges[1:]))
    assert np.ptp(outline[:, 0]) == pytest.approx(length, abs=0.02)
    assert np.ptp(outline[:, 1]) == pytest.approx(brace["width_mm"], abs=0.002)


def svg_area(file: Path) -> tuple[float, int]:
    """Area enclosed by the paths of the group `cut`, holes taken off, by their own reading of lines and arcs."""
    root = ElementTree.parse(file).getroot()
    width, height = root.get("width"), root.get("height")
    assert width.endswith("mm") and height.endswith("mm")
    assert root.get("viewBox") == f"0 0 {width[:-2]} {height[:-2]}", "a unit is a millimetre"
    (group,) = [group for group in root.iter(f"{SVG}g") if group.get("id") == "cut"]
    assert group.get("transform") is None
    loops = []
    for element in group.iter(f"{SVG}path"):
        tokens = re.findall(r"[MLAZ]|-?[\d.]+", element.get("d"))
        points, here, i = [], None, 0
        assert tokens[-1] == "Z"
        while tokens[i] != "Z":
            kind = tokens[i]
            if kind in "ML":
                here = np.array([float(tokens[i + 1]), float(tokens[i + 2])])
                points.append(here)
                i += 3
                continue
            radius, large, sweep = float(tokens[i + 1]), int(tokens[i + 4]), int(tokens[i + 5])
            to = np.array([float(tokens[i + 6]), float(tokens[i + 7])])
            assert large == 0
            chord = to - here
            half = np.linalg.norm(chord) / 2
            height_ = math.sqrt(max(radius**2 - half**2, 0.0))
            # With y downwards a positive sweep turns clockwise as seen, and the centre lies to its right.
            side = np.array([-chord[1], chord[0]]) / (2 * half)
            centre = (here + to) / 2 + side * (height_ if sweep else -height_)
            start = math.atan2(*(here - centre)[::-1])
            turn = 2 * math.asin(min(half / radius, 1.0)) * (1 if sweep else -1)
            points += [
                centre + radius * np.array([math.cos(start + turn * k / 200), math.sin(start + turn * k / 200)])
                for k in range(1, 201)
            ]
            here, i = to, i + 8
        loops.append(np.array(points))
    total = 0.0
    for i, loop in enumerate(loops):
        inside = any(contains(other, loop[0]) for k, other in enumerate(loops) if k != i)
        total += -abs(shoelace(loop)) if inside else abs(shoelace(loop))
    return total, len(loops)


def test_svg_is_the_same_outline_in_millimetres(flat):
    for part in parts_of(flat):
        drawing = ezdxf.readfile(flat / f"{part}.dxf")
        area, count = svg_area(flat / f"{part}.svg")
        assert count == len(cut_paths(drawing))
        assert area == pytest.approx(area_left(drawing), rel=2e-5), part


def test_the_serial_number_is_engraved_on_the_brace(job_name, flat):
    """Its strokes lie in the middle of the strip, and there are as many as its letters have."""
    drawing = ezdxf.readfile(flat / "brace.dxf")
    (outline,) = cut_paths(drawing)
    middle = (outline.min(axis=0) + outline.max(axis=0)) / 2
    size = np.ptp(outline, axis=0)
    marks = [lines(entity) for entity in drawing.modelspace().query('*[layer=="mark"]')]
    # Marks at the ends and edges are straight and a millimetre long; letters lie further in.
    strokes = [m for m in marks if (np.abs(m - middle)[:, 1] < size[1] / 2 - 0.3).all() and (np.abs(m - middle)[:, 0] < size[0] / 2 - 1.5).all()]
    every = np.vstack(strokes)
    assert len(strokes) >= len(given(job_name)["order"]["serial"])
    assert np.abs((every.min(axis=0) + every.max(axis=0)) / 2 - middle)[1] < 0.05
    assert 1.2 <= np.ptp(every[:, 1]) <= size[1] - 0.6


def test_what_the_jet_cannot_cut_is_in_the_list(folder, tmp_path):  # noqa: F811
    job = given("alto")
    job["key"]["boss_land_mm"] = 0.5
    changed = tmp_path / "thin.json"
    changed.write_text(json.dumps(job))
    done = exports.send_out(changed, tmp_path / "thin.zip", "--parts", "key_arm")
    assert done.returncode == 1 and "0.50 mm of metal" in done.stderr and " at x " in done.stderr
    assert not (tmp_path / "thin.zip").exists()
    # The usual arm and spring go out with what is to be known about them, and nothing fails.
    done = exports.send_out(exports.ROOT / "examples/jobs/alto.json", tmp_path / "fine.zip", "--parts", "key_arm,spring")
    assert done.returncode == 0, done.stderr
