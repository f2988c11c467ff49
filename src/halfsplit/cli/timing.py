"""How long the steps of a talk took, as the person types it: kept beside the diagnosis, which it leaves as it is.

Knows sentences, and how a findings file writes a time; which step took so long is what was answered last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfsplit.errors import NotUnderstood
from halfsplit.evidence import finding as f
from halfsplit.evidence import finding_fields
from halfsplit.quantity.display import duration

WORD = "took"
UNIT = " min"
EXAMPLE = f"{WORD} 3{UNIT}"
"""How it is typed; a number without a unit is minutes."""
NOT_YOURS = "With a hidden fault the machine answers by itself: no step of yours takes time here."
NOTHING = f"Type {WORD} once you have answered a step: no step has been answered since {{since}}."
TOLD = f"What an owner told is no step that took time: type {WORD} once you have answered one."
AT_ONCE = (
    "Several answers were typed at once, and nobody knows which of them took how long: where you time a step, type its "
    "answer alone."
)


class Times:
    """The minutes of the findings that were typed in answer to steps of this talk."""

    def __init__(self) -> None:
        self.alone: list[f.Finding] = []
        self.at_once: list[f.Finding] = []
        self.minutes: dict[int, float] = {}  # by id: equal findings are others, and all that are timed are kept

    def answered(self, found: Sequence[f.Finding]) -> None:
        """What was typed in answer to one step."""
        (self.alone if len(found) == 1 else self.at_once).extend(found)

    def note(self, last: f.Finding | None, typed: str) -> str:
        """Keeps how long the step that gave the last finding took, as typed; what is said of it."""
        if isinstance(last, f.Perceived) and last.by == "owner":
            return TOLD
        if any(one is last for one in self.at_once):
            return AT_ONCE
        if last is None or not any(one is last for one in self.alone):
            return NOTHING.format(since="the repair" if isinstance(last, f.Tried) else "this talk began")
        if not typed:
            return f"Type how long it took, as in {EXAMPLE}."
        try:
            took = finding_fields.minutes(typed if any(map(str.isalpha, typed)) else typed + UNIT)
        except NotUnderstood as refusal:
            return str(refusal)
        self.minutes[id(last)] = took
        return f"Noted. {self.label(last)}."

    def of(self, found: f.Finding) -> f.Finding:
        """A finding with the minutes of its step; as it was where nobody said. A step taken back has none."""
        took = self.minutes.get(id(found))
        if took is None or isinstance(found, f.TakenBack | f.Resumed | f.Cannot):
            return found
        return replace(found, took=took)

    def label(self, found: f.Finding) -> str:
        """A finding in words, with the minutes of its step where they are known."""
        took = self.of(found).took
        return found.label if took is None else f"{found.label}; took {duration(took)}"
