"""What a machine file says, once read: plain frozen data, and nothing else.

Knows no file, no YAML, no solver. Temperatures are in °C, all else in SI units; money in the file's currency.
A *branch* is anything that current can pass between two nodes: an element of a part, a wire, a joint.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from halfsplit.machine import charge
from halfsplit.machine.cautions import Caution
from halfsplit.machine.handwork import Handwork
from halfsplit.machine.primitives import ByControl, Contact, Device, Element

HIDDEN = "~"
"""A terminal whose own name begins so lies inside its part: no lead reaches it (the middle of a coil)."""


@dataclass(frozen=True)
class Wire:
    """A wire between two terminals; colours are IEC 60757 codes, one or two of them."""

    name: str
    ends: tuple[str, str]
    colours: tuple[str, ...]
    ohms: float
    rate: float = 1.0


@dataclass(frozen=True)
class Control:
    """What a hand sets. A momentary control has the positions untouched, held, pressed (held, then let go).

    `through` is the mechanical part that carries the hand's turn to the contacts; when it fails the contacts
    stay as in `rest`, the first position. `hands`: how it stands while hands are at a part whose contacts it works; ""
    where that moves nothing.
    """

    name: str
    positions: tuple[str, ...]
    momentary: bool = False
    through: str = ""
    where: str = ""
    hands: str = ""

    @property
    def rest(self) -> str:
        """The position in which the machine is left."""
        return self.positions[0]


@dataclass(frozen=True)
class Change:
    """One change to the primitives; a fault is a set of them. `what` names an element, wire, joint, device...

    kind: opened | shut | added ohms | scaled | bridged | shifted | halted | failed | stands | swapped | sagged.
    `amount` is ohms, a factor, kelvin; `to` a second terminal or a position.
    """

    kind: str
    what: str
    amount: float = 0.0
    to: str = ""


@dataclass(frozen=True)
class Mode:
    """One way in which a part fails: relative rate within the part, alternatives with weights, its looks.

    `alternatives` are sets of changes of unknown size (how high a resistance, where to frame). `acting` is the
    chance that the fault shows at a given moment (1: always); `provoked` by what it is brought out where it comes and
    goes: "shaking", "heat", "turning", "load". `looks` is what an eye sees: fine, burnt, ...
    """

    name: str
    rate: float
    alternatives: tuple[tuple[float, tuple[Change, ...]], ...]
    acting: float = 1.0
    looks: str = "fine"
    repair: str = "replace"
    by: str = "repairer"
    about: str = ""
    earlier_hand: bool = False
    provoked: tuple[str, ...] = ()


@dataclass(frozen=True)
class Part:
    """A component: where it is, what it costs, how it fails. Its elements stand in `Machine.elements`."""

    name: str
    type: str
    title: str
    bay: str
    terminals: tuple[str, ...]
    modes: tuple[Mode, ...] = ()
    price: float = 0.0
    minutes: float = 10.0
    rate: float = 1.0
    symbol: str = "box"
    house: bool = False
    fasteners: str = ""
    """What holds it, and what else comes off, where it is replaced."""
    caution: str = ""
    """What to mind, with its signal word."""
    cools: float = 0.0
    """Minutes after a run until it may be touched; 0 where it does not get hot."""
    lifts: float = 0.0  # minutes to lift it out by hand, or to plug it in again; 0 where it does not plug in

    @property
    def reachable(self) -> tuple[str, ...]:
        """Its terminals that a lead can reach (those of what plugs in: once it is lifted out), as `part.terminal`."""
        return tuple(f"{self.name}.{terminal}" for terminal in self.terminals if not is_inner(terminal))


@dataclass(frozen=True)
class Bay:
    """A place that has to be opened first; `behind` is another bay, or "outside" which is open.

    `runs`: whether the machine can run while this is open. `leaves`: the warmth at which the machine stands once this
    has been opened; "" where opening changes nothing of it. `unplugs`: parts whose connectors are pulled for it;
    `frees`: parts that come off what they hold, and controls of two positions that then stand in the second.
    `holds_water`: whether water stands behind it.
    """

    name: str
    behind: str
    open_minutes: float
    close_minutes: float
    fasteners: str = ""
    cautions: tuple[Caution, ...] = ()
    people: int = 1
    unplugs: tuple[str, ...] = ()
    frees: tuple[str, ...] = ()
    runs: bool = True
    leaves: str = ""
    holds_water: bool = False


PLUG, BREAKER = "plug", "breaker"
"""The controls by which the house's side is cut off, whatever the file calls its own."""
BY_HAND = "hand"
"""The kind of symptom for which a hand turns something on the dead machine."""
STAYS = ("leaks", "smells")
"""Kinds of symptom that stay when the machine rests, and that no network decides."""


