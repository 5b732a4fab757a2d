"""The neck's definition worked out a second time, from the job file and the description of its frame alone.

Nothing here is taken from the project's own code. Frame: origin at the cork end, +X into the neck, +Z away from the centre
of the main bend, +Y to the player's left; positive bends turn down. The bore is a circle of radius r(station) in the plane
normal to the centreline.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import quad
from scipy.interpolate import CubicHermiteSpline, CubicSpline, PchipInterpolator
from scipy.optimize import brentq


@dataclass(frozen=True)
class Station:
    centre: np.ndarray
    tangent: np.ndarray
    up: np.ndarray


def _in_plane(x: float, z: float) -> np.ndarray:
    return np.array([x, 0.0, z])


@dataclass(frozen=True)
class _Piece:
    """Straight or arc, from a station on; `bend` in radians, positive down, 0 for a straight."""

    start: float
    length: float
    place: np.ndarray
    heading: float
    bend: float

    def at(self, station: float) -> Station:
        s = station - self.start
        heading = self.heading + self.bend * s / self.length
        tangent, up = _directions(heading)
        if self.bend == 0.0:
            return Station(self.place + tangent * s, tangent, up)
        # Signed radius: the centre of the bend lies below the tube for a bend that turns down.
        radius = self.length / self.bend
        _, first_up = _directions(self.heading)
        return Station(self.place - radius * first_up + radius * up, tangent, up)

    def station_of(self, point: np.ndarray) -> float:
        """Station of the piece's centreline (or its continuation) nearest to a point."""
        tangent, up = _directions(self.heading)
        if self.bend == 0.0:
            return self.start + float(np.dot(point - self.place, tangent))
        radius = self.length / self.bend
        spoke = point - (self.place - radius * up)
        turn = np.arctan2(np.dot(spoke, tangent) * np.sign(radius), np.dot(spoke, up) * np.sign(radius))
        return self.start + float(turn) * radius


def _directions(heading: float) -> tuple[np.ndarray, np.ndarray]:
    return _in_plane(np.cos(heading), -np.sin(heading)), _in_plane(np.sin(heading), np.cos(heading))


class NeckByHand:
    """Centreline of straights and arcs, bore and wall of a job."""

    def __init__(self, job: dict):
        self.pieces: list[_Piece] = []
        station, place, heading = 0.0, np.zeros(3), 0.0
        for piece in job["centreline"]["pieces"]:
            bend = np.radians(piece.get("bend_deg", 0.0))
            length = piece["straight_mm"] if "straight_mm" in piece else abs(bend) * piece["radius_mm"]
            self.pieces.append(_Piece(station, length, place, heading, bend))
            station += length
            place = self.pieces[-1].at(station).centre
            heading += bend
        self.length = station
        self.radius = bore_radius(job["bore"])
        self.wall = wall(job["tube"])
        self.tube_end = tube_end(job, self.length)

    def at(self, station: float) -> Station:
        piece = next((p for p in self.pieces if station <= p.start + p.length), self.pieces[-1])
        return piece.at(station)

    def nearest(self, point: np.ndarray) -> tuple[float, float]:
        """Station nearest to a point, and the distance from its centre there."""
        best = (np.inf, 0.0)
        for piece in self.pieces:
            station = float(np.clip(piece.station_of(point), piece.start, piece.start + piece.length))
            best = min(best, (float(np.linalg.norm(point - piece.at(station).centre)), station))
        return best[1], best[0]


def bore_radius(bore: dict):
    """Radius by station. Between measured diameters: the monotone cubic of Fritsch and Butland (1984), whose inner slopes
    are the interpolator's own; straight on beyond both ends."""
    if "table" not in bore:
        slope = np.tan(np.radians(bore["half_angle_deg"]))
        return lambda s: bore["entry_diameter_mm"] / 2 + slope * s
    s = np.array([row["station_mm"] for row in bore["table"]])
    r = np.array([row["diameter_mm"] for row in bore["table"]]) / 2
    slopes = PchipInterpolator(s, r).derivative()(s)
    slopes[0], slopes[-1] = (r[1] - r[0]) / (s[1] - s[0]), (r[-1] - r[-2]) / (s[-1] - s[-2])
    inside = CubicHermiteSpline(s, r, slopes)

    def radius(station):
        station = np.asarray(station, dtype=float)
        beyond = r[-1] + slopes[-1] * (station - s[-1])
        return np.where(station > s[-1], beyond, inside(np.clip(station, s[0], s[-1])))

    return radius


