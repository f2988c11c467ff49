"""Cautions in the talk of `halfsplit guide`: shown before the step they belong to, and acknowledged.

Once a power state, and again only for a new one. Knows sentences; which caution applies is the automaton's to say.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from halfsplit.cli import timing
from halfsplit.cli.talking import Talk
from halfsplit.work.hazards import gravest_first

PROMPT = "[Enter or ok: read, and minded]"
FIRST = "The cautions come first: press Enter or type ok once you have read them; then the step is shown."


class Heed:
    """What was acknowledged in the power state in which the machine stands. `also`: does what else may be typed there;
    whether it was that."""

    def __init__(self, talk: Talk, asks: bool, also: Callable[[str], bool]) -> None:
        self.talk, self.asks, self.also = talk, asks, also
        self.anew()
        self.all_shown: list[str] = []

    def anew(self) -> None:
        """Forgets all: a machine that was repaired and tried is another power state."""
        self.heeded: set[str] = set()
        self.last: set[str] = set()
        self.since: set[str] = set()
        self.stands: tuple[int, bool] = (-1, False)

    def at(self, findings: int, isolated: bool) -> None:
        """How the machine stands: what was acknowledged for the step that switched it belongs to the new state."""
        count, was = self.stands
        self.heeded = self.heeded if isolated == was else set(self.last)
        self.since = self.since if findings == count else set()
        self.stands = findings, isolated

    def asked(
        self, new: Sequence[str], known: Sequence[str], words: Mapping[str, Callable[[], None]],
        gone: Callable[[], bool],
    ) -> bool:  # fmt: skip
        """Shows what is to be acknowledged, gravest first, and waits for that. new: what the automaton has found new,
        asked again only where nothing was done since; known: told once a power state. `words` may be typed instead;
        `gone`: whether one of them has led elsewhere, which ends it with False."""
        unread = [one for one in new if one not in self.since]
        unread = [*gravest_first((*unread, *(one for one in known if one not in self.heeded | set(new))))]
        for caution in unread:
            self.talk.say(caution, 2)
        while unread and self.asks:
            typed = self.talk.ask(PROMPT).lower()
            if typed in ("", "ok"):
                break
            if not self.also(typed):
                words.get(typed, self._first)()
            if gone():
                return False
        self.all_shown += unread
        self.last = {*new, *known}
        self.heeded |= self.last
        self.since |= self.last
        return True

    def _first(self) -> None:
        self.talk.say(f"{FIRST} Or undo, cannot, {timing.EXAMPLE}, stop.", 2)
