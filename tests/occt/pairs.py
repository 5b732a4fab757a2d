"""Rows of the clearance list, judged by the kernel.

The kernel's least distance is an upper bound of the true one (0.5155 was seen for a true 0.4994), so agreement is judged in
steps: our gap may not exceed it; where ours is smaller, ours is right if our two points lie on their solids and are that far
apart, which the kernel measures reliably. It can also be positive for solids that intersect, so the common solid of a pair
is looked at too.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import exports
import kernel
import numpy as np
from neck_by_hand import NeckByHand, hinge
from OCP.TopoDS import TopoDS_Shape

# Our gap may exceed the kernel's by this, mm.
EXCESS = 0.005

# A point counts as on a solid within this, and two gaps as equal, mm.
ON_SOLID = 0.001

# Gaps below this are exact; above, a lower bound may stand, mm.
EXACT = 3.0

# Boxes of curved faces are good to this, mm.
BOX = 0.001

# Points of an overlapping pair's surfaces that are held against its depth.
DEPTHS = 120

# Bodies that turn about the tenon when the player turns the neck in the receiver.
HORN = ("receiver", "clamp_screw", "octave_pin")


@dataclass(frozen=True)
class Solid:
    shape: TopoDS_Shape

    @cached_property
    def box(self) -> np.ndarray:
        low, high = kernel.bounding_box(self.shape)
        return np.array([low - BOX, high + BOX])


def bodies(job: str) -> list[str]:
    """Ids of every part and keep-out; halves of the tube are only exported."""
    keepouts = sorted(path.stem for path in (exports.folder(job) / "keepouts").glob("*.step"))
    return [*exports.summary(job), *keepouts]


def moves(job: str, body: str) -> bool:
    """Whether a body turns with the key."""
    row = exports.summary(job).get(body)
    return row is not None and row["moves_with_key"]


def read_hinge_axis(job: str) -> tuple[np.ndarray, np.ndarray]:
    """The axis of the screw the key turns on, along +Y."""
    point, direction = kernel.round_axis(kernel.read_step(exports.step_file(job, "hinge_screw")).shape)
    return point, direction * np.sign(direction[1])


def read_tenon_axis(job: str) -> tuple[np.ndarray, np.ndarray]:
    """The axis of the tenon, downwards, as necks point where the horn begins."""
    point, direction = kernel.round_axis(kernel.read_step(exports.step_file(job, "tenon")).shape)
    return point, direction * -np.sign(direction[2])


@lru_cache
def hinge_axis(job: str) -> tuple[np.ndarray, np.ndarray]:
    """The hinge by hand; read from its screw where the centreline was measured."""
    return hinge(exports.job(job)) if "pieces" in exports.job(job)["centreline"] else read_hinge_axis(job)


@lru_cache
def tenon_axis(job: str) -> tuple[np.ndarray, np.ndarray]:
    """The axis the horn turns about, from the collar to the tenon's end: that of the centreline there, by hand; read from
    the tenon where the centreline was measured."""
    if "pieces" not in exports.job(job)["centreline"]:
        return read_tenon_axis(job)
    neck = NeckByHand(exports.job(job))
    end = neck.at(neck.length)
    return end.centre, end.tangent


def turned(job: str, body: str, key_angle_deg: float) -> TopoDS_Shape:
    """A body as exported closed, turned by the kernel if it moves with the key."""
    closed = kernel.read_step(exports.step_file(job, body)).shape
    return kernel.turned(closed, *hinge_axis(job), key_angle_deg) if moves(job, body) else closed


@lru_cache(maxsize=400)
def solid(job: str, body: str, key_angle_deg: float = 0.0, horn_angle_deg: float = 0.0) -> Solid:
    """A body as exported with the key turned; where no export was made at that angle, turned by the kernel. The horn is
    always turned by the kernel."""
    exported = exports.step_file(job, body, key_angle_deg if moves(job, body) else 0.0)
    shape = kernel.read_step(exported).shape if exported else turned(job, body, key_angle_deg)
    if horn_angle_deg != 0.0 and body in HORN:
        shape = kernel.turned(shape, *tenon_axis(job), horn_angle_deg)
    return Solid(shape)


def pair(job: str, row: dict) -> tuple[Solid, Solid]:
    """Both solids in the pose of a row."""
    key, horn = row["key_angle_deg"] or 0.0, row.get("horn_angle_deg", 0.0)
    return solid(job, row["a"], key, horn), solid(job, row["b"], key, horn)


@dataclass
class Verdict:
    """What the kernel makes of a row."""

    faults: list[str] = field(default_factory=list)
    # By how much the two differ where it counts, mm.
    disagreement: float = 0.0
    # Ours was smaller than the kernel's, and right.
    second_half: bool = False
    # A slow search was spared, because the boxes are as far apart as the row says.
    by_box: bool = False

    def expect(self, holds: bool, otherwise: str) -> None:
        if not holds:
            self.faults.append(otherwise)


def judge(row: dict, a: Solid, b: Solid, points_in: tuple[Solid, Solid] | None = None) -> Verdict:
    """Holds a row against its two solids. The row's points are looked for on `points_in`, where these are not the solids
    in the row's own pose."""
    verdict = Verdict()
    on = points_in or (a, b)
    if row.get("at_least", False):
        _judge_bound(verdict, row, a, b)
    elif row["state"] == "clear":
        _judge_gap(verdict, row, a, b, on)
    elif row["state"] == "touching":
        _judge_touch(verdict, row, a, b, on)
    else:
        _judge_overlap(verdict, row, a, b, on)
    if row["state"] == "clear":
        verdict.expect(row["overlap_mm"] == 0, "clear, but with an overlap")
        if kernel.box_distance(a.box, b.box) == 0.0:
            volume = kernel.common_volume(a.shape, b.shape, kernel.NUDGES[:1])
            verdict.expect(volume == 0.0, f"clear, but {volume:.6f} mm3 in common")
    return verdict


