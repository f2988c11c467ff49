"""The two-terminal elements and the wires of a machine as it stands: what a wiring picture draws between nets.

A closed contact of the house only joins, unless the house is wanted in full; what a fault opened or altered is an
element of its own. Knows how the machine stands; nothing of nets and rails.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from halfsplit.circuit.assembly import JOINT_OHMS, joint_at, wires_at
from halfsplit.drawing.sheet import Element, Wire
from halfsplit.machine import model, primitives
from halfsplit.quantity.dimension import Dimension
from halfsplit.quantity.display import display
from halfsplit.service import symbols
from halfsplit.service.standing import Standing

FLOWS_AMPS = 1e-2
"""Current is said to flow from so many A on: a clock motor's is drawn, what a hot starting pellet lets by is not."""


@dataclass
class Pieces:
    """Elements to draw, wires, and pairs of terminals that are one because a closed contact of the house joins them.

    `split` are terminals whose joint with several wires is an element of its own: a bad one, or one on the block.
    """

    split: frozenset[str]
    elements: list[Element] = field(default_factory=list)
    wires: list[Wire] = field(default_factory=list)
    joined: list[tuple[str, str]] = field(default_factory=list)


def pieces(at: Standing, house: bool) -> Pieces:
    """All pieces; `house`: breaker and receptacle are drawn even where they are closed."""
    found = Pieces(_split(at, house))
    for element in at.machine.elements.values():
        if at.machine.parts[element.part].house:
            _of_the_house(found, at, element, house)
        elif not isinstance(element, primitives.Contact) or not _is_absent(at, element):
            found.elements.append(_element(at, element))
    for wire in at.machine.wires:
        _wire(found, at, wire)
    found.elements += [*_joints(at, found.split), *_bridges(at, found.split)]
    held = {node_seen(found.split, end) for bridge in at.bridges for end in bridge[:2]}
    found.elements = _whole(at, found.elements, held)
    return found


def _split(at: Standing, house: bool) -> frozenset[str]:
    parts = at.machine.parts
    blocks = {t for t in at.machine.supply.meets if house and parts[model.part_of(t)].symbol == "terminals"}
    several = (t for t in at.machine.terminals if wires_at(t) in at.volts)
    return frozenset(t for t in several if t in blocks or _is_bad(at, joint_at(t)))


def node_seen(split: frozenset[str], node: str) -> str:
    """The terminal that a node is drawn as: where wires meet is the terminal itself unless that is split."""
    terminal = node.removeprefix(wires_at(""))
    return meeting(terminal) if terminal != node and terminal in split else terminal


def meeting(terminal: str) -> str:
    """The point inside a part where wires meet before a bad joint.

    >>> meeting("terminal block.L1")
    'terminal block.~wires at L1'
    """
    part, _, own = terminal.partition(".")
    return f"{part}.{model.HIDDEN}wires at {own}"


def _is_bad(at: Standing, name: str) -> bool:
    return name in at.opened or name in at.altered


def _is_absent(at: Standing, element: primitives.Contact) -> bool:
    """A bond strap that is not fitted."""
    is_strap = at.machine.parts[element.part].symbol == "strap"
    return is_strap and element.name not in at.closed and element.name not in at.opened


def _of_the_house(found: Pieces, at: Standing, element: primitives.Element, house: bool) -> None:
    if not isinstance(element, primitives.Contact) or _is_earth_bond(at, element):
        return
    switched = bool(element.when) and house and not all(end.endswith("PE") for end in element.ends)
    if element.name in at.closed and not switched and element.name not in at.altered:
        found.joined.append(element.ends)
    else:
        found.elements.append(_element(at, element))


def _is_earth_bond(at: Standing, element: primitives.Contact) -> bool:
    """The bond of neutral and earth at the service lies outside the picture."""
    part = at.machine.parts[element.part]
    return part.symbol == "source" and not any(map(model.is_inner, element.ends))


def _element(at: Standing, element: primitives.Element) -> Element:
    part = at.machine.parts[element.part]
    kind = symbols.kind(at.machine, element)
    lines = symbols.lines(at.machine, element) + _fault_words(at, element.name)
    drawn = Element(
        element.part,
        element.name.partition(".")[2],
        kind,
        *element.ends,
        part.title or part.name,
        lines,
        current=at.amps[element.name] > FLOWS_AMPS,
        linked=symbols.moved_by(at.machine, element),
        load=kind == "resistor" or bool(getattr(element, "load", False)),
    )
    return _contact(at, element, drawn) if isinstance(element, primitives.Contact) else drawn


