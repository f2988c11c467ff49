"""The machine before the repairer: what is open, how it is powered and set, what was refused. Frozen.

Knows bays and conditions; not what was found.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from halfsplit.machine import model, twins
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition

OUTSIDE = "outside"


class Cock(StrEnum):
    """How the cock of a machine that burns gas stands; open where it burns none."""

    OPEN = "open"
    SHUT = "shut"
    PERHAPS = "open or shut"
    APART = "shut, the pipe behind it apart"


@dataclass(frozen=True)
class JobState:
    """Open bays; the condition in which the machine stands (None: as the owner left it, powered); refusals.

    `kept_isolated`: it was isolated and proved dead before its plug was left out for a reading at the wall.

    `warm`: minutes until what a run of ours has heated may be touched. A machine that was not run by us has stood.
    `perhaps_open`, `perhaps_off`: bays and terminals of steps of which nobody says whether they were done. They count
    as closed and wired for what has to be done, and as open and off for what has to be made good.

    `unproved`: the job was taken up again, or the machine put together with its power left off, and nothing has been
    proved since; the steps of before a job was taken up again are the `earlier`. `left_off`: it was put together with
    its power left off, and has not been in use since. `cock`: how the gas cock was left. `perhaps_cold`: the warmth of
    its condition may be gone, so that it stands at that or at rest's: it is come to anew.
    """

    open_bays: frozenset[str] = frozenset()
    condition: Condition | None = None
    refused: frozenset[object] = frozenset()
    done: frozenset[object] = frozenset()
    warm: float = 0.0
    perhaps_open: frozenset[str] = frozenset()
    perhaps_off: frozenset[str] = frozenset()
    kept_isolated: bool = False
    unproved: bool = False
    earlier: frozenset[object] = frozenset()
    left_off: bool = False
    cock: Cock = Cock.OPEN
    perhaps_cold: bool = False

    @property
    def isolated(self) -> bool:
        """Whether the machine is isolated and proved dead; a reading at the wall with its plug out leaves it so."""
        return self.left_isolated and not self.unproved

    @property
    def left_isolated(self) -> bool:
        """Whether hands have left it isolated, though it may not count as proved any more."""
        return self.condition is not None and (self.condition.isolated or self.kept_isolated)

    @property
    def lifted(self) -> tuple[str, ...]:
        """The terminals whose wires are off."""
        return self.condition.lift if self.condition else ()

    @property
    def exchange(self) -> twins.Exchange:
        """The twins that stand in each other's places."""
        return self.condition.exchange if self.condition else ()


def with_fronts(machine: model.Machine, wanted: tuple[str, ...]) -> tuple[str, ...]:
    """The wanted bays and every bay in front of them, front first. A bay that the file does not name is outside."""
    found: dict[str, None] = {}
    for bay in wanted:
        chain = []
        while bay in machine.bays and bay not in chain:
            chain.append(bay)
            bay = machine.bays[bay].behind
        found.update(dict.fromkeys(reversed(chain)))
    return tuple(found)


def as_left(machine: model.Machine, at: Condition | None, opened: Iterable[str]) -> Condition | None:
    """How the machine stands once these bays have been opened, which is done with it dead: no load is left on, and it
    is as warm as opening leaves it."""
    bays = tuple(opened)
    return conditions.at_warmth(at.still, machine.warmth_behind(bays)) if at and bays else at


def to_open(machine: model.Machine, state: JobState, wanted: tuple[str, ...]) -> tuple[str, ...]:
    """The bays that must still be opened, front first."""
    return tuple(bay for bay in with_fronts(machine, wanted) if bay not in state.open_bays)
