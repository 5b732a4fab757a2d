"""The tables that tests/acoustics.rs holds the core to, worked out from the formulas of the papers named here: Bessel functions
and roots of scipy, plain cylinders for whatever has losses, the textbook's cone by its apex. Shares no code with the project.

`.venv/bin/python tests/occt/acoustic_tables.py` writes tests/tables/acoustics.json; test_acoustic_tables.py asks whether what
stands there is still what comes out here."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from scipy.integrate import dblquad, quad
from scipy.optimize import brentq, minimize_scalar
from scipy.special import i1, j0, j1, jn_zeros, jv, k1, y1

FILE = Path(__file__).resolve().parents[1] / "tables" / "acoustics.json"

CONE_A = {"entry": 6.2e-3, "slope": np.tan(np.radians(1.6)), "length": 1.0}


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
        """Series impedance and shunt admittance a metre (C. Zwikker & C. W. Kosten, *Sound Absorbing Materials*, 1949)."""
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


# air


def speed_of_sound(celsius: float, humidity: float, carbon: float, pressure: float = 101325.0) -> float:
    """O. Cramer, J. Acoust. Soc. Am. 93 (1993) 2510, equation 15; humidity and carbon dioxide in percent."""
    a = [331.5024, 0.603055, -0.000528, 51.471935, 0.1495874, -0.000782, -1.82e-7, 3.73e-8, -2.93e-10, -85.20931, -0.228525, 5.91e-5, -2.835149, -2.15e-13, 29.179762, 0.000486]
    kelvin, t, p = celsius + 273.15, celsius, pressure
    saturation = np.exp(1.2811805e-5 * kelvin**2 - 1.9509874e-2 * kelvin + 34.04926034 - 6353.6311 / kelvin)
    water = humidity / 100 * (1.00062 + 3.14e-8 * p + 5.6e-7 * t**2) * saturation / p
    c = carbon / 100
    terms = [1, t, t * t, water, t * water, t * t * water, p, t * p, t * t * p, c, t * c, t * t * c, water**2, p**2, c**2, water * p * c]
    return float(np.dot(a, terms))


def speeds():
    rows = [(t, h, 0.0314) for h in (0.0, 50.0, 100.0) for t in (0.0, 15.0, 20.0, 25.0, 27.0, 30.0)]
    rows += [(30.0, 100.0, 2.5), (21.0, 0.0, 0.04)]
    return [{"celsius": t, "humidity": h, "carbon": c, "speed": round(speed_of_sound(t, h, c), 3)} for t, h, c in rows]


# lines and ends


def lines():
    air, told = Air(26.85), []
    for radius_mm, hz in [(3.9, 200.0), (5.0, 100.0), (5.0, 1000.0), (7.5, 440.0)]:
        omega = 2 * np.pi * hz
        series, shunt = air.per_metre(radius_mm * 1e-3, omega)
        gamma, impedance = np.sqrt(series * shunt), np.sqrt(series / shunt)
        plain = air.plain(radius_mm * 1e-3)
        told.append({"radius_mm": radius_mm, "hz": hz, "attenuation": round(gamma.real, 5), "velocity": round(omega / gamma.imag, 3), "re": round((impedance / plain).real, 5), "im": round((impedance / plain).imag, 5), "plain": round(plain, -3)})
    return told


def radiated(ka: float) -> tuple[float, float]:
    """Size of the reflection and end correction in radii of an open pipe with a thin wall: the integrals of H. Levine &
    J. Schwinger, Phys. Rev. 73 (1948) 383."""
    # x = ka sin t takes the root's singularity away
    at = lambda f: quad(lambda t: f(ka * np.sin(t)) / (ka * np.sin(t)), 1e-12, np.pi / 2, limit=400, epsabs=1e-12)[0]
    size = np.exp(-2 * ka / np.pi * at(lambda x: np.arctan(-j1(x) / y1(x))))
    low = at(lambda x: np.log(np.pi * j1(x) * np.hypot(j1(x), y1(x))))
    far = lambda x: np.log(1 / (2 * i1(x) * k1(x))) / (x * np.hypot(x, ka))
    beyond = lambda x: (np.log(x) + 3 / (8 * x * x)) / (x * np.hypot(x, ka))
    high = quad(far, 0, 1, limit=400)[0] + quad(far, 1, 300, limit=2000)[0] + quad(beyond, 300, np.inf, limit=400)[0]
    return float(size), float((low + high) / np.pi)


def ends():
    told = []
    for ka in (0.1, 0.25, 0.5, 0.8, 1.0, 1.5, 2.0):
        size, correction = radiated(ka)
        told.append({"ka": ka, "reflection": round(size, 5), "correction": round(correction, 5)})
    return told


# cones without losses


def cone(k: float, x1: float, x2: float, tau: float, rho_c: float = 1.0) -> np.ndarray:
    """N. H. Fletcher & T. D. Rossing, *The Physics of Musical Instruments*, chapter 8: spherical waves between two distances from
    the apex; pressure and flow over j, so that all is real."""
    length, across = x2 - x1, np.pi * tau * x1 * tau * x2 / rho_c
    sin, cos = np.sin(k * length), np.cos(k * length)
    a = x2 / x1 * cos - sin / (k * x1)
    b = sin / across
    c = across * (sin * (1 + 1 / (k * k * x1 * x2)) - cos * (1 / (k * x1) - 1 / (k * x2)))
    return np.array([[a, b], [-c, x1 / x2 * cos + sin / (k * x2)]])


def cylinder(k: float, length: float, radius: float) -> np.ndarray:
    area = np.pi * radius**2
    return np.array([[np.cos(k * length), np.sin(k * length) / area], [-area * np.sin(k * length), np.cos(k * length)]])


def frustum(k: float, length: float, r1: float, r2: float) -> np.ndarray:
    if abs(r2 - r1) < 1e-15:
        return cylinder(k, length, r1)
    tau = (r2 - r1) / length
    return cone(k, r1 / tau, r2 / tau, tau)


def beside(k: float, volume: float) -> np.ndarray:
    """A chamber: jωV/(ρc²)."""
    return np.array([[1, 0], [-k * volume, 1]])


def hole(k: float, reach: float) -> np.ndarray:
    """A branch of inertia: jωρ/(π b²/te), `reach` = b²/te."""
    return np.array([[1, 0], [np.pi * reach / k, 1]])


def resonances(chain, speed: float, count: int, to: float = 2000.0) -> list[float]:
    """Maxima of the impedance before a row of pieces that ends without pressure: there the flow at the inlet vanishes."""

    def flow(hz: float) -> float:
        state = np.array([0.0, 1.0])
        for piece in reversed(chain):
            state = piece(2 * np.pi * hz / speed) @ state
        return state[1]

    found, step, hz = [], 0.25, 5.0
    while hz < to and len(found) < count:
        if flow(hz) * flow(hz + step) < 0:
            found.append(brentq(flow, hz, hz + step, xtol=1e-11))
        hz += step
    return found


def cents(before, after):
    return [1200 * np.log2(b / a) for a, b in zip(before, after)]


def cone_a(length: float = 1.0, entry: float = CONE_A["entry"]):
    return lambda k: frustum(k, length, entry, entry + CONE_A["slope"] * length)


MISSING_A = np.pi * CONE_A["entry"] ** 3 / CONE_A["slope"] / 3


def roots():
    told = []
    for apex in (0.05, 0.1, 0.2, 0.25, 0.5, 1.0):
        f = lambda x: np.sin(np.pi * x) + np.pi * x * apex * np.cos(np.pi * x)
        told.append({"apex": apex, "roots": [round(brentq(f, n - 0.5, n), 6) for n in range(1, 6)]})
    return told


def cones():
    told = lambda chain, speed: [round(hz, 3) for hz in resonances(chain, speed, 5)]
    chamber = lambda k: beside(k, MISSING_A)
    return {
        "rigid": told([cone_a()], 345.0),
        "with_cavity": told([chamber, cone_a()], 345.0),
        "bassoon": told([lambda k: frustum(k, 3.0, 2.1e-3, 23.45e-3)], 343.37),
    }


# cylinders and cones with losses


def lossy(length_mm, entry_mm, end_mm, celsius, count, cavity=0.0):
    """Peaks of a tube that ends without pressure, from thousands of plain cylinders."""
    air = Air(celsius)
    pieces = 1 if entry_mm == end_mm else 4000
    radii = (entry_mm + (end_mm - entry_mm) * (np.arange(pieces) + 0.5) / pieces) * 1e-3

    def impedance(hz):
        omega = 2 * np.pi * np.atleast_1d(hz)
        pressure, flow = cylinders(air, radii, length_mm * 1e-3 / pieces, omega, (np.zeros_like(omega) + 0j, np.ones_like(omega) + 0j))
        return np.abs(pressure / (flow + pressure * 1j * omega * cavity / (air.density * air.speed**2)))

    wide = np.arange(20.0, 1400.0, 4.0)
    sizes = impedance(wide)
    tops = [wide[i] for i in range(1, len(wide) - 1) if sizes[i - 1] < sizes[i] >= sizes[i + 1]][:count]
    told = []
    for top in tops:
        best = minimize_scalar(lambda hz: -impedance(hz)[0], bounds=(top - 4, top + 4), method="bounded", options={"xatol": 1e-6})
        told.append((best.x, -best.fun))
    return told, air.plain(entry_mm * 1e-3)


def lossy_rows():
    end = 6.2 + 1000 * CONE_A["slope"]
    rows = [(1000.0, 5.0, 5.0, 26.85), (1000.0, 7.5, 7.5, 26.85), (600.0, 7.5, 7.5, 20.0), (1000.0, 6.2, end, 26.85), (3000.0, 2.1, 23.45, 26.85), (3000.0, 2.1, 23.45, 20.0)]
    told = []
    for length, entry, last, celsius in rows:
        peaks, plain = lossy(length, entry, last, celsius, 5)
        told.append({"length_mm": length, "entry_mm": entry, "end_mm": last, "celsius": celsius, "peaks": [[round(hz, 3), round(size / plain, 3)] for hz, size in peaks]})
    return told


def heights():
    """Cone A with its cavity, MPa·s/m³."""
    return [round(size * 1e-6, 2) for _, size in lossy(1000.0, 6.2, 6.2 + 1000 * CONE_A["slope"], 26.85, 3, MISSING_A)[0]]


# small changes of the bore


def changed(pieces, cavity):
    """Shifts of cone A whose bore is changed: pieces of (from, to, more radius at each end), metres; exact cones."""
    radius = lambda x: CONE_A["entry"] + CONE_A["slope"] * x
    at, chain = 0.0, []
    for start, end, more in [*pieces, (1.0, 1.0, (0.0, 0.0))]:
        for a, b, (add_a, add_b) in [(at, start, (0.0, 0.0)), (start, end, more)]:
            if b > a:
                chain.append(lambda k, a=a, b=b, add_a=add_a, add_b=add_b: frustum(k, b - a, radius(a) + add_a, radius(b) + add_b))
        at = end
    chamber = [lambda k: beside(k, cavity)]
    return cents(resonances([*chamber, cone_a()], 347.23, 3), resonances([*chamber, *chain], 347.23, 3))


def rayleigh(start, end, more, cavity):
    """First order: Lord Rayleigh, *The Theory of Sound*, section 265, with the cavity's energy: δf/f = ∫ δS (ρ²c²u² − p²) dx / 2E."""
    radius = lambda x: CONE_A["entry"] + CONE_A["slope"] * x
    apex = CONE_A["entry"] / CONE_A["slope"]
    told = []
    for hz in resonances([lambda k: beside(k, cavity), cone_a()], 347.23, 3):
        k = 2 * np.pi * hz / 347.23
        p = lambda x: np.sin(k * (1.0 - x)) / (x + apex)
        u = lambda x: (-np.cos(k * (1.0 - x)) * k - p(x)) / (x + apex) / k
        share = lambda x: more[0] + (more[1] - more[0]) * (x - start) / (end - start)
        energy = quad(lambda x: np.pi * radius(x) ** 2 * p(x) ** 2, 0, 1, limit=200)[0] + cavity * p(0) ** 2
        work = quad(lambda x: np.pi * (2 * radius(x) * share(x) + share(x) ** 2) * (u(x) ** 2 - p(x) ** 2), start, end)[0]
        told.append(1200 / np.log(2) * work / (2 * energy))
    return told


