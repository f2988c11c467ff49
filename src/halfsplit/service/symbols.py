"""Which symbol an element of a machine has in a wiring picture, what moves it, and the words beside it.

Knows the primitives of a machine and the names in the table of symbols; nothing of places.
"""

from __future__ import annotations

from halfsplit.drawing.symbols import table
from halfsplit.machine import model, primitives
from halfsplit.operate import contacts
from halfsplit.quantity.dimension import Dimension
from halfsplit.quantity.display import display

_BY_HAND = {"timer": "timer", "selector": "turn", "door switch": "door", "push switch": "push"}
_BY_DEVICE = {primitives.Thermostat: "temperature", primitives.Motor: "speed", primitives.Relay: "relay"}
_AS_THE_PART = {
    "strap": "strap", "fuse": "fuse", "thermal fuse": "thermal cut-off", "breaker": "breaker", "overload": "overload",
    "receptacle": "connector",
}  # fmt: skip
_LOADS = {"thermostat with heater": "heater", "timer": "timer motor", "thermostat": "heater"}
_PLAIN = frozenset(["contact", "link", "body", "coil", "filament", "strap", "winding", "pellet", "pole", "motor"])
"""Names of elements that say no more than the part does."""


def moves(machine: model.Machine, element: primitives.Contact) -> str:
    """What moves a contact, as a row of the table of actuators; '' for nothing."""
    part = machine.parts[element.part]
    for when in element.when:
        if isinstance(when, primitives.ByControl):
            return _BY_HAND.get(part.symbol, "turn")
        return _BY_DEVICE.get(type(machine.devices[when.device]), "heat")
    return "belt" if part.symbol == "limit switch" else ""


def kind(machine: model.Machine, element: primitives.Element) -> str:
    """The kind of symbol of an element."""
    part = machine.parts[element.part]
    match element:
        case primitives.Contact():
            return _contact(machine, element, part)
        case primitives.Winding():
            return "winding"
        case primitives.Capacitor():
            return "capacitor"
        case primitives.Sensor():
            falls = element.curve[-1][1] < element.curve[0][1]
            return "ntc" if falls else "rtd"
    known = table.kinds()
    named = next((name for name in (part.type, part.symbol, _LOADS.get(part.symbol, "")) if name in known), "")
    return "coil" if moved_by(machine, element) else named or "impedance"


def moved_by(machine: model.Machine, element: primitives.Element) -> str:
    """The name of the relay whose coil an element is; '' for any other."""
    relays = (device for device in machine.devices.values() if isinstance(device, primitives.Relay))
    return next((relay.name for relay in relays if relay.coil == element.name), "")


def _contact(machine: model.Machine, element: primitives.Contact, part: model.Part) -> str:
    if part.symbol in _AS_THE_PART:
        return _AS_THE_PART[part.symbol]
    devices = [machine.devices[when.device] for when in element.when if isinstance(when, primitives.ByDevice)]
    if any(isinstance(device, primitives.Overcurrent) for device in devices):
        return "overload"
    return "break contact" if _closed_unmoved(machine, element, part) else "make contact"


def _closed_unmoved(machine: model.Machine, element: primitives.Contact, part: model.Part) -> bool:
    """Whether a contact is closed while nothing moves it: a timer's and a selector's have no such place."""
    if any(end.endswith(".NC") for end in element.ends):
        return True
    if not element.when or part.symbol == "selector" or any(end.endswith(".NO") for end in element.ends):
        return False
    if part.symbol == "timer" and not changes_over(machine, element):
        return False
    rest = {name: control.rest for name, control in machine.controls.items()}
    return element.name in contacts.closed_contacts(machine, rest, frozenset())


def changes_over(machine: model.Machine, element: primitives.Contact) -> str:
    """The terminal about which a contact changes over with one other, never closed together; '' for none."""
    for end in element.ends:
        here = [
            one for one in machine.elements.values()
            if isinstance(one, primitives.Contact) and one.part == element.part and end in one.ends and one.when
        ]  # fmt: skip
        if len(here) == 2 and _apart(here[0], here[1]):
            return end
    return ""


def _apart(one: primitives.Contact, two: primitives.Contact) -> bool:
    for a in one.when:
        for b in two.when:
            if isinstance(a, primitives.ByControl) and isinstance(b, primitives.ByControl) and a.control == b.control:
                return not a.positions & b.positions
            if isinstance(a, primitives.ByDevice) and isinstance(b, primitives.ByDevice) and a.device == b.device:
                return a.other != b.other
    return False


def linked(machine: model.Machine, element: primitives.Contact) -> str:
    """The name of the group that is seen to move with a contact: what one device moves, or a change-over.

    A timer's many contacts, and one of a motor that lies apart from its windings, have the glyph of what moves them;
    those of a door switch say at which place of the door they close.
    """
    part = machine.parts[element.part]
    devices = [machine.devices[when.device] for when in element.when if isinstance(when, primitives.ByDevice)]
    for device in devices:
        apart = isinstance(device, primitives.Motor) and not any(map(model.is_inner, element.ends))
        if not apart and not isinstance(device, primitives.Overcurrent):
            return device.name
    own = [e for e in machine.elements.values() if isinstance(e, primitives.Contact) and e.part == part.name]
    worded = part.symbol == "door switch"
    return changes_over(machine, element) if not devices and not worded and len(own) == 2 else ""


def lines(machine: model.Machine, element: primitives.Element) -> tuple[str, ...]:
    """The words under a part's title that tell its element from its others, and its size."""
    own = _short(element.name.partition(".")[2])
    part = machine.parts[element.part]
    words: tuple[str, ...]
    match element:
        case primitives.Contact():
            told = _told(machine, element, part)
            plain = (
                own in _PLAIN
                or part.symbol == "receptacle"
                or own == "-".join(end.partition(".")[2] for end in element.ends)
                or told == own
            )
            words = ("" if plain or part.symbol == "door switch" else own, told)
        case primitives.Impedance() | primitives.Winding():
            ohms = display(element.ohms.nominal, Dimension.RESISTANCE)
            said = own in _PLAIN or all(end.partition(".")[2].startswith(own) for end in element.ends)
            words = (ohms if said else f"{own} {ohms}",)
        case _:
            words = (own,)
    return tuple(filter(None, words))


def _short(name: str) -> str:
    """A name without the kind of thing that the symbol shows.

    >>> _short("start winding"), _short("contact"), _short("run at rest")
    ('start', 'contact', 'run at rest')
    """
    words = name.split()
    return " ".join(words[:-1]) if len(words) > 1 and words[-1] in _PLAIN - {"pole"} else name


def _told(machine: model.Machine, element: primitives.Contact, part: model.Part) -> str:
    """What makes a contact open or close."""
    for when in element.when:
        if isinstance(when, primitives.ByControl) and part.symbol == "door switch":
            return f"{when.control} {' or '.join(sorted(when.positions))}"
        device = machine.devices[when.device] if isinstance(when, primitives.ByDevice) else None
        if isinstance(device, primitives.Thermostat) and isinstance(when, primitives.ByDevice):
            return f"{'closes' if when.other else 'opens'} {device.trips.nominal:.0f} °C"
    return ""
