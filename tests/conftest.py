"""What all tests share: one hypothesis profile, and the outside judges found or reported missing."""

from __future__ import annotations

import os
import shutil

import pytest
from hypothesis import HealthCheck, settings

# No test is timed; runs on the CI machine are the same each time.
settings.register_profile("here", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("ci", settings.get_profile("here"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")


def find_judge(tool: str) -> str:
    """The path of a program that judges our results; missing, it is a failure where judges are required."""
    path = shutil.which(tool)
    if path is None:
        missing = f"{tool} is not installed: this test is judged by it (on Debian: apt-get install {tool})"
        if os.environ.get("HALFSPLIT_JUDGES") == "required":
            pytest.fail(missing)
        pytest.skip(missing)
    return path


@pytest.fixture(scope="session")
def ngspice() -> str:
    """The path of the circuit simulator."""
    return find_judge("ngspice")


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the browser that playwright drives (``executable_path``)."""
    return find_judge("chromium")
