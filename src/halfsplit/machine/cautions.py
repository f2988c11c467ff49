"""A caution as a machine file words it: how grave it is, when it is to be told, and what it says.

Knows the words; not which bay or part a caution belongs to.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import Any

from halfsplit.errors import WrongUse

__all__ = ["MOMENTS", "PATTERN", "WORDS", "Caution", "read"]

WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")
"""The signal words of ANSI Z535.4, gravest first: it will, it could result in death or serious injury; it could result
in minor or moderate injury; nobody is hurt."""
DEFAULT = "CAUTION"
MOMENTS = ("opening", "closing")
"""When a caution of a bay is told; at both where the file does not say."""
PATTERN = (
    rf"^(?:(?:{'|'.join(WORDS)}): )?(?:when (?:{'|'.join(MOMENTS)}): )?(?![A-Z]{{2,}}:)(?!(?:{'|'.join(WORDS)})\b)"
    r"(?!when [a-z]+:).+$"
)
"""What an editor may check of one."""
_BEGINS = re.compile(r"(?P<first>[^\W\d_]+): *")
_MOMENT = re.compile(r"when (?P<moment>\w+): *")


@dataclass(frozen=True)
class Caution:
    """A caution with its signal word of ANSI Z535. `moment`: one of `MOMENTS`, or "" for both."""

    word: str
    text: str
    moment: str = ""

    @property
    def told(self) -> str:
        """As a person is told it."""
        return f"{self.word}: {self.text}"

    def at(self, moment: str) -> bool:
        """Whether it is told at this moment."""
        return self.moment in ("", moment)


def placed(at: str, told: str) -> str:
    """A caution as it is told, with the place that it is about.

    >>> placed("upper cover", "DANGER: 240 V behind it")
    'DANGER: upper cover: 240 V behind it'
    """
    word, text = told.split(": ", 1)
    return f"{word}: {at}: {text}"


def read(text: str) -> Caution:
    """A caution as it is written: `[WORD: ][when opening: | when closing: ]what to mind`.

    Raises WrongUse for a word that is none of `WORDS`, or looks as if it were meant for one, and for another moment.

    >>> read("DANGER: when opening: 240 V behind it").told, read("sharp edges").told
    ('DANGER: 240 V behind it', 'CAUTION: sharp edges')
    >>> read("tip-over: keep the feet clear")
    Caution(word='CAUTION', text='tip-over: keep the feet clear', moment='')
    """
    rest, word, moment = text.strip(), DEFAULT, ""
    begins = _BEGINS.match(rest)
    if begins and begins["first"] in WORDS:
        word, rest = begins["first"], rest[begins.end() :]
    if found := _MOMENT.match(rest):
        moment, rest = found["moment"], rest[found.end() :]
    if moment and moment not in MOMENTS:
        raise WrongUse(f"'when {moment}:' is not known here.", f"Write {' or '.join(f'`when {m}:`' for m in MOMENTS)}.")
    _refuse_wrong_word(rest)
    if not rest:
        raise WrongUse("A caution says nothing.", "Write what to mind after the colon.")
    return Caution(word, rest, moment)


def _refuse_wrong_word(rest: str) -> None:
    """What is left begins with no signal word, nor with what was meant for one."""
    first = re.match(r"[^\W\d_]*", rest)
    assert first is not None
    said, colon = first[0], rest[first.end() :].startswith(":")
    if said in WORDS:
        where = "One signal word stands first, before 'when'" if colon else f"'{said}' wants a colon after it"
        raise WrongUse(f"{where}.", "Write `WARNING: what to mind`, or `WARNING: when closing: what to mind`.")
    meant = difflib.get_close_matches(said.upper(), WORDS, 1, 0.75)
    if colon and (meant or (said.isupper() and len(said) > 1)):
        known = f"Write {', '.join(WORDS)} in capitals, or no word: then it is {DEFAULT}."
        raise WrongUse(f"'{said[:40]}' is no signal word.", known)


def as_schema(scalar: dict[str, Any]) -> dict[str, Any]:
    """What an editor may take for a caution."""
    return {**scalar, "pattern": PATTERN}
