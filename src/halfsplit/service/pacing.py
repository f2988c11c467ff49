"""`pace`: a shop's own minutes from the findings of its jobs, and machines that take them.

Joins findings with what their steps would take by the file; the estimate is work/pace's, the file work/pace_file's.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import asdict, replace
from typing import Any

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.modes import listing
from halfsplit.modes.fault import Repair
from halfsplit.plan import powering, pricing, taken
from halfsplit.plan.steps import Step
from halfsplit.service import advising, machines
from halfsplit.work import handling, minutes, pace, pace_file
from halfsplit.work.pace import Record
from halfsplit.work.state import JobState

KIND_OF = {"reading": "reading", "look": "look", "symptom": "perceiving"}
Job = tuple[model.Machine, Sequence[f.Finding]]


def learn(jobs: Sequence[Job], hourly: float | None = None, van: Sequence[str] | None = None) -> dict[str, Any]:
    """The pace that the jobs show, as data and as the text of a pace file. Each machine with its file's own minutes.

    `hourly`: what an hour of this shop costs, in the currency of the machine files; `van`: the parts that lie on its
    van, by name or type; None: as if nothing were said. Raises WrongUse for a part of no machine that is known.
    """
    _check(van or (), machines.carried(machine for machine, _ in jobs) if van else frozenset())
    found = [record for machine, findings in jobs for record in records(machine, findings)]
    made = pace.estimated(found)
    made = made if hourly is None else replace(made, hourly=hourly)
    made = made if van is None else replace(made, van=tuple(dict.fromkeys(van)))
    return {
        "records": len(found),
        "scatter": made.scatter,
        "hourly": made.hourly,
        "van": None if made.van is None else list(made.van),
        "within": pace.WITHIN,
        "pace": {kind: asdict(one) for kind, one in made.factors.items()},
        "file": pace_file.written(made, len(found)),
    }


def _check(van: Sequence[str], known: Collection[str]) -> None:
    for name in van:
        if name not in known:
            raise WrongUse(f"No machine that is known has a part or a type of part {name[:40]!r}.",
                           f"{did_you_mean(name, known)} {pace_file.OWN_PARTS}")  # fmt: skip


def records(machine: model.Machine, findings: Sequence[f.Finding]) -> Iterator[Record]:
    """The timed steps of a job with what each takes by the file from how the machine stood."""
    known, state = listing.repairs(machine), JobState()
    for found, one in advising.course(known, findings):
        nothing_done = isinstance(one, f.Closed) and (one is not found or not state.open_bays)
        if not isinstance(one, taken.Perhaps | f.Resumed) and not nothing_done and found.took is not None:
            yield _record(machine, state, one, found.took)
        state = advising.then(machine, state, one)


def _record(machine: model.Machine, state: JobState, one: Step | Repair | f.Closed, took: float) -> Record:
    """Closing is among a step's minutes only where it closes bays to run the machine; what it opens is closed later."""
    if isinstance(one, f.Closed):
        shut = sum(machine.bays[bay].close_minutes for bay in state.open_bays)
        return Record({"bays": shut}, took, 0.0)
    if isinstance(one, Repair):
        bays = one.bays if handling.hands_in(machine, one) else ()
        cost, kind = pricing.repair_cost(machine, state, replace(one, bays=bays)), "repairing"
        shut = heating = 0.0
    else:
        cost, kind = pricing.cost_of(machine, state, one), KIND_OF[one.kind]
        shut = sum(machine.bays[bay].close_minutes for bay in powering.shut_to_run(machine, state, one))
        heats = one.condition is not None and one.condition.in_hot_air
        heating = minutes.HEAT if heats else 0.0
    by_kind = {
        kind: cost.itself - heating,
        "bays": cost.opening + shut,
        "changing": cost.power + cost.gas + cost.discharging + cost.setting,
        "lifting": cost.lifting + cost.spades + cost.exchanging,
    }
    waited = cost.waiting + cost.cooling + cost.running + heating
    return Record({name: value for name, value in by_kind.items() if value > 0}, took, waited)
