"""Everything that Halfsplit raises on purpose. Knows nothing of the rest of the package.

    HalfsplitError            exit   can the person go on?
    |- WrongUse                2     yes: ask again, otherwise
    |  |- NotUnderstood        2     yes: the typed text means nothing here; type it again
    |  |  `- Ambiguous         2     yes: the typed text means two things; choose one
    |  `- Refused              2     yes: not in this state of the job; the state is as it was
    |- BadInput                3     no: a file has to be mended first
    `- Uncomputable            3     no: a machine file was read, and nothing can be computed from it

The exit codes are those of the command line: 0 done, 1 no, 2 wrong use, 3 bad input file.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

__all__ = [
    "Ambiguous",
    "BadInput",
    "HalfsplitError",
    "NotUnderstood",
    "Problem",
    "Refused",
    "Uncomputable",
    "WrongUse",
    "did_you_mean",
]


class HalfsplitError(Exception):
    """The root of the tree: ``exit_code`` is 1, 2 or 3; ``can_go_on`` says whether the same run may go on."""

    exit_code: ClassVar[int] = 1
    can_go_on: ClassVar[bool] = True


class WrongUse(HalfsplitError):
    """Asked for in a way that cannot be answered: an unknown name, a setting that does not exist.

    >>> print(WrongUse("No part 'heatr'.", "Did you mean 'heater'?"))
    No part 'heatr'. Did you mean 'heater'?
    """

    exit_code = 2

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(f"{message} {remedy}".strip())
        self.message = message
        self.remedy = remedy


class NotUnderstood(WrongUse):
    """A typed text (``text``) that means nothing where it was typed; the remedy says what would."""

    def __init__(self, text: str, message: str, remedy: str = "") -> None:
        super().__init__(message, remedy)
        self.text = text


class Ambiguous(NotUnderstood):
    """A typed text that means more than one thing; each of ``choices``, typed instead, means one of them."""

    def __init__(self, text: str, choices: tuple[str, ...]) -> None:
        offered = " or ".join(f"'{choice}'" for choice in choices)
        super().__init__(text, f"'{text}' can be read in more than one way.", f"Write {offered}.")
        self.choices = choices


class Refused(WrongUse):
    """An event that this state of a job does not allow; the state is left as it was."""


@dataclass(frozen=True, order=True)
class Problem:
    """One thing wrong in a file: where (``line`` and ``column`` count from 1; 0: not known), what, remedy.

    >>> print(Problem("fan.yaml", 9, 3, "No part type 'heatr'.", "Did you mean 'heater'?"))
    fan.yaml:9:3: No part type 'heatr'. Did you mean 'heater'?
    """

    file: str
    line: int
    column: int
    message: str
    remedy: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return f"{place}: {self.message} {self.remedy}".rstrip()


class BadInput(HalfsplitError):
    """A file that cannot be used, with all its problems at once, in the order of the file.

    >>> print(BadInput([Problem("b.yaml", 2, 1, "Twice 'x'.", ""), Problem("b.yaml", 1, 1, "No title.", "")]))
    b.yaml:1:1: No title.
    b.yaml:2:1: Twice 'x'.
    """

    exit_code = 3
    can_go_on = False

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(sorted(problems))
        super().__init__("\n".join(map(str, self.problems)))


class Uncomputable(HalfsplitError):
    """What a machine file says could be read, and the network that it comes to cannot be solved."""

    exit_code = 3
    can_go_on = False


MOST_NAMED = 12
"""So many known names are named where none is near; of more the nearest."""


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """The remedy for an unknown name: the nearest known ones, else all known, of many the twelve nearest, or none.

    >>> did_you_mean("heatr", ["heater", "motor"])
    "Did you mean 'heater'?"
    >>> did_you_mean("zzz", ["heater", "motor"])
    'Known: heater, motor.'
    """
    names = sorted(set(known))
    by_fold = {known_name.casefold(): known_name for known_name in names}
    near = difflib.get_close_matches(name.casefold(), by_fold, n=3, cutoff=0.6)
    if near:
        return f"Did you mean {' or '.join(repr(by_fold[fold]) for fold in near)}?"
    if not names:
        return "None are known here."
    if len(names) <= MOST_NAMED:
        return f"Known: {', '.join(names)}."
    nearest = sorted(names, key=lambda one: -_likeness(name.casefold(), one.casefold()))[:MOST_NAMED]
    return f"Known, the nearest first: {', '.join(nearest)} and {len(names) - MOST_NAMED} more."


def _likeness(name: str, known: str) -> float:
    """How near a known name is to one that was written: words of it that stand in the other, then letters in order."""
    words = set(re.findall(r"\w+", name))
    shared = len(words & set(re.findall(r"\w+", known))) / max(len(words), 1)
    return shared + difflib.SequenceMatcher(None, name, known).ratio()
