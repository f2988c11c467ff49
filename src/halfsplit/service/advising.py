"""The next steps as data, best first: the only place that asks the plan. The table of steps is kept per machine."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from halfsplit.errors import Refused
from halfsplit.evidence import finding as f
from halfsplit.evidence.partition import Partition
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import cautions, model
from halfsplit.modes.fault import Repair
from halfsplit.operate.condition import Condition
from halfsplit.plan import alike, fitting, odd, owner, safely, score, setups, shown, steps, table, taken
from halfsplit.plan.steps import Step
from halfsplit.plan.undoing import Hands
from halfsplit.predict.readings import Probe
from halfsplit.quantity.display import duration
from halfsplit.service import kept, leaving, meaning, naming, remembering, tasks, wording
from halfsplit.service.leaving import Limits
from halfsplit.work import places, refusals, safety, stopping
from halfsplit.work.hazards import STOPS, Kind, gravest_first
from halfsplit.work.state import JobState, to_open

MOVES = frozenset({
    Kind.ISOLATE, Kind.ENERGISE, Kind.OPEN, Kind.CLOSE, Kind.LIFT, Kind.REFIT, Kind.EXCHANGE, Kind.TURN,
})  # fmt: skip
"""What leaves a machine otherwise than it stood, open or live or shut."""
CLOSING_PAID = " To close what has to be closed for it was counted when that was opened."
"""Told why, of a step for which covers go on."""
CLASSES = kept.named(
    table.Table, table.Outcomes, alike.Compared, odd.OddSteps, Partition, Step, Condition, Probe
)
COUNT = 3
"""So many steps are offered."""
STOP = "stop"
"""The kind of a step that ends the work here."""
DANGEROUS = "Going on could hurt somebody."
NOT_OURS = "What is due is another trade's work"
IN_VAIN = "Whether a step pays before it is handed over is judged with {time} for handing over in vain."
TOO_DEAR = (
    "{which}, {names}, costs about {cost:.0f} {currency} with work and parts. Its owner would spend {most:g} at most."
)
NOTHING_SHOWS = "No step left is worth its minutes, and nothing that was found is unlike a healthy machine."
ODD = "No reading across one part or along one wire tells half as much a minute: mind where the leads go."
"""What is said of a reading between two places that nothing joins."""


@dataclass(frozen=True)
class Advice:
    """One step: what to do in a sentence, its minutes, the bits it tells about the repair, what outcomes mean.

    `reason`: why, in the words of a person at the machine; `spent`: what its minutes go into, or what handing over in
    vain would cost.
    """

    step: Step
    text: str
    minutes: float
    bits: float
    outcomes: tuple[str, ...]
    cautions: tuple[str, ...]
    reason: str
    scored: score.Scored | None = None
    """As the plan scored it; None for a stop."""
    spent: str = ""
    rule: str = ""
    """The stop rule (`work.hazards.STOPS`); "" where it is no stop."""
    comes_first: bool = False
    """Whether it comes before any repair, whatever it tells: the complaint is to be seen."""
    moves: bool = False
    """Whether hands or power have to do with more than the step itself, so that it matters whether it was begun."""

    @property
    def live(self) -> bool:
        """Whether leads touch a machine under power."""
        return self.step.live

    @property
    def acknowledge(self) -> tuple[str, ...]:
        """What is to be acknowledged before the step; nothing before a stop, which is told at once."""
        return () if self.step.kind == STOP else self.cautions


def adviser(bench: Bench, key: str = "", further: bool = False) -> score.Adviser:
    """The adviser of a machine; its table of steps is kept under `key` ("": not kept).

    further: it looks many steps ahead, else one.
    """
    made = _one_step(bench, key)
    return setups.far_sighted(made) if further else made


def _one_step(bench: Bench, key: str) -> score.Adviser:
    name = kept.key("table", key)
    found = kept.get(name, CLASSES | kept.arrays()) if key else None
    if isinstance(found, table.Table):
        return setups.Setups(bench, found)
    made = setups.Setups(bench)
    if key:
        kept.put(name, made.table)
        remembering.learn_the_usual(bench)
        remembering.keep(bench, key)
    return made


def advise(
    asked: score.Adviser,
    weighed: Weighed,
    refused: Collection[object] = (),
    count: int = COUNT,
    limits: Limits = leaving.WHATEVER,
) -> list[Advice]:
    """The best steps from where the findings have brought the machine, around what was refused (`refusing`); or the
    stop that ends the work. None once a repair is proved."""
    rule = stopping.now(asked.bench.machine, weighed.findings)
    if rule:
        return [stopped(rule)]
    if is_proved(weighed.findings):
        return []
    dear = leaving.too_dear(asked.bench, weighed, limits)
    if dear:
        return [not_worth_it(asked.bench, dear, limits, fitting.sure(weighed))]
    state = standing(asked, weighed.findings, refused)
    best = fitting.next_steps(asked, weighed, state, count)
    enough = fitting.settled(asked, weighed, state, best)
    if enough and leaving.does_not_show(weighed, limits):
        return [not_reproduced()]
    seen = fitting.first_seen(asked, weighed, state) if enough and leaving.asks_to_see(limits) else None
    if seen:
        return [replace(advice_for(asked, weighed, seen, refused), comes_first=True)]
    names, _ = fitting.made_first(asked, weighed, state) if enough else ((), 0.0)
    handed = not_ours(asked.bench, names)
    if handed:
        return [handed_over(asked, handed, names)]
    if refusals.unproved(asked.bench.machine, refused, [asked.bench.repairs[name] for name in names]):
        return [_left(stopping.NOT_DEAD, f"What is due wants hands in the machine: {' and '.join(names)}.")]
    safe = safe_so_far(asked, weighed.findings)
    return [_advice(asked, weighed, state, safe, one) for one in best]


def is_proved(findings: Sequence[f.Finding]) -> bool:
    """Whether a repair has cured, all was well, and nothing was found since.

    >>> is_proved([f.Look("lint screen", "fine"), f.Tried("replace heater", True), f.Closed(True)])
    True
    """
    last = next((x for x in reversed(findings) if not isinstance(x, f.Closed | f.Resumed)), None)
    return isinstance(last, f.Tried) and last.proved


def settled(
    asked: score.Adviser, weighed: Weighed, advised: Sequence[Advice], refused: Collection[object] = ()
) -> bool:
    """Whether nothing more is found out before repairs are made; `advised`: the best first. A stop has
    found that out, but for one at a danger, where nothing is known to be enough, and one before repairs that all cost
    too much, of which it need not be known which is due."""
    if rule := next((one.rule for one in advised if one.rule), ""):
        danger = stopping.now(asked.bench.machine, weighed.findings) is not None
        return not danger and (rule != leaving.NOT_WORTH_IT or fitting.sure(weighed))
    scored, state = [one.scored for one in advised if one.scored], standing(asked, weighed.findings, refused)
    return not any(one.comes_first for one in advised) and fitting.settled(asked, weighed, state, scored)


def stopped(rule: str) -> Advice:
    """The stop that a rule asks for, since going on could hurt somebody."""
    return Advice(Step(STOP), f"STOP. {STOPS[rule].say}", 0.0, 0.0, (), (f"DANGER: {rule}.",), DANGEROUS, rule=rule)


def not_ours(bench: Bench, names: Sequence[str]) -> str | None:
    """The rule by which these repairs are another trade's; None where the repairer may do all of them."""
    return stopping.of_repairs(bench.repairs[name] for name in names if name in bench.repairs)


