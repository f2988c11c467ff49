"""A machine file as a deck in the time domain: mains as sine waves, contacts as switches, devices with their delays.

The judge of what a machine does to itself. Made from model.Machine and the changes of a fault alone: it imports
nothing of Halfsplit's circuit or operate and shares no array, no state and no solver with them. A node is a
terminal; a joint with a fault gets a node of its own. An open contact is 100 kohm, what a fault opens is gone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from halfsplit.machine import model, primitives
from tests.judges import batches, rotor, wants
from tests.judges.wants import node

JOINT, WELDED, OPEN = 0.0015, 0.01, 1e5
STAGE_SECONDS = 0.7
STEP = 2.5e-4

Change = model.Change
T = TypeVar("T")


@dataclass(frozen=True)
class Stage:
    """From here on the controls stand so, and the places have this warmth ("": as before)."""

    positions: Mapping[str, str]
    warmth: str = ""


@dataclass(frozen=True)
class Course:
    """States (times, devices) of the devices' names over time: 0 or 1."""

    names: tuple[str, ...]
    states: NDArray[np.bool_]
    seconds: NDArray[np.float64]

    @property
    def end(self) -> frozenset[str]:
        """The devices in their other state at the end."""
        return frozenset(name for name, on in zip(self.names, self.states[-1].tolist(), strict=True) if on)

    @property
    def still(self) -> bool:
        """Whether nothing moves in the last sixth of a stage."""
        late = self.states[self.seconds > self.seconds[-1] - STAGE_SECONDS / 6]
        return bool((late == late[-1]).all())

    def moves(self, device: str) -> int:
        """How often a device changed its state."""
        column = self.states[:, self.names.index(device)]
        return int((column[1:] != column[:-1]).sum())


def stages(machine: model.Machine, setting: Mapping[str, str]) -> list[Stage]:
    """Plugged in with the controls set, the momentary ones held, let go again, then warmed."""
    warmth = setting.get("warmth", "")
    cold = machine.warmths[0] if machine.warmths else ""
    momentary = {name: setting.get(name, "untouched") for name, c in machine.controls.items() if c.momentary}
    stand = {n: setting.get(n, c.rest) for n, c in machine.controls.items() if n not in momentary}
    found = [Stage(stand | dict.fromkeys(momentary, "untouched"), cold)]
    touched = [name for name, how in momentary.items() if how != "untouched"]
    if touched:
        found.append(Stage(dict.fromkeys(touched, "held")))
    let_go = [name for name in touched if momentary[name] == "pressed"]
    if let_go:
        found.append(Stage(dict.fromkeys(let_go, "untouched")))
    return [*found, Stage({}, warmth)] if warmth not in ("", cold) else found


def run(machine: model.Machine, steps: Sequence[Stage], changes: Sequence[Change] = ()) -> Course:
    """The course of the devices' states through the stages, under the changes of a fault."""
    deck = Deck(machine, steps, changes)
    names = tuple(machine.devices)
    answer = batches.run_in_time(deck.text())
    time = answer.values[:, answer.names.index("time")]
    return Course(names, answer.at([f"s_{node(name)}" for name in names]) > 0.5, time)


