"""Holds every pair of every job against the kernel: `python tests/occt/matrix.py [JOB...]`.

JOB is the name of an example or the path of a job file; without one all examples are measured. The key stands closed, half
open and open, in files exported so and not turned here. Our gaps may differ by 0.005 mm, by the rules of pairs.py; overlaps
must have metal in common and clear pairs none. Prints a line for each job and pose, every disagreement, and last the worst
of all. Exit 1 on any disagreement.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import exports
import pairs

COLUMNS = "{:<14} {:<7} {:>6} {:>6} {:>7} {:>9} {:>7} {:>11} {:>12} {:>8}"


@dataclass
class Tally:
    """One line of the table."""

    job: str
    pose: str
    rows: int = 0
    exact: int = 0
    bounds: int = 0
    by_box: int = 0
    overlaps: int = 0
    second_half: int = 0
    worst: float = 0.0
    worst_pair: str = ""
    seconds: float = 0.0
    faults: list[str] = field(default_factory=list)

    def add(self, row: dict, verdict: pairs.Verdict) -> None:
        bound = row.get("at_least", False)
        self.rows += 1
        self.bounds += bound
        self.exact += not bound
        self.by_box += verdict.by_box
        self.overlaps += row["state"] == "overlapping"
        self.second_half += verdict.second_half
        if verdict.disagreement > self.worst:
            self.worst, self.worst_pair = verdict.disagreement, f"{row['a']} to {row['b']}"
        self.faults += [f"{self.job}, key {self.pose}, {row['a']} to {row['b']}: {fault}" for fault in verdict.faults]

    def line(self) -> str:
        numbers = (self.rows, self.exact, self.bounds, self.by_box, self.overlaps, self.second_half)
        return COLUMNS.format(self.job, self.pose, *numbers, f"{self.worst:.6f}", f"{self.seconds:.0f}") + f"  {self.worst_pair}"


def same_files(job: str, row: dict, angle: float) -> bool:
    """Whether turning the key changed neither file of a pair."""
    files = ((exports.step_file(job, row[side]), exports.step_file(job, row[side], angle)) for side in "ab")
    return all(closed.read_bytes() == turned.read_bytes() for closed, turned in files)


def measured(job: str) -> list[Tally]:
    """The job's lines: one for each position of the key."""
    listed = exports.clearances(job)
    opened = exports.open_angle(listed)
    static = [row for row in listed if row["pose"] == "static"]
    moved = {
        "closed": [row for row in listed if row["pose"] == "closed"],
        "half": [row for row in exports.clearances_at(job, opened / 2) if row["pose"] == "at"],
        "open": [row for row in listed if row["pose"] == "open"],
    }
    # two bodies that the turn leaves where they are need not be measured again
    still: dict[tuple[str, str], pairs.Verdict] = {}
    tallies = []
    for pose, angle in (("closed", 0.0), ("half", opened / 2), ("open", opened)):
        tally, start = Tally(job, pose), time.monotonic()
        for row in static:
            key = (row["a"], row["b"])
            if angle == 0.0 or not same_files(job, row, angle):
                a, b = (pairs.solid(job, body, angle) for body in key)
                closed = tuple(pairs.solid(job, body) for body in key)
                still[key] = pairs.judge(row, a, b, points_in=closed)
            tally.add(row, still[key])
        for row in moved[pose]:
            tally.add(row, pairs.judge(row, *pairs.pair(job, row)))
        # a part that only seems to turn would be missed by rows that were left out
        expected = len(pairs.bodies(job)) * (len(pairs.bodies(job)) - 1) // 2
        if tally.rows != expected:
            tally.faults.append(f"{job}, key {pose}: {tally.rows} pairs are listed instead of {expected}")
        tally.seconds = time.monotonic() - start
        tallies.append(tally)
    return tallies


def jobs_named(words: list[str]) -> list[Path]:
    examples = {job.stem: job for job in exports.JOBS}
    found = [examples.get(word, Path(word)) for word in words] or list(examples.values())
    missing = [str(job) for job in found if not job.is_file()]
    if missing:
        sys.exit(f"there is no job {', '.join(missing)}; the examples are {', '.join(examples)}")
    return [job.resolve() for job in found]


def print_matrix(jobs: list[Path]) -> int:
    """Number of disagreements."""
    print(COLUMNS.format("job", "key", "pairs", "exact", "bounds", "by boxes", "overlap", "second half", "worst mm", "seconds"))
    tallies: list[Tally] = []
    with ProcessPoolExecutor(os.process_cpu_count() if hasattr(os, "process_cpu_count") else os.cpu_count()) as pool:
        for lines in pool.map(measured, [job.stem for job in jobs]):
            tallies += lines
            for tally in lines:
                print(tally.line(), flush=True)
    faults = [fault for tally in tallies for fault in tally.faults]
    for fault in faults:
        print(fault)
    worst = max(tallies, key=lambda tally: tally.worst)
    total = sum(tally.rows for tally in tallies)
    second = sum(tally.second_half for tally in tallies)
    place = f"{worst.worst_pair}, {worst.job}, key {worst.pose}" if worst.worst_pair else "nowhere"
    print(f"worst of {total}: {worst.worst:.6f} mm, {place}; {second} by the second half; {len(faults)} disagreements")
    return len(faults)


def main() -> int:
    jobs = jobs_named(sys.argv[1:])
    with tempfile.TemporaryDirectory(prefix="neckwright-matrix-") as folder:
        os.environ[exports.VARIABLE] = folder
        exports.make(Path(folder), jobs)
        return min(print_matrix(jobs), 1)


if __name__ == "__main__":
    sys.exit(main())
