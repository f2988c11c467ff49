"""What an eye may see at a place: the marks that faults leave there; and how a word for it is taken.

Knows faults; which word counts how much is not known here.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Sequence

from halfsplit.modes.fault import Fault

FINE = "fine"
ELSE = "something else"
"""What every word counts as that is none of those that a place may show."""
BURNT = "burnt"
SAID_FOR = {
    BURNT: ("burn", "melt", "molten", "singe", "soot", "scorch", "char", "discolo", "brown", "black"),
    "wet": ("leak", "damp", "drip", "water", "puddle", "moist", "wet"),
    "clogged": ("clog", "block", "plugged", "lint", "dust", "dirt"),
    "broken": ("broke", "snapped", "crack"),
    FINE: ("ok", "okay", "good", "well", "intact", "normal", "sound", "whole", "clean", "clear", "free", "tight",
           "connected", "undamaged"),
}  # fmt: skip
"""How words begin that people say for others, gravest first: what is burnt, at which the work may have to stop, may not
count as anything else, nor what is well as something wrong."""
NOT = frozenset({"no", "not", "nothing", "none", "never", "without"})
"""Words that turn what is said into its contrary, as un- does."""
ESCAPES = ("leak", "bubbl", "foam", "hiss", "smell")
"""How words begin by which gas is seen to escape where it flows: none is a mark that a fault leaves there, for nobody
is sent to look for it."""
LIKE, LIKE_FINE = 0.7, 0.75
"""Words this like (ratio of difflib) may be slips of the finger."""


def is_at(fault: Fault, at: str) -> bool:
    """Whether a fault lies at a part, terminal or wire."""
    return fault.subject in (at, f"joint {at}")


def left(faults: Iterable[Fault], at: str) -> tuple[str, ...]:
    """The marks that some of these faults leave at a place."""
    return tuple(dict.fromkeys(one.looks for one in faults if is_at(one, at) and one.looks != FINE))


def seen(faults: Iterable[Fault], at: str) -> tuple[str, ...]:
    """All that may be seen at a place."""
    return (FINE, *left(faults, at), ELSE)


def word(typed: str, known: Sequence[str]) -> str:
    """The known word that was typed, in capital letters or small; what was typed where it is none of them.

    >>> word("Burnt ", ("fine", "burnt")), word("Wet", ("fine", "burnt"))
    ('burnt', 'Wet')
    """
    return typed.strip().lower() if typed.strip().lower() in known else typed.strip()


def meant(typed: str, known: Sequence[str]) -> str:
    """What to say of a word that looks like a known one, or is said for one, or for its contrary, and is none; "" where
    it is one, or like none.

    >>> known = ("fine", "burnt")
    >>> meant("burtn", known), meant("OK.", known), meant("melted plug", known), meant("burnt", known)
    ("Did you mean 'burnt'?", "Did you mean 'fine'?", "Did you mean 'burnt'?", '')
    >>> meant("wet", known), meant("not burnt", known)
    ('', 'Say it without a not.')
    """
    words = re.findall(r"[a-z]+", typed.lower())
    if typed in known:
        return ""
    if any(one in NOT or one.startswith("un") for one in words) and "undamaged" not in words:
        return "Say it without a not."
    said = [mark for mark, begins in SAID_FOR.items() if mark in known and _says(words, mark, begins)]
    said = [mark for mark in said if mark in (BURNT, FINE)] if {"free", "clear", "clean"} & {*words} else said
    near = said or [one for one in known if one in words or _is_like(typed.lower(), one)]
    return f"Did you mean {near[0]!r}?" if near else ""


def escapes(sees: str) -> bool:
    """Whether what was seen at a place where gas flows says that gas escapes.

    >>> escapes("leaking"), escapes("bubbles grow"), escapes("no bubbles"), escapes("leak-free")
    (True, True, False, False)
    """
    words = re.findall(r"[a-z]+", sees.lower())
    return {*words}.isdisjoint(NOT | {"free", "tight"}) and _says(words, ESCAPES[0], ESCAPES)


def _says(words: Sequence[str], mark: str, begins: tuple[str, ...]) -> bool:
    """Whether one of these words is said for a mark; what is said for fine is so as it stands only."""
    if mark == FINE:
        return any(one in begins for one in words) or words == ["dry"]
    return any(one.startswith(begins) and not one.endswith("proof") for one in words)


def _is_like(typed: str, known: str) -> bool:
    least = LIKE_FINE if known == FINE else LIKE
    return difflib.SequenceMatcher(None, known, typed).ratio() >= least
