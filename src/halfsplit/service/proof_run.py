"""The proof run as a person is told it: what is read before it runs, then a numbered list, setting by setting.

The only place that says what must be seen after a repair; what it consists of is computed in `plan/proof`, and played
by the rehearsals. Knows the bench and what was found; not what is believed, nor who reads the list.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.evidence.displayed import DIMENSIONS
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import cautions, model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import proof, safely, steps
from halfsplit.plan.proof_walk import Walk, Walked
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.quantity.display import display
from halfsplit.service import acting, isolating, naming, setting_back, tasks, wording
from halfsplit.work import places, stopping, together, warms
from halfsplit.work.fasteners import counted, fasteners
from halfsplit.work.hazards import gravest_first
from halfsplit.work.state import JobState, to_open
from halfsplit.work.together import Closing, Task

FIRST = 0
"""The number of all that is shaken and read to the frame: the others stay as they are where nothing is."""
DEAD = "Before it runs, as the list for putting together says"
"""The setting of what is shaken and read to the frame."""
NOT_PROVED = "Nothing is tried while the power has to stay off: what was repaired is not proved yet."
LEFT_WARM = "Heat left from the setting before does not count: it must fall"
LAST = ("earth", "panel", "power", "judge", "tag")
"""Tasks of the closing list that come after all that is measured at the plug."""
COVERING = ("also", "ground", "no bond", "earth", "connector", "cover")
"""Tasks by which a bay is closed."""


@dataclass(frozen=True)
class Check:
    """One thing that must be as on a healthy machine: a symptom (`there` or not), or what the meter shows."""

    number: int
    step: Step
    said: str
    """All of it in words."""
    there: bool = False
    short: str = ""
    """In a few words where the same was asked in full before; "": it is asked here for the first time."""
    cautions: tuple[str, ...] = ()
    """What is to be minded on the way to it, each with its signal word."""

    @property
    def seen(self) -> bool:
        """Whether it is seen; else it is read."""
        return self.step.kind == "symptom"

    @property
    def at(self) -> Condition:
        """The setting of its run."""
        assert self.step.condition is not None
        return self.step.condition

    def is_right(self, bench: Bench, shown: f.Finding) -> bool:
        """Whether what was found there is as it must be."""
        if isinstance(shown, f.Reading):
            return proof.is_as_it_should(bench, self.step, shown)
        return isinstance(shown, f.Perceived) and shown.there == self.there

    def found(self, well: bool) -> f.Perceived:
        """What is found where it is as it must be, or is not."""
        return f.Perceived(self.step.at, self.there == well, self.at, "repairer")


@dataclass(frozen=True)
class Run:
    """One setting of the proof run, in words, with all that is to be seen or read in it."""

    setting: str
    checks: tuple[Check, ...]
    closes: str = ""
    """How what was opened for the clamp is closed before it, nothing being clamped from here on."""
    minded: tuple[str, ...] = ()
    """What is to be minded for that, each with its signal word."""

    def sentences(self) -> Iterator[str]:
        """What is closed; the setting, with what was asked in full before in a few words; then what is asked for the
        first time. What is to be minded stands before what it is minded for, so that of the first before the setting.
        """
        again = "; ".join(f"{one.number} {one.short}" for one in self.checks if one.short)
        early = [one for one in self.checks if one.short or one is self.checks[0]]
        yield from gravest_first((*self.minded, *(minded for one in early for minded in one.cautions)))
        yield from (self.closes,) if self.closes else ()
        yield f"{self.setting}; as before: {again}." if again else f"{self.setting}:"
        for one in self.checks:
            if not one.short:
                yield from () if one in early else one.cautions
                yield f"{one.number:>2}  {one.said}"


@dataclass(frozen=True)
class ProofRun:
    """A whole proof run. `left`: what its owner sees in days of use; `cautions`: each with its signal word."""

    runs: tuple[Run, ...] = ()
    left: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    """What is still open for the clamp is closed, with what is minded for it."""
    rest: tuple[str, ...] = ()
    """How the controls are left, where the last run has left some otherwise."""
    cautions: tuple[str, ...] = ()

    @property
    def checks(self) -> tuple[Check, ...]:
        """All of them, by number."""
        return tuple(check for run in self.runs for check in run.checks)

    @property
    def ran(self) -> bool:
        """Whether it is run at all; not where the power has to stay off."""
        return any(run.setting != DEAD for run in self.runs)

    @property
    def opens(self) -> bool:
        """Whether a cover is opened for the clamp."""
        return bool(self.after) or any(run.closes for run in self.runs)

    @property
    def in_use(self) -> ProofRun:
        """Without what the list for putting together says already: on paper no number is typed."""
        return replace(self, runs=tuple(run for run in self.runs if run.setting != DEAD))

    def sentences(self) -> tuple[str, ...]:
        """All of it, in order."""
        unproved = () if self.ran else (NOT_PROVED,)
        runs = (text for run in self.runs for text in run.sentences())
        return (*runs, *unproved, *self.after, *self.rest, *self.left)


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
    if not found:
        return closed
    shut, inside = opened_for(machine, state, found), any(bays_needed(machine, step) for step in found)
    kinds = [task.kind for task in closed.tasks]
    last = (n for n in range(len(kinds)) if set(kinds[n:]) <= set(LAST))
    before = COVERING if shut else ("cover",) if inside else ()
    at = next((n for n, kind in enumerate(kinds) if kind in before), next(last, len(kinds)))
    return replace(closed, tasks=(*closed.tasks[:at], _insulation(machine, found, shut), *closed.tasks[at:]))


def _insulation(machine: model.Machine, found: Sequence[Step], shut: Sequence[str]) -> Task:
    probes = [step.probe for step in found if step.probe]
    reds = " and ".join(naming.place(machine, probe.red) for probe in probes)
    minded = gravest_first(one for bay in shut for one in places.own_cautions(machine.bays[bay]))
    first = "".join(f"{wording.lowered(one[:-1])}; " for one in isolating.proved_dead(machine, shut, before=True))
    to = f"{first}ohms from {reds}, one by one, to {naming.place(machine, probes[0].black)}"
    held = counted(one for bay in shut for one in fasteners(machine.bays[bay].fasteners)[0])
    set_to = {c: p for step in found for c, p in setting_back.away(machine, step.condition).items()}
    used = ", ".join(f"{control} {position}" for control, position in set_to.items())
    return Task("insulation", " and the ".join(shut), fasteners=held, cautions=minded, to=to, used=used)


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
    made = _Listed(healthy, frozenset(refused))
    made.before_power(before_power)
    shows = partial(well.shown_by_the_healthy, healthy.predictor)
    runs = proof.runs(healthy.predictor)
    met = [at for at in runs if warms.can_be_met(bench.machine, since, at, shows)]
    for number, at in enumerate(met, 1):
        made.run(at, runs[at], met[number:])
    left = tuple(dict.fromkeys(_left_to_the_owner(bench, repairs, before)))
    rest, after = made.at_rest(), made.after()
    return ProofRun(tuple(made.runs), left, after, rest, tuple(dict.fromkeys(made.cautions)))


class _Listed:
    """The list while it is made: numbers run on, and what was opened for the clamp stays open for the next."""

    def __init__(self, bench: Bench, refused: frozenset[object]) -> None:
        self.bench, self.machine = bench, bench.machine
        self.walk = Walk(bench, JobState(refused=refused), safely.begin(bench.machine))
        self.runs: list[Run] = []
        self.cautions: tuple[str, ...] = ()
        self.number = 0
        self.heated: set[str] = set()

    def before_power(self, found: Sequence[Step]) -> None:
        """What is read before the power, as the closing list says."""
        checks = [Check(FIRST, step, naming.told(self.machine, self._read(step))) for step in found]
        if checks:
            self.runs.append(Run(DEAD, tuple(checks)))

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

    def run(self, at: Condition, names: Sequence[str], later: Sequence[Condition]) -> None:
        """One setting with what is seen in it, and what the clamp shows."""
        before, was = self.walk.opened, self.walk.state.condition
        walked = self.walk.setting(at, names, later)
        checks = [self._seen(one) if one.step.kind == "symptom" else self._clamped(one) for one in walked]
        shut = before if before and not self.walk.opened else ()
        closes, minded = (self._close(shut, was), self._minded_at_closing(shut)) if shut else ("", ())
        if checks:
            self.cautions = (*self.cautions, *minded)
            self.runs.append(Run(_set_to(self.machine, at, was), tuple(checks), closes, minded))

    def after(self) -> tuple[str, ...]:
        """What is still open for the clamp once all is seen and read."""
        opened, at, done = self.walk.opened, self.walk.state.condition, self.walk.end()
        told = (naming.told(self.machine, one) for one in done.cautions) if done else ()
        minded = tuple(gravest_first((*told, *self._minded_at_closing(opened)))) if done else ()
        self.cautions = (*self.cautions, *minded)
        return (*minded, self._close(opened, at)) if opened else ()

    def at_rest(self) -> tuple[str, ...]:
        """How the controls are left once all is seen, where they are not set back for what is closed last."""
        closed_last = self.walk.opened and not self.walk.led_through(self.walk.opened)
        back = "" if closed_last else setting_back.at_rest(self.machine, self.walk.state.condition)
        return (f"Last, set back: {back}.",) if back else ()

    def _minded_at_closing(self, opened: Sequence[str]) -> tuple[str, ...]:
        told = tasks.acknowledge(together.covers(self.machine, opened, True))
        return tuple(naming.told(self.machine, one) for one in told)

    def _close(self, opened: Sequence[str], at: Condition | None) -> str:
        """How what is open for the clamp is closed; `at`: how the machine stands then."""
        off = wording.lowered(" ".join((*setting_back.before_off(self.machine, at), isolating.isolate(self.machine))))
        closed = together.covers(self.machine, opened, True)
        how = " ".join(tasks.sentences(self.machine, closed))
        told = f"After the last amps: {off} {how} Power last."
        again = self.walk.led_through(opened)
        asked = (f"{acting.seeing(self.machine, what)} It must be {_word(there)}." for what, there in again)
        back = setting_back.again(self.machine, at) if at and again else ""
        told = f"{told} Set again: {back}." if back else told
        return " ".join((told, *(f"The duct was off, so once more: {one}" for one in asked)))

    def _seen(self, walked: Walked) -> Check:
        what, there = self.walk.answer(walked.step)
        word = _word(there)
        asked = f"{acting.seeing(self.machine, what, self.machine.symptoms[what].takes)} It must be {word} now."
        left = self._left_warm(what, there)
        said = " ".join((asked, *(f"{one}." for one in left), *_opened_for(self.machine, walked.step)))
        short = ", ".join((f"{what}: {word}", *map(wording.lowered, left)))
        return self._minded(walked, self._check(walked, said, short, there))

    def _left_warm(self, what: str, there: bool) -> tuple[str, ...]:
        """What is to be thought of where something was warm in an earlier setting, and must not be heated in this."""
        if self.machine.symptoms[what].kind == "heat" and there:
            self.heated.add(what)
        return (LEFT_WARM,) if what in self.heated and not there else ()

    def _clamped(self, walked: Walked) -> Check:
        """What the clamp shows; where that is not open yet, how it is reached, with what is to be minded."""
        step, shut = walked.step, walked.shut
        assert step.probe is not None
        if not shut:
            clamp = f"clamp round the wires at {step.probe.red}: {self._should(step)}"
            return self._minded(walked, self._check(walked, f"C{clamp[1:]}.", clamp))
        told = wording.sentence(self.bench.predictor, walked.before, step, shut, walked.done.kinds)
        return self._minded(walked, self._check(walked, f"{told} It must be {self._should(step)}.", ""))

    def _minded(self, walked: Walked, check: Check) -> Check:
        """A check with what is to be minded on the way to it, but for what was told since the power changed."""
        own = [cautions.placed(bay, one) for bay in walked.shut for one in places.own_cautions(self.machine.bays[bay])]
        minded = gravest_first((*walked.done.cautions, *own))
        self.cautions = (*self.cautions, *minded)
        return replace(check, cautions=tuple(naming.told(self.machine, one) for one in minded))

    def _check(self, walked: Walked, said: str, short: str, there: bool = False) -> Check:
        self.number += 1
        said, short = (naming.told(self.machine, text) for text in (said, short if walked.again else ""))
        return Check(self.number, walked.step, said, there, short)


def _word(there: bool) -> str:
    return "yes" if there else "no"


def _set_to(machine: model.Machine, at: Condition, was: Condition | None) -> str:
    """A setting in words: the name that the file gives it and how the controls stand; how one behind a cover is
    reached, all being closed by then. `was`: how the machine stood before."""
    name = next((name for name, given in machine.settings.items() if conditions.condition(machine, given) == at), "")
    usual = next(iter(machine.settings), "")
    base = conditions.condition(machine) if name else conditions.usual(machine)
    moved = [(c, p) for c, p in at.setting if p != base.position(c)]
    inside = conditions.turned_inside(machine, None, at)
    stands = ", ".join(wording.stand(machine, c, p) for c, p in moved if c not in inside)
    if name:
        set_to = f"Set to {name} ({stands})" if stands else f"Set to {name}"
    else:
        set_to = f"As in {usual}, but {stands}" if usual and stands else f"Set: {stands}" if stands else "As it is used"
    runs = ", running" if name else ""
    return " ".join([f"{set_to}{runs}", *(_turned(machine, at, control, was) for control in inside)])


def _turned(machine: model.Machine, at: Condition, name: str, was: Condition | None) -> str:
    """How a control behind a cover is turned, and turned back."""
    control = machine.controls[name]
    bay, where = machine.turned_in(name), f" ({control.where})" if control.where else ""
    first = _set_back_first(machine, was)
    turn = f"{first}isolate the machine, open the {bay}, turn {name} to {at.position(name)}{where}, close it"
    return f"(for that {turn}, and bring the power back; turn {name} back to {control.rest} the same way)"


def _set_back_first(machine: model.Machine, at: Condition | None) -> str:
    """What is set back before a machine is isolated, as the beginning of a sentence."""
    return "".join(f"{wording.lowered(one[:-1])}, " for one in setting_back.before_off(machine, at))


def _opened_for(machine: model.Machine, step: Step) -> Iterator[str]:
    """What is opened once more to see a symptom; all is closed by then."""
    if shows := machine.symptoms[step.at].bay:
        first = _set_back_first(machine, step.condition)
        again = f"set {setting_back.again(machine, step.condition)} again, " if first and step.condition else ""
        way = f"{first}isolate the machine, open the {shows}, bring the power back"
        yield f"For that {way}, {again}and close it the same way."


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
            yield f"In days of use its owner sees: {asked} It must be {'yes' if yes[0] > 0.5 else 'no'} now."


# ---- what it showed -----------------------------------------------------------------------------------------


def showed(
    bench: Bench, made: ProofRun, before: Sequence[f.Finding], wrong: Mapping[Check, f.Finding]
) -> list[f.Finding]:
    """What a proof run has shown, in its order: of what was found `wrong` that; of what is seen before the last of
    these, in the same settings as they or wrong `before`, that it is as it must be. Not so of what has to be waited
    for, unless it was wrong before and nothing is wrong sooner, nor in another setting of what was named: nobody need
    have seen that. What was out of reach was not seen; that water is gone nobody says by not naming it. Where something
    is wrong before it runs the power stays off: no more was seen."""
    shows = partial(well.shown_by_the_healthy, bench.predictor)
    complained = {x.what for x in well.unlike_the_healthy(bench.predictor, before)}
    named, numbers = {one.step.at for one in wrong if one.seen}, sorted(one.number for one in wrong) or [FIRST]
    found: list[f.Finding] = []
    for run in made.runs:
        here = any(one in wrong for one in run.checks)
        if not warms.can_be_met(bench.machine, found, run.checks[0].at, shows):
            continue
        for one in run.checks:
            told = one.step.at in complained
            waited = one.seen and (not bench.machine.symptoms[one.step.at].takes or (told and one.number < numbers[0]))
            if one in wrong:
                found.append(wrong[one])
            elif waited and (here or told) and one.number < numbers[-1] and one.step.at not in {*named, stopping.WATER}:
                found.append(one.found(True))
        if here and run.setting == DEAD:
            break
    return found
