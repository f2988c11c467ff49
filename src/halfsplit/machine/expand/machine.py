"""Puts one machine together: file, part types and supply system to the model.

Knows the order in which names become known: supply, controls, terminals, elements, and what refers to them.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass

from halfsplit.errors import did_you_mean
from halfsplit.machine import amounts, supplies, tree, wiring
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.expand import house, parts, rest, symptoms, wires
from halfsplit.machine.expand.scope import Scope
from halfsplit.machine.format import MachineFile
from halfsplit.machine.model import Bay, Gas, Machine, Seen, Supply, Symptom, Water
from halfsplit.machine.part_types import PartType

__all__ = ["Sheet", "expand"]


@dataclass(frozen=True)
class Sheet:
    """A machine with the file that it came from: what the static rules read."""

    machine: Machine
    file: MachineFile
    types: Mapping[str, PartType]
    lines: Mapping[str, wiring.WireLine]
    paths: Mapping[str, tree.Path]


def expand(
    name: str, file: MachineFile, types: Mapping[str, PartType], complaints: Complaints, broken: frozenset[str]
) -> Sheet | None:
    """The machine of a file; None, with complaints, where its names or values do not fit together."""
    before = len(complaints.problems)
    scope = Scope(file, complaints, types, _system(file, complaints), broken)
    _check_head(file, complaints)
    ready = _ready(scope)
    supply = house.read_supply(scope)
    rest.check_controls(scope)
    built = parts.build(ready, scope)
    wired = wires.join(house.house_wires(scope) if supply else (), scope)
    found = _rest(built, {end for wire in wired.wires for end in wire.ends}, scope)
    if supply is None or len(complaints.problems) > before:
        return None
    machine = _assemble(name, file, supply, built, wired, found, scope)
    return Sheet(machine, file, types, wired.lines, wired.paths)


def _check_head(file: MachineFile, complaints: Complaints) -> None:
    """What stands alone at the head of a file."""
    if file.without:  # what is like another machine has left its wires out already
        message = "'without' leaves out wires of the machine under `like`, and there is no `like`."
        complaints.add(("without",), message, "Take it out, or name that machine: `like: vented-dryer`.")
    if file.currency is not None and file.currency not in amounts.CURRENCIES:
        remedy = did_you_mean(file.currency, amounts.CURRENCIES)
        complaints.add(("currency",), f"'{file.currency[:40]}' is no currency that is known here.", remedy)


@dataclass(frozen=True)
class _Rest:
    """What refers to the parts."""

    symptoms: Mapping[str, Symptom]
    places: Mapping[str, Mapping[str, float]]
    comes_to: Mapping[str, float]
    bays: Mapping[str, Bay]
    settings: Mapping[str, tuple[tuple[str, str], ...]]
    seen: tuple[Seen, ...]
    gas: Gas | None
    water: Water | None


def _rest(built: parts.Built, wired: Container[str], scope: Scope) -> _Rest:
    return _Rest(
        symptoms=symptoms.read_symptoms(built, scope),
        places=rest.places_of(scope),
        comes_to=rest.comes_to_of(scope),
        bays=rest.bays_of(scope),
        settings=rest.settings_of(scope),
        seen=rest.seen_of(scope, wired),
        gas=rest.gas_of(scope),
        water=rest.water_of(scope),
    )


def _assemble(
    name: str, file: MachineFile, supply: Supply, built: parts.Built, wired: wires.Wired, found: _Rest, scope: Scope
) -> Machine:
    return Machine(
        name=name,
        title=file.machine,
        kind=file.kind,
        supply=supply,
        controls=scope.controls,
        places=found.places,
        parts=built.parts,
        elements=built.elements,
        devices=built.devices,
        mechanical=tuple(built.mechanical),
        wires=tuple(wired.wires),
        symptoms=found.symptoms,
        bays=found.bays,
        frame=scope.frame,
        joint=parts.pattern("joint", scope),
        wire=parts.pattern("wire", scope),
        seen=found.seen,
        settings=found.settings,
        comes_to=found.comes_to,
        about=file.about or "",
        provenance=file.provenance or "",
        currency=file.currency or "USD",
        gas=found.gas,
        water=found.water,
    )


def _system(file: MachineFile, complaints: Complaints) -> supplies.SupplySystem | None:
    known = supplies.table()
    system = known.get(file.supply.system)
    if system is None:
        message = f"There is no supply system '{file.supply.system[:60]}'."
        complaints.add(("supply", "system"), message, did_you_mean(file.supply.system, known))
    return system


def _ready(scope: Scope) -> list[parts.Ready]:
    """All parts with their values; from here on the scope knows controls, terminals and the frame."""
    scope.controls.update(rest.controls_of(scope))
    given = [(one, None) for one in house.house_parts(scope) if one.type in scope.types]
    house_names = [one.name for one, _ in given]
    ready = [parts.make_ready(one, None, scope) for one, _ in given]
    for name, entry in scope.file.parts.items():
        if name in house_names:
            scope.complaints.add(("parts", name), f"'{name}' is a part of the supply.", "Give this another name.")
        ready.append(parts.make_ready(parts.given_of(name, entry), entry, scope))
    good = [one for one in ready if one is not None]
    scope.broken |= set(scope.file.parts) - {one.given.name for one in good}
    scope.terminals.update({one.given.name: one.terminals for one in good})
    scope.mechanical.update(one.given.name for one in good if one.spec.mechanical)
    scope.frame = _frame(scope)
    return good


def _frame(scope: Scope) -> str:
    """The terminal of the machine's metal; "" where the file names none."""
    name = scope.file.frame
    if name is None or not scope.part(name, ("frame",)):
        return ""
    if not scope.terminals[name]:
        scope.complaints.add(("frame",), f"'{name}' has no terminal.", "Name a part of type `frame`.")
        return ""
    return f"{name}.{scope.terminals[name][0]}"
