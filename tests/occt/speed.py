"""Times the same pairs in the kernel and in ours: `python tests/occt/speed.py [JOB]` (an example's name; alto without it).

Every pair of the job, key closed, one thread each. The kernel's time is that of its distances alone, all files read before.
Ours is that of the whole command `check_job --key-angle-deg 0`: start, reading, building, measuring and printing, and of all
positions of the key besides; the true ratio is larger. Far pairs the kernel measures in full where ours may only bound them,
so the pairs that ours measures in full are also timed by themselves.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import exports
import kernel
import pairs

# Runs of our command, of which the middle one counts.
RUNS = 15

JOBS = {job.stem: job for job in exports.JOBS}


def our_command() -> Path:
    """The built command: to time it through `cargo run` would time cargo."""
    build = ["cargo", "build", "--release", "--example", "check_job", "--message-format", "json"]
    done = subprocess.run(build, cwd=exports.ROOT, capture_output=True, text=True, check=True)
    messages = (json.loads(line) for line in done.stdout.splitlines())
    return next(Path(m["executable"]) for m in messages if m.get("executable"))


def our_seconds(job: Path) -> float:
    run = [our_command(), job, "--json", "--key-angle-deg", "0"]
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        subprocess.run(run, capture_output=True)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def kernel_seconds(job: str, rows: list[dict]) -> list[float]:
    """Seconds for each row."""
    for row in rows:
        pairs.pair(job, row)
    times = []
    for row in rows:
        a, b = pairs.pair(job, row)
        start = time.perf_counter()
        kernel.distance(a.shape, b.shape)
        times.append(time.perf_counter() - start)
    return times


def main() -> int:
    name = sys.argv[1] if len(sys.argv) > 1 else "alto"
    if name not in JOBS:
        print(f"there is no job {name}; the examples are {', '.join(JOBS)}")
        return 2
    with tempfile.TemporaryDirectory(prefix="neckwright-speed-") as folder:
        os.environ[exports.VARIABLE] = folder
        exports.make(Path(folder), [JOBS[name]])
        rows = [row for row in exports.clearances(name) if row["pose"] in ("static", "closed")]
        theirs = kernel_seconds(name, rows)
        ours = our_seconds(JOBS[name])
    exact = [seconds for row, seconds in zip(rows, theirs) if not row.get("at_least", False)]
    print(f"{name}, key closed, {len(rows)} pairs")
    print(f"kernel, distances alone        {sum(theirs):9.3f} s")
    print(f"  of it {len(exact):3} pairs under 3 mm   {sum(exact):9.3f} s")
    print(f"ours, the whole command        {ours:9.3f} s")
    print(f"ratio, all pairs               {sum(theirs) / ours:9.0f}")
    print(f"ratio, pairs under 3 mm        {sum(exact) / ours:9.0f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
