"""Every part, half and keep-out as an independent B-rep kernel sees it."""

from __future__ import annotations

import exports
import kernel
import numpy as np
import pytest

# Handbook densities, g/cm3, as ranges where sources differ. Copper alloys: mill data sheets of the UNS numbers; stainless
# steel, sterling silver, cork and felt: handbook values.
DENSITY = {
    "C11000": (8.89, 8.94),
    "C12200": (8.94, 8.94),
    "C22000": (8.80, 8.80),
    "C23000": (8.75, 8.75),
    "C26000": (8.53, 8.53),
    "C26800": (8.47, 8.47),
    "C27200": (8.44, 8.44),
    "C36000": (8.47, 8.50),
    "C51000": (8.86, 8.86),
    "C52100": (8.80, 8.80),
    "C75200": (8.69, 8.73),
    "silver_925": (10.36, 10.40),
    "stainless_steel": (7.90, 8.03),
    "cork": (0.12, 0.25),
    "felt": (0.20, 0.50),
}

# Parts of planes, cylinders, cones and tori alone: no free surface may stand in for one of these.
PLAIN = {
    "clamp_screw",
    "hinge_screw",
    "hinge_tube",
    "mouthpiece",
    "octave_pin",
    "pad",
    "pad_cup",
    "receiver",
    "rod_loop",
    "screwdriver_path",
    "spring_screw",
    "vent",
}


def test_reads_without_a_message(part_file):
    reading = kernel.read_step(part_file.path)
    assert reading.load_messages == ()
    assert reading.transfer_messages == ()


def test_is_one_valid_solid(part_file):
    shape = kernel.read_step(part_file.path).shape
    assert len(kernel.solids(shape)) == 1
    assert kernel.is_valid(shape)


def test_edges_lie_on_their_faces(part_file):
    shape = kernel.read_step(part_file.path).shape
    assert kernel.worst_tolerance(shape) <= 1e-3
    assert kernel.worst_edge_deviation(shape) <= 1e-3


def test_surfaces_are_what_they_are(part_file):
    kinds = kernel.surface_kinds(kernel.read_step(part_file.path).shape)
    assert set(kinds) <= {"Plane", "Cylinder", "Cone", "Torus", "BSplineSurface"}
    if part_file.part in PLAIN:
        assert "BSplineSurface" not in kinds
    if part_file.part in {"tenon", "end_ring"} and "table" not in exports.job(part_file.job)["bore"]:
        # The straight ends of a conical bore are cones: whoever turns them can pick a diameter.
        assert "BSplineSurface" not in kinds
    if part_file.part.startswith("post_"):
        # The coped bottom follows the saddle and is swept; all else is turned and drilled.
        assert kinds["BSplineSurface"] == 1 and set(kinds) <= {"BSplineSurface", "Plane", "Cylinder", "Cone"}
    if part_file.part == "tube":
        # Outside and bore in two halves each, the vent's hole in two, two ends.
        assert kinds == {"BSplineSurface": 4, "Cylinder": 2, "Plane": 2}


def test_validation_properties_are_those_the_kernel_finds(part_file):
    """Of parts, halves and keep-outs: what the file says of itself, against the kernel's own integrals."""
    reading = kernel.read_assembly(part_file.path)
    (component,) = reading.components
    measures = kernel.measures(component.shape)
    assert reading.said.volume == pytest.approx(measures.volume, rel=1e-4)
    assert reading.said.area == pytest.approx(measures.area, rel=1e-4)
    assert np.abs(reading.said.centroid - measures.centroid).max() <= 0.002
    if part_file.row is None:
        # Nothing is made of a keep-out; a half is of the tube's metal.
        assert (component.material is not None) == part_file.part.startswith("half_")
    else:
        assert component.material.name == part_file.row["metal"]
        least, greatest = DENSITY[part_file.row["metal"]]
        assert least - 1e-9 <= component.material.density_g_cm3 <= greatest + 1e-9


def test_measures_agree(part_file):
    row = part_file.row
    if row is None:
        pytest.skip("the summary holds parts only")
    shape = kernel.read_step(part_file.path).shape
    measures = kernel.measures(shape)
    assert row["volume_mm3"] == pytest.approx(measures.volume, rel=1e-4)
    assert row["area_mm2"] == pytest.approx(measures.area, rel=1e-4)
    assert np.abs(np.array(row["centroid_mm"]) - measures.centroid).max() <= 0.002
    assert np.abs(np.array(row["bbox_mm"]) - kernel.bounding_box(shape)).max() <= 0.01


def test_mass_is_volume_by_handbook_density(part_file):
    row = part_file.row
    if row is None:
        pytest.skip("the summary holds parts only")
    least, greatest = DENSITY[row["metal"]]
    density = row["mass_g"] / row["volume_mm3"] * 1000
    # The summary is rounded to 1e-7 g, and a spring screw weighs 0.04 g.
    assert least - 1e-4 <= density <= greatest + 1e-4
