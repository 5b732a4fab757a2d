"""The key between closed and open: nothing is nearer than the list's least over the swing.

The key's parts are turned by the kernel, about the hinge worked out by hand.
"""

from __future__ import annotations

import exports
import kernel
import numpy as np
import pairs
import pytest
from neck_by_hand import hinge

# Rows of each job that are looked at, the nearest first.
NEAREST = 10
# Positions of the key between closed and open.
BETWEEN = 5


def nearest() -> list:
    cases = []
    for name in exports.job_names():
        rows = [
            row
            for row in exports.clearances(name)
            if row["pose"] == "swing" and row["state"] == "clear" and not row.get("at_least", False)
        ]
        rows.sort(key=lambda row: (row["gap_mm"], row["a"], row["b"]))
        cases += [pytest.param(name, row, id=f"{name}-{row['a']}-{row['b']}") for row in rows[:NEAREST]]
    return cases


@pytest.mark.parametrize(("name", "row"), nearest())
def test_nothing_between_is_nearer(name, row):
    opened = exports.open_angle(exports.clearances(name))
    for angle in np.linspace(0.0, opened, BETWEEN + 2)[1:-1]:
        a, b = (pairs.turned(name, row[side], float(angle)) for side in ("a", "b"))
        assert kernel.distance(a, b) >= row["gap_mm"] - pairs.EXCESS, f"key at {angle:.4f} degrees"


@pytest.mark.parametrize("name", [n for n in exports.job_names() if "pieces" in exports.job(n)["centreline"]])
def test_axes_read_from_the_solids_are_those_by_hand(name):
    """Where the centreline was measured no axis is worked out by hand; the way it is got there is tried here."""
    for (point, along), (found, direction) in (
        (hinge(exports.job(name)), pairs.read_hinge_axis(name)),
        (pairs.tenon_axis(name), pairs.read_tenon_axis(name)),
    ):
        assert np.abs(direction - along).max() <= 1e-6
        assert np.linalg.norm(np.cross(found - point, along)) <= 1e-5