def handed_over(asked: score.Adviser, rule: str, names: Sequence[str]) -> Advice:
    """The stop before a repair that is another trade's."""
    stop = _left(rule, naming.told(asked.bench.machine, f"{NOT_OURS}: {' and '.join(names)}."))
    return replace(stop, spent=IN_VAIN.format(time=duration(asked.wasted(names))))


def not_worth_it(bench: Bench, names: Sequence[str], limits: Limits, known: bool) -> Advice:
    """The stop before repairs that cost more than the owner would spend; the likeliest, where it is not known which."""
    cost, currency = leaving.costs(bench, names), bench.machine.currency
    which = "What is due" if known else "Whatever is due costs too much: the likeliest repair"
    told = TOO_DEAR.format(which=which, names=" and ".join(names), cost=cost, currency=currency, most=limits.worth)
    return _left(leaving.NOT_WORTH_IT, naming.told(bench.machine, told))


def not_reproduced() -> Advice:
    """The stop where what was complained of does not show, and no step is worth its minutes any more."""
    return _left(leaving.NOT_REPRODUCED, NOTHING_SHOWS)


def _left(rule: str, why: str) -> Advice:
    return Advice(Step(STOP), f"STOP. {STOPS[rule].say}", 0.0, 0.0, (), (f"NOTICE: {rule}.",), why, rule=rule)


