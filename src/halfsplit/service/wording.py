"""A step in plain sentences: power, setting, what to open, where red and black go, and what each outcome would mean.

Knows steps and what the candidates predict of them; chooses nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence import weigh
from halfsplit.evidence.weighing import Weighed
from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.operate.condition import condition as conditions_of
from halfsplit.plan import pricing
from halfsplit.plan.steps import ALL_IN, Step
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Reading
from halfsplit.work import together
from halfsplit.work.hazards import Kind
from halfsplit.work.state import OUTSIDE, JobState, to_open, with_fronts

LIKELY = (0.01, 1e-3, 1e-4, 0.0)
"""Possible causes below the first of these are left out of the outcomes, unless only one outcome would be left."""
NAMED = 3
"""So many possible causes are named at each outcome."""
APART = 2.0
"""Outcomes are told apart where their ranges of so many standard deviations each way do not touch."""

GHOSTLY = 0.5
"""Deviation, in units of x, from which a reading tells nothing but that a lead floats."""


# ---- what to do -------------------------------------------------------------------------------------------


def sentence(
    predictor: Predictor, state: JobState, step: Step, bays: tuple[str, ...], wanted: Collection[Kind] = ()
) -> str:
    """All that has to be done for a step, from how the machine stands, in the order in which it can be done.

    `wanted`: the kinds of thing that the safety automaton wants done on the way. It knows more than how the machine was
    left: a look at terminals behind a cover that is open already has them isolated first, and the power back later.
    """
    machine = predictor.machine
    said = [
        *_off(machine, state, step, bays, wanted),
        *_wires_back(state, step),
        *_shutting(machine, state, step),
        *opening(machine, state, bays),
        *_power_back(machine, state, step, bays, wanted),
        *_setting(machine, state, step),
    ]
    return " ".join([*said, _itself(predictor, step)])


def _off(
    machine: model.Machine, state: JobState, step: Step, bays: tuple[str, ...], wanted: Collection[Kind]
) -> Iterator[str]:
    """Isolating, where hands go in; for the house's own volts at the wall the plug alone is pulled."""
    moves = bool(to_open(machine, state, bays) or pricing.shut_to_run(machine, state, step))
    if step.condition is not None and not step.condition.isolated and together.off(machine, step.condition):
        yield "Pull the plug. The receptacle stays live."
    elif Kind.ISOLATE in wanted or (
        not state.isolated and (moves or (step.condition is not None and step.condition.isolated))
    ):
        yield isolate(machine)


def _wires_back(state: JobState, step: Step) -> Iterator[str]:
    already = set(state.condition.lift if state.condition else ())
    for terminal in sorted(already - set(step.condition.lift)) if step.condition else ():
        yield f"Put the wires back on {terminal}."


def _shutting(machine: model.Machine, state: JobState, step: Step) -> Iterator[str]:
    """What must be closed for the machine to run, innermost first."""
    shut = pricing.shut_to_run(machine, state, step)
    order = [bay for bay in reversed(with_fronts(machine, shut)) if bay in shut]
    if order:
        yield f"Close the {', the '.join(order)}: the machine does not run with that open."


def _power_back(
    machine: model.Machine, state: JobState, step: Step, bays: tuple[str, ...], wanted: Collection[Kind]
) -> Iterator[str]:
    """Power, where the step needs it and it is off; beside open covers only with the frame proved bonded."""
    shut = set(pricing.shut_to_run(machine, state, step))
    was_off = bool(state.condition and together.off(machine, state.condition))
    back = Kind.ENERGISE in wanted or was_off or shut or to_open(machine, state, bays)
    if not pricing.powered(machine, step) or not back:
        return
    if machine.frame and {*state.open_bays, *with_fronts(machine, bays)} - shut:
        yield f"Ohms from {machine.frame} to {together.earthed_at(machine)}: below 1 ohm."
    yield "Take the leads off, clear your hands, and bring the power back."


