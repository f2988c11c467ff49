"""A guided diagnosis, one step at a time: pure state; the terminal is at the edge.

Holds the findings so far and what the person refused; what is believed and what to do next follow from them alone, so
that any finding can be taken back at any time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import takewhile

from halfsplit.errors import Refused
from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.evidence.weighing import Bench, Candidate, Weighed
from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.plan import fitting, insulated, proof, steps, taken, undoing, worth
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.service import alongside, answers, reasons, refusing
from halfsplit.service.advising import (
    STOP,
    Advice,
    advice_for,
    advise,
    done,
    is_proved,
    set_aside,
    settled,
    standing,
)
from halfsplit.service.leaving import PASSED_OVER, WHATEVER, Limits
from halfsplit.work import refusals, stopping, together
from halfsplit.work.hazards import STOPS
from halfsplit.work.refusals import NoOwner, NoPower
from halfsplit.work.state import JobState


@dataclass(frozen=True, eq=False)
class Guided:
    """A diagnosis under way. Every change makes a new one; the old one stays as it was.

    `other`: the step, or the repairs, that the person chose instead of what is advised, until something is found.
    `before`: as it was before what was refused, or passed over, since the last finding. `limits`: when the work ends
    though it could go on.
    `before_proof`: as it was before the repairs of which a proof run has shown the first `shown` findings; the last of
    these, `tried`, stands for the repairs: with it the machine is put together. `earlier`: what was found before that,
    and the repairs. The bench then has as its prior what is left after them. `calling`: what was found before repairs
    that did not cure, and calls for ohms to the frame before anything is run.
    """

    asked: Adviser
    findings: tuple[f.Finding, ...] = ()
    refused: frozenset[object] = frozenset()
    other: Step | tuple[str, ...] | None = None
    before: Guided | None = field(default=None, repr=False)
    limits: Limits = WHATEVER
    before_proof: Guided | None = field(default=None, repr=False)
    shown: int = 0
    tried: f.Tried | None = None
    earlier: tuple[f.Finding, ...] = ()
    calling: tuple[f.Finding, ...] = ()

    @property
    def bench(self) -> Bench:
        """The machine with its candidates."""
        return self.asked.bench

    @property
    def machine(self) -> model.Machine:
        """The machine."""
        return self.bench.machine

    @cached_property
    def frame_bars(self) -> bool:
        """Whether something leads to the frame, or ohms to it are owed since before a repair."""
        predictor, found = self.bench.predictor, self.findings
        owed = self.calling and insulated.owed(predictor, self.calling, found)
        return bool(owed) or insulated.is_low(predictor, found)

    @property
    def not_now(self) -> frozenset[object]:
        """What is not done from here: what the person cannot do, and nothing under power while the frame bars it."""
        return self.refused | {NoPower()} if self.frame_bars else self.refused

    @cached_property
    def weighed(self) -> Weighed:
        """What is believed now."""
        return self.bench.weigh(self.findings)

    @cached_property
    def ranked(self) -> list[Candidate]:
        """The possible causes, best first, down to one in a thousand."""
        return self.weighed.ranked(0.001)

    @cached_property
    def advice(self) -> Advice | None:
        """The one next step; None where no step tells anything more."""
        if isinstance(self.other, Step):
            return advice_for(self.asked, self.weighed, self.other, self.not_now)
        return next(iter(advise(self.asked, self.weighed, self.not_now, 1, self.limits)), None)

    @property
    def settled(self) -> bool:
        """Whether nothing more is found out before repairs are made."""
        return settled(self.asked, self.weighed, [self.advice] if self.advice else [], self.not_now)

    @cached_property
    def alongside(self) -> tuple[alongside.Alongside, ...]:
        """What would most probably be found out next in the set-up of the step advised."""
        return alongside.readings(self.asked, self.weighed, self.advice, self.not_now) if self.advice else ()

    def price_what_follows(self) -> None:
        """Works out what the steps will cost once the one advised is done, whatever it shows: while the person does it
        there is time, and the next step is told the sooner."""
        if self.advice and self.advice.scored:
            self.asked.steps.price_ahead(taken.after(self.machine, self.standing, self.advice.step))

    @property
    def due(self) -> tuple[Repair, ...]:
        """The repairs that are worth doing now; none while not enough is known, or nothing is left to ask, nor what is
        another trade's."""
        if self.advice is not None and self.advice.step.kind == STOP:
            return ()
        if not isinstance(self.other, tuple) and (self.chosen or not self.settled or not self.ranked):
            return ()
        due = self.repairs_left(self.made_first[0])
        return () if stopping.of_repairs(due) else due

    def repairs_left(self, names: Sequence[str]) -> tuple[Repair, ...]:
        """Those of these repairs that were not made in vain since the last proof run."""
        repairs, made = self.weighed.candidates.repairs, fitting.in_vain(self.findings)
        return tuple(repairs[name] for name in names if name in repairs and name not in made)

    @cached_property
    def made_first(self) -> tuple[tuple[str, ...], float]:
        """The repairs that are made where one is made, and how probable it is that they cure; where nothing wrong is
        likeliest none, unless the machine is still seen not to do its work."""
        if isinstance(self.other, tuple):
            return self.other, self.weighed.by_repair.get(self.other, 0.0)
        at = self.asked, self.weighed, self.standing
        found = fitting.made_first(*at)
        return found if found[0] or not self._still_wrong else fitting.first_of(*at, self.made)

    @property
    def _still_wrong(self) -> bool:
        """Whether a proof run has shown something wrong that nobody has seen right since: a machine that does not do
        its work is not closed (`rehearse/trying`)."""
        by_repairer = (x for x in self.findings if isinstance(x, f.Perceived) and x.by == "repairer")
        at_work = (x for x in by_repairer if not self.machine.symptoms[x.what].by_hand)
        seen = {(x.what, x.condition): x for x in at_work}
        wrong = well.unlike_the_healthy(self.bench.predictor, tuple(seen.values()))
        return self.before_proof is not None and bool(wrong)

    @property
    def standing(self) -> JobState:
        """How the machine stands where the findings have led."""
        return standing(self.asked, self.findings, self.not_now)

    @property
    def chosen(self) -> bool:
        """Whether the person chose something else than what is advised."""
        return self.other is not None

    @property
    def cures(self) -> float:
        """How probable it is, as people are told it, that the repairs that are made first cure."""
        return self.weighed.cures(self.made_first[0])

    @property
    def is_sure(self) -> bool:
        """Whether the repairs that are made are sure, as people are told it."""
        return self.cures >= worth.SURE

    def told(self, *found: f.Finding) -> Guided:
        """With one finding more, or several that were made in this order."""
        return replace(self, findings=(*self.findings, *found), other=None, before=None)

    @property
    def last(self) -> f.Finding | None:
        """What was found last, which is what undoing takes back: that the machine was put together stays so."""
        return next((x for x in reversed(self.findings) if not isinstance(x, f.Closed | f.TakenBack | f.Resumed)), None)

    @property
    def is_as_proved(self) -> bool:
        """Whether nothing was found since a proof run."""
        return self.before_proof is not None and self.last in (None, *self.findings[self.shown - 1 : self.shown])

    def put_together(self, power: bool) -> Guided:
        """With the machine put together as the list for a repair says, though that is taken back: in use, or its power
        left off. What was chosen stands."""
        return replace(self, findings=(*self.findings, f.Closed(power)), before=None)

    @property
    def proved(self) -> tuple[str, ...]:
        """The repairs that have cured, all being well, where nothing was found since."""
        if not is_proved(self.findings):
            return ()
        found = reversed(self.earlier or self.findings)
        tried = takewhile(lambda x: isinstance(x, f.Closed | f.Resumed | f.Tried), found)
        return tuple(reversed([x.repair for x in tried if isinstance(x, f.Tried) and x.proved]))

    @property
    def made(self) -> set[str]:
        """The repairs that were made so far."""
        return {x.repair for x in self.all_findings if isinstance(x, f.Tried)}

    @property
    def all_findings(self) -> tuple[f.Finding, ...]:
        """What was found since the job began, the repairs in their places, and where it was put together after a proof
        run; not that the job was taken up again."""
        closed = [f.Closed(self.tried.cured is not None)] if self.tried else []
        since = (x for x in self.findings[self.shown :] if not isinstance(x, f.Resumed))
        return (*self.earlier, *self.findings[: self.shown][:-1], *closed, *since)

    @property
    def cannot(self) -> tuple[f.Cannot, ...]:
        """What the person cannot do on this job, as a file has it beside `all_findings`: without what a repair in these
        says by itself, that its owner is asked nothing more."""
        said = {NoOwner()} if self.before_proof else set()
        return refusing.as_found(self.machine, self.refused - said)

    def answered(self, step: Step, typed: str) -> Guided:
        """With the answer to a step as it was typed, and after a semicolon each those to what stands alongside it, in
        that order. Raises NotUnderstood with what would be understood; then none of them is taken."""
        parts = answers.parted(typed)
        beside = (one.step for one in self.alongside) if len(parts) > 1 else ()
        return self.told(*answers.all_understood(self.bench.predictor, (step, *beside), parts))

    @property
    def always(self) -> tuple[str, ...]:
        """What is to be minded at every step from here: water on the floor."""
        return stopping.first(self.findings)

    @property
    def wet(self) -> bool:
        """Whether the work stands still for water on the floor until the breaker is off."""
        return stopping.now(self.machine, self.findings) == stopping.WATER

    @property
    def in_danger(self) -> bool:
        """Whether nothing is done at the machine for what was found, or not before the breaker is off."""
        return stopping.now(self.machine, self.findings) is not None

    @property
    def leaves(self) -> bool:
        """Whether the machine is put together and left at this stop: it is another trade's work, or not worth it, or
        nothing shows. Where going on is dangerous nothing more is done, but beside a plug that nobody touches."""
        if self.advice is None or self.advice.step.kind != STOP:
            return False
        return not self.in_danger or STOPS[self.advice.rule].plug_stays

    @property
    def may_go_on(self) -> bool:
        """Whether the stop may be passed over: nothing is dangerous, and the work is ours."""
        return self.advice is not None and self.advice.rule in PASSED_OVER

    def anyway(self) -> Guided:
        """With the work going on in spite of the stop that stands. Raises Refused where that is not ours to decide."""
        if self.advice is None or not self.may_go_on:
            raise Refused("Nothing stands here that may be passed over.")
        passed = replace(self.limits, anyway=self.limits.anyway | {self.advice.rule})
        return replace(self, limits=passed, before=self)

    def breaker_off(self) -> Guided:
        """With the water seen and the breaker off, so that the search may go on. Raises Refused where none was told."""
        if not self.wet:
            raise Refused("Nothing waits for the breaker.")
        return self.told(stopping.breaker_off(self.machine, self.standing.condition))

    def without(self, refusal: object) -> Guided:
        """Planned around a step that cannot be done here, or around what stands in the way of more than one (see
        `refusing`); where a step is the first for which two twins are exchanged, without all that want them so."""
        wanting = self._wanting(refusal) if isinstance(refusal, Step) else ()
        return replace(self, refused=self.refused | {refusal, *wanting}, other=None, before=self)

    def _wanting(self, step: Step) -> Iterator[Step]:
        """The steps that want the exchange that a step would be the first to make."""
        pair = step.exchange
        if pair and pair != standing(self.asked, self.findings).exchange:
            yield from (one for one in self.asked.steps.usual if one.condition and one.condition.exchange == pair)

    def resumed(self) -> Guided:
        """Taken up again, after hours or by somebody else: nothing counts as proved any more."""
        return replace(self, findings=(*self.findings, f.Resumed()))

    def set_aside(self, step: Step, shut: Sequence[str] = ()) -> Guided:
        """With a step that was shown and is not ended: it may have been begun, but for what is behind the bays `shut`,
        which did not open."""
        return replace(self, findings=(*self.findings, set_aside(step, shut)))

    def instead(self, other: Step | tuple[str, ...]) -> Guided:
        """With this step next, or these repairs, whatever is advised."""
        return replace(self, other=other)

    def undone(self) -> Guided:
        """Without what was chosen instead, else without what was refused since the last finding, else without that: its
        step may have been done all the same; all that a proof run has shown is taken back whole.

        Raises Refused where there is nothing.
        """
        if self.chosen:
            return replace(self, other=None)
        if self.before:
            same = self.before.findings == self.findings  # else a step was set aside since
            return self.before if same else replace(self.before, findings=self.findings)
        if self.before_proof and self.is_as_proved:
            return self.before_proof
        last = self.last
        if not isinstance(last, f.Found):
            raise Refused("There is nothing to take back.")
        place = max(n for n, x in enumerate(self.findings) if x is last)
        kept = (f.TakenBack(last),) if steps.of_finding(last) else ()
        return replace(self, findings=(*self.findings[:place], *kept, *self.findings[place + 1 :]))

    def reasons(self) -> list[dict[str, object]]:
        """What speaks for and against the best possible cause."""
        return reasons.of(self.weighed, self.ranked[0]) if self.ranked and self.findings else []