ZONES = [(0.0, 0.02, (1e-4, 1e-4)), (0.04, 0.06, (1e-4, 1e-4)), (0.08, 0.1, (1e-4, 1e-4)), (0.12, 0.14, (1e-4, 1e-4)), (0.16, 0.18, (1e-4, 1e-4)), (0.0, 0.2, (1e-4, 0.0))]


def zones():
    rounded = lambda values: [round(value, 3) for value in values]
    return [{"from_mm": a * 1e3, "to_mm": b * 1e3, "more_mm": [m * 1e3 for m in more], "rigid": rounded(changed([(a, b, more)], 0.0)), "cavity": rounded(changed([(a, b, more)], MISSING_A))} for a, b, more in ZONES]


def wider_cylinder():
    """2 % more area on the first tenth of a cylinder of 8 mm radius and 1 m."""
    plain = [lambda k: cylinder(k, 1.0, 8e-3)]
    wider = [lambda k: cylinder(k, 0.1, 8e-3 * np.sqrt(1.02)), lambda k: cylinder(k, 0.9, 8e-3)]
    return [round(cent, 3) for cent in cents(resonances(plain, 347.23, 3), resonances(wider, 347.23, 3))]


# bends


def inertia_of_bend(kappa: float) -> float:
    """Flow that falls as one over the distance from the bend's axis (J. W. Coltman, "Acoustical properties of bends", 2006): area
    over the integral of it, by quadrature over the disc."""
    return np.pi * kappa**2 / quad(lambda y: 2 * np.sqrt(kappa**2 - y**2) / (1 + y), -kappa, kappa)[0]


