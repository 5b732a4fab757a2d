"""The assembly as a reader with names and colours sees it."""

from __future__ import annotations

import exports
import kernel
import numpy as np
import pytest


@pytest.fixture
def path(job_name):
    return exports.folder(job_name) / "assembly.step"


pytestmark = pytest.mark.xdist_group("assembly")


def test_reads_without_a_message(path):
    assert kernel.read_step(path).messages == ()


def test_holds_every_part_once_and_nothing_else(job_name, path):
    assembly = kernel.read_assembly(path)
    name, components = assembly.name, assembly.components
    order = exports.job(job_name)["order"]
    assert order["number"] in name and order["serial"] in name
    wanted = [row["name"] for row in exports.summary(job_name).values()]
    assert [part.name for part in components] == wanted
    assert [part.instance_name for part in components] == wanted
    assert all(len(kernel.solids(part.shape)) == 1 for part in components)


def test_parts_stand_in_the_frame_of_the_neck(job_name, path):
    components = kernel.read_assembly(path).components
    for part, row in zip(components, exports.summary(job_name).values(), strict=True):
        assert part.at_origin
        assert np.abs(np.array(row["bbox_mm"]) - kernel.bounding_box(part.shape)).max() <= 0.01, part.name


def test_volume_is_that_of_the_parts(job_name, path):
    """Each part's own file is measured exactly; here a coarse look finds a part that is missing, doubled or out of scale."""
    solids = kernel.solids(kernel.read_step(path).shape)
    rows = exports.summary(job_name).values()
    assert len(solids) == len(rows)
    assert sum(kernel.measures(solid, 1e-4).volume for solid in solids) == pytest.approx(
        sum(row["volume_mm3"] for row in rows), rel=2e-3
    )


def test_each_metal_has_its_colour(job_name, path):
    components = kernel.read_assembly(path).components
    colours: dict[str, set] = {}
    for part, row in zip(components, exports.summary(job_name).values(), strict=True):
        assert part.colour_srgb is not None, part.name
        # Screens tell 256 steps apart.
        colours.setdefault(row["metal"], set()).add(tuple(round(255 * value) for value in part.colour_srgb))
    assert all(len(found) == 1 for found in colours.values()), colours
    assert len(set.union(*colours.values())) == len(colours), colours


def test_each_part_says_what_it_is_made_of(job_name, path):
    components = kernel.read_assembly(path).components
    for part, row in zip(components, exports.summary(job_name).values(), strict=True):
        assert part.material.name == row["metal"]
        # What the kernel shows is in its own unit, g/cm3.
        density = row["mass_g"] / row["volume_mm3"] * 1000
        assert part.material.density_g_cm3 == pytest.approx(density, rel=1e-4), part.name


def test_validation_properties_are_those_of_the_whole(job_name, path):
    """What the file says of the whole, against the kernel's own integrals over the parts that it holds. Each part's own
    are held against the kernel finely in its own file; here the look is coarse but for what is added up."""
    assembly = kernel.read_assembly(path)
    rows = exports.summary(job_name).values()
    assert assembly.said.volume == pytest.approx(sum(row["volume_mm3"] for row in rows), abs=1e-4)
    assert assembly.said.area == pytest.approx(sum(row["area_mm2"] for row in rows), abs=1e-4)
    measured = [kernel.measures(part.shape, 1e-4) for part in assembly.components]
    volume = sum(part.volume for part in measured)
    centroid = sum(part.centroid * part.volume for part in measured) / volume
    assert assembly.said.volume == pytest.approx(volume, rel=2e-3)
    assert assembly.said.area == pytest.approx(sum(part.area for part in measured), rel=2e-3)
    assert np.abs(assembly.said.centroid - centroid).max() <= 0.05
    for part, row in zip(assembly.components, rows, strict=True):
        assert part.said.volume == row["volume_mm3"] and part.said.area == row["area_mm2"]
