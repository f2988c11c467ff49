"""What an eye may see at a place: the marks that faults leave there; and how a word for it is taken.

Knows faults; which word counts how much is not known here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfsplit.errors import did_you_mean
from halfsplit.modes.fault import Fault

FINE = "fine"
ELSE = "something else"
"""What every word counts as that is none of those that a place may show."""
SAID_FOR = {
    FINE: frozenset({"ok", "okay", "good", "well", "intact", "normal", "sound", "nothing", "whole"}),
    "burnt": frozenset({"melted", "scorched", "charred", "black", "blackened", "brown", "sooty"}),
}
"""Words that people say for others: what is well may not count as something wrong, nor what is burnt, at which the work
may have to stop, as anything else."""


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
    """What to say of a word that looks like a known one, or is said for one, and is none; "" where it is one, or like
    none.

    >>> known = ("fine", "burnt")
    >>> meant("burtn", known), meant("OK", known), meant("melted", known), meant("burnt", known), meant("wet", known)
    ("Did you mean 'burnt'?", "Did you mean 'fine'?", "Did you mean 'burnt'?", '', '')
    """
    other = next((one for one, said in SAID_FOR.items() if typed.lower() in said and one in known), typed)
    remedy = did_you_mean(other, known)
    return remedy if typed not in known and remedy.startswith("Did") else ""
