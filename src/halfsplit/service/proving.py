"""What proves a repair, from the guided diagnosis: what is shaken before the covers close, insulation before the power,
and the proof run.

Knows the guided diagnosis and `plan/proof`; of the proof run itself, `service/proof_run`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.machine import feeding, model
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import barring, insulated, leads, proof, safely, steps, taken
from halfsplit.plan.safely import Safely
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.quantity.dimension import Dimension
from halfsplit.quantity.display import display
from halfsplit.service import advising, guiding, isolating, left_closed, naming, proof_run, wording
from halfsplit.service import tasks as tasks_said
from halfsplit.service.guiding import Guided
from halfsplit.service.proof_cards import ProofRun
from halfsplit.work import handling, refusals, stopping, together
from halfsplit.work.hazards import Kind, Pipe
from halfsplit.work.refusals import CannotOpen, NoPower
from halfsplit.work.state import JobState, to_open, with_fronts
from halfsplit.work.together import Closing, Task, Undone

# ---- before the covers close --------------------------------------------------------------------------------


class Shaken(NamedTuple):
    """What is provoked before the covers close: in sentences, in order; the bays that it opens beside those of the
    repairs, how the controls stand after it, what is to be minded, each with its signal word; and step by step how the
    machine stood and all that is done (None: wires go back). `notes`: what of it is nothing to do."""

    said: tuple[str, ...] = ()
    opened: tuple[str, ...] = ()
    at: Condition | None = None
    cautions: tuple[str, ...] = ()
    done: tuple[tuple[JobState, Step | None, Safely], ...] = ()
    notes: frozenset[str] = frozenset()


def before_closing(guided: Guided, repairs: Sequence[Repair]) -> Shaken:
    """What the owner complained of and these repairs most probably do not explain: what would, and comes and goes, is
    provoked while the machine is dead. Where no hand goes to the machine, its supply alone is read again."""
    mine = [one for one in repairs if handling.hands_in(guided.machine, one)]
    if not mine:
        return _at_the_wall(guided, repairs)
    shaking = _Shaking(guided, repairs, mine[-1])
    for one in unexplained(guided, [one.name for one in repairs]):
        shaking.provoke(one)
    return shaking.shaken


def unexplained(guided: Guided, names: Sequence[str]) -> list[f.Perceived]:
    """What the owner complained of and these repairs most probably do not explain: where they cure, the owner was
    mistaken in it."""
    told = well.complaints(guided.bench.predictor, guided.findings)
    return [x for x in told if not proof.explained(guided.weighed, x, names)]


def _at_the_wall(guided: Guided, repairs: Sequence[Repair]) -> Shaken:
    """What a handle that was switched off and on has brought back, read in the receptacle's slots where that is most
    volts, before a machine that stands open is put together. Nothing where it is closed, or hard wired."""
    machine, state = guided.machine, _repaired(guided, repairs)
    switched = [one for one in repairs if one.by == "repairer" and one.subject in machine.parts]
    slots = set(leads.slots(machine))
    off = replace(state, refused=guiding.not_done_after(guided, repairs))
    offered = (step for step in steps.live_steps(machine) if slots and slots.issuperset(step.places))
    found = [step for step in offered if not barring.bars(machine, off, step)]
    found = [step for step in found if state.open_bays.issuperset(bays_needed(machine, step))]
    if not switched or not state.open_bays or not found:
        return Shaken()
    volts = {step: float(guided.bench.predictor.reading(step.probe, step.condition).value[0])
             for step in found if step.probe and step.condition}  # fmt: skip
    step = max(volts, key=lambda one: volts[one])
    done = safely.prepared(
        machine, advising.safe_so_far(guided.asked, guided.findings), state, taken.after(machine, state, step), step
    )
    near = f"It must be near {display(volts[step], Dimension.VOLTAGE, digits=3)} now."
    said = " ".join((_read_at_the_wall(guided, state, step, done), near, *_dead_anew(guided, state)))
    return Shaken((said,), cautions=done.cautions, done=((state, step, done),))


def _read_at_the_wall(guided: Guided, state: JobState, step: Step, done: Safely) -> str:
    """How the slots are read: the list has isolated the machine by then, and proved the meter for it."""
    wanted = done.kinds
    if not state.isolated:
        state = replace(state, condition=conditions.condition(guided.machine, isolated=True))
        wanted -= {Kind.ISOLATE} if feeding.plug_bay(guided.machine) else {Kind.ISOLATE, Kind.PROVE_METER}
    return wording.sentence(guided.bench.predictor, state, step, (), wanted)


def _dead_anew(guided: Guided, state: JobState) -> Iterator[str]:
    """That the machine is proved dead again, where its breaker was on to read the slots that lie in a bay of it."""
    if feeding.plug_bay(guided.machine):
        opened = [bay for bay in guided.machine.bays if bay in state.open_bays]
        yield from isolating.proved_dead(guided.machine, opened, volts=refusals.proving(guided.refused))


def said(machine: model.Machine, one: f.Perceived) -> str:
    """A complaint in words: the question, and what was answered."""
    return f"{machine.symptoms[one.what].question or one.what} {'yes' if one.there else 'no'}"


MINDED_LATER = "Nothing done here brings it out: mind it in the proof run, and tell the owner."


class _Shaking:
    """What is provoked, complaint after complaint, while it is made: how the machine stands, what has been proved and
    acknowledged. After each all wires are on again."""

    def __init__(self, guided: Guided, repairs: Sequence[Repair], last: Repair) -> None:
        self.guided, self.machine = guided, guided.machine
        self.state = _repaired(guided, repairs)
        safe = advising.repair_safely(guided.asked, guided.findings, last).state
        self.safe = safe._replace(opened=bool(self.state.open_bays), lifted=False)
        self.shaken = Shaken()

    def provoke(self, one: f.Perceived) -> None:
        """What would explain a complaint, and comes and goes."""
        believed = proof.come_and_go(self.guided.bench, one.what)
        least = proof.LEFT_IN * believed.sum()
        can = believed.sum() > least and self.guided.asked.brings_out(believed, self.state)
        why = f"No repair explains what the owner said: {said(self.machine, one)}."
        note = why if can else f"{why} {MINDED_LATER}"
        self._say(note)
        self.shaken = self.shaken._replace(notes=self.shaken.notes | {note})
        while believed.sum() > least and (found := self.guided.asked.brings_out(believed, self.state)):
            step, believed = found
            self._take(step)
        self._wires_back()

    def _take(self, step: Step) -> None:
        bays, after = bays_needed(self.machine, step), taken.after(self.machine, self.state, step)
        done = safely.prepared(self.machine, self.safe, self.state, after, step)
        told = wording.sentence(self.guided.bench.predictor, self.state, step, bays, done.kinds)
        shut = to_open(self.machine, self.state, bays)
        own = advising.of_bays(self.machine, self.state, bays)
        self._say(f"{told} It must stay steady.", shut=shut, minded=(*own, *done.cautions))
        self._stands(step, after, done)

    def _wires_back(self) -> None:
        at = self.state.condition
        if at and at.lift:
            after = replace(self.state, condition=replace(at, lift=()))
            self._stands(None, after, safely.brought(self.machine, self.safe, self.state, after))
            self._say(*(naming.told(self.machine, back) for back in wording.wires_back(self.machine, at.lift)))

    def _say(self, *said: str, shut: Sequence[str] = (), minded: Sequence[str] = ()) -> None:
        was = self.shaken
        opened, told = (tuple(dict.fromkeys(some)) for some in ((*was.opened, *shut), (*was.cautions, *minded)))
        self.shaken = was._replace(said=(*was.said, *said), opened=opened, cautions=told)

    def _stands(self, step: Step | None, after: JobState, done: Safely) -> None:
        self.shaken = self.shaken._replace(at=after.condition, done=(*self.shaken.done, (self.state, step, done)))
        self.state, self.safe = after, done.state


BEFORE_IT = ("isolate", "meter", "fasten", "exchange", "plug in", "wires")
"""Tasks of the closing list without which nothing can be provoked: it is read through what was taken off."""
PANEL = "panel"
"""The task by which the house's own supply is brought back: before it is read at the wall, where it is."""


