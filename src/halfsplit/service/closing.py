"""`closing`: the list by which a machine is put together again, in order, every fastener counted.

Knows what was undone, from names or from findings; the order is work/together's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from halfsplit.errors import Refused, WrongUse, did_you_mean
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import cautions, model
from halfsplit.modes import listing
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import insulated, undoing
from halfsplit.plan.steps import Step
from halfsplit.service import advising, asking, naming, proof_run
from halfsplit.work import places, stopping, together
from halfsplit.work.fasteners import Fastener
from halfsplit.work.hazards import CAUTIONS, DRIPS_SAID, FILL_SAID, GAS_SAID, STOPS, Kind, gravest_first
from halfsplit.work.refusals import NoPower
from halfsplit.work.state import JobState
from halfsplit.work.together import Closing, Task


def closing(
    machine: model.Machine,
    opened: Iterable[str] = (),
    lifted: Iterable[str] = (),
    set_: Iterable[str] = (),
    findings: Sequence[f.Finding] = (),
) -> dict[str, Any]:
    """The list for what was opened, lifted and set, and for what the findings needed. Raises WrongUse, and
    Refused where the findings leave nothing to be done at the machine."""
    bays, wires = list(opened), list(lifted)
    put = dict(_moved(machine, _as_put(machine, bays, wires, set_)))
    done = advising.done(listing.repairs(machine), findings)
    was = undoing.after(machine, done)
    at = conditions.condition(machine, dict(was.moved) | put, isolated=True)
    all_of_it = together.undone(machine, (*was.opened, *bays), (*was.lifted, *wires), at)
    used = any(isinstance(one, Repair | f.Closed) for one in done) or bool(was.exchange)
    live = used and not was.isolated
    all_of_it = replace(all_of_it, isolated=not live, pipe=was.pipe, exchange=was.exchange, drained=was.drained)
    bench = Bench(machine)
    rule = _left_by(bench, findings)
    made = together.closing(machine, all_of_it, rule)
    repaired = list(dict.fromkeys(one.name for one in done if isinstance(one, Repair)))
    insulation: tuple[Step, ...] = ()
    mine = (one for one in _since_closed(done) if isinstance(one, Repair) and together.hands_in(machine, one))
    if any(mine) and (not rule or Kind.CLOSE in STOPS[rule].still or rule == stopping.WATER):
        state = JobState(open_bays=frozenset(all_of_it.opened))
        insulation = proof_run.to_frame(bench, state)
        made = proof_run.insulated(machine, state, insulation, made)
    off = frozenset({NoPower()} if rule and STOPS[rule].tag else ())
    proof = _proof(bench, findings, repaired, insulation, off)
    return as_data(machine, made) | {"proof": list(proof), "repaired": repaired}


def _since_closed(done: Sequence[undoing.Hands]) -> Sequence[undoing.Hands]:
    """What hands did since the machine was last said to be put together and in use."""
    return done[max((n for n, one in enumerate(done, 1) if isinstance(one, f.Closed) and one.power), default=0) :]


def _proof(
    bench: Bench,
    findings: Sequence[f.Finding],
    repaired: Sequence[str],
    insulation: Sequence[Step],
    off: frozenset[object],
) -> tuple[str, ...]:
    """The proof run: of a machine that was complained of or repaired all of it; `off`: nothing under power."""
    if off and not insulation:
        return (proof_run.NOT_PROVED,)
    if not any(isinstance(x, f.Perceived | f.Tried) for x in findings):
        return (_as_used(bench.machine),)
    last = max((n for n, x in enumerate(findings, 1) if isinstance(x, f.Tried)), default=len(findings))
    return proof_run.of_repairs(bench, repaired, findings[:last], findings[last:], off, insulation).sentences()


def _left_by(bench: Bench, findings: Sequence[f.Finding]) -> str:
    """The stop rule by which the machine is left: what the findings show to be dangerous; else, where no repair was
    made, the one by which what is due is more probably than not another trade's."""
    rule = stopping.now(bench.machine, findings)
    if rule and not STOPS[rule].still:
        raise Refused(STOPS[rule].say)
    framed = insulated.is_low(bench.predictor, findings)
    if rule or not findings or any(isinstance(one, f.Tried) for one in findings):
        return stopping.left(findings, rule or "", framed)
    handed: dict[str, float] = {}
    for names, probability in bench.weigh(findings).by_repair.items():
        trade = advising.not_ours(bench, names) or ""
        handed[trade] = handed.get(trade, 0.0) + probability
    return stopping.left(findings, next((one for one, p in handed.items() if one and p > 0.5), ""), framed)


def _moved(machine: model.Machine, at: Condition) -> Iterator[tuple[str, str]]:
    rest = dict(conditions.condition(machine).setting)
    yield from ((control, position) for control, position in at.setting if rest[control] != position)


def _as_put(machine: model.Machine, bays: Sequence[str], wires: Sequence[str], set_: Iterable[str]) -> Condition:
    """How the controls were put. Raises WrongUse with all that is not known: bays, wires, controls."""
    wrong = asking.Wrong()
    with wrong.gathered():
        _known(machine, bays, wires)
    with wrong.gathered():
        at = asking.condition(machine, set_, True, ())
    wrong.tell()
    return at


def _known(machine: model.Machine, bays: Sequence[str], wires: Sequence[str]) -> None:
    wired = model.wired_terminals(machine)
    problems = [f"No bay {bay!r}. {did_you_mean(bay, machine.bays)}" for bay in bays if bay not in machine.bays]
    problems += [f"No wire lands on {t!r}. {did_you_mean(t, wired)}" for t in wires if t not in wired]
    if problems:
        raise WrongUse(" ".join(problems))