def wall(tube: dict) -> float:
    """Wall in mm; gauge numbers by the formula of ASTM B258, 0.005 in * 92^((36 - n) / 39)."""
    return tube["wall_mm"] if "wall_mm" in tube else 25.4 * 0.005 * 92 ** ((36 - tube["wall_gauge"]) / 39)


def tube_end(job: dict, length: float) -> float:
    """The tube ends at the bottom of the collar's socket."""
    tenon = job["tenon"]
    return length - tenon["length_mm"] - tenon["collar_length_mm"] + tenon["socket_depth_mm"]


def hinge(job: dict) -> tuple[np.ndarray, np.ndarray]:
    """A point of the key's hinge axis and its direction: along +Y, above the top of the tube at the saddle's station.
    A positive turn about it opens the key."""
    neck = NeckByHand(job)
    station = job["saddle"]["station_mm"]
    at = neck.at(station)
    height = float(neck.radius(station)) + neck.wall + job["posts"]["axis_height_mm"]
    return at.centre + height * at.up, np.array([0.0, 1.0, 0.0])


def wall_volume(neck: NeckByHand) -> float:
    """Pappus: each section's centroid lies on the centreline, so the volume is the integral of its area along it."""
    area = lambda s: np.pi * ((neck.radius(s) + neck.wall) ** 2 - neck.radius(s) ** 2)
    return _along(neck, area)


def bore_volume(neck: NeckByHand) -> float:
    """Pappus for the air in the tube."""
    return _along(neck, lambda s: np.pi * neck.radius(s) ** 2)


def _along(neck: NeckByHand, area) -> float:
    return sum(quad(area, a, b, epsabs=1e-10)[0] for a, b in _spans(neck))


def _spans(neck: NeckByHand) -> list[tuple[float, float]]:
    breaks = sorted({0.0, neck.tube_end, *(p.start for p in neck.pieces if p.start < neck.tube_end)})
    return list(zip(breaks, breaks[1:]))


def hole_volume(neck: NeckByHand, station: float, radius: float) -> float:
    """Volume a round hole along the in-plane normal takes out of the top wall: Gauss-Legendre over its disc of the height
    of the wall above each point."""
    at = neck.at(station)

    def height(x: float, y: float, offset: float) -> float:
        def miss(h: float) -> float:
            nearest, distance = neck.nearest(at.centre + at.tangent * x + at.up * h + np.array([0.0, y, 0.0]))
            return distance - float(neck.radius(nearest)) - offset

        top = float(neck.radius(station)) + offset
        return brentq(miss, 0.3 * top, 2.0 * top, xtol=1e-12)

    nodes, weights = np.polynomial.legendre.leggauss(8)
    total = 0.0
    for node, weight in zip(nodes, weights):
        rho = radius * (node + 1) / 2
        # The angle is periodic, so evenly spaced angles integrate it to full accuracy.
        for angle in np.arange(16) * (2 * np.pi / 16):
            x, y = rho * np.cos(angle), rho * np.sin(angle)
            total += weight * radius / 2 * rho * (2 * np.pi / 16) * (height(x, y, neck.wall) - height(x, y, 0.0))
    return total


def measured_points(job: dict) -> list[tuple[np.ndarray, float]]:
    """Measured centreline points with their stations: arc lengths of a C2 spline through them. How the curve runs between
    the points moves a station by less than 0.01 mm, and a radius by less than 0.0003."""
    centreline = job["centreline"]
    straight = centreline["straight_start_mm"]
    flat = np.array([[straight, 0.0], *([p["x_mm"], p["z_mm"]] for p in centreline["points"])])
    chords = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(flat, axis=0), axis=1))])
    curve = CubicSpline(chords, flat, bc_type=((1, [1.0, 0.0]), (2, [0.0, 0.0])))
    slope = curve.derivative()
    speed = lambda t: float(np.linalg.norm(slope(t)))
    stations = straight + np.concatenate(
        [[0.0], np.cumsum([quad(speed, a, b)[0] for a, b in zip(chords, chords[1:])])]
    )
    return [(_in_plane(x, z), float(s)) for (x, z), s in zip(flat, stations)]