def put_together(guided: Guided, repairs: Sequence[Repair], shaken: Shaken, read: Sequence[Step]) -> Closing:
    """How the machine is put together after these repairs: what is provoked once all wires are on again, its bays and
    controls with the rest, and before the power what is `read` to the frame."""
    stands = _before_closing(guided, repairs, shaken)
    unread = is_unread(guided, repairs, read)
    closed = _shaken_and_closed(guided, repairs, shaken, read, guiding.left_by(guided, repairs, unread))
    return proof_run.insulated(guided.machine, stands, read, closed)


def left_as_it_is(guided: Guided, by: str | None = None) -> Closing:
    """How a machine is put together that is left without a repair, by a stop rule (None: the one that stands)."""
    rule = guiding.left_by(guided, ()) if by is None else guiding.left_without(guided, by)
    stands, was = _before_closing(guided, (), Shaken()), guiding.undone(guided, ())
    return left_closed.put_together(guided.bench, guided.weighed, was, stands, rule)


def opened_besides(guided: Guided, repairs: Sequence[Repair], shaken: Shaken, read: Sequence[Step]) -> tuple[str, ...]:
    """The bays that are opened after these repairs, for what is shaken and for what is `read` to the frame."""
    stands = _before_closing(guided, repairs, shaken)
    return (*shaken.opened, *proof_run.opened_for(guided.machine, stands, read))


