"""Makes the exports once, before any test is collected."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import exports
import pytest

_made: list[tempfile.TemporaryDirectory] = []


def pytest_configure(config: pytest.Config) -> None:
    # Worker processes inherit the folder their parent made.
    if hasattr(config, "workerinput") or exports.VARIABLE in os.environ:
        return
    _made.append(tempfile.TemporaryDirectory(prefix="neckwright-exports-"))
    try:
        exports.make(Path(_made[0].name))
    except (OSError, RuntimeError) as error:
        raise pytest.UsageError(str(error)) from error
    os.environ[exports.VARIABLE] = _made[0].name


def pytest_unconfigure() -> None:
    while _made:
        _made.pop().cleanup()


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """`part_file`, `stl_file` and `job_name` run over everything that was exported. Tests of one file share a process, so
    that it is read once."""
    for name, files in (("part_file", exports.step_files), ("stl_file", exports.stl_files)):
        if name in metafunc.fixturenames:
            found = [file for job in exports.job_names() for file in files(job)]
            group = lambda file: pytest.mark.xdist_group(f"{file.job}-{file.part}")
            metafunc.parametrize(name, [pytest.param(f, id=f"{f.job}-{f.part}", marks=group(f)) for f in found])
    if "job_name" in metafunc.fixturenames:
        metafunc.parametrize("job_name", exports.job_names())
