"""Exports with the key turned open: the key's parts turn about the hinge, everything else stays."""

from __future__ import annotations

import exports
import kernel
import numpy as np
import pytest
from neck_by_hand import hinge

# exports made elsewhere may lack it, and then nothing below would have been checked
if not exports.turned_folder().is_dir():
    raise FileNotFoundError(f"{exports.turned_folder()}: the exports with the key turned open are missing")

ROWS = exports.summary(exports.TURNED_JOB)


def files(part: str):
    return exports.step_file(exports.TURNED_JOB, part), exports.turned_folder() / "parts" / f"{part}.step"


@pytest.mark.parametrize("part", [part for part, row in ROWS.items() if not row["moves_with_key"]])
def test_fixed_parts_are_the_same_bytes(part):
    closed, turned = files(part)
    assert closed.read_bytes() == turned.read_bytes()


@pytest.mark.parametrize("part", [part for part, row in ROWS.items() if row["moves_with_key"]])
def test_parts_of_the_key_turn_about_the_hinge(part):
    closed, turned = files(part)
    reading = kernel.read_step(turned)
    assert reading.messages == ()
    assert kernel.is_valid(reading.shape)
    point, direction = hinge(exports.job(exports.TURNED_JOB))
    expected = kernel.turned(kernel.read_step(closed).shape, point, direction, exports.TURNED_DEG)
    a, b = kernel.measures(reading.shape), kernel.measures(expected)
    assert a.volume == pytest.approx(b.volume, rel=1e-6)
    assert np.abs(a.centroid - b.centroid).max() <= 1e-5
    assert np.abs(kernel.bounding_box(reading.shape) - kernel.bounding_box(expected)).max() <= 1e-3


def test_opening_lifts_the_pad_and_the_loop_goes_to_the_player():
    """The frame's rule: the pad rises along the vent's axis, the loop goes towards -X where the neck points down."""
    shift = {
        part: kernel.measures(kernel.read_step(files(part)[1]).shape).centroid
        - kernel.measures(kernel.read_step(files(part)[0]).shape).centroid
        for part in ("pad", "rod_loop")
    }
    assert shift["pad"][2] > 0
    assert shift["rod_loop"][0] < 0
