"""What a meter says without a number: over range in its many spellings, and the beeper. Knows no numbers."""

from __future__ import annotations

import re

from halfsplit.quantity import units
from halfsplit.quantity.dimension import METER, Dimension
from halfsplit.quantity.model import Beep, OverRange

__all__ = ["beep", "over_range"]

_OVER = re.compile(r"(-?) ?(?:o ?\.? ?l\.?|0 ?\.? ?l\.?|\.ol|over ?load|over ?range|over)", re.IGNORECASE)
_OPEN = re.compile(r"(-?) ?(?:open(?: (?:circuit|line))?|∞|infinite|infinity)", re.IGNORECASE)
_SOUND = re.compile(r"(?:it )?(?:beep|beeps|beeped|beeping|buzzes|tone)", re.IGNORECASE)
_SILENT = re.compile(r"(?:no|does not|doesn't|did not|didn't|without) (?:beep|tone)|silent", re.IGNORECASE)


def over_range(text: str, expected: Dimension) -> OverRange | None:
    """Over range, if that is what the text says; a unit may follow, as meters show one beside it.

    >>> over_range("0.L MΩ", Dimension.RESISTANCE)
    OverRange(text='0.L MΩ', negative=False)
    """
    if expected not in METER:
        return None
    patterns = (_OVER, _OPEN) if expected is Dimension.RESISTANCE else (_OVER,)
    for pattern in patterns:
        match = pattern.match(text)
        if match and _is_unit(text[match.end() :].strip(), expected):
            return OverRange(text, negative=match[1] == "-")
    return None


def _is_unit(text: str, expected: Dimension) -> bool:
    return units.find(expected, text) is not None or units.find_bare(expected, text) is not None


def beep(text: str, expected: Dimension) -> Beep | None:
    """What the beeper did, if that is what the text says; only where ohms are expected.

    >>> beep("no beep", Dimension.RESISTANCE).sounds
    False
    """
    if expected is not Dimension.RESISTANCE:
        return None
    if _SOUND.fullmatch(text):
        return Beep(text, sounds=True)
    return Beep(text, sounds=False) if _SILENT.fullmatch(text) else None
