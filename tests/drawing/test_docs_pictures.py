"""The pictures in the documents are those that the drawing makes now."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).resolve().parents[2]


def _tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("draw_library", ROOT / "tools" / "draw_library.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_pictures_are_up_to_date() -> None:
    """Each picture has the bytes that tools/draw_library.py writes: run it where this fails."""
    stale = [
        name
        for name, text in _tool().pictures()
        if not (ROOT / "docs" / "pictures" / name).is_file()
        or (ROOT / "docs" / "pictures" / name).read_text(encoding="utf-8") != text
    ]
    assert stale == []


def test_the_explanation_shows_only_pictures_that_exist() -> None:
    """Every picture that the page on drawing names is there."""
    page = (ROOT / "docs" / "explanation" / "drawing.md").read_text(encoding="utf-8")
    named = [part.split(")")[0] for part in page.split("](../pictures/")[1:]]
    assert named
    assert [name for name in named if not (ROOT / "docs" / "pictures" / name).is_file()] == []
