"""Lines typed into the guide, as a person would type them."""

from __future__ import annotations

import io
import sys
from collections.abc import Iterable
from typing import cast

import pytest

from tests.cli.words import Ended, run

Capture = pytest.CaptureFixture[str]


def type_in(monkeypatch: pytest.MonkeyPatch, lines: Iterable[str]) -> None:
    """What is read from the keyboard from now on is these lines, and then its end."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def talk(monkeypatch: pytest.MonkeyPatch, capsys: Capture, typed: list[str], *words: str) -> Ended:
    """Runs the guide with these lines typed."""
    type_in(monkeypatch, typed)
    return run(capsys, "guide", *words)


class Typist(io.StringIO):
    """Types Enter until the screen shows this in what came since the last line, then these lines, one by one."""

    def __init__(self, shows: str, typed: list[str]) -> None:
        super().__init__("".join(f"{line}\n" for line in typed))
        self.shows, self.seen, self.entered = shows, 0, 0

    def readline(self, size: int | None = -1) -> str:  # type: ignore[override]
        """The next line; the end of input after a hundred in vain."""
        screen = cast("io.StringIO", sys.stdout).getvalue()
        since, self.seen = " ".join(screen[self.seen :].split()), len(screen)
        if self.tell() or self.shows in since:
            return super().readline()
        self.entered += 1
        return "\n" if self.entered < 100 else ""


def talk_from(monkeypatch: pytest.MonkeyPatch, capsys: Capture, shows: str, typed: list[str], *words: str) -> str:
    """The guide with Enter until this is shown and these lines from there on: all that it said, on one line."""
    monkeypatch.setattr("sys.stdin", typist := Typist(shows, typed))
    ended = run(capsys, "guide", *words)
    assert ended.code == 0
    assert typist.tell(), f"{shows!r} was never shown"
    return " ".join(ended.out.split())