class Deck:
    """One machine, one fault, one sequence of stages."""

    def __init__(self, machine: model.Machine, steps: Sequence[Stage], changes: Sequence[Change]) -> None:
        self.machine, self.steps, self.changes = machine, steps, changes
        self.omega = 2 * math.pi * machine.supply.hertz
        self.controls: dict[tuple[str, frozenset[str]], str] = {}

    def text(self) -> str:
        """The whole deck but for its control block."""
        end = STAGE_SECONDS * len(self.steps)
        body = [*self._elements(), *self._wires(), *self._bridges(), *self._devices()]
        saved = " ".join(f"v(s_{node(name)})" for name in self.machine.devices)
        head = ["sequence", ".options method=gear rshunt=1e9 reltol=3e-3 abstol=1e-6 vntol=1e-3", "vone one 0 1"]
        tail = [f".save {saved}", f".tran 1m {end} 0 {STEP} uic"]
        return "\n".join([*head, *body, *self._places(), *self._hands(), *tail, ""])

    # ---- the fault ----------------------------------------------------------------------------------------

    def _has(self, kind: str, what: str) -> bool:
        return any(c.kind == kind and c.what == what for c in self.changes)

    def _amounts(self, kind: str, what: str) -> list[float]:
        return [c.amount for c in self.changes if c.kind == kind and c.what == what]

    def _ohms(self, what: str, ohms: float) -> float:
        """Ohms with what a fault adds or scales."""
        return math.prod([ohms, *self._amounts("scaled", what)]) + sum(self._amounts("added ohms", what))

    def _place_of(self, what: str) -> str:
        """A terminal, or the first end of an element or a wire."""
        if what in self.machine.elements:
            return self.machine.elements[what].ends[0]
        return next((w.ends[0] for w in self.machine.wires if w.name == what), what)

    # ---- the network --------------------------------------------------------------------------------------

    def _elements(self) -> Iterator[str]:
        for element in self.machine.elements.values():
            a, b = (node(end) for end in element.ends)
            if self._has("shut", element.name):
                yield f"rshut_{node(element.name)} {a} {b} {WELDED}"
            if not self._has("opened", element.name):
                yield from self._element(element, node(element.name), a, b)

    def _element(self, element: primitives.Element, tag: str, a: str, b: str) -> Iterator[str]:
        if element.name in self._watched:
            yield f"vsense_{tag} {a} in_{tag} 0"
            a = f"in_{tag}"
        match element:
            case primitives.Contact():
                yield from self._contact(element, tag, a, b)
            case primitives.Impedance():
                yield from self._load(element, tag, a, b)
            case primitives.Winding():
                yield from self._winding(element, tag, a, b)
            case primitives.Source():
                yield from self._source(element, tag, a, b)
            case primitives.Capacitor():
                yield f"c_{tag} {a} {b} {element.farads.nominal!r}"
            case primitives.Sensor():
                yield f"r_{tag} {a} {b} {element.curve[0][1]!r}"

    @cached_property
    def _watched(self) -> frozenset[str]:
        """Elements whose current moves a device."""
        found: set[str] = set()
        for device in self.machine.devices.values():
            found |= {getattr(device, key, "") for key in ("coil", "element", "main", "auxiliary")}
        return frozenset(found)

    def _contact(self, contact: primitives.Contact, tag: str, a: str, b: str) -> Iterator[str]:
        """One switch for each rule, in series; ohms in series with them."""
        inner = [a, *(f"{tag}_w{n}" for n in range(len(contact.when))), b]
        for n, when in enumerate(contact.when):
            yield f"s{tag}_{n} {inner[n]} {inner[n + 1]} {self._rule(when)} contact"
        yield f"r{tag} {inner[-2]} {b} {self._ohms(contact.name, contact.ohms.nominal)!r}"

    def _rule(self, when: primitives.When) -> str:
        """The two nodes whose volts close a switch."""
        if isinstance(when, primitives.ByControl):
            key = (when.control, when.positions)
            return f"{self.controls.setdefault(key, f'hand_{len(self.controls)}')} 0"
        state = f"s_{node(when.device)}"
        return f"{state} 0" if when.other else f"one {state}"

    def _load(self, load: primitives.Impedance, tag: str, a: str, b: str) -> Iterator[str]:
        ohms = self._ohms(load.name, load.ohms.nominal)
        if not load.device:
            yield from self._series(tag, a, b, ohms * complex(load.live))
            return
        state = f"s_{node(load.device)}"
        yield f"s{tag}_a {a} {tag}_a one {state} contact"
        yield f"s{tag}_b {a} {tag}_b {state} 0 contact"
        yield from self._series(f"{tag}_cold", f"{tag}_a", b, ohms * complex(load.live))
        yield from self._series(f"{tag}_hot", f"{tag}_b", b, ohms * complex(load.other_live))

    def _series(self, tag: str, a: str, b: str, z: complex) -> Iterator[str]:
        yield f"r{tag} {a} {tag}_m {z.real!r}"
        yield f"l{tag} {tag}_m {b} {z.imag / self.omega!r}" if z.imag > 0 else f"vz{tag} {tag}_m {b} 0"

    def _winding(self, winding: primitives.Winding, tag: str, a: str, b: str) -> Iterator[str]:
        """Ohms, leakage, and the volts of the air gap: of axis q for main, of axis d for the auxiliary."""
        made, motor = self._rotor(winding.motor), node(winding.motor)
        main = winding.role == "main"
        leakage = made.henry(rotor.LEAKAGE) if main else made.auxiliary_leakage
        axis, turns = ("q", 1.0) if main else ("d", made.turns)
        yield f"r{tag} {a} {tag}_m {self._ohms(winding.name, winding.ohms.nominal)!r}"
        yield f"l{tag} {tag}_m {tag}_g {leakage!r}"
        yield f"e{tag} {tag}_g {b} {axis}_{motor} 0 {turns!r}"

    def _rotor(self, name: str) -> rotor.Rotor:
        device = self.machine.devices[name]
        assert isinstance(device, primitives.Motor)
        main, auxiliary = (self.machine.elements[key] for key in (device.main, device.auxiliary))
        assert isinstance(main, primitives.Winding)
        assert isinstance(auxiliary, primitives.Winding)
        ohms = (main.ohms.nominal, auxiliary.ohms.nominal)
        return rotor.made(*ohms, auxiliary.turns, device.rated, device.starting, self.machine.supply.hertz)

    def _source(self, source: primitives.Source, tag: str, a: str, b: str) -> Iterator[str]:
        peak = math.prod([math.sqrt(2) * source.volts.nominal, *self._amounts("sagged", source.name)])
        phase = source.degrees + 90.0
        yield f"v{tag} {tag}_e {a} sin(0 {peak!r} {self.machine.supply.hertz!r} 0 0 {phase!r})"
        yield from self._series(tag, f"{tag}_e", b, source.impedance)

    def _wires(self) -> Iterator[str]:
        for number, wire in enumerate(self.machine.wires):
            if not self._has("opened", wire.name):
                ends = [self._landing(end, wire) for end in wire.ends]
                ohms = self._ohms(wire.name, wire.ohms + sum(JOINT for end in ends if not end.startswith("joint_")))
                yield f"rwire_{number} {ends[0]} {ends[1]} {ohms!r}"
        for terminal in self._spoilt:
            if not self._has("opened", f"joint {terminal}"):
                place, ohms = node(terminal), self._ohms(f"joint {terminal}", JOINT)
                yield f"rjoint_{place} joint_{place} {place} {ohms!r}"
        yield f"rearth {node(self.machine.supply.earth)} 0 1e-3"

    @cached_property
    def _spoilt(self) -> tuple[str, ...]:
        """Terminals whose joint has a fault."""
        return tuple(dict.fromkeys(c.what.removeprefix("joint ") for c in self.changes if c.what.startswith("joint ")))

    def _landing(self, terminal: str, wire: model.Wire) -> str:
        """The node where a wire ends, after any exchange of wires; a joint lies between the cord and the rest."""
        house = [self.machine.parts[model.part_of(end)].house for end in wire.ends]
        if any(house) and not self.machine.parts[model.part_of(terminal)].house and not self._alone(terminal):
            return node(terminal)
        for change in self.changes:
            if change.kind == "swapped" and terminal in (change.what, change.to):
                terminal = change.to if terminal == change.what else change.what
        return f"joint_{node(terminal)}" if terminal in self._spoilt else node(terminal)

    def _alone(self, terminal: str) -> bool:
        """Whether one wire lands here."""
        return sum(terminal in wire.ends for wire in self.machine.wires) == 1

    def _bridges(self) -> Iterator[str]:
        for number, change in enumerate(self.changes):
            if change.kind == "bridged" and self._place_of(change.what) != self._place_of(change.to):
                a, b = node(self._place_of(change.what)), node(self._place_of(change.to))
                yield f"rbridge_{number} {a} {b} {max(change.amount, 1e-3)!r}"

    # ---- what moves ---------------------------------------------------------------------------------------

    def _devices(self) -> Iterator[str]:
        yield f".model contact sw(vt=0.5 vh=0.1 ron=1e-3 roff={OPEN!r})"
        for device in self.machine.devices.values():
            yield from self._device(device, node(device.name))

    def _device(self, device: primitives.Device, tag: str) -> Iterator[str]:
        match device:
            case primitives.Thermostat():
                yield from wants.thermostat(tag, device, sum(self._amounts("shifted", device.name)))
            case primitives.Relay():
                yield from wants.relay(tag, *self._ends(device.coil), self._sense(device.coil), device)
            case primitives.Motor():
                yield from self._motor(device, tag)
            case primitives.Overcurrent() | primitives.SelfHeating():
                if self._sense(device.element):
                    yield from wants.overcurrent(tag, self._sense(device.element), device.amps, device.seconds)
                else:
                    yield f"r_{tag} s_{tag} 0 1"

    def _motor(self, device: primitives.Motor, tag: str) -> Iterator[str]:
        halted, ends = self._has("halted", device.name), self._ends(device.main)
        if not device.auxiliary:
            yield from wants.plain_motor(tag, *ends, self._sense(device.main), device, halted)
            return
        senses = (self._sense(device.main), self._sense(device.auxiliary))
        yield from wants.two_winding_motor(tag, ends, senses, self._rotor(device.name), device, halted)

    def _ends(self, element: str) -> tuple[str, str]:
        a, b = self.machine.elements[element].ends
        return node(a), node(b)

    def _sense(self, element: str) -> str:
        """The source that carries an element's current; "" where a fault has opened it."""
        return "" if self._has("opened", element) else f"vsense_{node(element)}"

    # ---- what is done to it -------------------------------------------------------------------------------

    def _places(self) -> Iterator[str]:
        for place, celsius in self.machine.places.items():
            told = [step.warmth for step in self.steps]
            values = [celsius.get(w) for w in told]
            yield f"vplace_{node(place)} place_{node(place)} 0 {_pwl(_held(values))}"

    def _hands(self) -> Iterator[str]:
        for (control, positions), name in self.controls.items():
            stands = [float(position in positions) for position in self._positions(control)]
            yield f"v{name} {name} 0 {_pwl(stands)}"

    def _positions(self, control: str) -> list[str]:
        """Where the contacts of a control stand in each stage: as set, unless a fault holds them elsewhere."""
        stuck = next((c.to for c in self.changes if c.kind == "stands" and c.what == control), "")
        through = self.machine.controls[control].through
        if through and self._has("failed", through):
            stuck = self.machine.controls[control].rest
        said = _held([step.positions.get(control) for step in self.steps])
        return [stuck or str(position) for position in said]


def _held(values: Sequence[T | None]) -> list[T]:
    """Each value, or the last one that was given before it."""
    found: list[T] = []
    for value in values:
        found.append(found[-1] if value is None else value)
    return found


def _pwl(values: Sequence[float]) -> str:
    points = [f"0 {values[0]!r}"]
    for number, (before, after) in enumerate(pairwise(values), 1):
        start = number * STAGE_SECONDS
        points += [f"{start!r} {before!r}", f"{start + 1e-3!r} {after!r}"]
    return f"pwl({' '.join(points)})"
