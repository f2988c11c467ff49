"""Plays a job in which more than one thing may be wrong: after each repair the machine is tried before it is closed.

While it does not work, or something is likely enough to be wrong still, the search goes on. What was found before a
repair counts on as the prior of what is left (`evidence/mended`). Knows no fault and no cause: only findings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.evidence.weighing import Weighed
from halfsplit.operate.condition import WARMTH, Condition, moved
from halfsplit.plan import fitting, pricing, proof, renewed, taken, worth
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.rehearse import play
from halfsplit.rehearse.play import Choice
from halfsplit.rehearse.truth import Truth
from halfsplit.work import minutes, refusals, stopping, waits, warms

CLOSED_SURE = 0.99
"""Probability that nothing is wrong any more from which the machine is closed without another step."""

Seen = tuple[str, Condition]
"""A symptom and the setting in which it was looked for."""

ChooseFor = Callable[[Adviser], play.Choose]
"""The way of working with an adviser; a repair makes a new one, of the machine as it is then."""


class Trying(play.Job):
    """One job under way, in which a repair is tried before the machine is closed."""

    def __init__(self, adviser: Adviser, truth: Truth, told: list[f.Finding], choose_for: ChooseFor) -> None:
        super().__init__(adviser, truth, told, choose_for(adviser))
        self.choose_for = choose_for
        self.unexplained = well.complaints(adviser.bench.predictor, told)
        self.before: list[f.Finding] = []
        self.faults = [one.fault for one in truth.hidden]
        self.made: list[str] = []
        self.by_the_way: frozenset[str] = frozenset()
        self.wrong: list[Seen] = []
        self.ran = 0.0
        """Minutes that the machine has run since it was as warm as its run wants."""

    def play(self) -> play.Played:
        """From the complaint until the machine works and nothing more is worth a step, to a stop, or to giving up."""
        first: tuple[str, ...] = ()
        claimed = unexplained = 0.0
        while len(self.made) < play.MOST_REPAIRS:
            weighed = self._find_out()
            due = fitting.made_first if self.made else fitting.first_of
            repairs, _ = due(self.adviser, weighed, self.standing)
            if not self.made:
                (claimed, unexplained), first = self._claims(weighed, repairs), repairs
            self.stopped = self._stop(weighed, repairs)
            if not self.stopped and not repairs and self._still_wrong():
                weighed = self.adviser.bench.weigh(self.findings)
                repairs, _ = fitting.first_of(self.adviser, weighed, self.standing, self.made)
                self.stopped = self._stop(weighed, repairs)
            if self.stopped or not repairs:
                break
            self._repair(repairs)
            self.unexplained = [one for one in self.unexplained if not proof.explained(weighed, one, repairs)]
            self._go_on(repairs)
        needed = {name for fault in self.faults for name in (fault.repair.name, *fault.repair.within)}
        bought = self._in_vain(self.made, needed)
        return replace(
            self._played(self.made, claimed, bool(first) and set(first) <= needed, unexplained),
            fault=" + ".join(fault.name for fault in self.faults),
            needless_parts=len(bought),
            in_vain=sum(bought.values()),
            first=first,
            findings=(*self.before, *self.findings),
            all_found=all(fault.repair.is_done_by({*self.made, *self.by_the_way}) for fault in self.faults),
        )

    def _chosen(self, weighed: Weighed) -> Choice | None:
        """The next step; once a repair was made, more is asked before nothing is wrong any more."""
        nothing = weighed.by_repair.get((), 0.0)
        if self.made and worth.SURE <= nothing < CLOSED_SURE:
            return self.choose(weighed, self.standing)
        return super()._chosen(weighed)

    def _go_on(self, repairs: tuple[str, ...]) -> None:
        """The repairs are made: the machine is tried, and what was found before is what is expected now."""
        self.made += [name for name in repairs if name not in self.made]
        self.by_the_way |= renewed.by_the_way(self.adviser, self.findings, repairs)
        made = {*self.made, *self.by_the_way}
        self.adviser = renewed.after(self.adviser, self.findings, made)
        self.truth.repaired(made)
        self.before += self.findings
        refused = self.state.refused | {refusals.NoOwner()}  # they know the machine as it was, not as it is now
        self.findings, self.wrong, self.state = [], [], replace(self.state, done=frozenset(), refused=refused)
        self.choose = self.choose_for(self.adviser)
        wet = stopping.barred(self.before) if any(one.what == stopping.WATER for one in self.unexplained) else ()
        self.state = replace(self.state, refused=(self.state.refused - {refusals.NoPower()}) | frozenset(wet))
        works = self._insulated() and not wet and self._tried()
        if works:
            self.before += [f.Tried(name, True) for name in repairs]
            self._bring_out()
        else:
            self.findings.append(f.Tried(repairs[0], False))

    def _insulated(self) -> bool:
        """Whether nothing leads to the frame that should not: else the power stays off, and the search goes on."""
        return self._read_as_they_should(proof.insulation(self.adviser.bench, self.state))

    def _tried(self) -> bool:
        """Sees whether all is as on a healthy machine; what shows in one run is seen in one run.

        What is not as it should be is looked at once more; it counts where it is so both times.
        """
        machine, predictor = self.adviser.bench.machine, self.adviser.bench.predictor
        works = True
        for at, names in proof.runs(predictor).items():
            if not warms.can_be_met(machine, self.findings, at, fitting.healthy(self.adviser)):
                continue
            self._run(max((Step("symptom", at, at=name) for name in names), key=self._seen_after))
            for name in names:
                healthy = predictor.healthy_shows(name, at)
                there = self.truth.perceived(name, at, False)
                if there != healthy:
                    self.spent += machine.handwork.perceive
                    there = self.truth.perceived(name, at, False)
                self.wrong += [(name, at)] if there != healthy else []
                self.findings.append(f.Perceived(name, there, at, "repairer"))
            if stopping.reason(machine, self.findings) or stopping.barred(self.findings):
                return False  # the power goes off
            works &= self._draws_what_it_should(at)
        return works and not self.wrong

    def _still_wrong(self) -> bool:
        """Whether something in the last trial was unlike a healthy machine and, looked at once more, still is.

        A machine that is seen not to do its work is not closed, however unlikely each repair is that would explain it.
        What the house has switched off is not switched on once more for that.
        """
        machine = self.adviser.bench.machine
        if stopping.barred(self.findings):
            return True  # nor is it run once more in the wet
        return any(machine.house_trips(name) or self._seen_again(name, at) for name, at in self.wrong)

    def _seen_again(self, name: str, at: Condition) -> bool:
        self._run(Step("symptom", at, at=name))
        found = f.Perceived(name, self.truth.perceived(name, at, False), at, "repairer")
        self.findings.append(found)
        return found.there != well.shown_by_the_healthy(self.adviser.bench.predictor, found)

    def _draws_what_it_should(self, at: Condition) -> bool:
        """Whether the clamp shows on every leg what a healthy machine draws: half a heater feels warm too."""
        well = self._read_as_they_should(proof.loads(self.adviser.bench, self.state, at))
        self.state = replace(self.state, done=frozenset())
        return well

    def _read_as_they_should(self, readings: Iterable[Step]) -> bool:
        """All of them are read, and whether each shows what a healthy machine does."""
        well = True
        for step in readings:
            self._take_now(step)
            shown = self.findings[-1]
            assert isinstance(shown, f.Reading)
            well &= proof.is_as_it_should(self.adviser.bench, step, shown)
        return well

    def _bring_out(self) -> None:
        """What was complained of and no repair explains: what would, and comes and goes, is shaken or heated.

        Until most of it was, or until something is found.
        """
        bench = self.adviser.bench
        for one in self.unexplained:
            believed = proof.come_and_go(bench, one.what)
            least = proof.LEFT_IN * believed.sum()
            while believed.sum() > least and self._nothing_is_wrong():
                found = self.adviser.brings_out(believed, self.state)
                if not found:
                    break
                step, believed = found
                self._take_now(step)

    def _nothing_is_wrong(self) -> bool:
        return self.adviser.bench.weigh(self.findings, with_pairs=False).by_repair.get((), 0.0) >= worth.SURE

    def _take_now(self, step: Step) -> None:
        self._take(step, pricing.cost_of(self.adviser.bench.machine, self.state, step))

    def _seen_after(self, step: Step) -> float:
        """Minutes until it is seen, once the machine runs."""
        machine = self.adviser.bench.machine
        return minutes.itself(machine, step.kind, step.at) + minutes.running(machine, step.kind, step.at)

    def _run(self, step: Step) -> None:
        """The machine is run, closed as far as it has to be, until the last is seen; the rest is seen meanwhile. What
        it has run for before goes off the wait for a warmth that it comes to by running."""
        machine = self.adviser.bench.machine
        cost = pricing.cost_of(machine, self.state, step)
        self.spent += cost.minutes - min(cost.waiting, self._gained(step))
        self.ran = cost.running if cost.waiting else self.ran + cost.running
        self.unsafe += play.is_unsafe(machine, self.findings, step)
        self.state = replace(taken.after(machine, self.state, step), done=frozenset())

    def _gained(self, step: Step) -> float:
        """Minutes by which the machine, set as it was, is on its way to the warmth of a step already."""
        machine, now, at = self.adviser.bench.machine, self.state.condition, step.condition
        if now is None or at is None or not machine.warmths or moved(now, WARMTH, at.position(WARMTH)) != at:
            return 0.0
        return 0.0 if waits.by_itself(machine, at.position(WARMTH), isolated=False) else self.ran
