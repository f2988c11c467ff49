"""A fixed order of steps, as some repairers go through a machine, for rehearsals to be compared with the plan.

An order is written as findings are, without what was found. Each step stands for itself: what it leaves out is taken
from the machine's rest and not from the step before; once a bay is open that leaves a warmth, dead readings are at it.
It says in which order things are found out; when enough is known is the same rule as for everybody else
(`plan/fitting`). Knows the grammar of findings and the steps; scores nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from halfsplit.errors import BadInput, Problem
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.evidence.weighing import Weighed
from halfsplit.machine import model, tree
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import barring, fitting, powering, pricing, score, steps
from halfsplit.plan.steps import Step
from halfsplit.rehearse.play import Choice, Choose, seen_first
from halfsplit.work.state import JobState

PLACEHOLDERS = {"reading": ("value", "OL"), "look": ("sees", f.FINE), "symptom": ("value", "yes")}
"""What stands for the part of a finding that an order does not say."""

FILE = tree.Kind("an order file", "Begin each step with - reading:, - look: or - symptom:.")
NO_STEP = {
    f.Tried: "A repair is no step to find out by.",
    f.Closed: "To put the machine together is no step to find out by.",
    f.Cannot: "What cannot be done is no step to find out by.",
    f.TakenBack: "What was taken back, or set aside, is no step to find out by.",
}


def read(text: str, file: str, machine: model.Machine) -> tuple[Step, ...]:
    """The steps of a text, in their order. Raises BadInput with every problem, each with its line and column."""
    root = tree.compose(text, file, FILE) if text.strip() else tree.Node(tree.Spot(file, 1, 1), "")
    if not isinstance(root.value, list) or not root.value:
        raise BadInput([root.spot.problem("An order is a list of steps.", FILE.begins)])
    made: list[Step] = []
    problems: list[Problem] = []
    looks: list[tree.Node] = []
    for node in map(_completed, root.value):
        try:
            made += _steps(node, looks, machine)
            looks += [node] if made[-1].kind == "look" else []
        except BadInput as bad:
            problems += bad.problems
    if problems:
        raise BadInput(problems)
    return tuple(_as_opened(made, machine))


def _as_opened(made: Sequence[Step], machine: model.Machine) -> Iterator[Step]:
    """The steps, dead readings at the warmth that a bay which an earlier one has open leaves."""
    opened: set[str] = set()
    for step in made:
        opened |= set(steps.bays_needed(machine, step))
        left = machine.warmth_behind(opened)
        dead = step.kind == "reading" and step.condition is not None and step.condition.isolated
        yield replace(step, condition=conditions.at_warmth(step.condition, left)) if dead and step.condition else step


def _steps(node: tree.Node, looks: Sequence[tree.Node], machine: model.Machine) -> Iterator[Step]:
    """The one step of a node; looks: those before it, of which one may be the first of a close look."""
    for found in findings_file.of_tree(tree.Node(node.spot, [*looks, node]), machine)[len(looks) :]:
        step = _as_step(found, machine)
        if step is None:
            raise BadInput([node.spot.problem(NO_STEP[type(found)], "Leave it out.")])
        if not powering.possible(machine, step):
            message = "The machine cannot run while this place is open."
            raise BadInput([node.spot.problem(message, "Measure it with the machine isolated.")])
        yield step


def _completed(node: tree.Node) -> tree.Node:
    """The node with a placeholder for what was found; whatever is wrong with it is left for others to tell."""
    if not isinstance(node.value, dict) or len(node.value) != 1:
        return node
    (kind, inner), *_ = node.value.items()
    if kind not in PLACEHOLDERS or not isinstance(inner.value, dict):
        return node
    key, value = PLACEHOLDERS[kind]
    full = replace(inner, value=inner.value | {key: tree.Node(inner.spot, value)})
    return replace(node, value={kind: full})


def _as_step(found: f.Finding, machine: model.Machine) -> Step | None:
    """The step that would give a finding; a symptom of unstated setting is looked for where it is usually met."""
    match found:
        case f.Perceived(what=what, condition=at) if at is None or machine.symptoms[what].unpowered:
            known = (step for step in steps.symptom_steps(machine) if step.at == what)
            return next(known, Step("symptom", steps.met_in(machine, machine.symptoms[what]), at=what))
        case f.Perceived(what=what, condition=Condition() as at):
            return Step("symptom", at, at=what)
    return steps.of_finding(found)


def followed(adviser: score.Adviser, order: Sequence[Step]) -> Choose:
    """Chooses the next step of an order that can be done, whatever it can still tell; None at its end, and where the
    best step of all does not pay any more, as for who is advised: then the complaint, where it is to be seen first.
    What was refused is passed over, and so is power while water stands on the floor."""
    machine = adviser.bench.machine

    def choose(weighed: Weighed, state: JobState) -> Choice | None:
        due = (one for one in order if one not in state.done | state.refused)
        left = (one for one in due if not barring.is_refused(machine, state, one))
        step = next((one for one in left if fitting.fits(adviser, weighed.findings, one)), None)
        if step is None or fitting.paying(adviser, weighed, state) is None:
            return seen_first(adviser, weighed, state)
        return step, pricing.cost_of(machine, state, step)

    return choose
