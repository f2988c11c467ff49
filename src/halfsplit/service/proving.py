"""The proof run in sentences: what is shaken before the covers close, insulation before the power, what must be seen.

Knows the guided diagnosis and `plan/proof`; of what must be seen, `service/closing`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.modes.fault import Repair
from halfsplit.plan import proof, taken
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.service import advising, closing, naming, wording
from halfsplit.service.guiding import Guided
from halfsplit.work import together
from halfsplit.work.state import JobState, to_open
from halfsplit.work.together import Closing, Task

LAST = ("earth", "power")
"""Tasks of the closing list that come after all that is measured at the plug."""


def sentences(guided: Guided) -> tuple[str, ...]:
    """What must be seen once the machine runs again."""
    return closing.proof_run(guided.weighed.predictor, guided.findings)


# ---- before the covers close --------------------------------------------------------------------------------


def before_closing(guided: Guided, repairs: Sequence[Repair]) -> tuple[str, ...]:
    """What the owner complained of and these repairs most probably do not explain: what would, and comes and goes, is
    provoked while the machine is dead. Nothing where no hand goes to the machine."""
    if not _hands_in(guided, repairs):
        return ()
    names = [one.name for one in repairs]
    left = [x for x in well.complaints(guided.bench.predictor, guided.findings)
            if not proof.explained(guided.weighed, x, names)]  # fmt: skip
    return tuple(sentence for one in left for sentence in _provoked(guided, one, _repaired(guided, repairs)))


def _provoked(guided: Guided, one: f.Perceived, state: JobState) -> Iterator[str]:
    asked = guided.machine.symptoms[one.what].question or one.what
    yield f"No repair explains what the owner said: {asked} {'yes' if one.there else 'no'}."
    believed = proof.come_and_go(guided.bench, one.what)
    least = proof.LEFT_IN * believed.sum()
    while believed.sum() > least and (found := guided.asked.brings_out(believed, state)):
        step, believed = found
        bays = bays_needed(guided.machine, step)
        yield f"{wording.sentence(guided.bench.predictor, state, step, bays)} It must stay steady."
        state = taken.after(guided.machine, state, step)
    off = state.condition.lift if state.condition else ()
    yield from (naming.told(guided.machine, back) for back in wording.wires_back(guided.machine, off))


# ---- before the power ---------------------------------------------------------------------------------------


def insulated(guided: Guided, repairs: Sequence[Repair], closed: Closing) -> Closing:
    """The closing list with ohms to the frame from each conductor of the supply: at the plug once the covers are
    closed, at terminals inside while they are open. What would have to be opened for that is left. Its minutes are the
    proof run's (`work/prices.PROOF`)."""
    if not _hands_in(guided, repairs):
        return closed
    machine, state = guided.machine, _repaired(guided, repairs)
    found = [step for step in proof.insulation(guided.bench, state) if not to_open(machine, state, _bays(guided, step))]
    if not found:
        return closed
    inside = any(_bays(guided, step) for step in found)
    before = [place for place, task in enumerate(closed.tasks) if task.kind in (("cover",) if inside else LAST)]
    at = before[0] if before else len(closed.tasks)
    return replace(closed, tasks=(*closed.tasks[:at], _insulation(guided, found), *closed.tasks[at:]))


def _insulation(guided: Guided, found: Sequence[Step]) -> Task:
    probes = [step.probe for step in found if step.probe]
    reds = [naming.place(guided.machine, probe.red) for probe in probes]
    return Task("insulation", " and ".join(reds), to=naming.place(guided.machine, probes[0].black))


def _bays(guided: Guided, step: Step) -> tuple[str, ...]:
    return bays_needed(guided.machine, step)


def _hands_in(guided: Guided, repairs: Sequence[Repair]) -> bool:
    return any(together.hands_in(guided.machine, one) for one in repairs)


def _repaired(guided: Guided, repairs: Sequence[Repair]) -> JobState:
    """How the machine stands once these are made, dead and open."""
    state = advising.standing(guided.asked, guided.findings, guided.refused)
    for one in repairs:
        if together.hands_in(guided.machine, one):
            state = taken.under_repair(guided.machine, state, one)
    return replace(state, done=frozenset())