def bends():
    radius = lambda x: CONE_A["entry"] + CONE_A["slope"] * x
    told = {"q": [{"kappa": kappa, "q": round(inertia_of_bend(kappa), 5)} for kappa in (0.1, 0.15, 0.2, 0.3, 0.5)], "shifts": []}

    def bent(bend_m):
        # cylinders whose inertia is less: as wide, and with waves that run faster by 1/√q
        def chain(k):
            whole = np.eye(2)
            count = 600
            for i in range(count):
                a, b = 0.04 + 0.12 * i / count, 0.04 + 0.12 * (i + 1) / count
                piece = frustum(k, b - a, radius(a), radius(b))
                q = inertia_closed(radius((a + b) / 2) / bend_m)
                # short enough for its inertia and its compliance to be told apart
                piece[0, 1] *= q
                whole = whole @ piece
            return whole

        return [lambda k: frustum(k, 0.04, radius(0), radius(0.04)), chain, lambda k: frustum(k, 0.84, radius(0.16), radius(1.0))]

    for bend_mm in (60.0, 45.0):
        row = {"radius_mm": bend_mm}
        for name, volume in (("rigid", 0.0), ("cavity", MISSING_A)):
            chamber = [lambda k, volume=volume: beside(k, volume)]
            before = resonances([*chamber, cone_a()], 347.23, 4)
            after = resonances_near([*chamber, *bent(bend_mm * 1e-3)], 347.23, before)
            row[name] = [round(cent, 3) for cent in cents(before, after)]
        told["shifts"].append(row)
    return told