def complaint(what: str, there: bool) -> f.Perceived:
    """What an owner tells of the machine, in whatever setting they met it."""
    return f.Perceived(what, there)


def put_together(guided: Guided, repairs: Sequence[Repair]) -> together.Closing:
    """How the machine is put together after the steps so far and these repairs; without any, as the stop leaves it."""
    return together.closing(guided.machine, undone(guided, repairs), left_by(guided, repairs))


def not_done_after(guided: Guided, repairs: Sequence[Repair]) -> frozenset[object]:
    """What is not done once these repairs are made: what the person cannot do, and what water still bars."""
    return guided.refused | proof.still_barred(guided.weighed, guided.findings, [one.name for one in repairs])


def left_by(guided: Guided, repairs: Sequence[Repair], unread: bool = False) -> str:
    """The stop rule by which the machine is left: that of the trade whose work these repairs are, or of the stop that
    stands, or water that no repair explains, or that the power was said to stay off, or without a repair what is not
    safe under power; "" where it is left as it is used. `unread`: ohms to the frame were due after the repairs, and
    nobody can read them here."""
    power = NoPower() not in guided.refused
    if repairs:
        rule, off = stopping.of_repairs(repairs) or "", NoPower() in not_done_after(guided, repairs)
        measured = not unread or guided.frame_bars
        unsafe = stopping.NOT_SAFE if unread and measured else ""
        return stopping.left(guided.findings, rule, unsafe, power, measured) if off or unread else rule
    return left_without(guided, guided.advice.rule if guided.advice else "")