def safe_so_far(asked: score.Adviser, findings: Sequence[f.Finding]) -> safety.State:
    """What has been proved and acknowledged by the steps taken so far; begun anew where they were not ours, or only
    perhaps done, where the job was taken up again, and once it was put together, as after a repair: another machine
    then, in another power state."""
    machine, state, safe = asked.bench.machine, JobState(), safely.begin(asked.bench.machine)
    for _, one in course(asked.bench.repairs, findings):
        after = then(machine, state, one)
        try:
            if not isinstance(one, Step):
                raise Refused("It was put together, or nobody knows: what was proved before is not so any more.")
            safe = safely.prepared(machine, safe, state, after, one).state
        except Refused:
            safe = safely.anew(machine, state, after)
        state = after
    return safe


def standing(asked: score.Adviser, findings: Sequence[f.Finding], refused: Collection[object] = ()) -> JobState:
    """How the machine stands after these findings: what is open, its condition, what has been done, and told."""
    seen = {s for s in asked.steps.usual if s.at == stopping.WATER} if stopping.is_breaker_off(findings) else ()
    told = owner.told(asked.bench.predictor, asked.steps.questions, findings)
    state = JobState(refused=frozenset((*refused, *seen)) | stopping.barred(findings), done=frozenset[object](told))
    for _, one in course(asked.bench.repairs, findings):
        state = then(asked.bench.machine, state, one)
    return state


def then(machine: model.Machine, state: JobState, one: Hands) -> JobState:
    """How the machine stands after a step, or one only perhaps done; or put together, after a repair or without, and
    in use unless the power stayed off."""
    if isinstance(one, Step):
        return taken.after(machine, state, one)
    if isinstance(one, taken.Perhaps):
        return taken.perhaps(machine, state, one)
    if isinstance(one, f.Resumed):
        return taken.resumed(machine, state)
    return taken.put_together(machine, state, isinstance(one, Repair) or one.power)


def course(repairs: Mapping[str, Repair], findings: Sequence[f.Finding]) -> Iterator[tuple[f.Finding, Hands]]:
    """What hands did, in order, each after what was found by it: steps, of what was taken back perhaps, the repairs (by
    their names) that were made, and putting together, as after a repair that was not tried; and that the job was
    taken up again. What an owner told changes nothing here."""
    for found in findings:
        one: Hands | None
        match found:
            case f.Tried():
                one = repairs.get(found.repair)
            case f.Closed() | f.Resumed():
                one = found
            case f.Cannot():
                one = None
            case f.TakenBack():
                step = steps.of_finding(found.found)
                one = step and taken.Perhaps(step, found.shut)
            case _:
                one = steps.of_finding(found)
        if one is not None:
            yield found, one
        if isinstance(found, f.Tried) and found.cured is None:
            yield found, f.Closed(False)


def done(repairs: Mapping[str, Repair], findings: Sequence[f.Finding]) -> tuple[Hands, ...]:
    """What hands did, in order."""
    return tuple(one for _, one in course(repairs, findings))


def set_aside(step: Step, shut: Sequence[str] = ()) -> f.TakenBack:
    """What stands among the findings for a step that was shown and not ended; `shut`: the bays that did not open."""
    found: f.Found = f.Perceived(step.at, False, step.condition, "repairer")
    if step.probe and step.condition:
        found = f.Reading(step.probe, step.condition)
    elif step.kind == "look":
        found = f.Look(step.at, "", closely=step.closely)
    return f.TakenBack(found, told=False, shut=tuple(shut))


