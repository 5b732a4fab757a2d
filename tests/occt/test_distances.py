"""Rows of the clearance list against the kernel's least distances.

The kernel's least distance is an upper bound of the true one (0.5155 was seen for a true 0.4994), so agreement is judged in
steps: our gap may not exceed it; where ours is smaller, ours is right if our two points lie on their solids and are that far
apart, which the kernel measures reliably.
"""

from __future__ import annotations

from itertools import combinations

import exports
import kernel
import numpy as np
import pytest
from neck_by_hand import hinge
from OCP.TopoDS import TopoDS_Shape

# Our gap may exceed the kernel's by this, mm.
EXCESS = 0.005

# A point counts as on a solid within this, and two gaps as equal, mm.
ON_SOLID = 0.001

# Gaps below this are exact; above, a lower bound may stand, mm.
EXACT = 3.0

# Rows of each job that are measured, the nearest first.
NEAREST = 70
# Rows of each job that only bound a gap.
BOUNDS = 8


def bodies(name: str) -> list[str]:
    """Ids of every part and keep-out; halves of the tube are only exported."""
    keepouts = sorted(path.stem for path in (exports.folder(name) / "keepouts").glob("*.step"))
    return [*exports.summary(name), *keepouts]


def moves(name: str, body: str) -> bool:
    row = exports.summary(name).get(body)
    return row is not None and row["moves_with_key"]


def by_hand(name: str) -> bool:
    return "pieces" in exports.job(name)["centreline"]


def measured(row: dict, name: str) -> bool:
    """Whether the solids can be put in the row's pose: a turned key needs the hinge worked out by hand."""
    return not row["key_angle_deg"] or by_hand(name)


def chosen(state: str, bound: bool, count: int) -> list:
    """Test cases: the nearest rows of each job in a state."""
    cases = []
    for name in exports.job_names():
        rows = [
            row
            for row in exports.clearances(name)
            if row["state"] == state and row.get("at_least", False) == bound and measured(row, name)
        ]
        rows.sort(key=lambda row: (row["gap_mm"], row["a"], row["b"], row["pose"]))
        for row in rows[:count]:
            cases.append(pytest.param(name, row, id=f"{name}-{row['a']}-{row['b']}-{row['pose']}"))
    return cases


def placed(name: str, body: str, key_angle_deg: float | None) -> TopoDS_Shape:
    """A body with the key turned open by an angle."""
    shape = kernel.read_step(exports.step_file(name, body)).shape
    if not key_angle_deg or not moves(name, body):
        return shape
    point, direction = hinge(exports.job(name))
    return kernel.turned(shape, point, direction, key_angle_deg)


def pair(name: str, row: dict) -> tuple[TopoDS_Shape, TopoDS_Shape]:
    return tuple(placed(name, row[side], row["key_angle_deg"]) for side in ("a", "b"))


def apart(row: dict) -> float:
    return float(np.linalg.norm(np.array(row["a_point_mm"]) - np.array(row["b_point_mm"])))


@pytest.mark.parametrize(("name", "row"), chosen("clear", False, NEAREST))
def test_gap_is_the_kernels_or_better(name, row):
    a, b = pair(name, row)
    assert row["overlap_mm"] == 0
    assert row["gap_mm"] <= kernel.distance(a, b) + EXCESS
    assert apart(row) == pytest.approx(row["gap_mm"], abs=ON_SOLID)
    assert kernel.distance_from_skin(row["a_point_mm"], a) <= ON_SOLID
    assert kernel.distance_from_skin(row["b_point_mm"], b) <= ON_SOLID


@pytest.mark.parametrize(("name", "row"), chosen("clear", True, BOUNDS))
def test_lower_bound_is_one(name, row):
    assert row["gap_mm"] >= EXACT
    assert row["gap_mm"] <= kernel.distance(*pair(name, row)) + EXCESS


@pytest.mark.parametrize(("name", "row"), chosen("touching", False, NEAREST))
def test_touching_bodies_touch(name, row):
    a, b = pair(name, row)
    assert row["gap_mm"] == 0
    assert kernel.distance(a, b) <= 2 * EXCESS
    assert kernel.distance_from_skin(row["a_point_mm"], a) <= ON_SOLID
    assert kernel.distance_from_skin(row["b_point_mm"], b) <= ON_SOLID


@pytest.mark.parametrize(("name", "row"), chosen("overlapping", False, NEAREST))
def test_overlap_is_as_deep_as_said(name, row):
    """One of the two points lies inside the other body, as deep as the row says."""
    a, b = pair(name, row)
    assert row["gap_mm"] == 0 and not row["ok"]
    a_point, b_point = row["a_point_mm"], row["b_point_mm"]
    assert kernel.distance_from_skin(a_point, a) <= ON_SOLID
    assert kernel.distance_from_skin(b_point, b) <= ON_SOLID
    depths = [
        kernel.distance_from_skin(point, other) for point, other in ((a_point, b), (b_point, a)) if kernel.is_inside(point, other)
    ]
    assert depths, "neither point lies inside the other body"
    assert max(depths) == pytest.approx(row["overlap_mm"], abs=EXCESS)


def test_every_pair_is_listed_once(job_name):
    """Every unordered pair of parts and keep-outs has one row, key closed."""
    found: dict[frozenset, list[str]] = {}
    for row in exports.clearances(job_name):
        found.setdefault(frozenset((row["a"], row["b"])), []).append(row["pose"])
    wanted = {
        frozenset(two): ["closed" if moves(job_name, two[0]) != moves(job_name, two[1]) else "static"]
        for two in combinations(bodies(job_name), 2)
    }
    assert found == wanted
