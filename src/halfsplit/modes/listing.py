"""Lists every single fault of a machine, from its parts, its joints, its wires, its settings and earlier hands.

Knows only the machine. Rates are relative weights within one machine: common practice, no source, unless the
machine file gives its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from halfsplit.machine import feeding, model, primitives
from halfsplit.modes.fault import HEAT, LOAD_SUPPLY, REPLACE_CORD, Alternatives, Fault, Repair

WRONG_SETTING_RATE = 0.4
"""Weight of each control standing elsewhere than the owner said; common practice, no source."""
CORD_PRICE = 28.0
"""Of a cord with its plug, in the machine's currency; common practice, no source. It takes as long as a wire."""
DOOR = "door switch"
"""The symbol of a part that a door works."""
EARLIER_HAND_RATE = 0.02
"""Weight of each mistake that an earlier hand may have left; common practice, no source."""


def faults(machine: model.Machine) -> tuple[Fault, ...]:
    """Every single fault, in the order of the file; names are unique, rates above 0. Where hands would meet the charge
    of a capacitor that is out of their reach, its bay is opened for the repair too."""
    found = [
        *_part_faults(machine),
        *_joint_faults(machine),
        *_wire_faults(machine),
        *_setting_faults(machine),
        *_swapped_ends(machine),
        *_jumpers(machine),
    ]
    return tuple(_discharged(machine, fault) for fault in found if fault.rate > 0)


def _discharged(machine: model.Machine, fault: Fault) -> Fault:
    more = machine.to_discharge(fault.repair.bays)
    return replace(fault, repair=replace(fault.repair, bays=(*fault.repair.bays, *more))) if more else fault


def by_name(machine: model.Machine) -> dict[str, Fault]:
    """The faults under their names."""
    return {fault.name: fault for fault in faults(machine)}


def repairs(machine: model.Machine) -> dict[str, Repair]:
    """The repairs under their names."""
    return {fault.repair.name: fault.repair for fault in faults(machine)}


def ways_to_provoke(machine: model.Machine) -> tuple[str, ...]:
    """All that can be shaken, heated, turned or loaded to bring out a fault that comes and goes, in the order of the
    file."""
    return tuple(dict.fromkeys(way for fault in faults(machine) for way in fault.provoked))


def _weights(modes: tuple[model.Mode, ...], total: float) -> list[float]:
    share = sum(mode.rate for mode in modes)
    return [total * mode.rate / share if share else 0.0 for mode in modes]


def _part_faults(machine: model.Machine) -> Iterator[Fault]:
    for part in machine.parts.values():
        barred = () if may_be_warmed(machine, part) else ("heat",)
        for mode, rate in zip(part.modes, _weights(part.modes, part.rate), strict=True):
            repair = _repair(mode, part, part.name, () if _from_outside(part, mode) else (part.bay,))
            repair = _whole(machine, repair) if repair.is_whole else repair
            repair = replace(repair, bays=tuple(dict.fromkeys((*repair.bays, *_drained(machine, part)))))
            yield _fault(part.name, mode, rate, repair, mode.alternatives, (part.name,), barred)


def _drained(machine: model.Machine, part: model.Part) -> tuple[str, ...]:
    """The bay that is opened to drain a part that stands in water, where the file puts the drain behind a cover."""
    if machine.water is None or part.name not in machine.water.parts or machine.water.drain not in machine.parts:
        return ()
    bay = machine.parts[machine.water.drain].bay
    return (bay,) if bay in machine.bays else ()


def _from_outside(part: model.Part, mode: model.Mode) -> bool:
    """Whether a repair opens nothing: of what the house has a repairer of appliances only works the handle."""
    return part.house and mode.by == "repairer"


