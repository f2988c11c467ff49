"""Plays one job to its end: the owner's complaint, step after step, the claim, the repair, and what it cost.

Knows the adviser and a truth that answers; the adviser never sees the truth.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.evidence.pairs import STILL_UNEXPLAINED
from halfsplit.evidence.weighing import Weighed
from halfsplit.machine import model
from halfsplit.machine.handwork import Handwork
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.plan import fitting, owner, powering, pricing, taken
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import DEAD_METERS
from halfsplit.rehearse.truth import Truth, answer
from halfsplit.work import handling, minutes, prices, stopping
from halfsplit.work.state import JobState

MOST_STEPS = 60
"""So many steps, questions apart, and a job of ours gives up looking; the rule of what pays ends nearly all before."""
MOST_REPAIRS = 4
TOLD = 4
"""So many symptoms an owner tells: what is wrong first."""


@dataclass(frozen=True)
class Played:
    """One job: its true fault, what was done, and whether the first repair was right.

    `stopped`: the stop rule that ended it, or "". `all_found`: with several faults, whether all of them were repaired
    before the machine was closed; None where one was hidden. `in_vain`: minutes for what was in vain, parts at the
    hourly rate with the trip for each that is not on the van, and another visit for each repair that did not cure, a
    wrong stop, and giving up; not among `minutes`.
    With several faults, where repairs are tried before the machine is closed, the parts alone.
    """

    fault: str
    steps: int
    minutes: float
    repairs: tuple[str, ...]
    right_first: bool
    needless_parts: int
    live_steps: int
    claimed: float
    unexplained: float
    unsafe_steps: int = 0
    first: tuple[str, ...] = ()
    said_unknown: bool = False
    findings: tuple[f.Finding, ...] = ()
    stopped: str = ""
    all_found: bool | None = None
    in_vain: float = 0.0


def complaint(adviser: Adviser, truth: Truth) -> list[f.Finding]:
    """What the owner tells, of what one can perceive: up to two things that are wrong, then what still works; nothing
    where all seems well.

    What made the owner call is told as it is; of the rest a person is now and then mistaken.
    """
    machine = truth.machine
    usual = conditions.usual(machine)
    wrong: list[str] = []
    right: list[str] = []
    for name in owner.perceives(machine):
        well = adviser.bench.predictor.healthy_shows(name, usual)
        (wrong if (truth.there(name, usual, truth.told) > 0.5) != well else right).append(name)
    chosen = [*wrong[:2], *right[: TOLD - len(wrong[:2])]] if wrong else []
    return [f.Perceived(name, _told(adviser, truth, name, usual, name in wrong), None, "owner") for name in chosen]


def _told(adviser: Adviser, truth: Truth, name: str, usual: conditions.Condition, is_wrong: bool) -> bool:
    if not is_wrong:
        return truth.perceived(name, usual, True)
    return not adviser.bench.predictor.healthy_shows(name, usual)


Choice = tuple[Step, minutes.Cost]
Choose = Callable[[Weighed, JobState], Choice | None]
"""What is found out next and what that costs; None where nothing is."""


def play(adviser: Adviser, truth: Truth, told: list[f.Finding], choose: Choose | None = None) -> Played:
    """One job from the complaint to the repair that cures, or to giving up; as advised unless `choose` says."""
    return Job(adviser, truth, told, choose or as_advised(adviser)).play()


def as_advised(adviser: Adviser) -> Choose:
    """The adviser's best step while it pays, so many at most, and questions beside, of which there are only a few; then
    the complaint, where it is to be seen first."""

    def choose(weighed: Weighed, state: JobState) -> Choice | None:
        if sum(not (isinstance(one, Step) and one.asks) for one in state.done) >= MOST_STEPS:
            return None
        advised = fitting.paying(adviser, weighed, state)
        return (advised.step, advised.cost) if advised else seen_first(adviser, weighed, state)

    return choose


def seen_first(adviser: Adviser, weighed: Weighed, state: JobState) -> Choice | None:
    """The complaint and what it costs to see it, where it is to be seen before an unsure repair."""
    step = fitting.first_seen(adviser, weighed, state)
    return (step, pricing.cost_of(adviser.bench.machine, state, step)) if step else None


class Job:
    """One job under way."""

    def __init__(self, adviser: Adviser, truth: Truth, told: list[f.Finding], choose: Choose) -> None:
        self.adviser, self.truth, self.findings, self.choose = adviser, truth, list(told), choose
        self.state = JobState(done=self._told())
        self.spent, self.steps, self.live, self.unsafe = 0.0, 0, 0, 0
        self.stopped, self.visits_in_vain = "", 0

    def play(self) -> Played:
        """From the complaint to the repair that cures, to a stop, or to giving up."""
        made: list[str] = []
        first: tuple[str, ...] = ()
        claimed, right_first, unexplained = 0.0, False, 0.0
        while len(made) < MOST_REPAIRS:
            weighed = self._find_out()
            repairs, _ = fitting.first_of(self.adviser, weighed, self.standing, made)
            if not made:
                claimed, unexplained = self._claims(weighed, repairs)
            self.stopped = self._stop(weighed, repairs)
            if not self.stopped and not made and fitting.does_not_show(weighed):
                self.stopped = fitting.NOT_REPRODUCED
            if self.stopped:
                self.spent += 0.0 if self.state.isolated else self.adviser.bench.machine.handwork.isolate
            if self.stopped and not made:
                claimed, right_first = self._called_for(weighed), self._stops_rightly()
            if self.stopped or not repairs:
                self.visits_in_vain += not self._stops_rightly()
                break
            first = first or repairs
            self._repair(repairs)
            made += [r for r in repairs if r not in made]
            cured = self._cures(made)
            right_first |= cured and len(made) == len(repairs)
            if cured:
                break
            self.visits_in_vain += 1
            self.state = replace(self.state, warm=0.0)  # another visit finds it cold
            self.findings.append(f.Tried(repairs[0], False))
        said_unknown = unexplained > claimed
        return replace(
            self._played(made, 0.0 if said_unknown else claimed, right_first, unexplained),
            first=first,
            said_unknown=said_unknown,
        )

    def _told(self) -> frozenset[Step]:
        """The questions that the owner has answered already."""
        return owner.told(self.adviser.bench.predictor, self.adviser.steps.questions, self.findings)

    def _stop(self, weighed: Weighed, repairs: tuple[str, ...]) -> str:
        """The rule that ends the work here: by what was found, or because the repair is another trade's; or ""."""
        found = stopping.reason(self.adviser.bench.machine, weighed.findings)
        handed = (stopping.of_repair(self.adviser.bench.repairs[name].by) for name in repairs)
        return found or next(filter(None, handed), "")

    def _stops_rightly(self) -> bool:
        """Whether the stop is what a hidden fault calls for."""
        faults = [one.fault for one in self.truth.hidden]
        return bool(self.stopped) and any(stopping.calls_for(fault.repair.by, self.stopped) for fault in faults)

    def _claims(self, weighed: Weighed, repairs: tuple[str, ...]) -> tuple[float, float]:
        """What people are told: how probably these repairs cure, 0 where none is named, and how probably the cause is
        nothing that the file says."""
        return weighed.cures(repairs) if repairs else 0.0, weighed.unsaid

    def _called_for(self, weighed: Weighed) -> float:
        """Probability of the repairs that call for the stop, as people are told it."""
        pairs = weighed.by_repair.items()
        known = self.adviser.bench.repairs
        calling = (p for names, p in pairs if any(stopping.calls_for(known[n].by, self.stopped) for n in names))
        return weighed.in_file * sum(calling)

    def _find_out(self) -> Weighed:
        """Steps until one set of repairs is sure, or nothing more is worth its minutes.

        Pairs of faults are weighed only when the single ones would end the search, or leave much unexplained.
        """
        bench = self.adviser.bench
        while True:
            weighed = bench.weigh(self.findings, with_pairs=False)
            chosen = self._chosen(weighed) if weighed.unexplained < STILL_UNEXPLAINED else None
            if not chosen:
                weighed = bench.weigh(self.findings)
                chosen = self._chosen(weighed)
            if not chosen:
                return weighed
            self._take(*chosen)

    def _chosen(self, weighed: Weighed) -> Choice | None:
        """The next step, None where the search ends."""
        if self.adviser.knows_enough(weighed) or stopping.reason(self.adviser.bench.machine, weighed.findings):
            return None
        return self.choose(weighed, self.standing)

    @property
    def standing(self) -> JobState:
        """How the machine stands, with what is not done for what was found."""
        return replace(self.state, refused=self.state.refused | stopping.barred(self.findings))

    def _take(self, step: Step, cost: minutes.Cost) -> None:
        """A step is done and told; what the hidden machine has no place for is set aside."""
        if not self.truth.has(step):
            self.state = replace(self.state, refused=self.state.refused | {step})
            return
        self.spent += cost.minutes
        self.steps += 1
        self.live += step.live
        self.unsafe += is_unsafe(self.adviser.bench.machine, self.findings, step)
        self.findings.append(answer(self.truth, step))
        self.state = taken.after(self.adviser.bench.machine, self.state, step)

    def _repair(self, repairs: tuple[str, ...]) -> None:
        """Made in one go; twins that stood exchanged have been put back for it, and paid for."""
        machine, made = self.adviser.bench.machine, [self.adviser.bench.repairs[name] for name in repairs]
        self.spent += pricing.repair_cost(machine, self.state, *made).minutes
        for repair in made:
            self.state = taken.under_repair(machine, self.state, repair)
        self.state = replace(self.state, condition=self.state.condition and self.state.condition.own)

    def _in_vain(self, made: Iterable[str], needed: Collection[str]) -> dict[str, float]:
        """The parts bought for these repairs that were not at fault."""
        machine, known = self.adviser.bench.machine, self.adviser.bench.repairs
        return parts_in_vain([known[name] for name in made], needed, machine.handwork.hourly, machine.van)

    def _cures(self, made: list[str]) -> bool:
        fault = self.truth.fault
        return fault is not None and fault.repair.is_done_by(made)

    def _played(self, made: list[str], claimed: float, right_first: bool, unexplained: float) -> Played:
        fault = self.truth.fault
        needed = {fault.repair.name, *fault.repair.within} if fault else set()
        bought = self._in_vain(made, needed)
        name = fault.name if fault else "not in the file"
        return Played(
            name, self.steps, self.spent, tuple(made), right_first, len(bought), self.live, claimed, unexplained,
            self.unsafe, findings=tuple(self.findings), stopped=self.stopped,
            in_vain=sum(bought.values()) + self.visits_in_vain * prices.AGAIN,
        )  # fmt: skip


