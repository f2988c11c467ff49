"""What all tests share: one hypothesis profile, a cache folder, and the outside judges found or reported missing."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from typing import NoReturn

import pytest
from hypothesis import HealthCheck, settings

from tests.depth import tried

# No test is timed; runs on the CI machine are the same each time.
SLOW = [HealthCheck.too_slow]
settings.register_profile("here", max_examples=tried(30, 200), deadline=None, suppress_health_check=SLOW)
settings.register_profile("ci", settings.get_profile("here"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")


@pytest.fixture(autouse=True, scope="session")
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What is worked out once is kept in a folder of this run, one for all of its workers."""
    base = tmp_path_factory.getbasetemp()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HALFSPLIT_CACHE", str((base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "cache"))
        yield


def find_judge(tool: str) -> str:
    """The path of a program that judges our results; missing, it is a failure where judges are required."""
    path = shutil.which(tool)
    if path is None:
        _is_missing(f"{tool} is not installed: this test is judged by it (on Debian: apt-get install {tool})")
    return path


def _is_missing(what: str) -> NoReturn:
    if os.environ.get("HALFSPLIT_JUDGES") == "required":
        pytest.fail(what)
    pytest.skip(what)


def has_typeface(name: str) -> bool:
    """Whether the browser finds a typeface; where fontconfig cannot tell (on no Debian), it is taken to."""
    matcher = shutil.which("fc-match")
    if matcher is None:
        return True
    return name in subprocess.run([matcher, name, "family"], capture_output=True, text=True, check=False).stdout


@pytest.fixture(scope="session")
def ngspice() -> str:
    """The path of the circuit simulator."""
    return find_judge("ngspice")


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the browser that playwright drives (``executable_path``), which measures words in the typeface whose
    widths `drawing/fonts` holds."""
    path = find_judge("chromium")
    if not any(map(has_typeface, ("Liberation Sans", "Arial", "Helvetica"))):
        _is_missing("no typeface with the metrics of Helvetica (on Debian: apt-get install fonts-liberation)")
    return path
