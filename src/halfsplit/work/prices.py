"""What a repair costs as minutes: work, part and risk at one hourly rate, all of it in one place.

Knows repairs as plain data; not how likely they are. All of it common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.machine.handwork import Handwork
from halfsplit.modes.fault import Repair

PROOF = 5.0
"""Minutes to try the machine after a repair, and to find that nothing is wrong."""
AGAIN = 90.0
"""Minutes of another visit when a repair did not cure: the drive, and everything once more from outside. It is
added to the price of every repair; the right one has it too, so that it weighs only how often one is wrong."""
SECOND_TRIP = AGAIN
"""Minutes of coming once more with a part that was not on the van: the same drive, the same way in."""
CARRYING = 3.0
"""Minutes to take a part from the shelf, carry it, and book it back in when it was not needed; Halfsplit's choice."""
HAND_OVER = 120.0
"""Minutes lost where somebody else must go on: what the file does not say, what cannot be reached."""


@dataclass(frozen=True)
class Price:
    """Minutes by what they go into; reaching the place is not among them."""

    work: float
    part: float = 0.0
    proof: float = PROOF
    again: float = AGAIN

    @property
    def minutes(self) -> float:
        """All of it."""
        return self.work + self.part + self.proof + self.again


def price(repair: Repair, hourly: float = Handwork.hourly) -> Price:
    """The price of one repair. hourly: above 0, in the machine's currency.

    >>> price(Repair("replace fuse", "fuse", 10.0, 15.0, ())).part
    10.0
    """
    return Price(repair.minutes, repair.price * 60.0 / hourly)


def price_together(repairs: Sequence[Repair], hourly: float = Handwork.hourly) -> Price:
    """The price of repairs that are all made before the machine is tried; of none: to find that it works.

    >>> fuse = Repair("replace fuse", "fuse", 10.0, 15.0, ())
    >>> price_together([fuse, fuse]).minutes, price_together([]).minutes
    (135.0, 95.0)
    """
    each = [price(one, hourly) for one in repairs]
    return Price(sum(one.work for one in each), sum(one.part for one in each))


HANDING_OVER = Price(HAND_OVER, proof=0.0)
"""To hand over."""
