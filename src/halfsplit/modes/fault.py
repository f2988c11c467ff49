"""A fault and the repair that cures it, as plain data.

Knows the changes of machine/model.py and nothing of how they act on a network or on behaviour.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from halfsplit.machine import model

Alternatives = tuple[tuple[float, tuple[model.Change, ...]], ...]
LOAD_SUPPLY = "load the supply"
"""The one way to bring out what opens or grows ohms while it carries the machine's current: to let the machine run."""
WARM = "warm "
"""Before the name of a part: its thermostat is warmed with hot air until it acts (`modes.warming`)."""
HEAT = "heat "
"""Before the name of a part: it is warmed with hot air so that what comes and goes with heat shows."""
REPLACE_CORD = "replace the cord"
"""The one repair of all that fails in the cord, its plug and the prongs: they are moulded in one."""
WHOLE = "replace the whole appliance"
"""The repair of a part that cannot be had by itself: supply and pipes come off, and two people carry."""


@dataclass(frozen=True)
class Repair:
    """What is done about a fault: minutes once reached, price in the machine's currency, bays, and by whom.

    `within`: names of larger repairs of which it is a part. `people`: how many it takes.
    """

    name: str
    subject: str
    minutes: float
    price: float
    bays: tuple[str, ...]
    by: str = "repairer"
    within: tuple[str, ...] = ()
    people: int = 1

    @property
    def is_whole(self) -> bool:
        """Whether the whole appliance is replaced."""
        return self.name.endswith(WHOLE)

    def is_done_by(self, made: Collection[str]) -> bool:
        """Whether repairs of these names do it, by itself or with something larger.

        >>> joint = Repair("make the joint good", "joint fuse.1", 8.0, 0.0, (), within=("replace the wire",))
        >>> joint.is_done_by(["replace the wire"]), joint.is_done_by(["replace fuse"])
        (True, False)
        """
        return not {self.name, *self.within}.isdisjoint(made)


@dataclass(frozen=True)
class Fault:
    """A part, joint, wire, supply or setting in a failure mode.

    `rate` is relative to the other faults of the machine. `alternatives` are (weight, changes), weights summing
    to 1: sizes of the fault that are not known beforehand. `acting` below 1: it comes and goes. `owner_only`:
    only what the owner perceived is affected (a control that stood elsewhere than was said). `provoked`: what brings
    it out where it comes and goes, as "shake door switch", "heat limit" or LOAD_SUPPLY.
    """

    subject: str
    mode: str
    rate: float
    repair: Repair
    alternatives: Alternatives
    acting: float = 1.0
    looks: str = "fine"
    earlier_hand: bool = False
    owner_only: bool = False
    provoked: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The fault as commands write it.

        >>> repair = Repair("replace fuse", "fuse", 5.0, 10.0, ())
        >>> Fault("fuse", "open", 1.0, repair, ()).name
        'fuse: open'
        """
        return f"{self.subject}: {self.mode}"