def inertia_closed(kappa):
    return (1 + np.sqrt(1 - kappa**2)) / 2


def resonances_near(chain, speed, near):
    """The same beside known ones, without looking over the whole range."""

    def flow(hz):
        state = np.array([0.0, 1.0])
        for piece in reversed(chain):
            state = piece(2 * np.pi * hz / speed) @ state
        return state[1]

    return [brentq(flow, hz - 3, hz + 3, xtol=1e-9) for hz in near]


# holes


def full_cone_hole():
    """A hole half way down a full cone of 0.6 m, half-angle 1.6°: b²/te = −(τ²L/2) kL cot(kL/2), after A. H. Benade, "Register hole
    design for cone woodwinds" (Acoust. Soc. Am., 1973)."""
    tau, length = CONE_A["slope"], 0.6
    told = []
    for reach_mm in (0.1, 0.2, 0.38074, 0.5):
        f = lambda x: -(tau**2) * length / 2 * x / np.tan(x / 2) - reach_mm * 1e-3
        told.append({"reach_mm": reach_mm, "ratio": round(brentq(f, np.pi, 1.99 * np.pi) / np.pi, 5)})
    return told


def vents_on_cone_a():
    radius = lambda x: CONE_A["entry"] + CONE_A["slope"] * x
    chamber = lambda k: beside(k, MISSING_A)
    before = resonances([chamber, cone_a()], 347.23, 2)
    # the pressure of the second, sin k(1 − x)/x, has its node half a wave from the end
    node = 1.0 - 347.23 / before[1] / 2
    told = []
    for off in (-100.0, -50.0, 0.0, 50.0, 100.0):
        x = round(node * 1e3, 2) * 1e-3 + off * 1e-3
        chain = [chamber, lambda k: frustum(k, x, radius(0), radius(x)), lambda k: hole(k, 1e-3 / 3), lambda k: frustum(k, 1 - x, radius(x), radius(1.0))]
        first, second = cents(before, resonances([*chain], 347.23, 2))
        told.append({"off_mm": off, "first": round(first, 1), "second": round(second, 2)})
    return {"node_mm": round(node * 1e3, 2), "rows": told}


