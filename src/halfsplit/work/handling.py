"""What a repair is for the hands: whether they go to the machine, what comes off for it, what is bought, water and gas.

Knows the machine file and repairs; how the machine goes together again is told by `work/together`.
"""

from __future__ import annotations

from halfsplit.machine import feeding, model, twins
from halfsplit.modes.fault import REPLACE_CORD, Repair
from halfsplit.work.hazards import Pipe
from halfsplit.work.state import with_fronts

ABOUT_WIRES = ("put the wires right", "take the jumper off")
"""Repairs of a part that leave the part itself where it is."""
HEATER = "heater"
"""The symbol of a part that heats."""


def taken_off(machine: model.Machine, repair: Repair) -> tuple[str, ...]:
    """The terminals whose wires come off for a repair: a new part's, a joint's, both ends of a wire.

    >>> from halfsplit.machine import loading
    >>> taken_off(loading.load("vented-dryer"), Repair("replace cut-off", "cut-off", 10, 15, ("drum housing",)))
    ('cut-off.1', 'cut-off.2')

    Of a whole appliance that is wired in, the supply's:

    >>> tank = Repair("tank: replace the whole appliance", "tank", 110, 600, ("upper cover",))
    >>> taken_off(loading.load("water-heater"), tank)
    ('limit.1', 'limit.3')

    Of a cord, which is one piece with its plug, all in the machine:

    >>> heard = loading.load("vented-dryer-3-wire")
    >>> taken_off(heard, Repair(REPLACE_CORD, "", 12, 28, ("back",)))
    ('terminal block.L1', 'terminal block.L2', 'terminal block.N')
    """
    if repair.name == REPLACE_CORD:
        return feeding.cord_ends(machine)[1]
    if repair.is_whole:
        return _supply_ends(machine)
    wired = model.wired_terminals(machine)
    if repair.subject in machine.parts:
        part = machine.parts[repair.subject]
        all_off = new_part(repair) is not None or repair.name.endswith("put the wires right")
        return tuple(t for t in (f"{part.name}.{t}" for t in part.terminals) if t in wired) if all_off else ()
    if repair.subject.removeprefix("joint ") in wired:
        return (repair.subject.removeprefix("joint "),)
    return next((wire.ends for wire in machine.wires if wire.name == repair.subject), ())


def _supply_ends(machine: model.Machine) -> tuple[str, ...]:
    """The terminals at which what is wired in lands; the earth comes off the frame with them, and has a task of its
    own."""
    ends = machine.supply.meets if machine.supply.hard_wired else ()
    return tuple(terminal for terminal in ends if terminal != machine.frame)


def unfastened(machine: model.Machine, repair: Repair) -> tuple[str, ...]:
    """The part of which the file says what holds it, where a repair replaces it.

    >>> from halfsplit.machine import loading
    >>> unfastened(loading.load("vented-dryer"), Repair("replace belt", "belt", 20, 22, ("drum space",)))
    ('belt',)
    """
    part = machine.parts.get(new_part(repair) or "")
    return (part.name,) if part and part.fasteners and not repair.is_whole else ()


def pulled_out(machine: model.Machine, repair: Repair) -> tuple[str, ...]:
    """The terminals that come out of their socket for a repair: of a part that plugs in and is replaced.

    >>> from halfsplit.machine import loading
    >>> burner = Repair("replace left front burner", "left front burner", 2, 15, ())
    >>> pulled_out(loading.load("coil-cooktop"), burner)
    ('left front burner.1', 'left front burner.2')
    """
    return tuple(t for t in machine.gripped if model.part_of(t) == repair.subject and new_part(repair) is not None)


def out_first(machine: model.Machine, repair: Repair) -> tuple[str, ...]:
    """The terminals of what sits in a socket and comes out before the socket is replaced.

    >>> from halfsplit.machine import loading
    >>> socket = Repair("replace left front receptacle", "left front receptacle", 12, 22, ("top",))
    >>> out_first(loading.load("coil-cooktop"), socket)
    ('left front burner.1', 'left front burner.2')
    """
    return twins.held(machine, repair.subject) if new_part(repair) is not None else ()


def hands_in(machine: model.Machine, repair: Repair) -> bool:
    """Whether hands go to the machine itself, so that it is isolated: not for a setting or what the house has."""
    if repair.subject.startswith(("joint ", "wire ")):
        return True
    return repair.subject in machine.parts and not machine.parts[repair.subject].house


def at_the_panel(machine: model.Machine, repair: Repair) -> bool:
    """Whether a repair is ours and made at the house's own supply: the machine's power may come back with it.

    >>> from halfsplit.machine import loading
    >>> reset = Repair("breaker: switch fully off and on", "breaker", 2, 0, ())
    >>> at_the_panel(loading.load("coil-cooktop"), reset)
    True
    """
    return repair.subject in machine.parts and machine.parts[repair.subject].house and repair.by == "repairer"


def in_water(machine: model.Machine, repair: Repair) -> bool:
    """Whether a part comes out of the water for a repair, so that it is drained first.

    >>> from halfsplit.machine import loading
    >>> heater = loading.load("water-heater")
    >>> in_water(heater, Repair("replace upper element", "upper element", 45, 28, ("upper cover",)))
    True
    >>> in_water(heater, Repair("replace limit", "limit", 15, 22, ("upper cover",)))
    False
    """
    about_wires = repair.name.endswith(ABOUT_WIRES)
    return machine.water is not None and repair.subject in machine.water.parts and not about_wires


def heats_water(machine: model.Machine) -> bool:
    """Whether a heater stands in the water of a machine: it may be hot, and must not be fed dry."""
    return machine.water is not None and any(machine.parts[part].symbol == HEATER for part in machine.water.parts)


def drained_inside(machine: model.Machine) -> bool:
    """Whether a cover comes off before water can be let out: the file puts the drain behind one."""
    drain = machine.parts.get(machine.water.drain) if machine.water else None
    return drain is not None and drain.bay in machine.bays


def pipe(machine: model.Machine, repair: Repair) -> Pipe:
    """What a repair has to do with gas: its pipe comes apart, hands work beside it, or neither."""
    if machine.gas is None:
        return Pipe.AWAY
    if (repair.is_whole or repair.subject in machine.gas.parts) and not repair.name.endswith(ABOUT_WIRES):
        return Pipe.APART
    return Pipe.BESIDE if set(with_fronts(machine, repair.bays)) & set(machine.gas.bays) else Pipe.AWAY


def new_part(repair: Repair) -> str | None:
    """The part that a repairer has to bring for a repair; None for joints, wires, cleaning, and what others do.

    >>> new_part(Repair("replace fuse", "fuse", 5, 10, ())), new_part(Repair("clean vent duct", "vent duct", 5, 0, ()))
    ('fuse', None)
    """
    about_wires = repair.subject.startswith(("joint ", "wire "))
    buys = repair.name == f"replace {repair.subject}" or repair.name.startswith(f"{repair.subject}: replace")
    return repair.subject if buys and not about_wires and repair.by == "repairer" else None
