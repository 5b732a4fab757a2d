"""What a bore does, computed again: Bessel functions of another library, plain cylinders instead of cones, the bore and its
bends read from the job by hand, what stands in it by modes and quadrature. Shares no code with the project."""

from __future__ import annotations

import csv
import json
import subprocess
from pathlib import Path

import exports
import numpy as np
import pytest
from acoustic_tables import Air, added_mass, cylinders, intrusion, step
from scipy.interpolate import CubicHermiteSpline

pytestmark = pytest.mark.xdist_group("acoustics")


@pytest.fixture(scope="module")
def compared(tmp_path_factory) -> Path:
    """The alto beside a more open one, on the cone that stands in."""
    out = tmp_path_factory.mktemp("bores")
    jobs = exports.ROOT / "examples" / "jobs"
    run = ["cargo", "run", "--release", "--quiet", "--example", "compare_bores", "--", str(jobs / "alto.json"), str(exports.ROOT / "examples" / "bores" / "alto_more_open.json"), str(out)]
    done = subprocess.run(run, cwd=exports.ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return out


def radiated(air: Air, radius: float, omega):
    """Unflanged end: J.-P. Dalmont, C. J. Nederveen & N. Joly, J. Sound Vib. 244 (2001) 505."""
    ka = omega / air.speed * radius
    size = (1 + 0.2 * ka - 0.084 * ka**2) / (1 + 0.2 * ka + 0.416 * ka**2)
    length = 0.6133 * ((1 + 0.044 * ka**2) / (1 + 0.19 * ka**2) - 0.02 * np.sin(2 * ka) ** 2)
    back = -size * np.exp(-2j * ka * length)
    return air.plain(radius) * (1 + back) / (1 - back)


def hole_branch(air: Air, job: dict, bore: float, omega, is_open: bool):
    """Impedance of the vent: lossy tube, inner end, and its outer end shut or under the pad."""
    vent = job["vent"]
    radius = vent["bore_mm"] / 2e3
    length = (vent["stand_mm"] + vent["reach_inside_mm"] + job["tube"]["wall_mm"]) * 1e-3
    inertia = 1j * omega * air.density / (np.pi * radius**2)
    if is_open:
        pad, lift = job["pad"]["diameter_mm"] / 2e3, job["key"]["lift_mm"] * 1e-3
        added = 0.61 * radius * (pad / radius) ** 0.18 * (radius / lift) ** 0.39
        state = (radiated(air, radius, omega) + inertia * added, np.ones_like(omega) + 0j)
    else:
        state = (np.ones_like(omega) + 0j, np.zeros_like(omega) + 0j)
    pressure, flow = cylinders(air, np.array([radius]), length, omega, state)
    share = radius / bore
    inner = radius * (0.82 - 1.4 * share**2 + 0.75 * share**2.7) + radius * share / 8 * (1 + 0.207 * share**3)
    cover = np.tanh(1.84 * length / radius)
    passing = -radius * share**2 / (1.78 * (cover if is_open else 1 / cover) + 0.940 + 0.540 * share + 0.285 * share**2)
    return pressure / flow + inertia * inner, 1j * omega * air.density / (np.pi * bore**2) * passing


def lump(air: Air, line: float, room: float, omega, state):
    """What is far shorter than a wave: an inertia (length over area) before and behind half of it, a volume between."""
    pressure, flow = state
    half = 1j * omega * air.density * line / 2
    pressure = pressure + flow * half
    flow = flow + pressure * 1j * omega * room / (air.density * air.speed**2)
    return pressure + flow * half, flow


def stepped(neck: float, other: float) -> float:
    """Length over area of a sharp step between two radii, by the modes of both."""
    narrow, wide = min(neck, other), max(neck, other)
    return 0.0 if narrow == wide else step(narrow / wide) / narrow


def bore_of(job: dict, length: float):
    """Radius against station, mm: a cone, or the monotone cubic of F. N. Fritsch & J. Butland (1984) through the rows."""
    bore = job["bore"]
    if "table" not in bore:
        return lambda x: bore["entry_diameter_mm"] / 2 + np.tan(np.radians(bore["half_angle_deg"])) * x
    x = np.array([row["station_mm"] for row in bore["table"]])
    y = np.array([row["diameter_mm"] for row in bore["table"]]) / 2
    run, chord = np.diff(x), np.diff(y) / np.diff(x)
    assert np.all(chord > 0) and x[-1] >= length - 1
    before, after = 2 * run[1:] + run[:-1], run[1:] + 2 * run[:-1]
    slopes = np.concatenate([chord[:1], (before + after) / (before / chord[:-1] + after / chord[1:]), chord[-1:]])
    spline = CubicHermiteSpline(x, y, slopes)
    return lambda at: spline(at) if np.all(np.asarray(at) <= x[-1]) else y[-1] + chord[-1] * (at - x[-1])


@pytest.mark.parametrize("neck", ["a", "b"])
@pytest.mark.parametrize("written", ["Bb3", "G4", "C#5", "A5", "C#6"])
def test_a_neck_on_its_horn(compared, written, neck):
    """Impedance at the reed within 0.3 % of its own size, at every twentieth row of the table: of the first neck, and of the second
    on the first's horn and mouthpiece."""
    first = json.loads((exports.ROOT / "examples" / "jobs" / "alto.json").read_text())
    job = first if neck == "a" else json.loads((exports.ROOT / "examples" / "bores" / "alto_more_open.json").read_text())
    told = json.loads((compared / "comparison.json").read_text())
    note = next(note for note in told["notes"] if note["written"] == written)
    air = Air(27.0)
    air.speed, air.density = told["horn"]["speed_of_sound_m_s"], told["horn"]["density_kg_m3"]
    with (compared / "impedance.csv").open() as file:
        rows = [row for row in csv.DictReader(file) if row["written"] == written][::20]
    omega = 2 * np.pi * np.array([float(row["frequency_hz"]) for row in rows])
    ours = np.array([float(row[f"{neck}_mpa_s_m3"]) * 1e6 * np.exp(1j * np.radians(float(row[f"{neck}_phase_deg"]))) for row in rows])

    entry, slope = first["bore"]["entry_diameter_mm"] / 2, np.tan(np.radians(first["bore"]["half_angle_deg"]))
    # Centreline: straight, two bends, straight.
    pieces = [(piece.get("straight_mm") or np.radians(piece["bend_deg"]) * piece["radius_mm"], piece.get("radius_mm")) for piece in job["centreline"]["pieces"]]
    length = sum(piece[0] for piece in pieces)
    end = entry + slope * length
    bore_at = bore_of(job, length)
    cone = note["cone_mm"]

    state = (radiated(air, (end + slope * cone) * 1e-3, omega), np.ones_like(omega) + 0j)
    count = 1500
    state = cylinders(air, (end + slope * cone * (np.arange(count) + 0.5) / count) * 1e-3, cone * 1e-3 / count, omega, state)
    # The tenon ends in the receiver, whose floor lies farther down: a ring of air beside the bore.
    receiver, tenon = first["horn"], job["tenon"]
    ring = receiver["rim_gap_mm"] + receiver["receiver_depth_mm"] - tenon["length_mm"]
    room = np.pi * ((receiver["receiver_bore_mm"] / 2) ** 2 - end**2) * ring * 1e-9
    state = lump(air, 0.0, room, omega, state)
    vent, pace, behind, drilled = job["vent"]["station_mm"], 0.25, length, False
    while behind > 1e-9:
        # A vent stands between two slices.
        if not drilled and behind <= vent + 1e-9:
            bore = float(bore_at(vent)) * 1e-3
            outer, reach = job["vent"]["outer_diameter_mm"] / 2e3, job["vent"]["reach_inside_mm"] * 1e-3
            volume = intrusion(bore * 1e3, outer * 1e3, reach * 1e3)[1] * 1e-9
            state = lump(air, (1 + added_mass(reach / outer)) * volume / (np.pi * bore**2) ** 2, -volume, omega, state)
            branch, passing = hole_branch(air, job, bore, omega, note["vent_open"])
            pressure, flow = state[0] + state[1] * passing / 2, state[1]
            flow = flow + pressure / branch
            state, drilled = (pressure + flow * passing / 2, flow), True
        starts = np.cumsum([0] + [piece[0] for piece in pieces])
        index = int(np.searchsorted(starts, behind - 1e-9)) - 1
        floor = max(starts[index], vent if not drilled else 0.0)
        run = min(pace, behind - floor)
        radius = float(bore_at(behind - run / 2))
        bend = 1.0
        if pieces[index][1]:
            bend = (1 + np.sqrt(1 - (radius / pieces[index][1]) ** 2)) / 2
        state = cylinders(air, np.array([radius]) * 1e-3, run * 1e-3, omega, state, bend)
        behind -= run
    # The mouthpiece is a tube as wide as the first neck's entry, of the volume of its missing cone: the first meets it without a step.
    state = lump(air, stepped(float(bore_at(0.0)) * 1e-3, entry * 1e-3), 0.0, omega, state)
    apex = entry / slope
    assert told["horn"]["mouthpiece_volume_mm3"] == pytest.approx(np.pi * entry**2 * apex / 3, rel=1e-6)
    state = cylinders(air, np.array([entry]) * 1e-3, apex / 3 * 1e-3, omega, state)
    theirs = state[0] / state[1]
    assert len(ours) > 90
    assert np.max(np.abs(ours - theirs) / np.abs(theirs)) < 3e-3
