"""Rules after which nothing else can be believed: shorts, what trips, chatters, and a frame that is live."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from halfsplit.audit.survey import Run, Survey, is_strap
from halfsplit.circuit.network import Array
from halfsplit.machine import model, primitives, tree
from halfsplit.machine.rules.facts import Flaw
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import Effect, Operation

__all__ = ["chatters", "frame_joined_inside", "frame_live", "hots_shorted", "supply_end_elsewhere", "trips"]

SHORT = 10.0
"""So many times the breaker's amps is a short; common practice, no source."""
FRAME_OHMS = 1e5
"""Below this the frame hangs on a conductor; strays and insulation are far above. Common practice, no source."""


def hots_shorted(survey: Survey) -> Iterator[Flaw]:
    """Two conductors of the supply are joined through contacts and wires alone, in some setting."""
    found = [(run, amps) for run, amps in survey.held if _shorted(survey, amps)]
    if found:
        path = [wire for wire in _own_wires(survey) if _carries(survey, found[0][1], wire)]
        at = _to_blame(survey, path, [run.condition for run, _ in found])
        through = ", ".join(f"{wire.ends[0]} to {wire.ends[1]}" for wire in path) or "parts alone"
        where = survey.words(found[0][0].condition)
        message = f"The supply is shorted ({where}), through: {through}."
        yield Flaw(at, message, "One of these ends elsewhere, or a contact between them is open in this setting.")


def supply_end_elsewhere(survey: Survey) -> Iterator[Flaw]:
    """An end of the supply meets a terminal that bears another end's name, or one but PE meets the frame."""
    meets = survey.sheet.file.supply.meets
    for end, terminal in meets.items():
        own = terminal.partition(".")[2]
        if own != end and own in meets:
            message = f"{end} of the supply meets {terminal}."
            yield Flaw(("supply", "meets", end), message, f"Is it {own} that meets it? Look at the cord's colours.")
        elif terminal == survey.machine.frame and end != "PE":
            message = f"{end} of the supply meets the frame."
            yield Flaw(
                ("supply", "meets", end), message, "Only PE does; a strap joins frame and neutral, and is a part."
            )


def trips(survey: Survey) -> Iterator[Flaw]:
    """A breaker, a fuse or an overload of the healthy machine trips in some setting."""
    if any(_shorted(survey, amps) for _, amps in survey.held):
        return
    told: set[str] = set()
    for run in survey.runs:
        for name in sorted(_tripped(survey, run) - told):
            told.add(name)
            part = survey.machine.devices[name].part
            message = f"'{part}' trips on a healthy machine ({survey.words(run.condition)})."
            remedy = "Look at its amps, and at the ohms and wires of what it feeds."
            yield Flaw(_part(survey, part), message, remedy)


def chatters(survey: Survey) -> Iterator[Flaw]:
    """A relay, motor or contact of the healthy machine can find no rest: its own contact cuts off what moves it."""
    told: set[str] = set()
    for run in survey.runs:
        for name in sorted(run.settled.chatters - told):
            told.add(name)
            part = survey.machine.devices[name].part
            message = f"'{part}' goes on and off without end on a healthy machine ({survey.words(run.condition)})."
            yield Flaw(_part(survey, part), message, "Look at the wires of its contacts: one cuts off what moves it.")


def frame_live(survey: Survey) -> Iterator[Flaw]:
    """The frame of the healthy machine is live in some setting."""
    frame = survey.machine.frame
    for run in survey.runs if frame else ():
        volts = _to_earth(survey, run.settled.volts[0], frame)
        if volts > survey.leg_volts / 2:
            where = f"{volts:.0f} V, {survey.words(run.condition)}"
            at = _at_terminal(survey, frame)
            yield Flaw(at, f"The frame is live on a healthy machine ({where}).", "Look at the wires that go to it.")
            return


def frame_joined_inside(survey: Survey) -> Iterator[Flaw]:
    """Frame and supply are joined inside the machine, beside the strap or the earth that is meant to: a wrong wire."""
    meets = survey.sheet.file.supply.meets
    ends = [terminal for end, terminal in meets.items() if end != "PE"]
    frame = survey.machine.frame
    for at in _apart(survey) if frame and frame not in ends else ():
        ohms = _ohms_with_bonds_off(survey, at, ends[-1], frame)
        if ohms < FRAME_OHMS:
            message = f"The frame hangs on the supply inside the machine ({ohms:.3g} ohm from {ends[-1]})."
            remedy = "No wire but protective earth goes to the frame; a strap joins it with neutral, and is a part."
            yield Flaw(_at_terminal(survey, frame), message, remedy)
            return