def _shaken_and_closed(
    guided: Guided, repairs: Sequence[Repair], shaken: Shaken, read: Sequence[Step], rule: str
) -> Closing:
    besides = proof_run.opened_for(guided.machine, _before_closing(guided, repairs, shaken), read)
    was = guiding.undone(guided, repairs)
    opened = with_fronts(guided.machine, (*was.opened, *besides))
    was = replace(was, opened=opened, read_dead=bool(read))
    if not shaken.said:
        return together.closing(guided.machine, was, rule)
    if was.pipe is Pipe.AWAY and any(Kind.GAS_OFF in done.kinds for _, _, done in shaken.done):
        was = replace(was, pipe=Pipe.BESIDE)  # the cock was shut for what is shaken
    more = together.undone(guided.machine, (*was.opened, *shaken.opened), (), shaken.at)
    moved = dict(was.moved) | dict(more.moved)
    closed = together.closing(guided.machine, replace(was, opened=more.opened, moved=tuple(moved.items())), rule)
    meter_off = (Task("meter", ""),) if shaken.done else ()
    tasks = (*(Task(_kind(shaken, said), "", to=said) for said in shaken.said), *meter_off)
    at_the_wall = not any(handling.hands_in(guided.machine, one) for one in repairs)
    if at_the_wall and not feeding.plug_bay(guided.machine):  # else it would put the power on beside open covers
        tasks = (*(one for one in closed.tasks if one.kind == PANEL), *tasks)
        closed = replace(closed, tasks=tuple(one for one in closed.tasks if one.kind != PANEL))
    early, again = _set_back_first(guided.machine, closed, was), dict(more.moved)
    closed = replace(closed, tasks=tuple(one for one in closed.tasks if one not in early or one.at in again))
    tasks = (*early, *tasks)
    dead = [task.kind for task in closed.tasks].index("meter")
    after = (n for n, task in enumerate(closed.tasks) if n > dead and task.kind not in BEFORE_IT)
    at = next(after, len(closed.tasks))
    return replace(closed, tasks=(*closed.tasks[:at], *tasks, *closed.tasks[at:]))


def _set_back_first(machine: model.Machine, closed: Closing, was: Undone) -> tuple[Task, ...]:
    """The controls that go back before anything is shaken, for which all but what lies behind covers is at rest."""
    back = dict(was.moved).keys() - machine.inside.keys()
    return tuple(one for one in closed.tasks if one.kind == "setting" and one.at in back)


def _kind(shaken: Shaken, said: str) -> str:
    return tasks_said.NOTE if said in shaken.notes else "provoke"


def left_open(guided: Guided, names: Sequence[str], proof: ProofRun) -> tuple[str, ...]:
    """What the owner said and none of these proved repairs explains, and whether the proof run could show it: in
    words, for the end of the job."""
    looked = {one.step.at for one in proof.checks if one.seen}
    return tuple(
        f"The owner also said: {said(guided.machine, one)}. {NOT_AGAIN if one.what in looked else STILL_OPEN}"
        for one in unexplained(guided, names)
    )


NOT_AGAIN = "That was not seen again; it may come and go: tell the owner."
STILL_OPEN = "Nothing here could show that, so it is still open: tell the owner."

# ---- the proof run ------------------------------------------------------------------------------------------


def run(guided: Guided, repairs: Sequence[Repair], shaken: Shaken, read: Sequence[Step]) -> ProofRun:
    """What must be seen once these repairs are made and the machine runs again, after what is shaken and `read` to the
    frame."""
    names = {one.name for one in repairs} | guided.made
    refused = guiding.not_done_after(guided, repairs) | ({NoPower()} if is_unread(guided, repairs, read) else set())
    before = (*(step for _, step, _ in shaken.done if step), *read)
    made = proof_run.of_repairs(guided.bench, names, guided.findings, refused=refused, before_power=before)
    lacks = is_unread(guided, repairs, read) and not refusals.measures(guided.refused)
    return replace(made, unmeasured=lacks and not made.ran)


