"""The maker's numbers, judged from outside: the loaded neck by another integration and by frame elements."""

from __future__ import annotations

import json
import math
import subprocess
from functools import lru_cache
from pathlib import Path

import fitz
import numpy as np
import pytest
from exports import ROOT
from scipy.integrate import solve_ivp
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

JOBS = ROOT / "examples" / "jobs"
# Of copper alloys, as the core's own table says; G = E / 2 (1 + nu).
POISSON = 0.34
# Young's modulus of C26000: 110 to 112 GPa (data sheets); of the brace the same metal.
MODULUS = {"C26000": 111_000.0}


def run(job: Path, out: Path, card: dict | None = None) -> dict:
    command = ["cargo", "run", "--release", "--quiet", "--example", "job_card", "--", str(job), str(out)]
    if card is not None:
        file = out.parent / f"{out.name}_card_file.json"
        file.write_text(json.dumps(card))
        command += ["--card", str(file)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return json.loads((out / "card.json").read_text())


@pytest.fixture(scope="module")
def card(tmp_path_factory):
    """The card of a job, made once."""

    @lru_cache(maxsize=None)
    def make(name: str) -> dict:
        return run(JOBS / f"{name}.json", tmp_path_factory.mktemp("card") / name)

    return make


class Neck:
    """Centreline, radii and curvature from the job file alone."""

    def __init__(self, job: dict):
        self.pieces = []
        start, heading, at = np.zeros(2), 0.0, 0.0
        for piece in job["centreline"]["pieces"]:
            if "straight_mm" in piece:
                length, curve = piece["straight_mm"], 0.0
            else:
                bend = math.radians(piece["bend_deg"])
                length = abs(bend) * piece["radius_mm"]
                curve = math.copysign(1 / piece["radius_mm"], bend)
            self.pieces.append((at, length, start, heading, curve))
            start, heading = self._within(self.pieces[-1], length)
            at += length
        self.length = at
        self.entry = job["bore"]["entry_diameter_mm"] / 2
        self.slope = math.tan(math.radians(job["bore"]["half_angle_deg"]))
        self.wall = job["tube"]["wall_mm"]
        tenon = job["tenon"]
        self.held = at - tenon["length_mm"] - tenon["collar_length_mm"]

    @staticmethod
    def _within(piece, s):
        _, _, start, heading, curve = piece
        turned = heading + curve * s
        if curve == 0:
            return start + s * np.array([math.cos(heading), -math.sin(heading)]), turned
        # The tangent is (cos, -sin) of the heading, which grows as the neck turns down.
        step = np.array([math.sin(turned) - math.sin(heading), math.cos(turned) - math.cos(heading)]) / curve
        return start + step, turned

    def at(self, s):
        piece = [p for p in self.pieces if p[0] <= s + 1e-12][-1]
        place, heading = self._within(piece, s - piece[0])
        tangent = np.array([math.cos(heading), 0.0, -math.sin(heading)])
        up = np.array([math.sin(heading), 0.0, math.cos(heading)])
        return np.array([place[0], 0.0, place[1]]), tangent, up, piece[4]

    def joins(self):
        return [p[0] for p in self.pieces] + [self.length]


def section(neck: Neck, s: float, modulus: float, brace: dict | None, gap: float):
    """Stiffness of a section: (EA, EI about y, EI about up, GJ, GA, drop of its middle, own EI about y)."""
    inner = neck.entry + neck.slope * s
    outer, mean = inner + neck.wall, inner + neck.wall / 2
    area = math.pi * (outer**2 - inner**2)
    second = math.pi / 4 * (outer**4 - inner**4)
    curve = abs(neck.at(s)[3])
    k = max(1.0, 1.65 * mean**2 * curve / neck.wall) if curve else 1.0
    shear = modulus / 2 / (1 + POISSON)
    ea, ey, eu = modulus * area, modulus * second / k, modulus * second / k
    middle = 0.0
    if brace and brace["from_station_mm"] <= s <= brace["to_station_mm"]:
        width, thick = brace["width_mm"], brace["thickness_mm"]
        other = MODULUS[brace["metal"]] * width * thick
        drop = outer + gap + thick / 2
        # Inside of the bend the strip is shorter than the centreline.
        other /= 1 - drop * neck.at(s)[3]
        middle = other * drop / (ea + other)
        ey += ea * middle**2 + other * (drop - middle) ** 2 + other * thick**2 / 12
        eu += other * width**2 / 12
        ea += other
    return ea, ey, eu, shear * 2 * second, shear * area / 2, middle


def moved(neck: Neck, force: np.ndarray, beyond: float, modulus: float, brace: dict | None, gap: float) -> np.ndarray:
    """Integrates turn and way of the sections from where the neck is held to the cork end, and on along the stiff mouthpiece:
    an initial value problem, with no virtual work in it."""
    centre, tangent, *_ = neck.at(0.0)
    point = centre - beyond * tangent

    def slopes(s, state):
        place, along, up, _ = neck.at(s)
        ea, ey, eu, gj, ga, middle = section(neck, s, modulus, brace, gap)
        side = np.array([0.0, 1.0, 0.0])
        moment = np.cross(point - (place - middle * up), force)
        turn = moment @ along / gj * along + moment @ side / ey * side + moment @ up / eu * up
        pull = -(force @ along) / ea
        sheared = (force @ up) / ga * up + (force @ side) / ga * side
        # From the held end towards the cork: against the run of the station.
        # The tube's own middle lies `middle` above the section's, and goes with its turn.
        way = np.cross(state[3:], -along) + sheared - pull * along + np.cross(turn, middle * up)
        return np.concatenate([-way, -turn])

    stops = {0.0, neck.held, *(j for j in neck.joins() if 0 < j < neck.held)}
    if brace:
        stops |= {brace["from_station_mm"], brace["to_station_mm"]}
    stops = sorted(stops, reverse=True)
    state = np.zeros(6)
    for a, b in zip(stops, stops[1:]):
        # A hair inside of each stretch, so that a stop belongs to one law.
        done = solve_ivp(slopes, (a - 1e-9, b + 1e-9), state, rtol=1e-9, atol=1e-12)
        state = done.y[:, -1]
    return state[:3] + np.cross(state[3:], point - centre)


def element(length, ea, ey, eu, gj, ga_up, ga_side):
    """Timoshenko beam element (Przemieniecki): x along, y to the side (+Y), z square to both."""
    k = np.zeros((12, 12))
    for dof, value in ((0, ea / length), (3, gj / length)):
        k[dof, dof] = k[dof + 6, dof + 6] = value
        k[dof, dof + 6] = k[dof + 6, dof] = -value
    # Shifts to the side bend it about z, shifts along z about y.
    for shift, turn, sign, ei, ga in ((1, 5, 1, eu, ga_side), (2, 4, -1, ey, ga_up)):
        phi = 12 * ei / (ga * length**2)
        c = ei / (1 + phi) / length**3
        d = [shift, turn, shift + 6, turn + 6]
        a, b, e = 6 * length * sign, (4 + phi) * length**2, (2 - phi) * length**2
        k[np.ix_(d, d)] += c * np.array([[12, a, -12, a], [a, b, -a, e], [-12, -a, 12, -a], [a, e, -a, b]])
    return k


def carried(d):
    """Way and turn of a point at `d` from a node that it is rigidly tied to."""
    t = np.eye(6)
    t[:3, 3:] = -np.array([[0, -d[2], d[1]], [d[2], 0, -d[0]], [-d[1], d[0], 0]])
    return t


def frame(neck: Neck, force: np.ndarray, beyond: float, modulus: float, brace: dict | None, gap: float, step: float = 0.5) -> np.ndarray:
    """Straight three-dimensional frame elements: a row for the tube and a row of its own for the strip, rigidly tied to the
    tube's nodes where it is soldered on and free between its feet."""
    spanned = None
    stops = {0.0, neck.held, *(j for j in neck.joins() if 0 < j < neck.held)}
    if brace:
        ends = [brace["from_station_mm"], brace["to_station_mm"]]
        if brace["form"] == "bridge":
            spanned = [ends[0] + brace["foot_length_mm"], ends[1] - brace["foot_length_mm"]]
        stops |= {*ends, *(spanned or [])}
    stops = sorted(stops)
    cuts = [stops[0]]
    for a, b in zip(stops, stops[1:]):
        cuts += list(np.linspace(a, b, max(1, math.ceil((b - a) / step)) + 1)[1:])
    at = [neck.at(s) for s in cuts]
    elements = []
    for i, (a, b) in enumerate(zip(cuts, cuts[1:])):
        ea, ey, eu, gj, ga, _ = section(neck, (a + b) / 2, modulus, None, gap)
        elements.append((i, i + 1, [np.zeros(3), np.zeros(3)], (ea, ey, eu, gj, ga, ga)))
    places = [p[0] for p in at]
    if brace:
        first, last = (next(i for i, s in enumerate(cuts) if abs(s - end) < 1e-9) for end in ends)
        width, thick, other = brace["width_mm"], brace["thickness_mm"], MODULUS[brace["metal"]]
        shear = other / 2 / (1 + POISSON)
        free = (
            other * width * thick,
            other * width * thick**3 / 12,
            other * thick * width**3 / 12,
            shear * width * thick**3 / 3 * (1 - 0.63 * thick / width),
            *[shear * width * thick / 1.2] * 2,
        )
        # Where the strip is soldered on, the core gives all twist to the tube.
        tied = (*free[:3], 1e-3, *free[4:])

        def below(i, height):
            return -(neck.entry + neck.slope * cuts[i] + neck.wall + height + thick / 2) * at[i][2]

        def off(i):
            return spanned and spanned[0] + 1e-9 < cuts[i] < spanned[1] - 1e-9

        loose = {}
        for i in range(first, last):
            pair, on = [], not (spanned and spanned[0] < (cuts[i] + cuts[i + 1]) / 2 < spanned[1])
            for j in (i, i + 1):
                if off(j):
                    if j not in loose:
                        places.append(places[j] + below(j, brace["bridge_height_mm"]))
                        loose[j] = len(places) - 1
                    pair.append((loose[j], np.zeros(3)))
                else:
                    pair.append((j, below(j, gap if on else brace["bridge_height_mm"])))
            elements.append((pair[0][0], pair[1][0], [pair[0][1], pair[1][1]], tied if on else free))
    size = 6 * len(places)
    rows, columns, values = [], [], []
    for i, j, ties, stiff in elements:
        p, q = places[i] + ties[0], places[j] + ties[1]
        length = np.linalg.norm(q - p)
        x, y = (q - p) / length, np.array([0.0, 1.0, 0.0])
        turned = np.kron(np.eye(4), np.array([x, y, np.cross(x, y)]))
        rigid = np.zeros((12, 12))
        rigid[:6, :6], rigid[6:, 6:] = carried(ties[0]), carried(ties[1])
        k = rigid.T @ turned.T @ element(length, *stiff) @ turned @ rigid
        dofs = [*range(6 * i, 6 * i + 6), *range(6 * j, 6 * j + 6)]
        rows += np.repeat(dofs, 12).tolist()
        columns += dofs * 12
        values += k.ravel().tolist()
    stiffness = coo_matrix((values, (rows, columns)), shape=(size, size)).tocsc()
    load = np.zeros(size)
    arm = -beyond * neck.at(0.0)[1]
    load[:3], load[3:6] = force, np.cross(arm, force)
    held = 6 * (len(cuts) - 1)
    free = [d for d in range(size) if not held <= d < held + 6]
    way = spsolve(stiffness[free, :][:, free], load[free])
    return way[:3] + np.cross(way[3:6], arm)


# A pull of one newton each way is as good as any: the beam is linear.
@pytest.mark.parametrize("name", ["alto", "tenor"])
@pytest.mark.parametrize(("index", "way"), [(0, np.array([0.0, 0.0, -1.0])), (1, np.array([0.0, 1.0, 0.0]))])
def test_a_loaded_neck_moves_as_another_integration_says(card, name, index, way):
    job = json.loads((JOBS / f"{name}.json").read_text())
    neck, found = Neck(job), card(name)["pull_down"]["directions"][index]
    modulus = MODULUS[job["tube"]["metal"]]
    force = way * found["load"]["value"]
    bare = moved(neck, force, 40.0, modulus, None, 0.0) @ way
    assert found["moved_without_brace"]["value"] == pytest.approx(bare, rel=1e-4)
    assert frame(neck, force, 40.0, modulus, None, 0.0) @ way == pytest.approx(bare, rel=1e-3)
    gap = job["limits"]["joint_gap_mm"]
    row = next(row for row in found["metals"] if row["of_job"])
    braced = frame(neck, force, 40.0, modulus, job["brace"], gap) @ way
    # The core gives shear and twist to the tube alone where the strip is soldered on; the frame lets the strip share them.
    assert row["moved"]["value"] == pytest.approx(braced, rel=2e-2)
    assert row["moved"]["value"] > 0.998 * braced
    assert braced < 0.995 * bare
    if job["brace"]["form"] == "contact":
        assert row["moved"]["value"] == pytest.approx(moved(neck, force, 40.0, modulus, job["brace"], gap) @ way, rel=1e-4)


def test_stress_of_the_bare_alto_is_moment_over_section(card):
    """Down: tube stress = i M r / I + N / A at each station, i of B31.3, the greatest of them."""
    job = json.loads((JOBS / "alto.json").read_text())
    neck, found = Neck(job), card("alto")["pull_down"]["directions"][0]
    force = np.array([0.0, 0.0, -found["load"]["value"]])
    point = np.array([-40.0, 0.0, 0.0])
    greatest = 0.0
    for s in np.linspace(1e-6, neck.held - 1e-6, 4001):
        place, along, _, curve = neck.at(s)
        inner = neck.entry + neck.slope * s
        outer, mean = inner + neck.wall, inner + neck.wall / 2
        factor = max(1.0, 0.9 / (neck.wall / abs(curve) / mean**2) ** (2 / 3)) if curve else 1.0
        moment = abs(np.cross(point - place, force)[1])
        second = math.pi / 4 * (outer**4 - inner**4)
        stress = factor * moment * outer / second + abs(force @ along) / (math.pi * (outer**2 - inner**2))
        greatest = max(greatest, stress)
    assert found["stress_without_brace"]["value"] == pytest.approx(greatest, rel=2e-3)


def test_the_card_is_read_as_text_and_its_bar_is_a_hundred_millimetres(tmp_path):
    card = run(JOBS / "alto.json", tmp_path / "out")
    with fitz.open(tmp_path / "out" / "card.pdf") as pdf:
        text = " ".join(" ".join(page.get_text() for page in pdf).split())
        for word in ("DEMO-001", "A-0001", "STARTING VALUES", "24.510 ±0.510 mm", "BAg-7", "Order of work", "Tight rows"):
            assert word in text, word
        for step in card["steps"]:
            assert step["title"] in text, step["title"]
            for caution in step["cautions"]:
                assert caution in text, caution
        # Nothing stands off the paper.
        for page in pdf:
            for block in page.get_text("blocks"):
                assert page.rect.contains(fitz.Rect(block[:4])), block
        lines = [item for drawing in pdf[0].get_drawings() for item in drawing["items"] if item[0] == "l"]
        lengths = [abs(p.x - q.x) * 25.4 / 72 for _, p, q in lines if abs(p.y - q.y) < 1e-3]
        assert any(length == pytest.approx(100, abs=0.01) for length in lengths)
    with fitz.open(tmp_path / "out" / "measuring_sheet.pdf") as pdf:
        assert len(pdf) == 1 and "Receiver, inside" in pdf[0].get_text()


@pytest.mark.parametrize("name", ["alto", "tenor"])
@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_the_card_is_three_sheets_that_can_be_read_and_its_drawing_is_dimensioned(tmp_path, name, paper, size):
    card = run(JOBS / f"{name}.json", tmp_path / "out", {"paper": paper})
    job = json.loads((JOBS / f"{name}.json").read_text())
    with fitz.open(tmp_path / "out" / "card.pdf") as pdf:
        assert len(pdf) == 3
        told = ""
        for page in pdf:
            assert (page.rect.width * 25.4 / 72, page.rect.height * 25.4 / 72) == pytest.approx(size, abs=0.01)
            spans = [span for block in page.get_text("dict")["blocks"] for line in block.get("lines", []) for span in line["spans"]]
            assert min(span["size"] for span in spans) >= 7.5
            assert all(page.rect.contains(fitz.Rect(span["bbox"])) for span in spans)
            told += " " + " ".join(page.get_text().split())
        # A caution stands with its step however often it was said before.
        for caution in {caution for step in card["steps"] for caution in step["cautions"]}:
            assert told.count(caution) == sum(step["cautions"].count(caution) for step in card["steps"]), caution
        drawn = " ".join(pdf[0].get_text().split())
        for what, station in (("cork to", job["cork"]["to_station_mm"]), ("vent", job["vent"]["station_mm"]), ("brace from", job["brace"]["from_station_mm"]), ("brace to", job["brace"]["to_station_mm"]), ("saddle, hinge", job["saddle"]["station_mm"]), ("guide", job["guide"]["station_mm"])):
            assert f"{what} {station:.1f}" in drawn
        # No two words of the drawing lie on each other: it ends where the bar of 100 mm is.
        bar = next(block[1] for block in pdf[0].get_text("blocks") if "100 mm: measure it" in block[4])
        head = next(block[3] for block in pdf[0].get_text("blocks") if "Cut in the plane" in block[4])
        boxes = [(fitz.Rect(word[:4]), word[4]) for word in pdf[0].get_text("words") if head < word[1] and word[3] < bar]
        assert len(boxes) > 30
        for index, (one, word) in enumerate(boxes):
            for other, says in boxes[index + 1 :]:
                both = one & other
                assert both.is_empty or both.width < 1 or both.height < 2.5, (word, says)


def test_what_was_made_is_checked_again_and_kept_for_the_next_time(tmp_path):
    """The record of a neck, given instead of its job, makes the same record again, byte for byte."""
    made = {"measured": [{"path": "vent.station_mm", "measured": 66.4}, {"path": "guide.station_mm", "measured": 151.0}], "tenon_as_fitted_mm": 24.515, "mass_g": 113.0, "play_test": "Even; \u00e0 voir.", "next_time": "Guide 1 mm nearer."}
    file = tmp_path / "made.json"
    file.write_text(json.dumps(made))
    first = tmp_path / "first"
    command = ["cargo", "run", "--release", "--quiet", "--example", "job_card", "--"]
    done = subprocess.run([*command, str(JOBS / "alto.json"), str(first), "--made", str(file)], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    record = json.loads((first / "record.json").read_text())
    off = {row["path"]: row["difference"]["value"] for row in record["differences"]}
    assert off["vent.station_mm"] == pytest.approx(0.4) and off["tenon.outer_diameter_mm"] == pytest.approx(0.015)
    assert record["made"]["play_test"] == made["play_test"]
    assert record["job"] == json.loads((JOBS / "alto.json").read_text())
    assert record["rechecked"] is True and record["tight_rows"]
    again = tmp_path / "again"
    done = subprocess.run([*command, str(first / "record.json"), str(again)], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert (again / "record.json").read_bytes() == (first / "record.json").read_bytes()
    assert (again / "card.json").read_bytes() == (first / "card.json").read_bytes()
    # What cannot be is refused, all of it at once, and nothing is written.
    file.write_text(json.dumps({"measured": [{"path": "vent.sation_mm", "measured": 1}, {"path": "tube.metal", "measured": 2}], "mass_g": -1}))
    bad = tmp_path / "bad"
    done = subprocess.run([*command, str(JOBS / "alto.json"), str(bad), "--made", str(file)], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 2 and not bad.exists()
    assert "vent.sation_mm" in done.stderr and "tube.metal" in done.stderr and "mass_g" in done.stderr


def test_every_number_has_unit_tolerance_and_source(card):
    seen = 0

    def walk(value, path):
        nonlocal seen
        if isinstance(value, dict):
            if "value" in value and "source" in value:
                seen += 1
                assert isinstance(value["unit"], str) and value["source"].strip(), path
                if value["value"] is None:
                    assert value["not_known"].strip(), path
                else:
                    assert math.isfinite(value["value"]), path
                    low, high = value["tolerance"]
                    assert low <= 0 <= high, path
                return
            for key, inner in value.items():
                walk(inner, f"{path}.{key}")
        elif isinstance(value, list):
            for i, inner in enumerate(value):
                walk(inner, f"{path}[{i}]")
        else:
            assert value is None or isinstance(value, (str, bool)), f"{path} is a bare number"

    walk(card("alto"), "")
    assert seen > 500