def advice_for(asked: score.Adviser, weighed: Weighed, step: Step, refused: Collection[object] = ()) -> Advice:
    """The advice that a step of the table would be, whoever chose it; an odd one too, with its bits by code."""
    state = standing(asked, weighed.findings, refused)
    place = asked.steps.place_of.get(step)
    if place is None:
        number = asked.table.odd.number_of(step)
        place, step = len(asked.table.steps) + number, asked.table.odd.step(number)
        bits = float(asked.coarse(weighed)[place])
    else:
        bits = asked.bits(weighed, place)
    scored = score.Scored(step, bits, *asked.prices(weighed, state).of(place))
    return _advice(asked, weighed, state, safe_so_far(asked, weighed.findings), scored)


def _advice(asked: score.Adviser, weighed: Weighed, state: JobState, safe: safety.State, one: score.Scored) -> Advice:
    machine, step = asked.bench.machine, one.step
    bays = steps.bays_needed(machine, step)
    done = safely.prepared(machine, safe, state, taken.after(asked.bench.machine, state, step), step)
    found = shown.outcomes(weighed, step)
    shut, loose = wording.shutting(machine, state, step), wording.made_good(machine, state, step)
    closed, paid = tasks.acknowledge((*loose, *shut)), CLOSING_PAID if shut else ""
    return Advice(
        step,
        wording.sentence(weighed.predictor, state, step, bays, done.kinds),
        one.cost.minutes,
        one.bits,
        tuple(naming.told(machine, one) for one in meaning.told(weighed, found)),
        gravest_first((*stopping.first(weighed.findings), *done.cautions, *closed, *of_bays(machine, state, bays))),
        reason(weighed, one, found),
        one,
        f"{meaning.spent(one.cost, one.extra)}{paid}",
        moves=not done.kinds.isdisjoint(MOVES),
    )


def reason(weighed: Weighed, one: score.Scored, outcomes: Sequence[shown.Outcome]) -> str:
    """Why a step is made, by what its outcomes tell, likeliest first; and where danger has a say in that, why."""
    why = [meaning.reason(meaning.tells(weighed, outcomes), one.cost.minutes)]
    why += [ODD] if one.step.odd else []
    why += [meaning.danger(one.order, one.step.live)] if one.order else []
    return naming.told(weighed.predictor.machine, " ".join(why))


def of_bays(machine: model.Machine, state: JobState, bays: tuple[str, ...]) -> Iterator[str]:
    """The cautions that the file words for each bay to be opened."""
    for bay in to_open(machine, state, bays):
        yield from (cautions.placed(bay, caution) for caution in places.own_cautions(machine.bays[bay]))


def repair_safely(asked: score.Adviser, findings: Sequence[f.Finding], repair: Repair) -> safely.Safely:
    """All that the automaton wants done, and acknowledged, before hands go to the machine for a repair."""
    machine, before = asked.bench.machine, standing(asked, findings)
    return safely.repaired(
        machine, safe_so_far(asked, findings), before, taken.under_repair(machine, before, repair), repair
    )


def as_data(advice: Advice) -> dict[str, Any]:
    """A step as the contract has it, and all that a tool needs to do it."""
    step = advice.step
    at = step.condition
    return {
        "kind": step.kind,
        "text": advice.text,
        "minutes": advice.minutes,
        "live": advice.live,
        "reason": advice.reason,
        "spent": advice.spent or None,
        "rule": advice.rule or None,
        "bits": advice.bits,
        "at": step.at or None,
        "closely": step.closely,
        "meter": step.probe.meter if step.probe else None,
        "red": step.probe.red if step.probe else None,
        "black": (step.probe.black or None) if step.probe else None,
        "set": dict(at.setting) if at else None,
        "isolated": at.isolated if at else None,
        "lift": list(at.lift) if at else [],
        "exchange": list(at.exchange) if at else [],
        "provoke": (at.provoke or None) if at else None,
        "outcomes": list(advice.outcomes),
        "cautions": list(advice.cautions),
        "acknowledge": list(advice.acknowledge),
        "met": dict(step.met.setting) if step.met else None,
        "by": "owner" if step.met else "repairer",
    }