def parts_in_vain(
    made: Iterable[Repair], needed: Collection[str], hourly: float = Handwork.hourly, van: Collection[str] | None = None
) -> dict[str, float]:
    """The parts bought that were not at fault, and their price in minutes, each fetched by itself where it is not on
    the `van`; `needed`: the repairs that cure the hidden faults.

    >>> from halfsplit.modes.fault import Repair
    >>> fuse, duct = Repair("replace fuse", "fuse", 5, 15, ()), Repair("clean duct", "duct", 5, 0, ())
    >>> parts_in_vain([fuse, duct], {"replace belt"})
    {'fuse': 10.0}
    """
    vain = [one for one in made if one.name not in needed]
    bought = ((handling.new_part(one), prices.price(one, hourly, van)) for one in vain)
    return {part: price.part + price.trip for part, price in bought if part}


def is_unsafe(machine: model.Machine, findings: Sequence[f.Finding], step: Step) -> bool:
    """Whether a step hurts: ohms on a machine that is not isolated, power while water stands on the floor, anything at
    all after a finding that ends the work. Told from step and findings, not from how it was chosen.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate.condition import Condition
    >>> wet = [f.Perceived("water on the floor", True)]
    >>> is_unsafe(loading.load("water-heater"), wet, Step("symptom", Condition(()), at="water gets hot"))
    True
    """
    dead_meter = step.probe is not None and step.probe.meter in DEAD_METERS
    isolated = step.condition is not None and step.condition.isolated
    wet = bool(stopping.barred(findings)) and powering.wants_power(machine, step)
    return (dead_meter and not isolated) or wet or stopping.reason(machine, findings) is not None


def inseparable(adviser: Adviser) -> Iterator[frozenset[int]]:
    """Sets of single-fault variants that nothing tells apart: no step of the table, and nothing an owner may tell.

    The owner's words alone tell one wrong setting from another: on the bench nothing is wrong.
    """
    groups: dict[tuple[int, bytes], list[int]] = {}
    told = np.ascontiguousarray(_told_codes(adviser).T)
    for s, alike in enumerate(adviser.table.alike.tolist()):
        groups.setdefault((alike, told[s].tobytes()), []).append(s)
    yield from (frozenset(rows) for rows in groups.values())


def _told_codes(adviser: Adviser) -> np.ndarray:
    """(symptoms, S) codes of what an owner would tell of the usual setting, by quarters of its probability."""
    machine, predictor = adviser.bench.machine, adviser.bench.predictor
    at = conditions.usual(machine)
    yes = [predictor.symptom(name, at, True) for name in owner.perceives(machine)]
    return (np.array(yes).reshape(len(yes), -1) * 4).round().astype(np.int8)