def passing(bore: float, radius: float, length: float, shut: bool) -> float:
    """P. Dickens, thesis, University of New South Wales (2007), equation 4.12, no finger; tanh for coth where it is open."""
    share = radius / bore
    tanh = np.tanh(1.84 * length / radius)
    return -radius * share**2 / (1.78 * (1 / tanh if shut else tanh) + 0.940 + 0.540 * share + 0.285 * share**2)


def passings():
    rows = [(10.0, 5.0, 2.0, True), (10.0, 5.0, 2.0, False), (8.0, 1.25, 5.0, True)]
    return [{"bore_mm": a, "radius_mm": b, "length_mm": t, "shut": shut, "passing_mm": round(passing(a, b, t, shut), 4)} for a, b, t, shut in rows]


def cylinder_for_the_tip():
    """G. P. Scavone, Int. Comp. Music Conf. 2002: a cylinder of the missing cone's volume before a cone; cents of modes 2 to 4 beside
    multiples of the first, and those of the bare cone."""
    told = []
    for beta in (0.1, 0.2, 0.3):
        apex = beta / (1 - beta)
        frusta = lambda k: frustum(k, 1.0, 0.01, 0.01 / beta)
        tube = lambda k: cylinder(k, apex / 3, 0.01)
        row = {"beta": beta}
        for name, chain in (("with", [tube, frusta]), ("bare", [frusta])):
            found = resonances(chain, 345.0, 4)
            row[name] = [round(1200 * np.log2(found[n] / (found[0] * (n + 1))), 2) for n in (1, 2, 3)]
        told.append(row)
    return told


