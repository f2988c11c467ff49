"""Which contacts are closed, from where the controls stand and which devices are in their other state.

Knows the rule of each contact; nothing of networks.
"""

from __future__ import annotations

from collections.abc import Mapping

from halfsplit.machine import model, primitives


def closed_contacts(machine: model.Machine, positions: Mapping[str, str], other: frozenset[str]) -> frozenset[str]:
    """Names of the closed contacts."""
    return frozenset(
        element.name
        for element in machine.elements.values()
        if isinstance(element, primitives.Contact) and all(holds(when, positions, other) for when in element.when)
    )


def holds(when: primitives.When, positions: Mapping[str, str], other: frozenset[str]) -> bool:
    """Whether one rule holds."""
    if isinstance(when, primitives.ByControl):
        return positions[when.control] in when.positions
    return (when.device in other) == when.other


def as_the_contacts_stand(
    machine: model.Machine, positions: Mapping[str, str], stands: Mapping[str, str], failed: frozenset[str]
) -> dict[str, str]:
    """Where the contacts stand: as set, but at rest where the part that carries the turn failed.

    `stands` overrides: a control that stood elsewhere than was said.
    """
    actual = dict(positions) | {c: p for c, p in stands.items() if c in positions}
    for control in machine.controls.values():
        if control.through and control.through in failed:
            actual[control.name] = control.rest
    return actual