# ---- what the rules ask -----------------------------------------------------------------------------------


def _tripped(survey: Survey, run: Run) -> set[str]:
    devices = survey.machine.devices
    return {name for name in run.other if isinstance(devices[name], primitives.Overcurrent)}


def _shorted(survey: Survey, amps: Array) -> bool:
    """Whether a house breaker carries so much; a device trips at three times its rating."""
    house = (d for d in survey.machine.devices.values() if survey.machine.parts[d.part].house)
    breakers = (d for d in house if isinstance(d, primitives.Overcurrent))
    return any(amps[survey.built.branches[d.element]] > SHORT * d.amps / 3 for d in breakers)


def _carries(survey: Survey, amps: Array, wire: model.Wire) -> bool:
    return bool(amps[survey.built.branches[wire.name]] > 0.3 * amps.max())


def _own_wires(survey: Survey) -> list[model.Wire]:
    return [w for w in survey.machine.wires if survey.sheet.paths[w.name][0] == "wires"]


def _to_blame(survey: Survey, path: list[model.Wire], shorted: list[Condition]) -> tree.Path:
    """Of the wires of a short, the one without which it is gone and most of the loads still work."""
    if not path:
        return ("wires",)
    at = list(dict.fromkeys([*survey.named, *shorted[:: max(1, len(shorted) // 20)]]))
    effects = [survey.opened(wire.name) for wire in path]
    trips, fed = np.zeros(len(path)), np.zeros((len(path), len(survey.loads)))
    for one in at:
        for member, run, volts, _ in survey.settle(one, effects):
            trips[member] += bool(_tripped(survey, run))
            fed[member] = np.maximum(fed[member], survey.across(volts))
    works = (fed > survey.fed_volts).sum(axis=1)
    best = min(range(len(path)), key=lambda i: (trips[i], -works[i], i))
    return survey.sheet.paths[path[best].name]


def _to_earth(survey: Survey, volts: Array, terminal: str) -> float:
    nodes = survey.built.nodes
    return float(abs(volts[nodes[terminal]] - volts[nodes[survey.machine.supply.earth]]))


def _apart(survey: Survey) -> Iterator[Condition]:
    """Rest, then each control elsewhere by itself, with the machine isolated."""
    known = [(name, p) for name, control in survey.by_hand.items() for p in control.positions]
    yield conditions.condition(survey.machine, (), isolated=True)
    yield from (conditions.condition(survey.machine, (one,), isolated=True) for one in known)


def _ohms_with_bonds_off(survey: Survey, at: Condition, red: str, black: str) -> float:
    """Ohms between two terminals with every strap, and the house's bond of neutral and earth, open."""
    effect = Effect(tuple(Operation("open", survey.built.branches[name]) for name in _bonds(survey)))
    herd = survey.operation.settle(at, (effect,))[0]
    ready = survey.operation.networks.ready("meter", herd.state, 1)
    made, _ = ready.distinct([effect])
    nodes = survey.built.nodes
    return float(ready.factored.resistances(made, np.array([[nodes[red], nodes[black]]]))[0, 0])


def _bonds(survey: Survey) -> Iterable[str]:
    """Straps, and house contacts that join neutral and earth."""
    for element in survey.machine.elements.values():
        if isinstance(element, primitives.Contact):
            own = {end.rpartition(".")[2] for end in element.ends}
            house = survey.machine.parts[element.part].house and own == {"N", "PE"}
            if house or (is_strap(element) and survey.machine.frame in element.ends):
                yield element.name


def _part(survey: Survey, part: str) -> tree.Path:
    """The path of a part; of a part of the house, the supply."""
    return ("supply",) if survey.machine.parts[part].house else ("parts", part)


def _at_terminal(survey: Survey, terminal: str) -> tree.Path:
    """The first of the file's own wires at a terminal, else its part."""
    for wire in _own_wires(survey):
        if terminal in wire.ends:
            return survey.sheet.paths[wire.name]
    return _part(survey, model.part_of(terminal))