@dataclass(frozen=True)
class Symptom:
    """What a person perceives, as a threshold on a computed quantity.

    kind: running | hums | lit | sounds | energised | heat | air | tingles | trips | chatters | noisy | leaks | smells |
    hand.
    `of` are elements, motors or parts by kind; all of `through` (mechanical parts) and all `carriers` (motors
    that must run) are needed. `at_least` is in W for heat, a share of the rated volts for lit, sounds and energised.
    `setting` overrides where it is only perceived in a certain setting. `takes`: minutes that the machine has to run in
    it until the answer is seen; 0: no longer than a person takes to perceive anything (`Handwork.perceive`). `bay`:
    that which has to be open for it ("": none).
    """

    name: str
    kind: str
    of: tuple[str, ...]
    at_least: float = 0.0
    carriers: tuple[str, ...] = ()
    through: tuple[str, ...] = ()
    setting: tuple[tuple[str, str], ...] = ()
    question: str = ""
    takes: float = 0.0
    shows_as_left: bool = False
    bay: str = ""

    @property
    def unpowered(self) -> bool:
        """Whether it is perceived on the machine as it stands, under power or not: a puddle, a smell.

        So where mechanical parts alone decide it and the file names nothing that has to run for it. What is noisy is
        heard at work only.

        >>> Symptom("puddle", "leaks", ("tank",)).unpowered, Symptom("puddle", "leaks", ("pump",), takes=5.0).unpowered
        (True, False)
        """
        return self.kind in STAYS and not (self.carriers or self.setting or self.takes)

    @property
    def by_hand(self) -> bool:
        """Whether a hand turns something for it, on the dead machine."""
        return self.kind == BY_HAND


@dataclass(frozen=True)
class Seen:
    """A reading that was seen on a healthy machine; tested at load. `value` None: over range."""

    meter: str
    red: str
    black: str
    setting: tuple[tuple[str, str], ...]
    isolated: bool
    lift: tuple[str, ...]
    value: float | None
    line: int = 0


@dataclass(frozen=True)
class Supply:
    """The house side: its system, frequency in Hz, nominal volts, and how the machine is isolated from it."""

    system: str
    hertz: float
    isolates: tuple[tuple[str, str], ...]
    feeds: tuple[str, ...]
    earth: str
    hard_wired: bool
    meets: tuple[str, ...] = ()