def left_without(guided: Guided, rule: str) -> str:
    """The stop rule by which the machine is left where the work ends by a rule and no repair is made."""
    unsafe = insulated.unsafe(guided.bench.predictor, guided.all_findings)
    was = undone(guided, ())
    touched = was.opened or was.lifted or stopping.is_untried(guided.findings)
    measured = was.measured or not (guided.machine.frame and touched)
    return stopping.left(guided.findings, rule, unsafe, NoPower() not in guided.refused, measured)


def undone(guided: Guided, repairs: Sequence[Repair]) -> together.Undone:
    """What the steps since the last repair and these repairs leave undone: after that one all was put together, and
    the machine in use or isolated."""
    made = done(guided.bench.repairs, guided.findings)
    last = max((number for number, one in enumerate(made) if isinstance(one, Repair | f.Closed)), default=-1)
    closed = [one for one in made[last : last + 1] if isinstance(one, f.Closed)]
    left = undoing.after(guided.machine, (*closed, *made[last + 1 :]), repairs)
    volts, measured = refusals.proving(guided.refused), refusals.measures(guided.refused)
    off = stopping.was_breaker_off(guided.findings)
    sees = refusals.sees_charge(guided.refused)
    return replace(left, breaker_off=off, volts=volts, measured=measured, sees_charge=sees)
