"""The names of a machine that a shell offers when Tab is pressed; never fails."""

from __future__ import annotations

from halfsplit.errors import HalfsplitError
from halfsplit.machine import model
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.service import machines, refusing


def offered(file: str, kind: str) -> list[str]:
    """Names of one kind: terminals, faults, settings, bays, what may be refused; none where no machine can be read."""
    try:
        machine = machines.load(file)
    except (HalfsplitError, OSError, ValueError):
        return []
    return _KINDS[kind](machine)


def _settings(machine: model.Machine) -> list[str]:
    controls = conditions.positions(machine)
    return [*machine.settings, *(f"{c}={position}" for c, places in controls.items() for position in places)]


def _faults(machine: model.Machine) -> list[str]:
    return list(listing.by_name(machine))


def _terminals(machine: model.Machine) -> list[str]:
    return list(machine.reachable)


def _bays(machine: model.Machine) -> list[str]:
    return list(machine.bays)


def _refusals(machine: model.Machine) -> list[str]:
    return list(refusing.choices(machine))


_KINDS = {
    "settings": _settings, "faults": _faults, "terminals": _terminals, "bays": _bays, "refusals": _refusals,
}  # fmt: skip
