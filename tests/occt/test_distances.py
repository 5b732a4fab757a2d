"""Rows of the clearance list against the kernel, by the rules of pairs.py; `matrix.py` measures all of them."""

from __future__ import annotations

from itertools import combinations

import exports
import pairs
import pytest

# Rows of each job and position of the key that are measured, the nearest first.
NEAREST = 40
# Rows of each job and position that only bound a gap.
BOUNDS = 6


def rows_of(name: str) -> dict[str, list[dict]]:
    """Rows by position of the key; those that do not move stand with the closed ones."""
    listed = exports.clearances(name)
    opened = exports.open_angle(listed)
    return {
        "closed": [row for row in listed if row["pose"] in ("static", "closed")],
        "half": [row for row in exports.clearances_at(name, opened / 2) if row["pose"] == "at"],
        "open": [row for row in listed if row["pose"] == "open"],
        "swing": [row for row in listed if row["pose"] == "swing"],
        "neck_turned": exports.neck_turned(name),
    }


def near(row: dict) -> tuple:
    return row["gap_mm"] - row["overlap_mm"], row["a"], row["b"]


def chosen() -> list:
    """Overlapping and touching rows, the nearest others, and of the rows that only bound a gap some of the nearest."""
    cases = []
    for name in exports.job_names():
        for position, rows in rows_of(name).items():
            rows = sorted(rows, key=near)
            exact = [row for row in rows if not row.get("at_least", False)][:NEAREST]
            bounds = [row for row in rows if row.get("at_least", False)][:BOUNDS]
            for row in exact + bounds:
                cases.append(pytest.param(name, row, id=f"{name}-{position}-{row['a']}-{row['b']}"))
    return cases


@pytest.mark.parametrize(("name", "row"), chosen())
def test_row_is_as_the_kernel_has_it(name, row):
    assert pairs.judge(row, *pairs.pair(name, row)).faults == []


def test_pad_pressed_into_the_vent_comes_out_by_the_overlap(job_name):
    """With the key pressed past closed every job has a dent of known depth, and it is the only one."""
    rows = [row for row in exports.clearances_at(job_name, exports.PRESSED_DEG) if row["pose"] == "at"]
    dents = [row for row in rows if row["state"] == "overlapping"]
    assert [(row["a"], row["b"]) for row in dents] == [("vent", "pad")]
    solids = pairs.pair(job_name, dents[0])
    assert pairs.judge(dents[0], *solids).faults == []
    assert pairs.shallow_overlap_faults(dents[0], *solids) == []


def test_every_pair_is_listed_once(job_name):
    """Every unordered pair of parts and keep-outs has one row; three, if the key's swing moves one against the other."""
    found: dict[frozenset, list[str]] = {}
    for row in exports.clearances(job_name):
        found.setdefault(frozenset((row["a"], row["b"])), []).append(row["pose"])
    moves = lambda two: pairs.moves(job_name, two[0]) != pairs.moves(job_name, two[1])
    wanted = {
        frozenset(two): ["closed", "open", "swing"] if moves(two) else ["static"]
        for two in combinations(pairs.bodies(job_name), 2)
    }
    assert found == wanted


def test_every_pair_with_the_horn_is_listed_with_the_neck_turned(job_name):
    """A part against receiver, clamp or pin is looked at again while the player turns the neck."""
    parts = exports.summary(job_name)
    found = [(row["a"], row["b"]) for row in exports.neck_turned(job_name)]
    wanted = {frozenset((part, horn)) for part in parts for horn in pairs.HORN}
    assert len(found) == len(wanted)
    assert {frozenset(two) for two in found} <= wanted


def test_rows_of_the_swing_lie_in_it(job_name):
    """The least of a motion is not more than either end of it has, and its angle is one of the motion."""
    listed = exports.clearances(job_name)
    opened = exports.open_angle(listed)
    by_pose = {(row["a"], row["b"], row["pose"]): row for row in listed}
    for row in listed:
        if row["pose"] != "swing":
            continue
        assert 0.0 <= row["key_angle_deg"] <= opened
        ends = [by_pose[row["a"], row["b"], pose] for pose in ("closed", "open")]
        for end in ends:
            # beyond 3 mm both may be bounds
            if not row.get("at_least", False):
                assert row["gap_mm"] - row["overlap_mm"] <= end["gap_mm"] - end["overlap_mm"] + pairs.EXCESS