def _fault(
    subject: str, mode: model.Mode, rate: float, repair: Repair, alternatives: Alternatives, near: tuple[str, ...],
    barred: tuple[str, ...] = (), bays: tuple[str, ...] | None = None,
) -> Fault:  # fmt: skip
    """near: the parts and wires that are shaken, heated or turned to bring the fault out; barred: what does not bring
    it out here though the mode says so: of all joints a load of the supply only does in those where the machine's whole
    current passes, and hot air is blown neither at what stands in water nor where a spark is feared; bays: where it
    lies, those of the repair where nothing is said."""
    by = tuple(way for way in mode.provoked if way not in barred)
    provoked = tuple(way for one in by for way in provocations(one, near, repair.bays if bays is None else bays))
    return Fault(
        subject, mode.name, rate, repair, alternatives, mode.acting, mode.looks, mode.earlier_hand, provoked=provoked
    )  # fmt: skip


SPARKS = "sparks"
"""A caution of a bay that speaks of them tells of what may burn there: refrigerant, lint, gas."""


def may_be_warmed(machine: model.Machine, part: model.Part) -> bool:
    """Whether hot air may be blown at a part: it does not stand in water, which takes the heat away, and nothing that a
    glowing wire would light is in its bay: gas, or what a caution keeps sparks from.

    >>> from halfsplit.machine import loading
    >>> heater, cold = loading.load("water-heater"), loading.load("refrigerator")
    >>> may_be_warmed(heater, heater.parts["upper element"]), may_be_warmed(cold, cold.parts["overload"])
    (False, False)
    """
    bay = machine.bays.get(part.bay)
    burns = (machine.gas is not None and part.bay in machine.gas.bays) or (
        bay is not None and any(SPARKS in one.text.casefold() for one in bay.cautions)
    )
    return not burns and not (machine.water is not None and part.name in machine.water.parts)


def provocations(by: str, near: tuple[str, ...], bays: tuple[str, ...]) -> tuple[str, ...]:
    """What is done to bring out a fault that comes and goes: heat or turn one thing, shake one or all in a bay; one
    load is all the supply's, whatever gives way under it.

    >>> provocations("shaking", ("door switch",), ("cabinet",))
    ('shake door switch', 'shake all in cabinet')
    >>> provocations("heat", ("limit",), ("cabinet",))
    ('heat limit',)
    >>> provocations("turning", ("motor",), ("cabinet",))
    ('turn motor',)
    >>> provocations("load", ("breaker",), ("breaker panel",))
    ('load the supply',)
    """
    if by == "load":
        return (LOAD_SUPPLY,)
    if by == "shaking":
        return (*(f"shake {name}" for name in near), *(f"shake all in {bay}" for bay in bays))
    verb = {"heat": HEAT, "turning": "turn "}.get(by)
    return tuple(verb + name for name in near) if verb else ()


def _repair(mode: model.Mode, part: model.Part, subject: str, bays: tuple[str, ...]) -> Repair:
    plain = mode.repair in ("replace", "clean")
    name = f"{mode.repair} {subject}" if plain else f"{subject}: {mode.repair}"
    buys = mode.repair.startswith("replace")
    return Repair(name, subject, part.minutes, part.price if buys else 0.0, bays, mode.by)


def _whole(machine: model.Machine, repair: Repair) -> Repair:
    """The repair that replaces the whole appliance: where its supply is wired in or its plug lies, and each pipe that
    holds water or gas, are opened for it, and two people carry it (common practice, no source)."""
    landed = [feeding.landing_bay(machine) if machine.supply.hard_wired else feeding.plug_bay(machine)]
    wet = [name for name, bay in machine.bays.items() if bay.holds_water]
    gassy = machine.gas.bays if machine.gas else ()
    opened = dict.fromkeys(bay for bay in (*landed, *wet, *gassy) if bay in machine.bays)
    return replace(repair, bays=tuple(opened) or repair.bays, people=2)