def apart(row: dict) -> float:
    return float(np.linalg.norm(np.array(row["a_point_mm"]) - np.array(row["b_point_mm"])))


def _points_lie(verdict: Verdict, row: dict, on: tuple[Solid, Solid]) -> bool:
    misses = [kernel.distance_from_skin(row[f"{side}_point_mm"], body.shape) for side, body in zip("ab", on)]
    verdict.expect(max(misses) <= ON_SOLID, f"points {row['a_point_mm']} and {row['b_point_mm']} miss their solids by {misses}")
    return max(misses) <= ON_SOLID


def _judge_bound(verdict: Verdict, row: dict, a: Solid, b: Solid) -> None:
    verdict.expect(row["gap_mm"] >= EXACT, f"{row['gap_mm']} is below {EXACT} and only a bound")
    if kernel.box_distance(a.box, b.box) >= row["gap_mm"]:
        verdict.by_box = True
        return
    kernels = kernel.distance(a.shape, b.shape)
    verdict.disagreement = max(0.0, row["gap_mm"] - kernels)
    verdict.expect(verdict.disagreement <= EXCESS, f"at least {row['gap_mm']}, but the kernel found {kernels:.6f}")


def _judge_gap(verdict: Verdict, row: dict, a: Solid, b: Solid, on: tuple[Solid, Solid]) -> None:
    kernels = kernel.distance(a.shape, b.shape)
    difference = row["gap_mm"] - kernels
    lie = _points_lie(verdict, row, on)
    spans = abs(apart(row) - row["gap_mm"]) <= ON_SOLID
    verdict.expect(spans, f"gap {row['gap_mm']}, but the points are {apart(row):.6f} apart")
    verdict.second_half = difference < -EXCESS and lie and spans
    if verdict.second_half:
        return
    verdict.disagreement = abs(difference)
    verdict.expect(abs(difference) <= EXCESS, f"gap {row['gap_mm']}, but the kernel found {kernels:.6f}")


def _judge_touch(verdict: Verdict, row: dict, a: Solid, b: Solid, on: tuple[Solid, Solid]) -> None:
    kernels = kernel.distance(a.shape, b.shape)
    verdict.disagreement = max(0.0, kernels - EXCESS)
    verdict.expect(row["gap_mm"] == 0, "touching, but with a gap")
    # touching means nearer than EXCESS, which the kernel may miss by as much again
    verdict.expect(kernels <= 2 * EXCESS, f"touching, but the kernel found {kernels:.6f}")
    _points_lie(verdict, row, on)


def _judge_overlap(verdict: Verdict, row: dict, a: Solid, b: Solid, on: tuple[Solid, Solid]) -> None:
    """There is metal in common; one of the two points is as deep in the other body as the row says; and no other point
    of either surface is deeper."""
    verdict.expect(row["gap_mm"] == 0, "overlapping, but with a gap")
    volume = kernel.common_volume(a.shape, b.shape)
    verdict.expect(volume > 0.0, "overlapping, but the kernel found nothing in common")
    _points_lie(verdict, row, on)
    said = row["overlap_mm"]
    depths = [
        kernel.distance_from_skin(point, other.shape)
        for point, other in ((row["a_point_mm"], on[1]), (row["b_point_mm"], on[0]))
        if kernel.is_inside(point, other.shape)
    ]
    deep = max(depths, default=0.0)
    verdict.disagreement = abs(deep - said)
    verdict.expect(abs(deep - said) <= EXCESS, f"overlap {said}, but the points are {deep:.6f} deep")
    both = np.array([np.maximum(a.box[0], b.box[0]), np.minimum(a.box[1], b.box[1])])
    for one, other in ((a, b), (b, a)):
        points = kernel.surface_points(one.shape, both)
        for point in points[:: max(1, len(points) // DEPTHS)]:
            if kernel.is_inside(point, other.shape):
                deeper = kernel.distance_from_skin(point, other.shape) - said
                verdict.disagreement = max(verdict.disagreement, deeper)
                verdict.expect(deeper <= EXCESS, f"overlap {said}, but {point.tolist()} is deeper by {deeper:.6f}")


def shallow_overlap_faults(row: dict, a: Solid, b: Solid) -> list[str]:
    """Two bodies that only dent each other come apart when they are moved by the depth of the dent, along it, and not
    before. (One that has gone through a wall does not: the depth is then half the wall.)"""
    verdict = Verdict()
    along = np.array(row["b_point_mm"]) - np.array(row["a_point_mm"])
    along /= np.linalg.norm(along)
    free = kernel.shifted(a.shape, (row["overlap_mm"] + EXCESS) * along)
    held = kernel.shifted(a.shape, (row["overlap_mm"] - EXCESS) * along)
    gap = kernel.distance(free, b.shape)
    verdict.expect(0.0 < gap <= 2 * EXCESS, f"moved by {row['overlap_mm']} and a little more they are {gap:.6f} apart")
    verdict.expect(kernel.common_volume(free, b.shape) == 0.0, "moved by the overlap they still have metal in common")
    verdict.expect(kernel.common_volume(held, b.shape) > 0.0, "they come apart before they are moved by the overlap")
    return verdict.faults
