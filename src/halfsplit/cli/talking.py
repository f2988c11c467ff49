"""Sentences out, lines in, and choices: what a talk in a terminal is made of. Knows nothing of machines."""

from __future__ import annotations

import difflib
import os
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from typing import TextIO

WIDTH, NARROWEST = 92, 30
"""Letters of a line on a wide screen, and the fewest that a line has: a phone shows some 45."""
NEAR = 0.7
"""A word this like another (ratio of difflib) may be a slip of the finger."""


class Stop(Exception):
    """The person has stopped."""


class Back(Exception):
    """The person has taken a question back."""


class Talk:
    """Sentences out, lines in. `words`: how names in a sentence are told; once a machine is known, as it names them."""

    def __init__(self, out: TextIO) -> None:
        self.out = out
        self.words: Callable[[str], str] = str

    def say(self, text: str = "", indent: int = 0) -> None:
        """One paragraph, wrapped."""
        lead = " " * indent
        lines = textwrap.wrap(self.words(text), self._width, initial_indent=lead, subsequent_indent=lead + "  ") or [""]
        print("\n".join(lines), file=self.out)

    @property
    def _width(self) -> int:
        """Letters of a line: as many as the screen has, where there is one."""
        screen = self.out.isatty() or "COLUMNS" in os.environ
        columns = shutil.get_terminal_size((WIDTH, 24)).columns if screen else WIDTH
        return max(NARROWEST, min(WIDTH, columns))

    def ask(self, prompt: str) -> str:
        """One line, tidied. Raises Stop at the end of the input and for the word stop."""
        print(f"{prompt} > ", end="", file=self.out, flush=True)
        line = sys.stdin.readline()
        typed = line.strip()
        if not line or typed.lower() in ("stop", "quit", "exit"):
            raise Stop
        return typed

    def chosen(self, question: str, choices: Sequence[str], shown: bool = False, undo: bool = False) -> int:
        """Which of some choices, by its number or the beginning of its words; asked until one is meant. Raises Back for
        the word undo, where that may be typed."""
        if shown:
            for number, choice in enumerate(choices, 1):
                self.say(f"{number}  {choice}", 2)
        prompt = question if shown else f"{question} ({' / '.join(choices)})"
        while True:
            typed = self.ask(prompt)
            if undo and typed.lower() == "undo":
                raise Back
            found = meant(typed, choices)
            if len(found) == 1:
                return found[0]
            self.say(_unclear(typed, choices, found, shown) + (" Or undo." if undo else ""))


def meant(typed: str, choices: Sequence[str]) -> list[int]:
    """The choices that a number from 1 on, or the beginning of their words, may mean.

    Words that are one of them whole mean that one, whatever else begins so.

    >>> meant("2", ["dryer", "heater"]), meant("dr", ["dryer", "drum"]), meant("", ["dryer"])
    ([1], [0, 1], [])
    >>> meant("Dryer", ["dryer", "dryer, 3-wire"])
    [0]
    """
    word = typed.lower()
    whole = [n for n, c in enumerate(choices) if c.lower() == word]
    return whole or [n for n, c in enumerate(choices) if word and (word == str(n + 1) or c.lower().startswith(word))]


def _unclear(typed: str, choices: Sequence[str], found: Sequence[int], numbered: bool) -> str:
    how = f"Type a number from 1 to {len(choices)}, or how one of them begins." if numbered else ""
    how = how or f"Type {' or '.join(choices)}."
    if not typed:
        return how
    if found:
        return f"{typed!r} begins {' and '.join(repr(choices[n]) for n in found)}. {how}"
    return f"{typed!r} is none of these. {how}"


def near(typed: str, words: Iterable[str]) -> str:
    """What to say where a word may have been mistyped; "" where none is near.

    >>> near("udno", ["why", "undo"]), near("240 V", ["why", "undo"])
    ('If you meant the word undo, type undo.', '')
    """
    found = difflib.get_close_matches(typed.lower(), list(words), 1, NEAR)
    return f"If you meant the word {found[0]}, type {found[0]}." if found else ""
