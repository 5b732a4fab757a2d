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
    name, components = kernel.read_assembly(path)
    order = exports.job(job_name)["order"]
    assert order["number"] in name and order["serial"] in name
    wanted = [row["name"] for row in exports.summary(job_name).values()]
    assert [part.name for part in components] == wanted
    assert [part.instance_name for part in components] == wanted
    assert all(len(kernel.solids(part.shape)) == 1 for part in components)


def test_parts_stand_in_the_frame_of_the_neck(job_name, path):
    _, components = kernel.read_assembly(path)
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
    _, components = kernel.read_assembly(path)
    colours: dict[str, set] = {}
    for part, row in zip(components, exports.summary(job_name).values(), strict=True):
        assert part.colour_srgb is not None, part.name
        # Screens tell 256 steps apart.
        colours.setdefault(row["metal"], set()).add(tuple(round(255 * value) for value in part.colour_srgb))
    assert all(len(found) == 1 for found in colours.values()), colours
    assert len(set.union(*colours.values())) == len(colours), colours
