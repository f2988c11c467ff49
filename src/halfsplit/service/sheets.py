"""A machine as it stands, as the sheet of a wiring picture: nets with what may be said of them, rails, leads, notes.

Knows how the machine stands and what a sheet says; nothing of how it is drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from halfsplit.circuit.assembly import wires_at
from halfsplit.drawing import nets
from halfsplit.drawing.sheet import Element, Frame, Lead, Net, Rail, Sheet, State, Wire, checked
from halfsplit.machine import model
from halfsplit.service import naming, sheet_elements
from halfsplit.service.standing import Standing

LIVE_VOLTS = 50.0
"""A net is live from so many volts against earth: the limit of extra-low AC voltage of IEC 61140, V (from memory)."""

FEW_ELEMENTS = 30
"""Up to so many elements, those of the house counted, a machine is drawn with its house: A4 then bears it unshrunk."""

_RAILS = {"L": Rail.L1, "L1": Rail.L1, "L2": Rail.L2, "N": Rail.N, "PE": Rail.PE}


def sheet(at: Standing, house: bool | None = None, leads: Mapping[str, str] | None = None) -> Sheet:
    """The sheet of a machine as it stands.

    `house`: breaker and receptacle are drawn even where they are closed; None: where the machine is small enough.
    `leads`: colour of a lead to its terminal.

    >>> from halfsplit.operate import condition
    >>> from halfsplit.service import machines, standing
    >>> heater = machines.load("water-heater")
    >>> [net.name for net in sheet(standing.standing(heater, condition.rest(heater))).nets if net.rail]
    ['L1', 'L2', 'PE']
    """
    placed = leads or {}
    small = len(at.machine.elements) <= FEW_ELEMENTS
    found = sheet_elements.pieces(at, small if house is None else house)
    ends = {end for e in found.elements for end in (e.start, e.end)}
    frames = tuple(_frames(at.machine))
    touched = ends | {frame.terminal for frame in frames}
    wanted = touched | {at.machine.frame, *placed.values()}
    made = [net for net in _nets(at, found, ends) if set(net.terminals) & wanted]
    kept = {terminal for net in made for terminal in net.terminals}
    fed = {frozenset(net.feed) for net in made}
    wires = tuple(w for w in found.wires if w.start in kept and _is_drawn(at.machine, w, touched, fed))
    flags = tuple(Lead(colour, end, _where(at.machine, end)) for colour, end in placed.items())
    title = at.machine.title
    return checked(Sheet(title, tuple(made), tuple(found.elements), wires, (), frames, flags, (" ".join(notes(at)),)))


def _frames(machine: model.Machine) -> Iterable[Frame]:
    for part in machine.parts.values():
        if part.symbol == "frame":
            title = part.title if part.title != part.name else ""
            yield from (Frame(part.name, f"{part.name}.{terminal}", title) for terminal in part.terminals)


def _is_house(machine: model.Machine, terminal: str) -> bool:
    part = machine.parts.get(model.part_of(terminal))
    return part is not None and part.house


def _is_drawn(machine: model.Machine, wire: Wire, touched: set[str], fed: set[frozenset[str]]) -> bool:
    """Wires inside the house are drawn only next to something that is; a lost earth's is too short for a chip."""
    ends = {wire.start, wire.end}
    if machine.frame in ends and any(_is_house(machine, end) and end in touched for end in ends):
        return False
    if machine.supply.earth in ends:
        return frozenset(ends) in fed
    return not all(_is_house(machine, end) for end in ends) or bool(ends & touched) or frozenset(ends) in fed


def _where(machine: model.Machine, terminal: str) -> str:
    part, _, own = terminal.partition(".")
    return f"{machine.parts[part].title or part}, {own}"


# ---- nets -------------------------------------------------------------------------------------------------


def _nets(at: Standing, found: sheet_elements.Pieces, ends: set[str]) -> list[Net]:
    joins = [*found.wires, *(Wire(a, b, ()) for a, b in found.joined)]
    shown = at.machine.reachable
    groups = nets.joined([*shown, *sorted(ends), *(t for join in joins for t in (join.start, join.end))], joins)
    rails = _rails(at.machine, groups, found.elements)
    return [_net(at, group, rails, ends) for group in groups]


def _rails(
    machine: model.Machine, groups: Sequence[tuple[str, ...]], elements: Iterable[Element]
) -> dict[tuple[str, ...], Rail]:
    """The nets that the service feeds."""
    sources = [part for part in machine.parts.values() if part.symbol == "source"]
    heads = {f"{part.name}.{own}": _RAILS[own] for part in sources for own in part.terminals if own in _RAILS}
    lost = {e.end: e.start for e in elements if e.end in heads}
    heads = {lost.get(terminal, terminal): rail for terminal, rail in heads.items()}
    return {group: heads[t] for group in groups for t in group if t in heads}


def _net(at: Standing, group: tuple[str, ...], rails: Mapping[tuple[str, ...], Rail], ends: set[str]) -> Net:
    rail = rails.get(group)
    return Net(rail.value if rail else group[0], group, _state(at, group), rail, _feed(at, group, ends, rail))


def _feed(at: Standing, group: tuple[str, ...], ends: set[str], rail: Rail | None) -> tuple[str, ...]:
    """The cord or cable from the house to where it meets the machine; else what the net of the house begins with."""
    if rail is None:
        return ()
    outer = [t for t in group if _is_house(at.machine, t) and not model.is_inner(t)]
    cords = [
        (a, b) for wire in at.machine.wires for a, b in (wire.ends, wire.ends[::-1])
        if a in outer and b in group and not _is_house(at.machine, b)
    ]  # fmt: skip
    if set(outer) & ends:
        return ()
    if not cords:
        return tuple(outer[:1])
    inner = cords[0][1]
    if inner != at.machine.frame:
        return cords[0]
    return cords[0][:1] if inner not in ends else ()


def _state(at: Standing, group: tuple[str, ...]) -> State:
    if any(_volts(at, terminal) >= LIVE_VOLTS for terminal in group):
        return State.LIVE
    inside = any(not _is_house(at.machine, t) for t in group)
    return State.DEAD if at.at.isolated and inside else State.NOT_PROVEN


def _volts(at: Standing, terminal: str) -> float:
    part, hidden, own = terminal.partition(f".{model.HIDDEN}wires at ")
    return at.volts[wires_at(f"{part}.{own}") if hidden else terminal]


# ---- words ------------------------------------------------------------------------------------------------


def notes(at: Standing) -> Iterable[str]:
    """What stands under the picture: how the machine stands, and what the marks were computed from."""
    isolating = dict(at.machine.supply.isolates)
    here = dict(at.at.setting) | (isolating if at.at.isolated else {})
    yield "Setting: " + ", ".join(f"{control} {position}" for control, position in here.items()) + "."
    if at.faults:
        yield naming.told(at.machine, f"With the fault: {'; '.join(at.faults)}.")
    if at.chatters:
        yield f"Does not come to rest: {', '.join(at.chatters)}."
    if at.at.isolated:
        how = ", ".join(f"{control} {position}" for control, position in isolating.items())
        yield f"Isolated ({how}) and taken as proven dead: prove it at {', '.join(at.machine.supply.feeds)} first."
    else:
        yield f"Live: computed, {LIVE_VOLTS:g} V or more against earth. Only a meter proves a wire dead."