def _joint_faults(machine: model.Machine) -> Iterator[Fault]:
    pattern, fed, prongs = machine.joint, feeding.path(machine), feeding.cord_ends(machine)[0]
    if pattern is None:
        return
    for terminal, wires in model.wired_terminals(machine).items():
        if not any(wire.rate for wire in wires):
            continue
        part = machine.parts[model.part_of(terminal)]
        for mode, rate in zip(pattern.modes, _weights(pattern.modes, pattern.rate), strict=True):
            repair = _at_place(_repair(mode, pattern, f"joint {terminal}", _reached(machine, terminal)), part)
            repair = _new_cord(machine) if terminal in prongs else _with_its_wire(machine, repair, wires)
            near = (part.name, *(wire.name for wire in wires))
            changed = _about_self(mode, f"joint {terminal}")
            barred = () if terminal in fed else ("load",)
            yield _fault(f"joint {terminal}", mode, rate, repair, changed, near, barred, (part.bay,))


def _reached(machine: model.Machine, terminal: str) -> tuple[str, ...]:
    """The bay in which hands reach a joint: its part's; of the supply's earth at the frame, which metal outside is a
    part of too, where the other conductors land."""
    earth = terminal == machine.frame and terminal in machine.supply.meets
    return (feeding.landing_bay(machine) if earth else machine.parts[model.part_of(terminal)].bay,)


def _with_its_wire(machine: model.Machine, repair: Repair, wires: Sequence[model.Wire]) -> Repair:
    """The repair of a joint, which a new wire has with it where no other lands there: its ends are new. Not where the
    joint is another trade's work."""
    if machine.wire is None or len(wires) != 1:
        return repair
    new = [_new_wire(machine, mode, wires[0]) for mode in machine.wire.modes]
    return replace(repair, within=tuple(dict.fromkeys(one.name for one in new if one.by == repair.by)))


def _at_place(repair: Repair, part: model.Part) -> Repair:
    return replace(repair, by="electrician") if part.house else repair


def _new_cord(machine: model.Machine) -> Repair:
    """The repair of a prong, of the joint at it, and of every wire of the cord: in the bay where they land."""
    wires, (_, ends) = machine.cord, feeding.cord_ends(machine)
    bays = tuple(dict.fromkeys(machine.parts[model.part_of(end)].bay for end in ends))
    minutes = machine.wire.minutes if machine.wire else 0.0
    return Repair(REPLACE_CORD, wires[0].name, minutes, CORD_PRICE, bays)


def _wire_faults(machine: model.Machine) -> Iterator[Fault]:
    pattern = machine.wire
    if pattern is None:
        return
    for wire in machine.wires:
        parts = [machine.parts[model.part_of(end)] for end in wire.ends]
        bays = tuple(dict.fromkeys(part.bay for part in parts))
        for mode, rate in zip(pattern.modes, _weights(pattern.modes, pattern.rate * wire.rate), strict=True):
            repair = _new_wire(machine, mode, wire)
            yield _fault(wire.name, mode, rate, repair, _about_self(mode, wire.name), (wire.name,), bays=bays)


def _new_wire(machine: model.Machine, mode: model.Mode, wire: model.Wire) -> Repair:
    """The repair of a wire: one of the cord's is changed with all of it, a fixed one by an electrician."""
    assert machine.wire is not None
    if wire in machine.cord:
        return _new_cord(machine)
    parts = [machine.parts[model.part_of(end)] for end in wire.ends]
    made = _repair(mode, machine.wire, wire.name, tuple(dict.fromkeys(part.bay for part in parts)))
    return _at_place(made, parts[0]) if all(part.house for part in parts) else made


def _about_self(mode: model.Mode, name: str) -> Alternatives:
    """The mode's changes with the pattern's `self` named."""
    return tuple(
        (weight, tuple(replace(change, what=name) if change.what == "self" else change for change in changes))
        for weight, changes in mode.alternatives
    )


def _setting_faults(machine: model.Machine) -> Iterator[Fault]:
    house = machine.house_controls
    for control in machine.controls.values():
        if control.momentary or control.name in house or not _left_by_owner(machine, control):
            continue
        for position in control.positions:
            repair = Repair(f"show the owner how to set {control.name}", control.name, machine.handwork.show, 0.0, ())
            changes = (model.Change("stands", control.name, to=position),)
            mode = f"stood at {position}"
            rate = WRONG_SETTING_RATE / len(control.positions)
            yield Fault(control.name, mode, rate, repair, ((1.0, changes),), owner_only=True)


