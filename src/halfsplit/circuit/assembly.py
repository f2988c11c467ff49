"""A machine as numbered nodes and branches, and its network in one state of contacts and devices.

Knows the machine's elements, wires and joints; not why a contact is closed (operate decides), nor faults.

Nodes: every terminal; at a terminal with two or more wires also the point where these wires meet, so that the
joint between is a branch of its own; and the loom, the ground of the arrays, to which every node has a stray.
Where only one wire lands on a terminal its joint is in series with the wire and shares the wire's branch.
Where the house's wire meets the machine's own on a block, the joint lies between the two: a burnt block cuts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halfsplit.circuit import motor, network
from halfsplit.machine import model, primitives
from halfsplit.machine.loads import Load, leg_volts, loads_of

LOOM = "loom"
LOOM_VOLTS = 0.31 * np.exp(0.21j * np.pi)
"""What an open wire picks up from the live ones beside it, in rated volts; common practice, no source."""
STRAY_FARADS = 60e-12
STRAY_SIEMENS_DC = 1e-10
JOINT_OHMS = 0.0015
RUNNING_SLIP = 0.05


@dataclass(frozen=True)
class State:
    """Which contacts are closed and which devices are in their other state: all that a network depends on.

    closed: names of closed contacts; other: names of devices in their other state; lifted: terminals.
    """

    closed: frozenset[str]
    other: frozenset[str]
    lifted: frozenset[str] = frozenset()
    warmth: str = ""


class Assembly:
    """Numbers a machine's nodes and branches once, and makes its network in any state."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine = machine
        self._wired = model.wired_terminals(machine)
        self.nodes: dict[str, int] = {name: index for index, name in enumerate(self._node_names())}
        ends = self._branch_ends()
        self.branches: dict[str, int] = {name: index for index, (name, *_) in enumerate(ends)}
        self.tail = np.array([self.nodes[a] for _, a, _ in ends])
        self.head = np.array([self.nodes[b] for _, _, b in ends])
        self._alias_single_joints()
        self._base = np.array([JOINT_OHMS + 0j] * len(ends))
        self._fill_wires()

    # ---- numbering ----------------------------------------------------------------------------------------

    def _node_names(self) -> list[str]:
        shared = [wires_at(t) for t, wires in self._wired.items() if len(wires) > 1]
        return [*self.machine.terminals, *shared, LOOM]

    def _landing(self, terminal: str, wire: model.Wire) -> str:
        """The node where a wire that goes to this terminal ends."""
        several = len(self._wired[terminal]) > 1
        return wires_at(terminal) if several and not self._feeds(wire, terminal) else terminal

    def _feeds(self, wire: model.Wire, terminal: str) -> bool:
        """Whether a wire comes from the house to a terminal of the machine."""
        there = [model.part_of(end) for end in wire.ends if end != terminal]
        own = not self.machine.parts[model.part_of(terminal)].house
        return own and any(self.machine.parts[part].house for part in there)

    def _branch_ends(self) -> list[tuple[str, str, str]]:
        elements = [(e.name, *e.ends) for e in self.machine.elements.values()]
        joints = [(joint_at(t), t, wires_at(t)) for t, wires in self._wired.items() if len(wires) > 1]
        wires = [(name, *ends) for name, ends in self.landing.items()]
        return [*elements, *joints, *wires, (LOOM, LOOM, self.machine.supply.earth)]

    def _alias_single_joints(self) -> None:
        for terminal, wires in self._wired.items():
            if len(wires) == 1:
                self.branches[joint_at(terminal)] = self.branches[wires[0].name]

    def _fill_wires(self) -> None:
        for wire in self.machine.wires:
            single = sum(len(self._wired[end]) == 1 for end in wire.ends)
            self._base[self.branches[wire.name]] = wire.ohms + JOINT_OHMS * single

    @property
    def rated(self) -> float:
        """Nominal volts of the first source."""
        return leg_volts(self.machine)

    @cached_property
    def loads(self) -> tuple[Load, ...]:
        """Every load of the machine's own parts, in the order of the file."""
        return tuple(loads_of(self.machine))

    # ---- networks -----------------------------------------------------------------------------------------

    def under_power(self, state: State, loom: bool = True) -> network.Network:
        """The phasor network of a state; ohm at the supply's frequency."""
        impedance, closed, emf = self._base.copy(), self._closed(state), np.zeros(len(self.tail), complex)
        coupling: list[tuple[int, int, complex]] = []
        for element in self.machine.elements.values():
            k = self.branches[element.name]
            impedance[k] = self.live_impedance(element, state)
            if isinstance(element, primitives.Source):
                emf[k] = element.volts.nominal * np.exp(1j * np.deg2rad(element.degrees))
        for device in self.machine.devices.values():
            if isinstance(device, primitives.Motor) and device.auxiliary:
                self._couple(device, state, impedance, coupling)
        emf[self.branches[LOOM]] = -LOOM_VOLTS * self.rated if loom else 0.0
        stray = np.full(len(self.nodes), 2j * np.pi * self.machine.supply.hertz * STRAY_FARADS)
        return self._network(impedance, closed, emf, tuple(coupling), stray)

    def to_a_meter(self, state: State) -> network.Network:
        """The network that a meter's ohms see: resistances, no source, capacitors charged."""
        impedance, closed = self._base.copy(), self._closed(state)
        for element in self.machine.elements.values():
            k = self.branches[element.name]
            impedance[k] = self.meter_ohms(element, state)
            closed[k] &= not isinstance(element, primitives.Capacitor)
        stray = np.full(len(self.nodes), STRAY_SIEMENS_DC + 0j)
        return self._network(impedance, closed, np.zeros(len(self.tail)), (), stray)

    def _network(self, impedance, closed, emf, coupling, stray) -> network.Network:  # type: ignore[no-untyped-def]
        ground = self.nodes[LOOM]
        return network.Network(len(self.nodes), self.tail, self.head, impedance, closed, emf, coupling, stray, ground)

    def _closed(self, state: State) -> network.Array:
        closed = np.ones(len(self.tail), bool)
        for element in self.machine.elements.values():
            if isinstance(element, primitives.Contact):
                closed[self.branches[element.name]] = element.name in state.closed
        for terminal in state.lifted:
            closed[[self.branches[name] for name in self.taken_off(terminal)]] = False
        return closed

    def taken_off(self, terminal: str) -> tuple[str, ...]:
        """The branches that are open once a terminal is off: the joint of its wires, or what grips it in a socket."""
        return (joint_at(terminal),) if terminal in self._wired else tuple(self.machine.gripped.get(terminal, ()))

    def off(self, state: State) -> frozenset[int]:
        """The nodes of the terminals whose wires are off in a state."""
        return frozenset(self.nodes[terminal] for terminal in state.lifted)

    @cached_property
    def landing(self) -> Mapping[str, tuple[str, str]]:
        """Of each wire the nodes on which its ends land, by their names."""
        return {w.name: (self._landing(w.ends[0], w), self._landing(w.ends[1], w)) for w in self.machine.wires}

    def live_impedance(self, element: primitives.Element, state: State) -> complex:
        """Ohm of an element under power (its own, without coupling)."""
        omega = 2 * np.pi * self.machine.supply.hertz
        match element:
            case primitives.Impedance():
                live = element.other_live if element.device in state.other else element.live
                return element.ohms.nominal * live
            case primitives.Capacitor():
                return 1 / (1j * omega * element.farads.nominal)
            case primitives.Source():
                return element.impedance
        return complex(self.meter_ohms(element, state))

    def meter_ohms(self, element: primitives.Element, state: State) -> float:
        """Ohm of an element to a meter."""
        match element:
            case primitives.Source():
                return abs(element.impedance)
            case primitives.Capacitor():
                return 1.0
            case primitives.Sensor():
                celsius, ohms = zip(*element.curve, strict=True)
                warmth = self.machine.places[element.place].get(state.warmth, 20.0)
                return float(np.exp(np.interp(warmth, celsius, np.log(ohms))))
        return element.ohms.nominal

    def _couple(self, device: primitives.Motor, state: State, impedance, coupling) -> None:  # type: ignore[no-untyped-def]
        elements = self.machine.elements
        main, auxiliary = elements[device.main], elements[device.auxiliary]
        assert isinstance(main, primitives.Winding)
        assert isinstance(auxiliary, primitives.Winding)
        slip = RUNNING_SLIP if device.name in state.other else 1.0
        data = motor.fitted(main.ohms.nominal, auxiliary.ohms.nominal, auxiliary.turns, device.rated, device.starting)
        z = motor.matrix(data, slip)
        m, a = self.branches[main.name], self.branches[auxiliary.name]
        impedance[m], impedance[a] = z[0, 0], z[1, 1]
        if slip < 1.0:
            coupling += [(m, a, z[0, 1]), (a, m, z[1, 0])]


def wires_at(terminal: str) -> str:
    """The node where several wires meet before they reach a terminal."""
    return f"wires at {terminal}"


def joint_at(terminal: str) -> str:
    """The name of the joint at a terminal."""
    return f"joint {terminal}"
