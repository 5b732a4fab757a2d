"""Where the exports lie, and how they are made: the contract's folders of `export_job`."""

from __future__ import annotations

import json
import os
import subprocess
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
JOBS = sorted((ROOT / "examples" / "jobs").glob("*.json"))

# Names a folder that `make` has filled; without it one is made anew.
VARIABLE = "NECKWRIGHT_EXPORTS"

# Chord error of the STL files that are made here, mm.
CHORD_MM = 0.02

# One job is exported with its key turned open by an angle of no row of its list.
TURNED_JOB = "alto"
TURNED_DEG = 1.5

# The key pressed past closed, degrees: the pad goes a little into the vent, which gives every job a shallow overlap.
PRESSED_DEG = -0.3


def make(folder: Path, jobs: list[Path] = JOBS) -> None:
    """Exports jobs, each into a folder of its own with the key closed, and once more with the key turned for every
    position of it that is measured; the list at that one angle stands beside these files as `at.json`."""
    for job in jobs:
        closed = folder / job.stem
        _export(job, closed, "--chord", str(CHORD_MM))
        (closed / "job.json").write_text(job.read_text())
        for angle in measured_angles(json.loads((closed / "clearances.json").read_text())["pairs"]):
            out = _turned(folder, job.stem, angle)
            _export(job, out, "--chord", str(CHORD_MM), "--key-angle-deg", str(angle))
            (out / "at.json").write_text(_check(job, "--key-angle-deg", str(angle)))
        if job.stem == TURNED_JOB:
            _export(job, folder / f"{job.stem}.turned", "--key-angle-deg", str(TURNED_DEG))


def measured_angles(rows: list[dict]) -> list[float]:
    """Turns of the key, closed apart: half open, open, wherever the swing comes near, and pressed."""
    swing = {row["key_angle_deg"] for row in rows if row["pose"] == "swing" and not row.get("at_least", False)}
    opened = open_angle(rows)
    return sorted({PRESSED_DEG, opened / 2, opened, *swing} - {0.0})


def open_angle(rows: list[dict]) -> float:
    """Turn of the key from closed to open, degrees."""
    return next(row["key_angle_deg"] for row in rows if row["pose"] == "open")


def send_out(job: Path, out: Path, *options: str) -> subprocess.CompletedProcess[str]:
    """Packs what leaves the shop, whatever comes of it."""
    run = ["cargo", "run", "--release", "--quiet", "--example", "send_out", "--", str(job), str(out), *options]
    return subprocess.run(run, cwd=ROOT, capture_output=True, text=True)


def _run(example: str, job: Path, *options: str, fine: tuple[int, ...] = (0,)) -> str:
    run = ["cargo", "run", "--release", "--quiet", "--example", example, "--", str(job), *options]
    done = subprocess.run(run, cwd=ROOT, capture_output=True, text=True)
    if done.returncode not in fine:
        raise RuntimeError(f"{example} ended with {done.returncode} for {job.name}:\n{done.stdout}{done.stderr}")
    return done.stdout


def _export(job: Path, out: Path, *options: str) -> None:
    _run("export_job", job, str(out), *options)


def _check(job: Path, *options: str) -> str:
    """The list as JSON, whether or not all is within limits."""
    return _run("check_job", job, "--json", *options, fine=(0, 1))


def turned_folder() -> Path:
    """The exports of `TURNED_JOB` with its key turned by `TURNED_DEG`."""
    return Path(os.environ[VARIABLE]) / f"{TURNED_JOB}.turned"


def folder(job: str) -> Path:
    return Path(os.environ[VARIABLE]) / job


def _turned(root: Path, job: str, key_angle_deg: float) -> Path:
    return root / f"{job}.key{key_angle_deg}"


def job_names() -> list[str]:
    return [job.stem for job in JOBS]


@lru_cache
def job(name: str) -> dict:
    return json.loads((folder(name) / "job.json").read_text())


@lru_cache
def summary(name: str) -> dict[str, dict]:
    """Rows of summary.json by part id."""
    return {row["id"]: row for row in json.loads((folder(name) / "summary.json").read_text())["parts"]}


@lru_cache
def clearances(name: str) -> list[dict]:
    return json.loads((folder(name) / "clearances.json").read_text())["pairs"]


@lru_cache
def clearances_at(name: str, key_angle_deg: float) -> list[dict]:
    """Rows of the list at one of the measured angles."""
    return json.loads((_turned(Path(os.environ[VARIABLE]), name, key_angle_deg) / "at.json").read_text())["pairs"]


@lru_cache
def neck_turned(name: str) -> list[dict]:
    """Rows of the turned neck."""
    return json.loads((folder(name) / "clearances.json").read_text())["neck_turned"]["pairs"]


@dataclass(frozen=True)
class ExportedFile:
    """A file of one part, half or keep-out."""

    job: str
    path: Path

    @property
    def part(self) -> str:
        return self.path.stem

    @property
    def row(self) -> dict | None:
        """Its row of summary.json, which holds parts only."""
        return summary(self.job).get(self.part)


def step_file(name: str, part: str, key_angle_deg: float = 0.0) -> Path | None:
    """STEP file of a part, half or keep-out as exported with the key turned; none where the angle is not a measured one."""
    root = _turned(Path(os.environ[VARIABLE]), name, key_angle_deg) if key_angle_deg else folder(name)
    if not root.is_dir():
        return None
    own = root / "parts" / f"{part}.step"
    return own if own.exists() else root / "keepouts" / f"{part}.step"


def step_files(name: str) -> list[ExportedFile]:
    """Every part and half, then every keep-out."""
    return [ExportedFile(name, path) for room in ("parts", "keepouts") for path in sorted((folder(name) / room).glob("*.step"))]


def stl_files(name: str) -> list[ExportedFile]:
    return [ExportedFile(name, path) for path in sorted((folder(name) / "parts").glob("*.stl"))]