def isolate(machine: model.Machine) -> str:
    """How the machine is made safe to open, in words."""
    how = " and ".join(f"{control} {position}" for control, position in machine.supply.isolates)
    return f"Isolate the machine ({how}) and prove it dead with a meter that you have just proved."


def opening(machine: model.Machine, state: JobState, bays: tuple[str, ...]) -> Iterator[str]:
    """How the bays that are still shut are opened, with what to photograph before connectors are pulled."""
    for bay in to_open(machine, state, bays):
        fasteners, unplugs = machine.bays[bay].fasteners, machine.bays[bay].unplugs
        if unplugs:
            yield f"Photograph the connectors of {' and '.join(unplugs)}, then pull them."
        yield f"Open the {bay} ({fasteners})." if fasteners else f"Open the {bay}."


def _setting(machine: model.Machine, state: JobState, step: Step) -> Iterator[str]:
    if step.condition is None:
        return
    house = {control for control, _ in machine.supply.isolates} | {"plug", "breaker"}
    before = dict(state.condition.setting if state.condition else conditions_of(machine).setting)
    moved = [(c, p) for c, p in step.condition.setting if before.get(c) != p and c not in house]
    wanted = [_stand(machine, control, position) for control, position in moved]
    if wanted:
        yield f"Set: {', '.join(wanted)}."
    yield from _lifted(machine, state, step.condition)


def _stand(machine: model.Machine, control: str, position: str) -> str:
    if control == WARMTH:
        return f"let it get {position}"
    return f"{control} {position}" if control in machine.controls else f"{control}: {position}"


def _lifted(machine: model.Machine, state: JobState, at: Condition) -> Iterator[str]:
    already = set(state.condition.lift if state.condition else ())
    fresh = [terminal for terminal in at.lift if terminal not in already]
    yield from photographs(machine, fresh, (*already, *_lifted_before(state)))
    for terminal in fresh:
        yield f"Take the wires off {terminal}."


def _lifted_before(state: JobState) -> Iterator[str]:
    """The terminals whose wires were off in a step that was done."""
    for step in state.done:
        if isinstance(step, Step) and step.condition:
            yield from step.condition.lift


def photographs(machine: model.Machine, lifted: Sequence[str], before: Iterable[str] = ()) -> Iterator[str]:
    """What to photograph before these wires come off; `before`: terminals whose wires have been off already."""
    for part in together.photograph(machine, lifted, before):
        wired = [t for t in (f"{part}.{t}" for t in machine.parts[part].terminals) if together.landing(machine, t)]
        each = (f"{t.split('.', 1)[1]} {' '.join(c for c, _ in together.landing(machine, t))}" for t in wired)
        yield f"Photograph {part} before its first wire comes off ({', '.join(each)})."


def _itself(predictor: Predictor, step: Step) -> str:
    if step.kind == "look":
        return f"Look at {step.at}: {', '.join(seen(predictor, step.at))}?"
    if step.probe is None:
        return predictor.machine.symptoms[step.at].question or f"See for yourself: {step.at}?"
    if step.probe.meter == "amps":
        return f"Meter at amps: close the clamp round the wires at {step.probe.red}. Read."
    at_wall = step.live and all(predictor.machine.parts[model.part_of(place)].house for place in step.places)
    power = "At the wall, meter" if at_wall else "With the power on, meter" if step.live else "Meter"
    leads = f"{power} at {step.probe.meter}: red on {step.probe.red}, black on {step.probe.black}."
    if step.condition and step.condition.provoke:
        return f"{leads} Clip them on. {_provoking(step.condition.provoke)} Note what differs from a steady reading."
    return f"{leads} Read."


