"""`closing`: the list by which a machine is put together again, in order, every fastener counted.

Knows what was undone, from names or from findings; the order is work/together's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from halfsplit.errors import Refused, WrongUse, did_you_mean
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import model
from halfsplit.modes import listing
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import insulated, undoing
from halfsplit.plan.steps import Step
from halfsplit.service import advising, asking, left_closed, proof_cards, proof_run, refusing, tasks
from halfsplit.work import handling, refusals, stopping, together
from halfsplit.work.fasteners import Fastener
from halfsplit.work.hazards import STOPS, Kind
from halfsplit.work.refusals import CannotOpen, NoPower
from halfsplit.work.state import JobState, with_fronts
from halfsplit.work.together import Closing, Task, Undone


def closing(
    machine: model.Machine,
    opened: Iterable[str] = (),
    lifted: Iterable[str] = (),
    set_: Iterable[str] = (),
    findings: Sequence[f.Finding] = (),
    cannot: Sequence[str] = (),
) -> dict[str, Any]:
    """The list for what was opened, lifted and set, and for what the findings needed. `cannot`: what cannot be done
    here (`refusing.choices`), beside what the findings say of that. Raises WrongUse, and Refused where the findings
    leave nothing to be done at the machine."""
    findings, said = refusing.parted(machine, findings)
    refused = refusing.named(machine, cannot) | said
    bays, wires = list(opened), list(lifted)
    put = dict(_moved(machine, _as_put(machine, bays, wires, set_)))
    done = advising.done(listing.repairs(machine), findings)
    was = undoing.after(machine, done)
    at = conditions.condition(machine, dict(was.moved) | put, isolated=True)
    all_of_it = together.undone(machine, (*was.opened, *bays), (*was.lifted, *wires), at)
    charged = was.charged if set(was.opened) == set(all_of_it.opened) else all_of_it.opened
    all_of_it = replace(
        was, charged=charged, opened=all_of_it.opened, lifted=all_of_it.lifted, moved=all_of_it.moved,
        isolated=was.isolated or not done, proved=was.proved or not done,
        breaker_off=stopping.was_breaker_off(findings), volts=refusals.proving(refused),
        measured=refusals.measures(refused), sees_charge=refusals.sees_charge(refused),
    )  # fmt: skip
    bench = Bench(machine)
    hands_in = any(isinstance(one, Repair) and handling.hands_in(machine, one) for one in _since_closed(done))
    was_open = frozenset(all_of_it.opened)
    state = JobState(open_bays=was_open, refused=refused - {CannotOpen(bay) for bay in was_open})
    awaits = stopping.awaits_proof(findings) and bool(proof_run.to_frame(bench, state))
    measured = _measured(machine, findings, all_of_it, hands_in)
    rule = _left_by(bench, findings, NoPower() not in refused, measured, awaits)
    repaired = list(dict.fromkeys(one.name for one in done if isinstance(one, Repair)))
    insulation: tuple[Step, ...] = ()
    if hands_in:
        if _is_read(rule) and not together.stays_of(machine, all_of_it, rule).why:
            insulation = proof_run.to_frame(bench, state)
        besides = proof_run.opened_for(machine, state, insulation)
        opened = with_fronts(machine, (*all_of_it.opened, *besides))
        all_of_it = replace(all_of_it, opened=opened, read_dead=bool(insulation))
        made = proof_run.insulated(machine, state, insulation, together.closing(machine, all_of_it, rule))
    else:
        made = left_closed.put_together(bench, bench.weigh(findings), all_of_it, state, rule)
    in_parts = LEFT_IN_PARTS if any(task.kind == "leave" for task in made.tasks) else ""
    off = rule if rule and STOPS[rule].tag else in_parts
    proof = _proof(bench, findings, repaired, insulation, off, refused)
    return as_data(machine, made) | {"proof": list(proof), "repaired": repaired}


LEFT_IN_PARTS = "left in parts"
"""Why the power stays off where the list leaves something as it is."""


def _is_read(rule: str) -> bool:
    """Whether ohms to the frame are read after a repair on a machine that is left by a stop rule ("": by none)."""
    if not rule or rule == stopping.WATER:
        return True
    return Kind.CLOSE in STOPS[rule].still and not STOPS[rule].plug_stays


def _since_closed(done: Sequence[undoing.Hands]) -> Sequence[undoing.Hands]:
    """What hands did since the machine was last said to be put together and in use."""
    return done[max((n for n, one in enumerate(done, 1) if isinstance(one, f.Closed) and one.power), default=0) :]


def _proof(
    bench: Bench,
    findings: Sequence[f.Finding],
    repaired: Sequence[str],
    insulation: Sequence[Step],
    off: str,
    refused: frozenset[object],
) -> tuple[str, ...]:
    """The proof run: of a machine that was complained of or repaired all of it; `off`: the stop rule that keeps its
    power off ("": none does), for then nothing is done under power; `refused`: what cannot be done here."""
    if off and not insulation:
        return proof_cards.ProofRun(unmeasured=off == stopping.NOT_MEASURED).not_proved
    if not any(isinstance(x, f.Perceived | f.Tried) for x in findings):
        return (_as_used(bench.machine),)
    last = max((n for n, x in enumerate(findings, 1) if isinstance(x, f.Tried)), default=len(findings))
    refused |= {NoPower()} if off else set()
    return proof_run.of_repairs(bench, repaired, findings[:last], findings[last:], refused, insulation).sentences()


def _measured(machine: model.Machine, findings: Sequence[f.Finding], was: Undone, hands_in: bool) -> bool:
    """Whether the frame's bond and the insulation can be measured as far as that is wanted: where anything was open or
    off, hands were in the machine for a repair, or its power was left off after one."""
    touched = was.opened or was.lifted or hands_in or stopping.is_untried(findings)
    return was.measured or not (machine.frame and touched)


def _left_by(bench: Bench, findings: Sequence[f.Finding], power: bool, measured: bool, awaits: bool) -> str:
    """The stop rule by which the machine is left: what the findings show to be dangerous; else, where no repair was
    made, the one by which what is due is more probably than not another trade's. `power`: whether it may be had;
    `measured`: whether the frame is, as far as that is wanted; `awaits`: whether the last repairs only wait for their
    proof run, and the ohms before it can be read now (`stopping.awaits_proof`)."""
    rule = stopping.now(bench.machine, findings)
    if rule and STOPS[rule].untouched:
        raise Refused(STOPS[rule].say)
    if awaits and not rule:
        before = [one for one in findings if not (isinstance(one, f.Tried) and one.cured is None)]
        return stopping.left(before, "", "", power, measured)
    unsafe = insulated.unsafe(bench.predictor, findings)
    if rule or not findings or any(isinstance(one, f.Tried) for one in findings):
        return stopping.left(findings, rule or "", unsafe, power, measured)
    handed: dict[str, float] = {}
    for names, probability in bench.weigh(findings).by_repair.items():
        trade = advising.not_ours(bench, names) or ""
        handed[trade] = handed.get(trade, 0.0) + probability
    due = next((one for one, p in handed.items() if one and p > 0.5), "")
    return stopping.left(findings, due, unsafe, power, measured)


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
        "tasks": [_task(task, text) for task, text in zip(made.tasks, sentences(machine, made), strict=True)],
        "fasteners": [_fastener(one) for one in made.fasteners],
        "minutes": made.minutes,
        "people": made.people,
    }


def _task(task: Task, text: str) -> dict[str, Any]:
    return {
        "kind": task.kind,
        "at": task.at or None,
        "text": text,
        "wires": [{"colour": colour, "from": end} for colour, end in task.wires],
        "fasteners": [_fastener(one) for one in task.fasteners],
        "cautions": list(task.cautions),
    }


def _fastener(one: Fastener) -> dict[str, Any]:
    return {"count": one.count, "kind": one.kind, "where": one.where or None}


def sentences(machine: model.Machine, made: Closing) -> list[str]:
    """The list as sentences; what is to be minded comes before it, see `acknowledge`."""
    return tasks.sentences(machine, made.tasks)


def acknowledge(made: Closing) -> list[str]:
    """What is to be acknowledged before the list, each with its signal word and where, gravest first."""
    return tasks.acknowledge(made.tasks)