def _left_by_owner(machine: model.Machine, control: model.Control) -> bool:
    """Whether an owner sets it and leaves it so: no cam inside the machine, no door, which nobody is shown how to shut,
    and no strap, which is fitted or absent only in a fault of its own."""
    listening = _listening(machine, control)
    door = bool(listening) and all(machine.parts[one.part].symbol == DOOR for one in listening)
    return not machine.turned_in(control.name) and not door and set_by_hand(machine, control)


def _listening(machine: model.Machine, control: model.Control) -> list[primitives.Contact]:
    """The contacts that a control works."""
    contacts = (one for one in machine.elements.values() if isinstance(one, primitives.Contact))
    return [
        one for one in contacts
        if any(isinstance(when, primitives.ByControl) and when.control == control.name for when in one.when)
    ]  # fmt: skip


def set_by_hand(machine: model.Machine, control: model.Control) -> bool:
    """Whether a hand sets it in passing: a strap that is fitted or absent only stands in a fault of its own.

    >>> from halfsplit.machine import loading
    >>> dryer = loading.load("vented-dryer")
    >>> [name for name, control in dryer.controls.items() if not set_by_hand(dryer, control)]
    ['bond strap']
    """
    listening = _listening(machine, control)
    modes = (mode for part in machine.parts.values() for mode in part.modes if mode.earlier_hand)
    changed = {change.what for mode in modes for _, changes in mode.alternatives for change in changes}
    return not listening or not {one.name for one in listening} <= changed


def _swapped_ends(machine: model.Machine) -> Iterator[Fault]:
    """Two wires of one part exchanged: what a hand in a hurry does to terminals that look alike."""
    wired = model.wired_terminals(machine)
    for part in machine.parts.values():
        ends = [f"{part.name}.{t}" for t in part.terminals if f"{part.name}.{t}" in wired]
        if part.house or not 3 <= len(ends) <= 6:
            continue
        for first, second in combinations(ends, 2):
            if _alike(machine, first, second):
                continue
            mode = f"wires at {first.split('.')[1]} and {second.split('.')[1]} swapped"
            repair = Repair(f"{part.name}: put the wires right", part.name, machine.handwork.rewire, 0.0, (part.bay,))
            changes = (model.Change("swapped", first, to=second),)
            yield Fault(part.name, mode, EARLIER_HAND_RATE, repair, ((1.0, changes),), earlier_hand=True)


def _alike(machine: model.Machine, first: str, second: str) -> bool:
    """Whether nothing is changed by exchanging all that is wired to two terminals: the ends of one plain element."""
    touching = [set(e.ends) for e in machine.elements.values() if first in e.ends or second in e.ends]
    return all(ends == {first, second} for ends in touching)


def _jumpers(machine: model.Machine) -> Iterator[Fault]:
    """A protector bridged with a piece of wire, and left so."""
    for element in machine.elements.values():
        if not isinstance(element, primitives.Contact) or not _is_protector(machine, element):
            continue
        part = machine.parts[element.part]
        repair = Repair(f"{part.name}: take the jumper off", part.name, machine.handwork.unbridge, 0.0, (part.bay,))
        changes = (model.Change("bridged", element.ends[0], 0.01, element.ends[1]),)
        mode = f"jumper left across {element.name.split('.')[1]}"
        yield Fault(part.name, mode, EARLIER_HAND_RATE, repair, ((1.0, changes),), looks="jumper", earlier_hand=True)


def _is_protector(machine: model.Machine, contact: primitives.Contact) -> bool:
    devices = [machine.devices[when.device] for when in contact.when if isinstance(when, primitives.ByDevice)]
    return any(isinstance(device, primitives.Thermostat) and not when_other(contact) for device in devices)


def when_other(contact: primitives.Contact) -> bool:
    """True where the contact closes in a device's other state (a change-over contact's second throw)."""
    return any(isinstance(when, primitives.ByDevice) and when.other for when in contact.when)