def _provoking(way: str) -> str:
    """What to do, the machine dead, to bring out what comes and goes."""
    what = way.split(" ", 1)[1]
    if way.startswith("turn "):
        return f"Turn {what} slowly by hand, once round, and watch the meter."
    if way.startswith("heat "):
        return f"Warm {what} with hot air, slowly, and watch the meter; mind your fingers."
    shaken = "the cord and all else outside" if way == ALL_IN + OUTSIDE else f"{what} and what is wired to it"
    return f"Shake {shaken}, and watch the meter."


def seen(predictor: Predictor, at: str) -> tuple[str, ...]:
    """What may be seen at a place, in words."""
    return predictor.look(at)[0]


# ---- what it would mean -----------------------------------------------------------------------------------


def outcomes(weighed: Weighed, step: Step) -> tuple[str, ...]:
    """Each outcome that some likely cause would give, likeliest first, with the causes that it would speak for."""
    made: dict[str, list[int]] = {}
    for least in LIKELY:
        if len(made) < 2:
            made = _told(weighed, step, np.flatnonzero(weighed.posterior.probability > least))
    weights = {text: weighed.posterior.probability[members].sum() for text, members in made.items()}
    return tuple(f"{text}: {_causes(weighed, made[text])}" for text in sorted(made, key=lambda t: -weights[t]))


def _told(weighed: Weighed, step: Step, rows: Array) -> dict[str, list[int]]:
    if step.kind == "look":
        values, table = weighed.predictor.look(step.at)
        return _grouped((values[int(table[row].argmax())], row) for row in rows.tolist())
    assert step.condition is not None
    if step.probe is None:
        yes = weighed.predictor.symptom(step.at, step.condition, False)
        return _grouped(("yes" if yes[row] > 0.5 else "no", row) for row in rows.tolist())
    return _ranges(weighed, step, weighed.predictor.reading(step.probe, step.condition), rows.tolist())


def _grouped(pairs: Iterable[tuple[str, int]]) -> dict[str, list[int]]:
    made: dict[str, list[int]] = {}
    for text, row in pairs:
        made.setdefault(text, []).append(row)
    return made


def _ranges(weighed: Weighed, step: Step, expected: Reading, rows: list[int]) -> dict[str, list[int]]:
    """Readings that cannot be told apart lie in one group, named by its range on the meter."""
    deviation = weigh.deviation(expected)
    over = [row for row in rows if np.isinf(expected.value[row])]
    ghosts = [row for row in rows if deviation[row] > GHOSTLY and row not in over]
    made = {"OL": over, "unsteady, what an open wire picks up": ghosts}
    low, high = expected.mean - APART * deviation, expected.mean + APART * deviation
    group: list[int] = []
    for row in sorted(set(rows) - {*over, *ghosts}, key=lambda r: float(low[r])):
        if group and low[row] > max(high[g] for g in group):
            made[_span(weighed, step, expected, group)] = group
            group = []
        group.append(row)
    made |= {_span(weighed, step, expected, group): group} if group else {}
    return {text: members for text, members in made.items() if members}


def _span(weighed: Weighed, step: Step, expected: Reading, group: Sequence[int]) -> str:
    assert step.probe is not None
    meter = weighed.predictor.readings.meter
    texts = [meter.shown(step.probe.meter, float(pick(expected.value[list(group)])))[0] for pick in (np.min, np.max)]
    return f"about {texts[0]}" if texts[0] == texts[1] else f"{texts[0]} to {texts[1]}"


def _causes(weighed: Weighed, rows: Sequence[int]) -> str:
    """The likeliest causes among some variants, and how many more."""
    candidates = weighed.candidates
    sums: dict[int, float] = {}
    for row in rows:
        group = int(candidates.group_of[row])
        sums[group] = sums.get(group, 0.0) + float(weighed.posterior.probability[row])
    order = sorted(sums, key=lambda group: -sums[group])
    named = [" + ".join(candidates.faults[i].name for i in candidates.groups[g]) or "nothing is wrong" for g in order]
    more = f", and {len(named) - NAMED} more" if len(named) > NAMED else ""
    return ", ".join(named[:NAMED]) + more