class Awaited(NamedTuple):
    """Repairs that were made and not tried, for want of what is there now: how the power comes back, and the proof run
    that is left."""

    names: tuple[str, ...]
    closed: Closing
    proof: ProofRun


def awaited(guided: Guided) -> Awaited | None:
    """The repairs that wait for their proof run alone (`stopping.awaits_proof`) and can be proved now: the ohms before
    the power can be read, and it may come back. None where there are none, or something else stands, or the job was not
    taken up again: who has just said that something was wrong goes on with the search."""
    found, again = guided.all_findings, any(isinstance(x, f.Resumed) for x in guided.findings)
    if not (again and stopping.awaits_proof(found)) or guided.in_danger or NoPower() in guided.refused:
        return None
    stands = replace(_repaired(guided, ()), refused=guided.refused)
    read = proof_run.to_frame(guided.bench, stands) if refusals.measures(guided.refused) else ()
    if not read:
        return None
    made = [x for x in found if isinstance(x, f.Tried)]
    last = max(n for n, x in enumerate(made) if n == 0 or made[n - 1].cured is not None)
    names = tuple(dict.fromkeys(x.repair for x in made[last:]))
    before = found[: next(n for n, x in enumerate(found) if x is made[last])]
    closed = left_closed.put_together(guided.bench, guided.weighed, guiding.undone(guided, ()), stands, "")
    run = proof_run.of_repairs(guided.bench, names, before, refused=guided.refused, before_power=read)
    return Awaited(names, closed, run)


def to_frame(guided: Guided, repairs: Sequence[Repair], shaken: Shaken) -> tuple[Step, ...]:
    """What is read to the frame before the power, where that is wanted."""
    if not wants_frame(guided, repairs):
        return ()
    return proof_run.to_frame(guided.bench, _before_closing(guided, repairs, shaken))


def is_unread(guided: Guided, repairs: Sequence[Repair], read: Sequence[Step]) -> bool:
    """Whether ohms to the frame keep the power off and cannot be `read` here after a repair, or the meter measures none
    where they are wanted: it stays off then."""
    lacks = bool(guided.machine.frame) and not refusals.measures(guided.refused)
    return not read and (guided.frame_bars or (lacks and wants_frame(guided, repairs)))


def wants_frame(guided: Guided, repairs: Sequence[Repair]) -> bool:
    """Whether the frame is proved off the supply before the power: where hands go to the machine, where something was
    wrong before the last repair was tried, where ohms to the frame keep the power off, and where what is reset at the
    panel may have tripped for a lead to the frame."""
    hands_in = any(handling.hands_in(guided.machine, one) for one in repairs)
    return hands_in or stopping.is_untried(guided.findings) or guided.frame_bars or _may_have_tripped(guided, repairs)


def _may_have_tripped(guided: Guided, repairs: Sequence[Repair]) -> bool:
    """Whether the power comes back with these repairs, made at the panel, to a machine that has not been read to the
    frame since (`plan/insulated`), or is open: where it was said to trip, and where hands were at it, for then it is
    read as after any other repair. One that stands as its owner left it is only tried."""
    was, found = guiding.undone(guided, repairs), guided.findings
    tripped = insulated.told_to_trip(guided.machine, (*guided.calling, *found))
    unplugged = was.isolated and was.measured  # for the wall alone: who reads no ohms has opened nothing by that
    if not was.panel or not (tripped or unplugged or was.inside):
        return False
    return bool(was.opened or was.lifted) or not insulated.measured(guided.bench.predictor, found)


def _before_closing(guided: Guided, repairs: Sequence[Repair], shaken: Shaken) -> JobState:
    """How the machine stands once these are made and what comes and goes was shaken, dead and open."""
    state = _repaired(guided, repairs)
    opened = state.open_bays | set(shaken.opened)
    return replace(state, open_bays=opened, refused=state.refused - {CannotOpen(bay) for bay in opened})


def _repaired(guided: Guided, repairs: Sequence[Repair]) -> JobState:
    """How the machine stands once these are made, dead and open."""
    state = advising.standing(guided.asked, guided.findings, guided.refused)
    for one in repairs:
        if handling.hands_in(guided.machine, one):
            state = taken.under_repair(guided.machine, state, one)
    return replace(state, done=frozenset())
