"""The house side: from the supply system and what the file says under `supply` to parts, wires and controls.

Knows the system's templates; `$cord` stands for a value, `$L1` for the machine's terminal that `meets` names, `$in` for
the bay in which the plug lies.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.machine import amounts, wiring
from halfsplit.machine.expand.scope import OUTSIDE, Scope
from halfsplit.machine.expand.values import Given
from halfsplit.machine.model import BREAKER, Supply
from halfsplit.machine.supplies import SupplySystem, SupplyValue

__all__ = ["HouseWire", "house_parts", "house_wires", "read_supply"]

PATH = ("supply",)


@dataclass(frozen=True)
class HouseWire:
    """A wire of the house or of the cord, as text; a fixed one does not fail by itself."""

    text: str
    fixed: bool


def read_supply(scope: Scope) -> Supply | None:
    """The supply of a machine; None, with complaints, where the file does not give it rightly."""
    system, entry = scope.supply, scope.file.supply
    if system is None:
        return None
    good = [_value(name, spec, scope) for name, spec in system.values.items()]
    for name in entry.values:
        known = [*system.values, "system", "meets", *(() if system.hard_wired else ("in",))]
        good.append(scope.known(name, known, "value", (*PATH, name), owner=entry.system))
    if entry.bay and system.hard_wired:
        scope.complaints.add((*PATH, "in"), "What is wired in has no plug.", "Leave `in` out, or name another system.")
        good.append(False)
    good.append(_meets(system, scope))
    if not all(good):
        return None
    return Supply(
        system=entry.system,
        hertz=system.hertz,
        isolates=tuple(_isolates(system, entry.bay).items()),
        feeds=tuple(entry.meets[end] for end in system.feeds),
        earth=system.earth,
        hard_wired=system.hard_wired,
        meets=tuple(entry.meets[end] for end in system.ends),
    )


def _isolates(system: SupplySystem, bay: str | None) -> dict[str, str]:
    """What cuts the machine off: the breaker, where the plug lies in a bay."""
    at_breaker = {BREAKER: system.controls[BREAKER].positions[1]}
    return system.isolates if bay in (None, OUTSIDE) else at_breaker


def _value(name: str, spec: SupplyValue, scope: Scope) -> bool:
    text = _given(name, spec, scope)
    try:
        if not isinstance(text, str):
            raise WrongUse("This must be one text.", f"Write it as in `{spec.default}`.")
        if spec.kind == "wire":
            wiring.read_run(text)
        elif amounts.value(text, spec.kind).nominal <= 0:
            raise WrongUse(f"'{text}' is not above nought.", f"Write it as in `{spec.default}`.")
    except WrongUse as error:
        scope.complaints.refuse((*PATH, name), error, f"'{name}': ")
        return False
    return True


def _given(name: str, spec: SupplyValue, scope: Scope) -> str:
    text: str = scope.file.supply.values.get(name, spec.default)
    return text


def _meets(system: SupplySystem, scope: Scope) -> bool:
    meets, path = scope.file.supply.meets, (*PATH, "meets")
    good = [scope.terminal(terminal, (*path, end)) for end, terminal in meets.items() if end in system.ends]
    for end in meets:
        if end not in system.ends:
            scope.complaints.add((*path, end), f"This supply has no end '{end}'.", did_you_mean(end, system.ends))
            good.append(False)
    for end in system.ends:
        if end not in meets:
            remedy = f"Write `{end}: PART.TERMINAL` under `meets`."
            scope.complaints.add(path, f"It is not said where {end} of the supply lands.", remedy)
            good.append(False)
    return all(good)


def house_parts(scope: Scope) -> Iterator[Given]:
    """The parts of the house."""
    system = scope.supply
    for name, entry in (system.parts if system else {}).items():
        values = {key: _filled(text, scope) for key, text in entry.items() if key not in ("type", "in")}
        paths = {key: (*PATH, text[1:]) for key, text in entry.items() if text.startswith("$")}
        bay = entry.get("in", OUTSIDE).replace("$in", scope.file.supply.bay or OUTSIDE)
        yield Given(name, entry["type"], bay, values, PATH, paths)


def _filled(text: str, scope: Scope) -> str:
    """The text with each `$name` replaced by the value or the terminal of that name."""
    assert scope.supply is not None
    if not text.startswith("$"):
        return text
    spec = scope.supply.values.get(text[1:])
    return _given(text[1:], spec, scope) if spec else scope.file.supply.meets[text[1:]]


def house_wires(scope: Scope) -> Iterator[HouseWire]:
    """The wires of the house and of the cord; only once `read_supply` has found no fault."""
    assert scope.supply is not None
    for lines, fixed in ((scope.supply.fixed_wires, True), (scope.supply.wires, False)):
        for line in lines:
            yield HouseWire("  ".join(_filled(text, scope) for text, _ in wiring.fields(line)), fixed)