@dataclass(frozen=True)
class Gas:
    """Where the gas is shut off, for a person; the bays in which gas pipe lies; the parts that gas flows through."""

    cock: str
    bays: tuple[str, ...]
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Water:
    """Where the water is shut off, for a person; at which tap air comes out ("": it is not under the house's pressure);
    through what it is drained, a part or not; the parts that water stands against."""

    cock: str
    tap: str
    drain: str
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Machine:
    """All of it. Mappings keep the order of the file.

    `joint` and `wire` are pattern parts: how every joint and every wire fails, its minutes and price.
    """

    name: str
    title: str
    kind: str
    supply: Supply
    controls: Mapping[str, Control]
    places: Mapping[str, Mapping[str, float]]
    parts: Mapping[str, Part]
    elements: Mapping[str, Element]
    devices: Mapping[str, Device]
    mechanical: tuple[str, ...]
    wires: tuple[Wire, ...]
    symptoms: Mapping[str, Symptom]
    bays: Mapping[str, Bay]
    frame: str
    joint: Part | None = None
    wire: Part | None = None
    seen: tuple[Seen, ...] = ()
    settings: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    comes_to: Mapping[str, float] = field(default_factory=dict)
    """Warmth: minutes; to the first of them from any other, to the others from the first. `work/waits` reads it."""
    about: str = ""
    provenance: str = ""
    currency: str = "USD"
    gas: Gas | None = None
    """None: it burns no gas."""
    water: Water | None = None
    """None: no water stands in it."""
    handwork: Handwork = field(default_factory=Handwork)
    van: frozenset[str] | None = None
    """The names of its parts that lie on the shop's van (work/pace says which); None: nothing is said of a van."""

    @property
    def terminals(self) -> tuple[str, ...]:
        """Every terminal as `part.terminal`, in the order of the file."""
        return tuple(f"{p.name}.{t}" for p in self.parts.values() for t in p.terminals)

    @cached_property
    def reachable(self) -> tuple[str, ...]:
        """Every terminal that a lead can reach, in the order of the file: what a person may name."""
        return tuple(terminal for part in self.parts.values() for terminal in part.reachable)

    @cached_property
    def gripped(self) -> Mapping[str, tuple[str, ...]]:
        """The terminals of parts that plug in which sit in another part, with the elements of that part which grip
        each: no lead reaches them until the part is lifted out."""
        found: dict[str, tuple[str, ...]] = {}
        for element in self.elements.values():
            for end in element.ends:
                part = part_of(end)
                if part != element.part and self.parts[part].lifts > 0:
                    found[end] = (*found.get(end, ()), element.name)
        return found

    @cached_property
    def hot_bays(self) -> frozenset[str]:
        """The bays in which something gets hot in a run: a part of the machine's own, its burner, or what plugs in from
        outside and heats the cover and the socket that grips it."""
        hot = [part.bay for part in self.parts.values() if part.cools and not part.house]
        for terminal, grips in self.gripped.items():
            if self.parts[part_of(terminal)].cools:
                hot += (self.parts[self.elements[name].part].bay for name in grips)
        return frozenset((*hot, *(self.gas.bays if self.gas else ()))) & frozenset(self.bays)

    @cached_property
    def stored(self) -> tuple[charge.Stored, ...]:
        """Its capacitors, each with where its charge may be met."""
        own = {t: part.bay for part in self.parts.values() if not part.house for t in part.reachable}
        return tuple(charge.stored(self.elements.values(), (wire.ends for wire in self.wires), own))

    def to_discharge(self, bays: Iterable[str]) -> tuple[str, ...]:
        """The bays that are opened besides these, and those in front of them, where hands go to them: of a capacitor
        whose charge may be met there and that can be discharged nowhere in them."""
        if not self.stored:
            return ()
        opened = {bay.name for name in bays for bay in self.fronts(name)}
        return tuple(
            dict.fromkeys(
                one.bay for one in self.stored if one.bay in self.bays and one.met & opened and not one.across(opened)
            )
        )

    @cached_property
    def bare_bays(self) -> frozenset[str]:
        """The bays in which wires land, or the supply does: what lies bare there may be live while the machine runs."""
        ends = [end for wire in self.wires for end in wire.ends if end != self.frame]
        return frozenset(self.parts[part_of(end)].bay for end in (*ends, *self.supply.meets)) & frozenset(self.bays)

    @cached_property
    def left_at(self) -> Mapping[str, str]:
        """The warmth at which the machine stands once a bay is open, by bay: what the bay itself leaves, else what
        those in front of it do; without those that leave it as it was."""
        found = {name: next(filter(None, (bay.leaves for bay in self.fronts(name))), "") for name in self.bays}
        return {name: warmth for name, warmth in found.items() if warmth}

    def fronts(self, name: str) -> Iterator[Bay]:
        """A bay and those in front of it; the file is checked elsewhere for bays that lie behind each other."""
        met: set[str] = set()
        while name in self.bays and name not in met:
            met.add(name)
            yield self.bays[name]
            name = self.bays[name].behind

    @cached_property
    def house_controls(self) -> frozenset[str]:
        """What cuts the machine off: its plug, the breaker, and whatever else its supply is isolated by."""
        return frozenset((PLUG, BREAKER, *(control for control, _ in self.supply.isolates)))

    @cached_property
    def cord(self) -> tuple[Wire, ...]:
        """The wires of the cord, from the plug's prongs to the machine, its earth with them; none where it is hard
        wired.

        >>> from halfsplit.machine import loading
        >>> [wire.ends[0] for wire in loading.load("vented-dryer-3-wire").cord], loading.load("water-heater").cord
        (['receptacle.prong L1', 'receptacle.prong L2', 'receptacle.prong N'], ())
        """
        if self.supply.hard_wired:
            return ()
        house = {part.name for part in self.parts.values() if part.house}
        return tuple(wire for wire in self.wires if len(house.intersection(map(part_of, wire.ends))) == 1)

    @property
    def heats(self) -> bool:
        """Whether a part of it gets hot in a run."""
        return any(part.cools for part in self.parts.values())

    def house_trips(self, what: str) -> bool:
        """Whether a symptom is that something of the house trips: a breaker, not a motor's own overload."""
        symptom = self.symptoms[what]
        return symptom.kind == "trips" and any(self.parts[part_of(name)].house for name in symptom.of)

    def worked_by(self, control: str) -> tuple[str, ...]:
        """The parts whose contacts a control works.

        >>> from halfsplit.machine import loading
        >>> loading.load("vented-dryer").worked_by("door")
        ('door switch',)
        """
        contacts = (one for one in self.elements.values() if isinstance(one, Contact))
        ruled = ((one.part, when) for one in contacts for when in one.when)
        return tuple(dict.fromkeys(p for p, when in ruled if isinstance(when, ByControl) and when.control == control))

    def moved_by_hands(self, places: Iterable[str]) -> dict[str, str]:
        """The controls that hands at these places (terminals, parts) move, each with how it then stands."""
        near = set(map(part_of, places))
        held = (control for control in self.controls.values() if control.hands)
        return {control.name: control.hands for control in held if near.intersection(self.worked_by(control.name))}

    def turned_in(self, control: str) -> str:
        """The bay in which a control is turned; "" where it can be set with nothing opened."""
        return self.inside.get(control, "")

    @cached_property
    def inside(self) -> Mapping[str, str]:
        """The controls that are turned in a bay, each with the bay: where the part lies through which that is done. Not
        those turned through no part, or through one outside."""
        through = {name: self.parts.get(control.through) for name, control in self.controls.items()}
        return {name: part.bay for name, part in through.items() if part and part.bay in self.bays}

    def warmth_behind(self, places: Iterable[str]) -> str:
        """The warmth at which places (terminals, parts, bays) can only be reached; "" where any will do."""
        if not self.left_at:
            return ""
        bays = {self.parts[part_of(at)].bay if part_of(at) in self.parts else at for at in places}
        return next((warmth for bay, warmth in self.left_at.items() if bay in bays), "")

    @cached_property
    def warmths(self) -> tuple[str, ...]:
        """How warm the machine may be, coldest (rest) first: the names that the places give temperatures for."""
        names: dict[str, None] = {}
        for place in self.places.values():
            names.update(dict.fromkeys(place))
        return tuple(names)


def part_of(terminal: str) -> str:
    """The part of `part.terminal`. Neither name holds a full stop.

    >>> part_of("terminal block.L1")
    'terminal block'
    """
    return terminal.split(".", 1)[0]


def is_inner(terminal: str) -> bool:
    """Whether a terminal, with its part's name or without, lies inside its part, where no lead reaches it.

    >>> is_inner("heater.~middle"), is_inner("~middle"), is_inner("heater.1")
    (True, True, False)
    """
    return terminal.rpartition(".")[2].startswith(HIDDEN)


def wired_terminals(machine: Machine) -> dict[str, list[Wire]]:
    """Terminal to the wires that land on it, in the order of the file."""
    ends: dict[str, list[Wire]] = {}
    for wire in machine.wires:
        for end in wire.ends:
            ends.setdefault(end, []).append(wire)
    return ends
