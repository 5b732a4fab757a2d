"""Prints what the kernel makes of the exports: `python tests/occt/table.py [FOLDER]`.

One line for each part, half and keep-out of each job: faces, volume by our own integrals and by the kernel's, their
difference, and every message of the STEP reader. FOLDER holds one folder of exports for each job; without it they are made.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

import exports
import kernel

COLUMNS = "{:<12} {:<18} {:>5} {:>5} {:>14} {:>14} {:>10}  {}"


def print_table() -> int:
    """Number of files that are not one valid solid read without a message."""
    bad = 0
    print(COLUMNS.format("job", "part", "faces", "valid", "ours mm3", "kernel mm3", "diff %", "messages"))
    for job in exports.job_names():
        for file in exports.step_files(job):
            reading = kernel.read_step(file.path)
            valid = kernel.is_valid(reading.shape) and len(kernel.solids(reading.shape)) == 1
            volume = kernel.measures(reading.shape).volume
            ours = file.row["volume_mm3"] if file.row else None
            print(
                COLUMNS.format(
                    job,
                    file.part,
                    len(kernel.faces(reading.shape)),
                    "yes" if valid else "NO",
                    f"{ours:.4f}" if ours else "-",
                    f"{volume:.4f}",
                    f"{100 * (ours / volume - 1):.5f}" if ours else "-",
                    "; ".join(reading.messages) or "none",
                )
            )
            bad += not valid or bool(reading.messages)
        assembly = kernel.read_step(exports.folder(job) / "assembly.step")
        count = len(kernel.solids(assembly.shape))
        print(f"{job:<12} assembly of {count} solids, messages: {'; '.join(assembly.messages) or 'none'}")
        bad += bool(assembly.messages)
    return bad


def main() -> int:
    if len(sys.argv) > 1:
        os.environ[exports.VARIABLE] = sys.argv[1]
        return min(print_table(), 1)
    with tempfile.TemporaryDirectory(prefix="neckwright-exports-") as folder:
        exports.make(Path(folder))
        os.environ[exports.VARIABLE] = folder
        return min(print_table(), 1)


if __name__ == "__main__":
    sys.exit(main())
