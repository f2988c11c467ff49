"""When a step still pays: its minutes against the wrong repairs that it is expected to spare; and when it may be live.

Numbers only. One rule for the guide, `diagnose`, paper and rehearsals one step ahead; the planner that looks many steps
ahead keeps of it what is sure, and the excess.
"""

from __future__ import annotations

from typing import NamedTuple

SURE = 0.97
"""Probability of one set of repairs from which no further step is taken."""
CERTAIN = 0.998
"""Probability from which not even looking ahead takes one: its search leaves out as little (`advise.LIMITS`)."""
WRONG_REPAIR = 150.0
"""Minutes that a wrong repair costs at least, its part and a second visit included; common practice, no source."""

LEAST_MINUTES = 0.05
"""A step that costs nothing more counts as this many minutes."""
EXCESS = 10.0
"""Danger is an order, not a price: a live step waits while dead ones settle the repair within so many minutes more."""


COMES_TRUE = 0.5
"""So much of an estimate by one step of how much longer dead steps take comes true at most: 13 to 17 minutes came to
less than none on dryers and cooktop, 106 to 60 on the water heater (`benchmarks/danger_on_machines`, 2026-11-29)."""


class Order(NamedTuple):
    """What was compared where danger decided which step leads: minutes until it is settled which repair is due.

    dead: by dead steps alone, None where there is none; quickest: by whatever is quickest. ahead: these are whole plans
    to a proven repair, not an estimate from one step.
    """

    dead: float | None
    quickest: float
    ahead: bool = False

    @property
    def waits(self) -> bool:
        """Whether a live step waits: dead ones take at most the excess longer."""
        return self.dead is not None and self.dead <= self.quickest + EXCESS


def order(dead: float | None, quickest: float) -> Order:
    """One step ahead, from estimates by the best dead step and by the quickest of all [min]; dead None: there is none.

    >>> order(40.0, 15.0), order(None, 15.0).waits, order(40.0, 15.0).waits, order(30.0, 15.0).waits
    (Order(dead=27.5, quickest=15.0, ahead=False), False, False, True)
    """
    return Order(None if dead is None else quickest + COMES_TRUE * (dead - quickest), quickest)


def pays(minutes: float, told: float, unsure: float, wrong: float, wasted: float = WRONG_REPAIR) -> bool:
    """Whether a step pays. minutes: its own, above what the repair takes anyway; told: information that it is expected
    to give about which repair is due, and unsure: what is lacking of it, in one unit; wrong: probability (0..1) that
    the likeliest repair is wrong; wasted: what that repair costs in minutes, its part and a second visit included.

    >>> pays(5.0, told=0.5, unsure=1.0, wrong=0.2), pays(20.0, told=0.5, unsure=1.0, wrong=0.2)
    (True, False)

    Before a whole appliance is given up more is found out than before a fuse is replaced:

    >>> pays(20.0, told=0.5, unsure=1.0, wrong=0.2, wasted=600.0)
    True
    """
    return minutes <= spares(told, unsure, wrong, wasted)


def wrong_repair(price: float) -> float:
    """Minutes that a repair is taken to cost where it is wrong. price: what it costs anyhow, in minutes.

    >>> wrong_repair(105.0), wrong_repair(600.0)
    (150.0, 600.0)
    """
    return max(price, WRONG_REPAIR)


def spares(told: float, unsure: float, wrong: float, wasted: float = WRONG_REPAIR) -> float:
    """Minutes of wrong repairs that a step is expected to spare; as for `pays`.

    >>> spares(told=0.5, unsure=1.0, wrong=0.2)
    15.0
    """
    return wrong * wrong_repair(wasted) * min(told / max(unsure, 1e-9), 1.0)
