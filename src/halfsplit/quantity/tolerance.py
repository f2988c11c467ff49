"""Takes the tolerance off a text: '52.9 ohm ± 5 %' is '52.9 ohm' with 5 % either way. Text only."""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = ["Tolerance", "split"]

_BOTH = re.compile(r"(?P<main>.*?)\s*(?:±|\+\s*/?\s*-)\s*(?P<both>.+)")
_EACH = re.compile(r"(?P<main>.*?)\s*\+\s*(?P<plus>[0-9.,]+[^/]*)/\s*-\s*(?P<minus>[0-9.,]+.*)")
_UNIT = re.compile(r"[0-9.,]+\s*(.*)")


@dataclass(frozen=True)
class Tolerance:
    """How far up and how far down, each a number with or without a unit."""

    plus: str
    minus: str


def split(text: str) -> tuple[str, Tolerance | None]:
    """The text before the tolerance, and the tolerance; a unit written once holds for both ends.

    >>> split("9 kohm +-10%")
    ('9 kohm', Tolerance(plus='10%', minus='10%'))
    >>> split("141 °C +5/-10 K")
    ('141 °C', Tolerance(plus='5 K', minus='10 K'))
    """
    if match := _BOTH.fullmatch(text):
        return match["main"], Tolerance(match["both"], match["both"])
    if match := _EACH.fullmatch(text):
        plus, minus = match["plus"].strip(), match["minus"].strip()
        return match["main"], Tolerance(_with_unit(plus, minus), minus)
    return text, None


def _with_unit(plus: str, minus: str) -> str:
    has, other = _UNIT.fullmatch(plus), _UNIT.fullmatch(minus)
    return f"{plus} {other[1]}".strip() if has and other and not has[1] else plus
