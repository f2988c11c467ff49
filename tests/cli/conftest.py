"""What the tests of the command line share: a cache folder of their own, and findings on disk."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest


@pytest.fixture(autouse=True, scope="session")
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> object:
    """Machines are kept in a folder of this run."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HALFSPLIT_CACHE", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture
def findings(tmp_path: Path) -> Callable[[str], str]:
    """Writes a findings file and gives its path."""

    def write(text: str) -> str:
        place = tmp_path / "findings.yaml"
        place.write_text(text, encoding="utf-8")
        return str(place)

    return write
