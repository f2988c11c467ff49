"""Whether a machine should burn gas as it is set, what is perceived of its burner, and where its duct comes off.

Knows the machine file; not where the gas stands (work/safety), nor what was found.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, Condition, cut_off

DUCT = "air path"
"""The part type through which air goes, and with it what was burnt."""


def of_gas(machine: model.Machine, symptom: model.Symptom) -> bool:
    """Whether a symptom is of a part that gas flows through."""
    parts = machine.gas.parts if machine.gas else ()
    return not {model.part_of(name) for name in (*symptom.of, *symptom.through)}.isdisjoint(parts)


def is_burning(machine: model.Machine, symptom: model.Symptom) -> bool:
    """Whether a symptom is by itself that the burner burns: power or heat of nothing but what gas flows through."""
    parts = machine.gas.parts if machine.gas else ()
    return symptom.kind in ("energised", "heat") and {model.part_of(name) for name in symptom.of} <= {*parts}


def should_burn(machine: model.Machine, at: Condition) -> bool:
    """Whether a machine should burn, set so: under power, its own controls as where something is perceived, at work, of
    what gas flows through."""
    if machine.gas is None or cut_off(machine, at):
        return False
    lit = (one for one in machine.symptoms.values() if of_gas(machine, one) and not one.unpowered)
    met = (dict(conditions.usual(machine).setting) | dict(one.setting) for one in lit)
    own = machine.controls.keys() - machine.house_controls
    return any(all(p == each[c] for c, p in at.setting if c in own) for each in met)


def is_lit(machine: model.Machine, at: Condition) -> bool:
    """Whether a machine that should burn, set so, has to have burnt for a while: it is wanted warmer than at rest."""
    return bool(machine.warmths) and at.position(WARMTH) != machine.warmths[0] and should_burn(machine, at)


def unducted(machine: model.Machine, opened: Iterable[str]) -> Iterator[str]:
    """Those of some open bays with which a duct has come off, so that what is burnt goes into the room."""
    for bay in opened:
        if machine.gas and any(machine.parts[one].type == DUCT for one in _parts(machine, machine.bays[bay].frees)):
            yield bay


def _parts(machine: model.Machine, freed: Iterable[str]) -> Iterator[str]:
    """The parts among what comes off with a bay: a control may be freed too."""
    return (name for name in freed if name in machine.parts)
