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

# Names a folder of exports, one folder in it for each job; without it they are made anew.
VARIABLE = "NECKWRIGHT_EXPORTS"

# Chord error of the STL files that are made here, mm.
CHORD_MM = 0.02

# One job is exported a second time with its key turned open.
TURNED_JOB = "alto"
TURNED_DEG = 1.5


def make(folder: Path) -> None:
    """Exports every job of examples/jobs into a folder of its own."""
    for job in JOBS:
        _export(job, folder / job.stem)
        if job.stem == TURNED_JOB:
            _export(job, folder / f"{job.stem}.turned", "--key-angle-deg", str(TURNED_DEG))


def _export(job: Path, out: Path, *options: str) -> None:
    run = ["cargo", "run", "--release", "--quiet", "--example", "export_job", "--"]
    done = subprocess.run(
        [*run, str(job), str(out), "--chord", str(CHORD_MM), *options], cwd=ROOT, capture_output=True, text=True
    )
    if done.returncode != 0:
        raise RuntimeError(f"{job.name} was not exported:\n{done.stdout}{done.stderr}")


def turned_folder() -> Path:
    """The exports of `TURNED_JOB` with its key turned by `TURNED_DEG`."""
    return Path(os.environ[VARIABLE]) / f"{TURNED_JOB}.turned"


def folder(job: str) -> Path:
    return Path(os.environ[VARIABLE]) / job


def job_names() -> list[str]:
    return [job.stem for job in JOBS]


@lru_cache
def job(name: str) -> dict:
    return json.loads((ROOT / "examples" / "jobs" / f"{name}.json").read_text())


@lru_cache
def summary(name: str) -> dict[str, dict]:
    """Rows of summary.json by part id."""
    return {row["id"]: row for row in json.loads((folder(name) / "summary.json").read_text())["parts"]}


@lru_cache
def clearances(name: str) -> list[dict]:
    return json.loads((folder(name) / "clearances.json").read_text())["pairs"]


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


def step_file(name: str, part: str) -> Path:
    """STEP file of a part, half or keep-out."""
    own = folder(name) / "parts" / f"{part}.step"
    return own if own.exists() else folder(name) / "keepouts" / f"{part}.step"


def step_files(name: str) -> list[ExportedFile]:
    """Every part and half, then every keep-out."""
    return [ExportedFile(name, path) for room in ("parts", "keepouts") for path in sorted((folder(name) / room).glob("*.step"))]


def stl_files(name: str) -> list[ExportedFile]:
    return [ExportedFile(name, path) for path in sorted((folder(name) / "parts").glob("*.stl"))]
