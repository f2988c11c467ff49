"""Rules about wires and terminals: what a slip of the pen on the wiring sheet does. Knows no volts and no heat."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.primitives import Impedance, Winding
from halfsplit.machine.rules.facts import Flaw, Nets, met_terminals, own_parts, own_wires, value_path

__all__ = [
    "doubled_wire",
    "load_bridged_by_wire",
    "load_out_of_reach",
    "long_wire",
    "part_without_wire",
    "terminal_without_wire",
    "wire_ring",
    "wires_join_supply",
]

_LONGEST = 6.0
_THINNEST = 0.08  # mm², 28 AWG


def doubled_wire(sheet: Sheet) -> Iterator[Flaw]:
    """One wire of the sheet was written down twice, in either direction."""
    first: dict[frozenset[str], str] = {}
    for wire, path in own_wires(sheet):
        ends = frozenset(wire.ends)
        if ends in first:
            message = f"{wire.ends[0]} and {wire.ends[1]} are joined already, by a {first[ends]} wire above."
            yield Flaw(path, message, "Take one of the two out, or mend a terminal.")
        first.setdefault(ends, "".join(wire.colours))


def wire_ring(sheet: Sheet) -> Iterator[Flaw]:
    """Wires alone close a ring, so one of them joins what was joined: one node has two names, or an end is wrong."""
    nets = Nets()
    seen: set[frozenset[str]] = set()
    for wire in sheet.machine.wires:
        ends, path = frozenset(wire.ends), sheet.paths[wire.name]
        if not nets.join(*wire.ends) and ends not in seen and path[0] == "wires":
            message = f"{wire.ends[0]} and {wire.ends[1]} hang together already through other wires."
            yield Flaw(path, message, "Follow them on the sheet: one end is wrong, or this wire is one too many.")
        seen.add(ends)


def part_without_wire(sheet: Sheet) -> Iterator[Flaw]:
    """A part was written down and its wires were forgotten."""
    wired = met_terminals(sheet.machine)
    for name in own_parts(sheet):
        outer = sheet.machine.parts[name].reachable
        if outer and not any(terminal in wired for terminal in outer):
            yield Flaw(value_path(name), f"No wire goes to '{name}'.", "Write its wires, or take the part out.")


def terminal_without_wire(sheet: Sheet) -> Iterator[Flaw]:
    """A wire of a part was forgotten: one of its terminals has none, though others have."""
    wired = met_terminals(sheet.machine)
    for name in own_parts(sheet):
        outer = sheet.machine.parts[name].reachable
        spare = {f"{name}.{terminal}" for terminal in sheet.file.parts[name].spare}
        loose = [terminal for terminal in outer if terminal not in wired and terminal not in spare]
        if len(loose) < len(outer):
            for terminal in loose:
                short = terminal.partition(".")[2]
                remedy = f"Write it, or `spare: [{short}]` where none belongs there."
                yield Flaw(value_path(name), f"No wire goes to {terminal}.", remedy)


def load_out_of_reach(sheet: Sheet) -> Iterator[Flaw]:
    """A load hangs together with the supply through nothing at all, whatever is closed."""
    machine = sheet.machine
    nets = Nets([*(w.ends for w in machine.wires), *(e.ends for e in machine.elements.values())])
    wired = met_terminals(machine)
    for name in own_parts(sheet):
        loads = [e for e in machine.elements.values() if e.part == name and isinstance(e, Impedance | Winding)]
        near = any(terminal in wired for terminal in sheet.machine.parts[name].reachable)
        if near and any(e.load and not nets.same(e.ends[0], machine.supply.earth) for e in loads):
            message = f"Nothing joins '{name}' with the supply, whatever is closed."
            yield Flaw(value_path(name), message, "Follow its wires back to the terminal block.")


def load_bridged_by_wire(sheet: Sheet) -> Iterator[Flaw]:
    """Wires alone join both terminals of a load, so that it can never have volts across it."""
    nets = Nets(wire.ends for wire in sheet.machine.wires)
    inside = Nets(e.ends for e in sheet.machine.elements.values() if isinstance(e, Impedance | Winding))
    for name in own_parts(sheet):
        outer = sheet.machine.parts[name].reachable
        pairs = [(a, b) for a in outer for b in outer if a < b and nets.same(a, b) and inside.same(a, b)]
        if pairs:
            message = f"Wires alone join {pairs[0][0]} and {pairs[0][1]}, so the load between them gets no volts."
            yield Flaw(value_path(name), message, "One of the wires at it ends elsewhere.")


def wires_join_supply(sheet: Sheet) -> Iterator[Flaw]:
    """Wires alone join two conductors of the supply: a short, or neutral on the frame."""
    machine = sheet.machine
    meets = list(sheet.file.supply.meets.items())
    nets, said = Nets(), False
    for wire in machine.wires:
        nets.join(*wire.ends)
        path = sheet.paths[wire.name]
        joined = [(a, b) for i, (a, x) in enumerate(meets) for b, y in meets[i + 1 :] if nets.same(x, y)]
        if joined and not said and path[0] == "wires":
            said = True
            message = f"With this wire, wires alone join {joined[0][0]} and {joined[0][1]} of the supply."
            yield Flaw(path, message, "Follow both on the sheet: one end of one wire is wrong.")


def long_wire(sheet: Sheet) -> Iterator[Flaw]:
    """A length or a gauge lost its point: no wire inside an appliance is so long, or so thin."""
    for wire, path in own_wires(sheet):
        line = sheet.lines[wire.name]
        shift = line.columns[1] if len(line.columns) == 4 else 0
        if line.run.length > _LONGEST:
            message = f"A wire of {line.run.length:g} m inside a machine is too long."
            yield Flaw(path, message, "Look at the point and the unit: 1.6 m, 160 cm.", shift)
        if line.run.area < _THINNEST:
            yield Flaw(path, f"A wire of {line.run.gauge} is too thin for the mains.", "Look at the gauge.", shift)