def _as_used(machine: model.Machine) -> str:
    """The proof run where no complaint says what must be seen."""
    usual = next(iter(machine.settings), "")
    return f"Run it as it is used{f' ({usual})' if usual else ''}: the complaint is gone, and no breaker trips."


# ---- in words ----------------------------------------------------------------------------------------------


def as_data(machine: model.Machine, made: Closing) -> dict[str, Any]:
    """A list as data: the tasks with their sentences, all fasteners, minutes, people."""
    return {
        "tasks": [_task(machine, task) for task in made.tasks],
        "fasteners": [_fastener(one) for one in made.fasteners],
        "minutes": made.minutes,
        "people": made.people,
    }


def _task(machine: model.Machine, task: Task) -> dict[str, Any]:
    return {
        "kind": task.kind,
        "at": task.at or None,
        "text": sentence(machine, task),
        "wires": [{"colour": colour, "from": end} for colour, end in task.wires],
        "fasteners": [_fastener(one) for one in task.fasteners],
        "cautions": list(task.cautions),
    }


def _fastener(one: Fastener) -> dict[str, Any]:
    return {"count": one.count, "kind": one.kind, "where": one.where or None}


def sentences(machine: model.Machine, made: Closing) -> list[str]:
    """The list as sentences; what is to be minded comes before it, see `acknowledge`."""
    return [sentence(machine, task) for task in made.tasks]


def acknowledge(made: Closing) -> list[str]:
    """What is to be acknowledged before the list, each with its signal word and where, gravest first."""
    return list(gravest_first(_caution(task.at, one) for task in made.tasks for one in task.cautions))


def _caution(at: str, told: str) -> str:
    """With its place, but where a hazard says it in words of its own."""
    if told in map(": ".join, CAUTIONS.values()):
        return told
    hazard = places.hazard_of(cautions.read(told))
    return ": ".join(CAUTIONS[hazard]) if hazard else cautions.placed(at, told)


def sentence(machine: model.Machine, task: Task) -> str:
    """One task in words."""
    return naming.told(machine, _SAID[task.kind](task))


def _wires(task: Task) -> str:
    wires = ", ".join(f"{colour} from {end}" for colour, end in task.wires)
    return f"Wires back on {task.at}: {wires}; as on the photograph, each holds when pulled."


def _ground(task: Task) -> str:
    if not task.wires:
        return f"See that the bond to the frame is as it was made: {task.at} {task.to}."
    wires = ", ".join(f"{colour} from {end}" for colour, end in task.wires)
    return f"Ground screw at {task.at}: {wires}, on and tight."


def _also(task: Task) -> str:
    thing, off, place = task.to.partition(" off ")
    return f"{thing[:1].upper()}{thing[1:]} back on {place}." if off else f"Put right again: {task.to}."


def _cover(task: Task) -> str:
    held = ", ".join(map(str, task.fasteners))
    return f"Close the {task.at}: {held}." if held else f"Close the {task.at}."


def _count(task: Task) -> str:
    many = sum(one.count for one in task.fasteners)
    kinds = ", ".join(map(str, task.fasteners))
    return f"Count: {many} fastener{'s' if many != 1 else ''} in all ({kinds}); none is left over."


def _isolate(_: Task) -> str:
    return "Isolate the machine and prove it dead with a meter that you have just proved."


def _meter(_: Task) -> str:
    return "Take the meter, its clips and every tool off the machine."


def _insulation(task: Task) -> str:
    opened, again = (f"open the {task.at}, ", f" Close the {task.at} again.") if task.at else ("", "")
    said = f"Still dead, set as in use: {opened}ohms from {task.to}: OL each. Then set it back."
    return f"{said} Take the leads off.{again}"


_SAID: dict[str, Callable[[Task], str]] = {
    "isolate": _isolate,
    "meter": _meter,
    "exchange": lambda task: f"Put {task.at} back, each in its own place; a new part goes where the old one belongs.",
    "provoke": lambda task: task.to,
    "plug in": lambda task: f"Plug the {task.at} in, or the new one in its place.",
    "wires": _wires,
    "setting": lambda task: f"Set {task.at} back to {task.to}.",
    "pipe": lambda _: GAS_SAID[Kind.JOIN_PIPE],
    "gas": lambda task: GAS_SAID[Kind.GAS_ON].format(cock=task.at),
    "leak": lambda _: GAS_SAID[Kind.LEAK_TEST],
    "shut": lambda task: f"Leave the gas shut at the cock ({task.at}).",
    "fill": lambda task: FILL_SAID.format(cock=task.to, tap=task.at),
    "drips": lambda task: DRIPS_SAID.format(part=task.at),
    "also": _also,
    "ground": _ground,
    "connector": lambda task: f"Plug the connector of {task.at} in again.",
    "cover": _cover,
    "count": _count,
    "insulation": _insulation,
    "earth": lambda task: f"Before the power: ohms from {task.at} to {task.to}, below 1 ohm. Take the leads off.",
    "power": lambda task: f"Power last, hands clear: {task.at} {task.to}.",
    "judge": lambda task: (
        f"Only where it is safe to use as it is, hands clear: {task.at} {task.to}. Else leave it isolated, and tag it."
    ),
    "tag": lambda task: f"No power: leave the {task.at} off, with a tag on it: do not switch on; {task.to}.",
}