# what disturbs the area


def step(share: float, modes: int = 1200) -> float:
    """Length over area that a sharp step adds, times the narrow radius: still flow, as a sum over the modes of both ducts, matched
    over the opening (F. C. Karal, J. Acoust. Soc. Am. 25 (1953) 327). The wide duct has radius 1."""
    zeros = jn_zeros(1, modes)
    inner = zeros[: max(1, int(modes * share))]
    across, along = inner / share, zeros
    meet = share * along[:, None] * j1(along * share)[:, None] / (along[:, None] ** 2 - across[None, :] ** 2) / j0(along)[:, None]
    plain = share * j1(along * share) / along / j0(along)
    weights = 2 / along
    left = np.diag(share**3 / inner / 2) + meet.T @ (weights[:, None] * meet)
    flow = np.linalg.solve(left, -meet.T @ (weights * plain))
    outer = 2 * (plain + meet @ flow)
    return float(np.sum(outer / along * plain) / (share**2 / 2) / (np.pi * share))


def steps():
    return [{"share": share, "line": round(step(share), 4)} for share in (0.05, 0.3, 0.5, 0.7, 0.85, 0.95)]


def added_mass(ratio: float) -> float:
    """H. Lamb, *Hydrodynamics*, section 114: α₀ = abc ∫ dλ / ((a²+λ) Δ) for a flow along one of the two equal axes, 1 and `ratio`."""
    share = quad(lambda x: ratio / ((1 + x) ** 2 * np.sqrt(ratio**2 + x)), 0, np.inf)[0]
    return share / (2 - share)


def added_masses():
    return [{"ratio": ratio, "share": round(added_mass(ratio), 5)} for ratio in (0.05, 0.311, 0.7, 1.0, 1.6, 5.0)]


def intrusion(bore: float, outer: float, reach: float) -> tuple[float, float]:
    """Area at its axis and volume of a round, flat-ended rod that stands in a bore: by quadrature over its round section of the
    depth of the wall's arc under its end."""
    depth = lambda y: max(0.0, np.sqrt(max(0.0, bore**2 - y**2)) - (bore - reach))
    edge = min(outer, np.sqrt(bore**2 - (bore - reach) ** 2))
    area = quad(depth, -edge, edge, limit=200)[0]
    volume = dblquad(lambda x, y: depth(y), -edge, edge, lambda y: -np.sqrt(outer**2 - y**2), lambda y: np.sqrt(outer**2 - y**2), epsabs=1e-9)[0]
    return area, volume


def intrusions():
    told = []
    for bore, outer, reach in [(8.0, 2.25, 0.7), (8.0, 2.25, 0.2), (6.0, 3.5, 1.5)]:
        area, volume = intrusion(bore, outer, reach)
        told.append({"bore_mm": bore, "outer_mm": outer, "reach_mm": reach, "area_mm2": round(area, 4), "volume_mm3": round(volume, 4)})
    return told


TABLES = {
    "speed_of_sound": speeds,
    "lines": lines,
    "ends": ends,
    "roots": roots,
    "cones": cones,
    "lossy": lossy_rows,
    "heights": heights,
    "zones": zones,
    "wider_cylinder": wider_cylinder,
    "bends": bends,
    "full_cone_hole": full_cone_hole,
    "vents": vents_on_cone_a,
    "passings": passings,
    "cylinder_for_the_tip": cylinder_for_the_tip,
    "steps": steps,
    "added_masses": added_masses,
    "intrusions": intrusions,
}


def main() -> None:
    told = {name: work() for name, work in TABLES.items()}
    FILE.parent.mkdir(exist_ok=True)
    lines = ",\n".join(f'  "{name}": {json.dumps(rows)}' for name, rows in told.items())
    FILE.write_text("{\n" + lines + "\n}\n")


if __name__ == "__main__":
    main()
