"""The proof run as a person is told it: what is read before it runs, then card after card, setting by setting.

The only place that says what must be seen after a repair; what it consists of is computed in `plan/proof`, in which
order in `plan/proof_walk`. Knows the bench and what was found; not what is believed, nor who reads the list.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import groupby

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.evidence.displayed import DIMENSIONS
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import cautions, model
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.plan import proof, proof_walk, safely, steps
from halfsplit.plan.proof_walk import Stage, Walk, Walked
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.quantity.display import display, duration
from halfsplit.service import acting, isolating, naming, proof_holds, proof_words, setting_back, tasks, wording
from halfsplit.service.proof_cards import DEAD, FIRST, Card, Check, Line, ProofRun
from halfsplit.work import places, refusals, together, warms
from halfsplit.work.fasteners import counted, fasteners
from halfsplit.work.hazards import CAUTIONS, Hazard, gravest_first
from halfsplit.work.state import JobState, to_open
from halfsplit.work.together import Closing, Task

LEFT_WARM = "Heat left from the setting before does not count: it must fall"
LAST = ("earth", "panel", "power", "judge", "tag")
"""Tasks of the closing list that come after all that is measured at the plug."""
COVERING = ("also", "ground", "no bond", "earth", "connector", "cover")
"""Tasks by which a bay is closed."""


# ---- before the power ---------------------------------------------------------------------------------------


def to_frame(bench: Bench, state: JobState) -> tuple[Step, ...]:
    """Ohms to the frame from each conductor of the supply, as far as it can be done here. `state`: how the machine
    stands once the repairs are made."""
    return tuple(proof.insulation(proof.healthy(bench), state))


def opened_for(machine: model.Machine, state: JobState, found: Sequence[Step]) -> tuple[str, ...]:
    """The bays that are shut and have to be opened for what is read to the frame (`to_frame`); the list by which the
    machine is put together closes them with the others."""
    return to_open(machine, state, tuple(bay for step in found for bay in bays_needed(machine, step)))


def insulated(machine: model.Machine, state: JobState, found: Sequence[Step], closed: Closing) -> Closing:
    """The closing list, which closes what is `opened_for` it too, with what is read to the frame: at the plug once the
    covers are closed, at terminals inside while they are open."""
    if not found or any(task.kind == "leave" for task in closed.tasks):  # nothing is read at a machine in parts
        return closed
    shut, inside = opened_for(machine, state, found), any(bays_needed(machine, step) for step in found)
    kinds = [task.kind for task in closed.tasks]
    last = (n for n in range(len(kinds)) if set(kinds[n:]) <= set(LAST))
    before = COVERING if shut else ("cover",) if inside else ()
    at = next((n for n, kind in enumerate(kinds) if kind in before), next(last, len(kinds)))
    told = _insulation(machine, found, shut, state)
    return replace(closed, tasks=(*closed.tasks[:at], *told, *closed.tasks[at:]))


def _insulation(machine: model.Machine, found: Sequence[Step], shut: Sequence[str], state: JobState) -> Iterator[Task]:
    """What is read to the frame, a task for each setting; what is shut is opened in the first, what is hot there waited
    for, and a charge that this lays bare discharged. `state`: as the machine stands before."""
    read = {bay for step in found for bay in bays_needed(machine, step)} if state.warm else set[str]()
    hot = [": ".join(CAUTIONS[Hazard.HOT])] if machine.hot_bays & {*shut, *read} else []
    bare = any(places.charge_bare(machine, bay, state.open_bays) for bay in shut)
    charged = [*together.discharging(machine, {*state.open_bays, *shut})] if bare else []
    dead = isolating.proved_dead(machine, shut, before=True, volts=refusals.proving(state.refused))
    safe = (*(places.cool(machine) for _ in hot), *dead, *(task.to for task in charged))
    minded = [*hot, *(one for task in charged for one in task.cautions)]
    for number, (_, some) in enumerate(groupby(found, lambda step: step.condition)):
        yield _read_so(machine, list(some), *(((), (), ()) if number else (shut, safe, minded)))


def _read_so(
    machine: model.Machine, found: Sequence[Step], shut: Sequence[str], safe: Sequence[str], beside: Sequence[str]
) -> Task:
    """Readings of one setting. shut: what is opened for them; safe: what is done before it is; beside: what else is to
    be minded then."""
    probes = [step.probe for step in found if step.probe]
    reds = " and ".join(naming.place(machine, probe.red) for probe in probes)
    own = (one for bay in shut for one in places.own_cautions(machine.bays[bay]))
    minded = gravest_first((*own, *beside))
    first = "".join(f"{wording.lowered(one[:-1])}; " for one in safe)
    one_by_one, each = (", one by one,", " each") if len(probes) > 1 else ("", "")
    to = f"{first}ohms from {reds}{one_by_one} to {naming.place(machine, probes[0].black)}: OL{each}"
    held = counted(one for bay in shut for one in fasteners(machine.bays[bay].fasteners)[0])
    set_to = {c: p for step in found for c, p in setting_back.away(machine, step.condition).items()}
    used = ", ".join(f"{control} {position}" for control, position in set_to.items())
    people = max((machine.bays[bay].people for bay in shut), default=1)
    return Task(
        "insulation", " and the ".join(shut), fasteners=held, cautions=minded, to=to, used=used, people=people
    )


# ---- in use -------------------------------------------------------------------------------------------------


def of_repairs(
    bench: Bench,
    repairs: Collection[str],
    before: Sequence[f.Finding] = (),
    since: Sequence[f.Finding] = (),
    refused: Collection[object] = (),
    before_power: Sequence[Step] = (),
) -> ProofRun:
    """The proof run after these repairs. `before`: what was found before them; `since`: what the machine has shown
    after them, of which a setting may be out of reach; `refused`: what cannot be done here (`work/refusals`);
    `before_power`: what the closing list has read by then, shaken (`proving.Shaken`) and to the frame (`to_frame`),
    numbered here."""
    healthy = proof.healthy(bench)
    shows = partial(well.shown_by_the_healthy, healthy.predictor)
    runs = proof.runs(healthy.predictor)
    met = {at: names for at, names in runs.items() if warms.can_be_met(bench.machine, since, at, shows)}
    dealt = _Dealt(healthy, met, frozenset(refused))
    left = tuple(dict.fromkeys(_left_to_the_owner(bench, repairs, before)))
    made = dealt.proof_run(before_power)
    return replace(made, left=left, holds=proof_holds.sentence(bench, repairs, before, dealt.stages, made))


class _Dealt:
    """The cards while they are made: numbers run on, what is seen all through first."""

    def __init__(self, bench: Bench, runs: proof_walk.Runs, refused: frozenset[object]) -> None:
        self.bench, self.machine = bench, bench.machine
        self.walk = Walk(bench, JobState(refused=refused), safely.begin(bench.machine))
        self.stages = [stage for stage in self.walk.stages(runs) if stage.walked]
        all_through = proof_walk.through(bench, runs)
        seen = [w.step.at for stage in self.stages for w in stage.walked if w.step and w.step.at in all_through]
        self.through = {what: number for number, what in enumerate(dict.fromkeys(seen), 1)}
        self.number = len(self.through)
        self.heated: set[tuple[str, ...]] = set()

    def proof_run(self, before_power: Sequence[Step]) -> ProofRun:
        """All of it."""
        cards = [self._card(number, stage) for number, stage in enumerate(self.stages, 1)]
        back = setting_back.at_rest(self.machine, self.walk.state.condition)
        return ProofRun(
            (*self._before_power(before_power), *cards),
            tuple(self._all_through(cards)),
            sum(stage.minutes for stage in self.stages),
            any(walked.shut for stage in self.stages for walked in stage.walked),
            (f"Last, set back: {back}.",) if back and cards else (),
            cautions=tuple(dict.fromkeys(one for card in cards for one in card.minded)),
        )

    def _before_power(self, found: Sequence[Step]) -> Iterator[Card]:
        """What is read before the power, as the closing list says."""
        checks = [Check(FIRST, step, naming.told(self.machine, self._read(step))) for step in found]
        if checks:
            yield Card(DEAD, tuple(Line(f"{one.number:>2}  {one.said}", (one,)) for one in checks), tuple(checks))

    def _read(self, step: Step) -> str:
        assert step.probe is not None
        assert step.condition is not None
        red, black = (naming.place(self.machine, end) for end in (step.probe.red, step.probe.black))
        way, steady = (f" ({step.condition.provoke})", ", steady") if step.condition.provoke else ("", "")
        return f"{step.probe.meter.capitalize()} from {red} to {black}{way}: {self._should(step)}{steady}."

    def _should(self, step: Step) -> str:
        """What the meter shows on a healthy machine."""
        assert step.probe is not None
        if proof.is_over(self.bench, step):
            return "OL"
        dimension = DIMENSIONS[step.probe.meter]
        least, most = (display(max(one, 0.0), dimension) for one in proof.as_it_should(self.bench, step))
        return f"{least} to {most}"

    def _all_through(self, cards: Sequence[Card]) -> Iterator[str]:
        """What must be so on several cards, told once."""
        met = [one for card in cards for one in card.through]
        if met:
            first = {one.number: one for one in reversed(met)}
            cards_of = proof_words.ranged(sorted({one.card for one in met}))
            yield f"All through cards {cards_of}: {'; '.join(f'{n} {first[n].short}' for n in sorted(first))}."

    # ---- one card ---------------------------------------------------------------------------------------------

    def _card(self, number: int, stage: Stage) -> Card:
        """One card, with what it is called, how long it takes and which covers are off."""
        was = stage.walked[0].before.condition
        checks = {step: replace(check, card=number) for step, check in self._checks(stage)}
        through = tuple(one for one in checks.values() if one.step.at in self.through)
        lines = self._seen_lines(stage, was, checks) if stage.seen else self._clamp_lines(stage.walked, checks)
        called = proof_words.setting(self.machine, stage.settings[0], was)
        if not stage.seen:
            many = len(stage.settings)
            called = f"the clamp, {f'in {many} settings one after another' if many > 1 else f'set to {called}'}"
        told = [called, f"some {duration(max(1, round(stage.minutes)))}", self._covers(stage, checks.values())]
        told += [f"{proof_words.ranged([one.number for one in through])} all through"] if through else []
        head = f"Card {number} of {len(self.stages)}: {'; '.join(told)}."
        return Card(naming.told(self.machine, head), tuple(lines), tuple(checks.values()), number, through)

    def _checks(self, stage: Stage) -> Iterator[tuple[Step, Check]]:
        """All that is asked for, in the order in which it is done. What the clamp shows is told in full in a setting in
        which something is opened for it."""
        full: Condition | None = None
        for one in stage.walked:
            if one.step and one.step.probe:
                full = one.step.condition if one.shut else full
                yield one.step, self._clamped(one, one.step.condition == full)
            elif one.step:
                yield one.step, self._seen(one)

    def _covers(self, stage: Stage, checks: Iterable[Check]) -> str:
        """Which covers are off."""
        off = {bay: None for walked in stage.walked if walked.step and walked.step.probe for bay in walked.shut}
        if off:
            named = (f"the {bay}{tasks.taken_by(self.machine.bays[bay].people)}" for bay in off)
            bays = f"{' and '.join(named)} off for the clamp"
            return f"{bays}, then all covers on" if stage.seen else bays
        own = [one.number for one in checks if one.seen and self.machine.symptoms[one.step.at].bay]
        return f"all covers on but for {', '.join(map(str, own))}" if own else "all covers on"

    def _clamp_lines(self, walked: Iterable[Walked], checks: Mapping[Step, Check]) -> Iterator[Line]:
        """What the clamp shows: how it is reached, then setting by setting, and how it is closed."""
        was: Condition | None = None
        for at, some in groupby(walked, lambda one: one.step.condition if one.step else None):
            if at is None:
                yield from map(self._closed, some)
                continue
            found = [checks[one.step] for one in some if one.step]
            if found[0].said:
                yield from (Line(f"{one.number:>2}  {one.said}", (one,), one.cautions) for one in found)
            else:
                yield self._in_short(found, was)
            was = at

    def _in_short(self, some: Sequence[Check], was: Condition | None) -> Line:
        """What the clamp shows in a further setting, all in one line."""
        called = proof_words.setting(self.machine, some[0].at, was)
        said = "; ".join(f"{one.number} {one.short}" for one in some)
        return Line(f"{called[:1].upper()}{called[1:]}: {said}.", tuple(some), _minded(some))

    def _clamped(self, walked: Walked, full: bool) -> Check:
        """What the clamp shows; in `full` where something is opened for it in that setting."""
        step, bays = walked.step, walked.shut
        assert step is not None
        assert step.probe is not None
        should, at = self._should(step), step.probe.red
        if bays:
            told = wording.sentence(self.bench.predictor, walked.before, step, bays, walked.done.kinds)
            name = proof_words.named(self.machine, step.condition)
            told = f"{name[:1].upper()}{name[1:]}: {wording.lowered(told)} It must be {should}."
        else:
            told = f"The same {acting.clamp_round(self.machine, at)}: {should}."
        return self._check(walked, told if full else "", f"{at}: {should}")

    def _seen_lines(
        self, stage: Stage, was: Condition | None, checks: Mapping[Step, Check]
    ) -> Iterator[Line]:
        """What is seen in a setting: first that the machine stands, where it has to; what is seen as before; then what
        is asked for the first time. What is seen all through stands in the head."""
        if still := proof_words.stands_first(self.bench, was, stage.settings[0]):
            yield Line(still)
        first = next(n for n, one in enumerate(stage.walked) if _is_seen(one))
        yield from self._clamp_lines(stage.walked[:first], checks)
        yield from (Line(text) for text in proof_words.turned_first(self.machine, stage.walked[first]))
        own = {step: one for step, one in checks.items() if one.seen and one.step.at not in self.through}
        again = [one for one in own.values() if one.short]
        if again:
            told = "; ".join(f"{one.number} {one.short}" for one in again)
            yield Line(f"As before: {told}.", tuple(again), _minded(again))
        for one in stage.walked[first:]:
            if one.step is None:
                yield self._closed(one)
            elif one.step in own and own[one.step] not in again:
                check = own[one.step]
                yield Line(f"{check.number:>2}  {check.said}", (check,), check.cautions)

    def _seen(self, walked: Walked) -> Check:
        assert walked.step is not None
        what, there = self.walk.answer(walked.step)
        left = self._left_warm(what, there)
        if walked.shut and self.machine.symptoms[what].bay:
            asked = wording.sentence(
                self.bench.predictor, walked.before, walked.step, walked.shut, walked.done.kinds
            )
        else:
            asked = acting.seeing(self.machine, what, self.machine.symptoms[what].takes)
        said = " ".join((asked, proof_words.must(there), *(f"{one}." for one in left)))
        short = ", ".join((f"{what}: {proof_words.word(there)}", *map(wording.lowered, left)))
        if what in self.through and self.machine.house_trips(what):
            short = f"{short} ({wording.lowered(acting.LEAVE_OFF.rstrip('.'))})"
        return replace(self._check(walked, said, short if walked.again or what in self.through else ""), there=there)

    def _left_warm(self, what: str, there: bool) -> tuple[str, ...]:
        """What is to be thought of where something was warm in an earlier setting, and must not be heated in this."""
        symptom = self.machine.symptoms[what]
        if symptom.kind == "heat" and there:
            self.heated.add(symptom.of)
        falls = not there and symptom.of in self.heated and WARMTH not in dict(symptom.setting)
        return (LEFT_WARM,) if falls else ()

    def _closed(self, walked: Walked) -> Line:
        """How what was opened is closed, or a control turned back, with what is to be minded for it."""
        told = (naming.told(self.machine, one) for one in walked.done.cautions)
        own = (one for bay in walked.shut for one in self._own(bay, walked))
        minded = gravest_first((*told, *own))
        return Line(naming.told(self.machine, proof_words.closed(self.machine, walked)), minded=tuple(minded))

    def _own(self, bay: str, walked: Walked) -> Iterator[str]:
        """What a bay's file wants minded when it is closed, and when it is opened for that too."""
        if bay not in walked.before.open_bays:
            yield from (cautions.placed(bay, one) for one in places.own_cautions(self.machine.bays[bay]))
        yield from tasks.acknowledge(together.covers(self.machine, [bay], True))

    def _check(self, walked: Walked, said: str, short: str) -> Check:
        """A check with its number, and what is to be minded on the way to it, but for what was told since the power
        changed."""
        assert walked.step is not None
        number = self.through.get(walked.step.at, 0) if walked.step.kind == "symptom" else 0
        self.number += not number
        own = [cautions.placed(bay, one) for bay in walked.shut for one in places.own_cautions(self.machine.bays[bay])]
        minded = gravest_first((*walked.done.cautions, *own))
        said, short = (naming.told(self.machine, text) for text in (said, short))
        told = tuple(naming.told(self.machine, one) for one in minded)
        return Check(number or self.number, walked.step, said, short=short, cautions=told)


