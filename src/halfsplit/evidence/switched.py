"""What is mended by the way: a machine that is isolated at a handle of the house has had that handle switched off, and
with its power on again. Where that is all there is to a repair, what is found later is found on a machine without its
fault.

Knows findings, repairs and the machine file; not how a machine is isolated in words, nor who chose to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeGuard

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.operate.condition import Condition
from halfsplit.predict.candidates import Candidates
from halfsplit.predict.moments import Index


def mended(
    machine: model.Machine, repairs: Iterable[Repair], findings: Iterable[f.Finding], isolated: bool = False
) -> frozenset[str]:
    """The names of the repairs that were made by the way, for what was found: of parts of the house that a repairer
    mends at a handle by which the machine was cut off. `isolated`: it was, whatever was found.

    >>> from halfsplit.machine import loading
    >>> reset = Repair("breaker: switch fully off and on", "breaker", 2, 0, ())
    >>> [sorted(mended(loading.load(name), [reset], [f.Look(at, "fine")])) for name, at in (
    ...     ("water-heater", "limit"), ("coil-cooktop", "left front switch"))]
    [['breaker: switch fully off and on'], []]
    """
    off = _switched_off(machine, findings) | (_isolating(machine) if isolated else set())
    worked = {part for control in off for part in machine.worked_by(control)}
    return frozenset(one.name for one in repairs if one.subject in worked and _at_its_handle(machine, one))


def _at_its_handle(machine: model.Machine, repair: Repair) -> bool:
    return machine.parts[repair.subject].house and repair.by == "repairer" and not repair.price


def _switched_off(machine: model.Machine, findings: Iterable[f.Finding]) -> set[str]:
    """The controls of the house that stood off while something was found."""
    off: set[str] = set()
    for found in findings:
        if isinstance(found, f.Look):
            off |= _isolating(machine) if _is_covered(machine, found.at) else set()
        elif _shows_later(found) and found.condition:
            off |= _standing_off(machine, found.condition)
    return off


def _isolating(machine: model.Machine) -> set[str]:
    return {control for control, _ in machine.supply.isolates}


def _is_covered(machine: model.Machine, place: str) -> bool:
    """Whether a place is looked at behind a cover of the machine, so that it was isolated."""
    part = machine.parts.get(model.part_of(place))
    return part is not None and not part.house and part.bay in machine.bays


def _standing_off(machine: model.Machine, at: Condition) -> set[str]:
    house = machine.house_controls
    moved = {name for name, position in at.setting if name in house and position != machine.controls[name].rest}
    return moved | (_isolating(machine) if at.isolated else set())


def before_each(
    machine: model.Machine, repairs: Sequence[Repair], findings: Sequence[f.Telling]
) -> Iterator[tuple[f.Telling, frozenset[str]]]:
    """Findings, each with the repairs that were made by the way before a repairer found it; none for what an owner
    tells, who met the machine before, nor for a mark, which stays."""
    made = frozenset[str]()
    for found in findings:
        yield found, made if _shows_later(found) else frozenset()
        made |= mended(machine, repairs, (found,))


def _shows_later(found: f.Finding) -> TypeGuard[f.Reading | f.Perceived]:
    """Whether something was read or seen by a repairer, so that it shows the machine as it is then."""
    return isinstance(found, f.Reading) or (isinstance(found, f.Perceived) and found.by == "repairer")


def left(candidates: Candidates, made: frozenset[str]) -> Index:
    """(S,) of each variant the one that is left of it after these repairs."""
    parts, cured = candidates.parts, [candidates.cured(g, made) for g in range(len(candidates.groups))]
    gone = np.array(cured)[candidates.group_of][parts]
    rest = np.where(gone, 0, parts).max(axis=1)
    return np.asarray(np.where(gone[:, 0] | (gone[:, 1] & (parts[:, 1] > 0)), rest, np.arange(len(parts))), np.intp)
