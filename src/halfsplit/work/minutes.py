"""What a step costs in minutes, all of it in one place so that it can be shown when asked why.

Common practice, no source, but for the minutes that the machine file gives.
"""

from __future__ import annotations

from dataclasses import dataclass

from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.work import state as st

READING = 0.6
LOOK = 0.3
PERCEIVE = 1.0
QUESTION = 0.4
ISOLATE = 1.5
"""To unplug or switch off, and prove dead."""
ENERGISE = 2.0
"""To prove the meter, clip the leads on and bring the power back."""
SET = 0.15
LIFT = 1.0
WARM_UP = 6.0
COOL_DOWN = 10.0
SHAKE = 0.6
"""To shake a part, a wire or a harness, or to turn a part once round, while watching the meter."""
HEAT = 3.0
"""To warm one thing with hot air until it would act, and let it cool."""


@dataclass(frozen=True)
class Cost:
    """Minutes by what they go into."""

    itself: float = 0.0
    opening: float = 0.0
    closing: float = 0.0
    power: float = 0.0
    setting: float = 0.0
    lifting: float = 0.0
    waiting: float = 0.0

    @property
    def minutes(self) -> float:
        """All of it. The closing of a bay is priced once, when it is opened."""
        return self.itself + self.opening + self.closing + self.power + self.setting + self.lifting + self.waiting


def cost(
    machine: model.Machine, state: st.JobState, itself: float, bays: tuple[str, ...], at: Condition | None
) -> Cost:
    """What it takes to do something of `itself` minutes in these bays and this condition, from where things stand."""
    opened = [machine.bays[bay] for bay in st.to_open(machine, state, bays)]
    opening, closing = sum(bay.open_minutes for bay in opened), sum(bay.close_minutes for bay in opened)
    isolating = ISOLATE if opened and not state.isolated and (at is None or not at.isolated) else 0.0
    if at is None:
        return Cost(itself, opening, closing, isolating)
    itself += provoking(at)
    power, setting, lifting, waiting = _change(state.condition, at)
    return Cost(itself, opening, closing, power + isolating, setting, lifting, waiting)


def provoking(at: Condition | None) -> float:
    """Minutes to shake, heat or turn what a condition says is shaken, heated or turned."""
    if at is None or not at.provoke:
        return 0.0
    return HEAT if at.provoke.startswith("heat ") else SHAKE


def changing(now: Condition | None, at: Condition) -> float:
    """Minutes from one condition of the machine (None: as the owner left it) to another."""
    return sum(_change(now, at))


def _change(now: Condition | None, at: Condition) -> tuple[float, float, float, float]:
    was_isolated = now is not None and now.isolated
    power = 0.0
    if at.isolated != was_isolated:
        power = ISOLATE if at.isolated else ENERGISE
    before = dict(now.setting) if now else {}
    moved = [c for c, p in at.setting if before.get(c, p) != p and c != WARMTH]
    lifted = set(at.lift) - set(now.lift if now else ())
    put_back = set(now.lift if now else ()) - set(at.lift)
    return power, SET * len(moved), LIFT * len(lifted) + LIFT / 2 * len(put_back), _waiting(before, at)


def _waiting(before: dict[str, str], at: Condition) -> float:
    after = dict(at.setting)
    if WARMTH not in after or before.get(WARMTH, after[WARMTH]) == after[WARMTH]:
        return 0.0
    return COOL_DOWN if at.isolated else WARM_UP
