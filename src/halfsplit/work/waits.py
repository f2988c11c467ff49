"""How long it takes until a machine is as warm, or as cold, as something wants it.

Knows the machine file; nothing of steps. The file says it where it is far from usual (`comes to`); what it leaves out
is common practice, no source.
"""

from __future__ import annotations

from halfsplit.machine import model

WARM_UP = 6.0
"""Minutes to a warmer state of which the file says nothing."""
COOL_DOWN = 10.0
"""Minutes to stand until cool, or thawed."""


def waiting(machine: model.Machine, now: str, wanted: str, isolated: bool, left: str = "") -> float:
    """Minutes from one warmth of the machine ("": as its owner left it) to another, isolated or at work; left: the
    warmth at which what is opened on the way leaves it.

    As its owner left it, a machine that gets hot in a run of ours has stood. One of which no part gets hot (a tank, a
    cabinet) is taken to stand as wanted, but for a warmer state of which the file says how long it takes: there it may
    have stood at any of its warmths, one as likely as another.

    >>> from halfsplit.machine import loading
    >>> heater, dryer = loading.load("water-heater"), loading.load("vented-dryer")
    >>> [waiting(heater, now, "hot tank", False) for now in ("cold tank", "top hot", "hot tank")]
    [80.0, 55.0, 0.0]
    >>> waiting(heater, "hot tank", "top hot", False), waiting(heater, "", "hot tank", False)
    (20.0, 45.0)
    >>> waiting(dryer, "cold", "hot", False), waiting(dryer, "hot", "cold", True)
    (6.0, 10.0)
    """
    if not machine.warmths:
        return 0.0
    rest = machine.warmths[0]
    stands = left or now or (rest if machine.heats else "")
    if stands:
        return _between(machine, stands, wanted, isolated)
    if wanted == rest or wanted not in machine.comes_to:
        return 0.0
    return sum(_between(machine, warmth, wanted, isolated) for warmth in machine.warmths) / len(machine.warmths)


def by_itself(machine: model.Machine, wanted: str, isolated: bool) -> bool:
    """Whether a machine comes to a warmth by standing, cooling or thawing (as it does to the one that opening a bay
    leaves); else it has to run for it."""
    stood = wanted in machine.left_at.values() or not (machine.heats or wanted in machine.comes_to)
    return wanted == machine.warmths[0] or (isolated and stood)


def _between(machine: model.Machine, stands: str, wanted: str, isolated: bool) -> float:
    if wanted == stands:
        return 0.0
    rest = machine.warmths[0]
    down = machine.comes_to.get(rest, COOL_DOWN)
    if by_itself(machine, wanted, isolated):
        return down if wanted == rest else COOL_DOWN
    if wanted not in machine.comes_to:
        return WARM_UP
    further = machine.comes_to[wanted] - (0.0 if stands == rest else machine.comes_to.get(stands, 0.0))
    return further if further > 0.0 else down