def _minded(checks: Iterable[Check]) -> tuple[str, ...]:
    return gravest_first(one for check in checks for one in check.cautions)


def _is_seen(walked: Walked) -> bool:
    return walked.step is not None and walked.step.kind == "symptom"


def _left_to_the_owner(bench: Bench, repairs: Collection[str], before: Sequence[f.Finding]) -> Iterator[str]:
    """What shows in days of use only, and was wrong, or would be with a fault that was repaired: its owner sees it."""
    known, predictor, machine = bench.singles, bench.predictor, bench.machine
    told = {x.what for x in well.unlike_the_healthy(bench.predictor, before)}
    mended = {i for i, fault in enumerate(known.faults) if fault.repair.is_done_by(repairs)}
    rows = [s for s, g in enumerate(known.group_of.tolist()) if s and not mended.isdisjoint(known.groups[g])]
    for what, symptom in machine.symptoms.items():
        if symptom.takes <= steps.LONGEST:
            continue
        yes = predictor.symptom(what, steps.met_in(machine, symptom), False)
        if what in told or any(abs(yes[s] - yes[0]) > 0.5 for s in rows):
            asked = symptom.question or f"{what}?"
            yield f"In days of use its owner sees: {asked} {proof_words.must(bool(yes[0] > 0.5))}"
