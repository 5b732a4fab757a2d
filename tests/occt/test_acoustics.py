"""What a bore does, computed again: Bessel functions of another library, plain cylinders instead of cones, the bore and its
bends read from the job by hand. Shares no code with the project."""

from __future__ import annotations

import csv
import json
import subprocess
from pathlib import Path

import exports
import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.special import jv

pytestmark = pytest.mark.xdist_group("acoustics")


class Air:
    """Constants of D. H. Keefe, J. Acoust. Soc. Am. 75 (1984) 58, at a temperature."""

    def __init__(self, celsius: float) -> None:
        above = celsius - 26.85
        self.speed = 347.23 * (1 + 0.00166 * above)
        self.density = 1.1769 * (1 - 0.00335 * above)
        self.viscosity = 1.846e-5 * (1 + 0.0025 * above)
        self.heat_ratio = 1.4017 * (1 - 0.00002 * above)
        self.root_prandtl = 0.8410 * (1 - 0.0002 * above)

    def per_metre(self, radius, omega):
        """Series impedance and shunt admittance a metre (C. Zwikker & C. W. Kosten, 1949)."""
        k = np.sqrt(-1j * omega * self.density / self.viscosity)
        share = lambda z: 2 * jv(1, z) / (z * jv(0, z))
        area = np.pi * radius**2
        series = 1j * omega * self.density / area / (1 - share(k * radius))
        shunt = 1j * omega * area / (self.density * self.speed**2)
        return series, shunt * (1 + (self.heat_ratio - 1) * share(k * self.root_prandtl * radius))

    def plain(self, radius):
        return self.density * self.speed / (np.pi * radius**2)


def cylinders(air: Air, radii, length, omega, state, bend=1.0):
    """Pressure and flow at the inlet of a row of short cylinders, from those at its outlet."""
    pressure, flow = state
    series, shunt = air.per_metre(np.asarray(radii)[:, None], np.atleast_1d(omega))
    gamma, impedance = np.sqrt(series * bend * shunt), np.sqrt(series * bend / shunt)
    cosh, sinh = np.cosh(gamma * length), np.sinh(gamma * length)
    for c, along, against in zip(cosh[::-1], (impedance * sinh)[::-1], (sinh / impedance)[::-1]):
        pressure, flow = c * pressure + along * flow, against * pressure + c * flow
    return pressure, flow


def peak(impedance, near: float) -> tuple[float, float]:
    found = minimize_scalar(lambda hz: -abs(impedance(hz)), bounds=(near - 2, near + 2), method="bounded", options={"xatol": 1e-6})
    return found.x, -found.fun


# The rows that tests/acoustics.rs holds the core to, computed here once more: length, entry radius, end radius (mm), °C, peaks.
ROWS = [
    (1000, 5.0, 5.0, 26.85, [(83.733, 17.89), (255.096, 10.37), (427.161, 8.06), (599.516, 6.83), (772.041, 6.03)]),
    (1000, 7.5, 7.5, 26.85, [(84.757, 26.87), (256.871, 15.55), (429.452, 12.06), (602.227, 10.21), (775.116, 9.01)]),
    (600, 7.5, 7.5, 20.0, [(140.455, 35.22), (424.634, 20.37), (709.402, 15.79), (994.413, 13.35), (1279.567, 11.78)]),
    (1000, 6.2, 6.2 + 1000 * np.tan(np.radians(1.6)), 26.85, [(143.56, 12.57), (297.09, 17.89), (459.18, 18.92), (625.91, 18.31), (795.07, 17.29)]),
    (3000, 2.1, 23.45, 26.85, [(51.789, 1.50), (104.330, 2.66), (158.007, 3.45), (212.685, 3.89), (268.124, 4.08)]),
    (3000, 2.1, 23.45, 20.0, [(51.216, 1.52), (103.174, 2.70), (156.250, 3.50), (210.314, 3.94), (265.128, 4.14)]),
]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]}-{row[1]}-{row[3]}")
def test_rows_of_cylinders_and_cones(row):
    length, entry, end, celsius, peaks = row
    air = Air(celsius)
    count = 1 if entry == end else 3000
    radii = (entry + (end - entry) * (np.arange(count) + 0.5) / count) * 1e-3

    def impedance(hz: float) -> complex:
        pressure, flow = cylinders(air, radii, length * 1e-3 / count, 2 * np.pi * hz, (0j, 1 + 0j))
        return (pressure / flow)[0] / air.plain(entry * 1e-3)

    for hz, height in peaks:
        found = peak(impedance, hz)
        assert found[0] == pytest.approx(hz, abs=0.006 if entry == 6.2 else 0.0016)
        assert found[1] == pytest.approx(height, abs=0.006)