def _contact(at: Standing, element: primitives.Contact, drawn: Element) -> Element:
    closed, kind = element.name in at.closed, drawn.kind
    if kind in ("connector", "strap", "joint"):
        return drawn if closed else replace(drawn, kind="break", lines=(*drawn.lines, *_pulled(at, element)))
    if kind in ("make contact", "break contact"):
        actuator, linked = symbols.moves(at.machine, element), symbols.linked(at.machine, element)
        return replace(drawn, actuator=actuator, linked=linked, closed=closed)
    return replace(drawn, closed=closed)


def _pulled(at: Standing, element: primitives.Contact) -> tuple[str, ...]:
    by_hand = [when.control for when in element.when if isinstance(when, primitives.ByControl)]
    return tuple(f"{control} {at.positions[control]}" for control in by_hand if element.name not in at.opened)


def _fault_words(at: Standing, name: str) -> tuple[str, ...]:
    if any(name in at.machine.gripped.get(terminal, ()) for terminal in at.at.lift):
        return ("taken off",)
    said = {"open": at.opened, "shut": at.shut, "more or fewer ohms": at.altered}
    return tuple(f"fault: {words}" for words, names in said.items() if name in names)


def _wire(found: Pieces, at: Standing, wire: model.Wire) -> None:
    start, end = (node_seen(found.split, node) for node in at.landing[wire.name])
    if not _is_bad(at, wire.name):
        found.wires.append(Wire(start, end, wire.colours or ("BK",), wire.name))
        return
    lifted = set(wire.ends) & set(at.at.lift)
    title = "wire " + "/".join(wire.colours)
    flows = at.amps[wire.name] > FLOWS_AMPS
    found.elements.append(_bad(at, wire.name, (wire.name, "wire"), (start, end), title, bool(lifted), flows))


def _joints(at: Standing, split: frozenset[str]) -> Iterator[Element]:
    """Joints that stand as elements of their own."""
    for terminal in (t for t in at.machine.terminals if t in split):
        part, _, own = terminal.partition(".")
        name, ends = joint_at(terminal), (terminal, meeting(terminal))
        flows = at.amps[name] > FLOWS_AMPS
        title = at.machine.parts[part].title or part
        if _is_bad(at, name):
            lifted = terminal in at.at.lift
            yield _bad(at, name, (part, name), ends, f"joint {title} {own}", lifted, flows)
        else:
            yield Element(part, name, "joint", *ends, title, current=flows)


def _bad(
    at: Standing, name: str, key: tuple[str, str], ends: tuple[str, str], title: str, lifted: bool, flows: bool
) -> Element:
    kind = "break" if name in at.opened else "resistor"
    lines = ("taken off",) if lifted else _fault_words(at, name)
    return Element(*key, kind, *ends, title, lines, current=flows)


def _bridges(at: Standing, split: frozenset[str]) -> Iterator[Element]:
    """What a fault joins: a leak to the frame, a wire on a foreign terminal."""
    for number, (one, two, ohms) in enumerate(at.bridges):
        ends = (node_seen(split, one), node_seen(split, two))
        flows = abs(at.volts[one] - at.volts[two]) / ohms > FLOWS_AMPS
        key = ("fault", str(number))
        if ohms > JOINT_OHMS:
            lines = (display(ohms, Dimension.RESISTANCE), *_to_frame(at, ends))
            yield Element(*key, "resistor", *ends, "fault", lines, current=flows)
        else:
            yield Element(*key, "joint", *ends, "fault", ("wire put here",), current=flows)


def _to_frame(at: Standing, ends: tuple[str, str]) -> tuple[str, ...]:
    return (f"to the {model.part_of(at.machine.frame)}",) if at.machine.frame in ends else ()


def _whole(at: Standing, elements: Iterable[Element], held: set[str]) -> list[Element]:
    """Halves of a load that meet at a hidden middle, to which nothing else is joined, as one."""
    made: list[Element] = []
    for element in elements:
        if made and _are_halves(made[-1], element) and made[-1].end not in held:
            made[-1] = _one(at, made[-1], element)
        else:
            made.append(element)
    return made


def _are_halves(first: Element, second: Element) -> bool:
    loads = first.load and second.load and first.kind == second.kind == "heater"
    return loads and first.end == second.start and model.is_inner(first.end)


def _one(at: Standing, first: Element, second: Element) -> Element:
    """Two halves in one, with the ohms of both and what faults did to either."""
    name = " ".join(word for word in first.name.split() if word not in ("near", "far", "first", "second", "half"))
    halves = [at.machine.elements[one.key.replace("/", ".", 1)] for one in (first, second)]
    ohms = sum(half.ohms.nominal for half in halves if isinstance(half, primitives.Impedance))
    faults = dict.fromkeys(line for line in (*first.lines, *second.lines) if line.startswith("fault"))
    size = " ".join(filter(None, (name, display(ohms, Dimension.RESISTANCE))))
    return replace(first, name=name, end=second.end, lines=(size, *faults), current=first.current or second.current)
