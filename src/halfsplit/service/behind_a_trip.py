"""What may have made a limit trip that is set again by hand: pressed in alone, it trips again.

Knows the single faults and what the machine shows with each; not what was found.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from halfsplit.circuit.network import Array
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import model
from halfsplit.machine.primitives import Thermostat
from halfsplit.modes import tripping
from halfsplit.modes.fault import Fault, Repair
from halfsplit.operate.condition import WARMTH
from halfsplit.plan import steps

WORTH_NAMING = 0.05
"""What is rarer than so much of all that might have tripped it is not named; Halfsplit's choice, no source."""
AT_MOST = 4
"""So many are named."""


def made_it_trip(bench: Bench, repairs: Sequence[Repair]) -> Iterator[str]:
    """The likeliest faults behind a tripped limit that is among these repairs, likeliest first; nothing where none is,
    or one of these faults is mended with it.

    >>> from halfsplit.machine import loading
    >>> heater = Bench(loading.load("water-heater"))
    >>> press = [one.repair for one in heater.faults if one.name == "limit: tripped"]
    >>> print(*made_it_trip(heater, press))  # doctest: +NORMALIZE_WHITESPACE
    What may have made it trip: upper thermostat: first contact welded, lower thermostat: stuck closed,
    upper element: to frame, lower element: to frame. See to that too, else it trips again.
    """
    names = {repair.name for repair in repairs}
    if any(one.repair.name in names and _by_heat(bench.machine, one) for one in bench.faults):
        likely = list(islice(_too_hot(bench), AT_MOST))
        if likely and not any(one.repair.is_done_by(names) for one in likely):
            named = ", ".join(one.name for one in likely)
            yield f"What may have made it trip: {named}. See to that too, else it trips again."


def _by_heat(machine: model.Machine, fault: Fault) -> bool:
    """Whether a fault is that a limit which is set again by hand has tripped: heat did that, and not amps."""
    own = (one for one in machine.devices.values() if one.part == fault.subject)
    return tripping.has_tripped(machine, fault) and any(isinstance(one, Thermostat) for one in own)


def _too_hot(bench: Bench) -> Iterator[Fault]:
    """The single faults that still heat a machine as warm as a healthy one heats no more, likeliest first."""
    known, prior = bench.singles, bench.predictor.candidates.prior
    weight: dict[int, float] = {}
    for row in {row for rows in _hot(bench) for row in rows.nonzero()[0].tolist()}:
        for fault in known.groups[known.group_of[row]]:
            weight[fault] = weight.get(fault, 0.0) + float(prior[row])
    least = WORTH_NAMING * sum(weight.values())
    yield from (known.faults[one] for one in sorted(weight, key=lambda n: -weight[n]) if weight[one] > least)


def _hot(bench: Bench) -> Iterator[Array]:
    """(S,) which variants show each heat that only a warmth names and that a healthy machine does not give then."""
    machine, predictor = bench.machine, bench.predictor
    for what, symptom in machine.symptoms.items():
        at = steps.met_in(machine, symptom)
        if symptom.kind == "heat" and WARMTH in dict(symptom.setting) and not predictor.healthy_shows(what, at):
            yield predictor.symptom(what, at, False) > 0.5