def test_attenuation_rows():
    for radius, hz, attenuation in [(3.9, 200, 0.11159), (5.0, 100, 0.06174), (5.0, 1000, 0.19090), (7.5, 440, 0.08442)]:
        series, shunt = Air(26.85).per_metre(radius * 1e-3, 2 * np.pi * hz)
        assert np.sqrt(series * shunt).real == pytest.approx(attenuation, abs=6e-6)


@pytest.fixture(scope="module")
def compared(tmp_path_factory) -> Path:
    """The alto beside the alto, on the cone that stands in."""
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


@pytest.mark.parametrize("written", ["Bb3", "G4", "C#5", "A5", "C#6"])
def test_a_neck_on_its_horn(compared, written):
    """Impedance at the reed within 0.3 % of its own size, at every twentieth row of the table."""
    job = json.loads((exports.ROOT / "examples" / "jobs" / "alto.json").read_text())
    told = json.loads((compared / "comparison.json").read_text())
    note = next(note for note in told["notes"] if note["written"] == written)
    air = Air(27.0)
    air.speed, air.density = told["horn"]["speed_of_sound_m_s"], told["horn"]["density_kg_m3"]
    with (compared / "impedance.csv").open() as file:
        rows = [row for row in csv.DictReader(file) if row["written"] == written][::20]
    omega = 2 * np.pi * np.array([float(row["frequency_hz"]) for row in rows])
    ours = np.array([float(row["a_mpa_s_m3"]) * 1e6 * np.exp(1j * np.radians(float(row["a_phase_deg"]))) for row in rows])

    entry, slope = job["bore"]["entry_diameter_mm"] / 2, np.tan(np.radians(job["bore"]["half_angle_deg"]))
    # Centreline: straight, two bends, straight.
    pieces = [(piece.get("straight_mm") or np.radians(piece["bend_deg"]) * piece["radius_mm"], piece.get("radius_mm")) for piece in job["centreline"]["pieces"]]
    length = sum(piece[0] for piece in pieces)
    end = entry + slope * length
    cone = note["cone_mm"]

    state = (radiated(air, (end + slope * cone) * 1e-3, omega), np.ones_like(omega) + 0j)
    count = 1500
    state = cylinders(air, (end + slope * cone * (np.arange(count) + 0.5) / count) * 1e-3, cone * 1e-3 / count, omega, state)
    vent, step, behind, drilled = job["vent"]["station_mm"], 0.25, length, False
    while behind > 1e-9:
        # A vent stands between two slices.
        if not drilled and behind <= vent + 1e-9:
            branch, passing = hole_branch(air, job, (entry + slope * vent) * 1e-3, omega, note["vent_open"])
            pressure, flow = state[0] + state[1] * passing / 2, state[1]
            flow = flow + pressure / branch
            state, drilled = (pressure + flow * passing / 2, flow), True
        starts = np.cumsum([0] + [piece[0] for piece in pieces])
        index = int(np.searchsorted(starts, behind - 1e-9)) - 1
        floor = max(starts[index], vent if not drilled else 0.0)
        run = min(step, behind - floor)
        radius = entry + slope * (behind - run / 2)
        bend = 1.0
        if pieces[index][1]:
            bend = (1 + np.sqrt(1 - (radius / pieces[index][1]) ** 2)) / 2
        state = cylinders(air, np.array([radius]) * 1e-3, run * 1e-3, omega, state, bend)
        behind -= run
    # The mouthpiece: a tube as wide as the entry, of the volume of the missing cone.
    apex = entry / slope
    assert told["horn"]["mouthpiece_volume_mm3"] == pytest.approx(np.pi * entry**2 * apex / 3, rel=1e-6)
    state = cylinders(air, np.array([entry]) * 1e-3, apex / 3 * 1e-3, omega, state)
    theirs = state[0] / state[1]
    assert len(ours) > 90
    assert np.max(np.abs(ours - theirs) / np.abs(theirs)) < 3e-3
