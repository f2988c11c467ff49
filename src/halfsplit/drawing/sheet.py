"""What a wiring sheet says, as plain frozen data: the only way into the wiring pictures.

May know: nothing but the exception tree. May not know: machine files, networks, how anything is drawn.
A terminal is written ``part.terminal`` and is the same text everywhere in a sheet; one whose own name begins with ``~``
lies inside its part and is drawn without ring and name.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum

from halfsplit import errors


class State(Enum):
    """What may be said of a net's potential; UNSAID is no statement and must not be read as safe."""

    LIVE = "live"
    NOT_PROVEN = "not proven dead"
    DEAD = "proven dead"
    UNSAID = "unsaid"


class Rail(Enum):
    """The role of a net that the house feeds, or the frame."""

    L1 = "L1"
    L2 = "L2"
    N = "N"
    PE = "PE"
    FRAME = "frame"


@dataclass(frozen=True, slots=True)
class Net:
    """Terminals that are one node; ``feed`` lists those from the house inwards, for a rail only."""

    name: str
    terminals: tuple[str, ...]
    state: State = State.UNSAID
    rail: Rail | None = None
    feed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Element:
    """One contact, winding, coil or other two-terminal section of a part.

    ``kind`` and ``actuator`` name rows of the symbol tables; ``closed`` is for contacts only; elements of one
    ``linked`` group move together; ``current`` says that current flows; ``load`` that it is what a circuit is for.
    """

    part: str
    name: str
    kind: str
    start: str
    end: str
    title: str = ""
    lines: tuple[str, ...] = ()
    actuator: str = ""
    closed: bool | None = None
    linked: str = ""
    current: bool = False
    load: bool = False

    @property
    def key(self) -> str:
        """``part/name``, unique in a sheet."""
        return f"{self.part}/{self.name}"


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire between two terminals of one net; ``colours`` are one or two IEC 60757 codes, main colour first."""

    start: str
    end: str
    colours: tuple[str, ...]
    name: str = ""


@dataclass(frozen=True, slots=True)
class Box:
    """A part with many terminals that is seen from outside, such as a board."""

    part: str
    title: str
    pins: tuple[str, ...]
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Frame:
    """A metal part that hangs on the earth bus by one terminal."""

    part: str
    terminal: str
    title: str = ""


@dataclass(frozen=True, slots=True)
class Lead:
    """A meter lead: ``colour`` is 'red' or 'black'; ``words`` say in the trade's words where it goes."""

    colour: str
    terminal: str
    words: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that is drawn. Build it, then call :func:`checked`."""

    title: str
    nets: tuple[Net, ...]
    elements: tuple[Element, ...] = ()
    wires: tuple[Wire, ...] = ()
    boxes: tuple[Box, ...] = ()
    frames: tuple[Frame, ...] = ()
    leads: tuple[Lead, ...] = ()
    notes: tuple[str, ...] = ()
    onward: tuple[tuple[str, str], ...] = ()
    """Terminals from which a wire goes on to what is not drawn, each with the letter of its note."""

    def net_of(self) -> dict[str, str]:
        """Name of the net of every terminal."""
        return {terminal: net.name for net in self.nets for terminal in net.terminals}


COLOURS = frozenset(["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ", "GNYE", "GD", "SR"])
"""The colour codes of IEC 60757 (silver SR, gold GD, green-yellow GNYE included)."""


def used_terminals(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Pairs of what uses a terminal, in words, and the terminal."""
    for element in sheet.elements:
        yield f"element {element.key}", element.start
        yield f"element {element.key}", element.end
    for wire in sheet.wires:
        yield f"wire {wire.start} - {wire.end}", wire.start
        yield f"wire {wire.start} - {wire.end}", wire.end
    for box in sheet.boxes:
        yield from ((f"box {box.part}", pin) for pin in box.pins)
    yield from ((f"frame {frame.part}", frame.terminal) for frame in sheet.frames)
    yield from ((f"{lead.colour} lead", lead.terminal) for lead in sheet.leads)
    yield from ((f"feed of {net.name}", terminal) for net in sheet.nets for terminal in net.feed)


def _repeated(what: str, names: Iterable[str]) -> list[str]:
    return [f"{what} {name} is there {n} times; give each its own name" for name, n in Counter(names).items() if n > 1]


def problems(sheet: Sheet) -> list[str]:
    """All that keeps a sheet from being drawn, each a sentence that says where, what and what to do."""
    found = _repeated("net", (net.name for net in sheet.nets))
    found += _repeated("terminal", (t for net in sheet.nets for t in net.terminals))
    found += _repeated("element", (element.key for element in sheet.elements))
    found += _repeated("rail", (net.rail.value for net in sheet.nets if net.rail))
    net_of = sheet.net_of()
    found += [
        f"{user}: terminal {terminal} is in no net; add it to one"
        for user, terminal in used_terminals(sheet)
        if terminal not in net_of
    ]
    for wire in sheet.wires:
        if net_of.get(wire.start) != net_of.get(wire.end):
            found.append(f"wire {wire.start} - {wire.end}: its ends are in two nets; merge the nets or drop the wire")
        if not 1 <= len(wire.colours) <= 2 or not set(wire.colours) <= COLOURS:
            found.append(
                f"wire {wire.start} - {wire.end}: colour {'/'.join(wire.colours) or 'none'}; "
                "give one or two codes of IEC 60757"
            )
    found += [
        f"lead to {lead.terminal}: colour {lead.colour}; write red or black"
        for lead in sheet.leads
        if lead.colour not in ("red", "black")
    ]
    return found


def checked(sheet: Sheet) -> Sheet:
    """The same sheet.

    :raises halfsplit.errors.WrongUse: with every problem of :func:`problems` at once.
    """
    found = problems(sheet)
    if found:
        raise errors.WrongUse("This sheet cannot be drawn:\n" + "\n".join(f"- {text}" for text in found))
    return sheet
