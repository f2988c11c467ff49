"""What a repair costs as minutes: work, part and risk at one hourly rate, all of it in one place.

Knows repairs as plain data, and what is on the van; not how likely they are. All of it common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from halfsplit.machine.handwork import Handwork
from halfsplit.modes.fault import Repair
from halfsplit.work import handling

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
    """Minutes by what they go into; reaching the place is not among them. `trip`: to fetch what is not on the van."""

    work: float
    part: float = 0.0
    proof: float = PROOF
    again: float = AGAIN
    trip: float = 0.0

    @property
    def minutes(self) -> float:
        """All of it."""
        return self.work + self.part + self.proof + self.again + self.trip


def price(repair: Repair, hourly: float = Handwork.hourly, van: Collection[str] | None = None) -> Price:
    """The price of one repair. hourly: above 0, in the machine's currency; van: the parts on it (None: nothing is said
    of a van, and no trip is counted).

    >>> fuse = Repair("replace fuse", "fuse", 10.0, 15.0, ())
    >>> price(fuse).part, price(fuse).trip, price(fuse, van=["belt"]).trip, price(fuse, van=["fuse"]).trip
    (10.0, 0.0, 90.0, 0.0)
    """
    return Price(repair.minutes, repair.price * 60.0 / hourly, trip=SECOND_TRIP if to_fetch([repair], van) else 0.0)


def price_together(
    repairs: Sequence[Repair], hourly: float = Handwork.hourly, van: Collection[str] | None = None
) -> Price:
    """The price of repairs that are all made before the machine is tried; of none: to find that it works. All that is
    not on the van is fetched by one trip.

    >>> fuse = Repair("replace fuse", "fuse", 10.0, 15.0, ())
    >>> price_together([fuse, fuse]).minutes, price_together([]).minutes, price_together([fuse, fuse], van=[]).minutes
    (135.0, 95.0, 225.0)
    """
    each = [price(one, hourly, van) for one in repairs]
    trip = max((one.trip for one in each), default=0.0)
    return Price(sum(one.work for one in each), sum(one.part for one in each), trip=trip)


def to_fetch(repairs: Sequence[Repair], van: Collection[str] | None) -> tuple[str, ...]:
    """The parts that repairs need and that are not on the van, each once; none where nothing is said of a van (None).

    >>> fuse, duct = Repair("replace fuse", "fuse", 10.0, 15.0, ()), Repair("clean duct", "duct", 5.0, 0.0, ())
    >>> to_fetch([fuse, duct], van=[]), to_fetch([fuse], van=["fuse"]), to_fetch([fuse], van=None)
    (('fuse',), (), ())
    """
    needed = () if van is None else filter(None, map(handling.new_part, repairs))
    return tuple(dict.fromkeys(part for part in needed if part not in (van or ())))


HANDING_OVER = Price(HAND_OVER, proof=0.0)
"""To hand over."""
