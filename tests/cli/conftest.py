"""What the tests of the command line share: findings on disk."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest


@pytest.fixture
def findings(tmp_path: Path) -> Callable[[str], str]:
    """Writes a findings file and gives its path."""

    def write(text: str) -> str:
        place = tmp_path / "findings.yaml"
        place.write_text(text, encoding="utf-8")
        return str(place)

    return write
