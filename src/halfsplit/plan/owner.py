"""What the owner may still be asked on site, and how a question is weighed where faults come and go.

Knows questions as steps and what was told; chooses nothing. How often owners err stands with the predictions
(`predict/predictor`), what they told is weighed as their complaint is (`evidence/weigh`).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.evidence.well import unlike_the_healthy
from halfsplit.machine import model
from halfsplit.plan.steps import Step, questions
from halfsplit.predict.moments import Index, Way
from halfsplit.predict.predictor import Predictor


def perceives(machine: model.Machine) -> tuple[str, ...]:
    """The symptoms that an owner can perceive in his use of the machine, in the order of the file.

    >>> from halfsplit.machine import loading
    >>> fridge = loading.load("refrigerator")
    >>> [name for name in fridge.symptoms if name not in perceives(fridge)]
    ['frost melts in defrost', 'runs cold in defrost', 'heater stays on when thawed', 'timer moves']
    """
    return tuple(step.at for step in questions(machine))


def told(predictor: Predictor, offered: Iterable[Step], findings: Sequence[f.Finding]) -> frozenset[Step]:
    """The questions among the steps offered that need not be asked: what the owner has answered, with the complaint, on
    the phone or on site, and what the repairer has seen to be wrong in the setting that would be asked for. What they
    saw to be well may come and go, and its owner may know.

    What was told without a setting counts as told of the one that would be asked for.
    """
    wrong = (x for x in unlike_the_healthy(predictor, findings) if x.by == "repairer")
    answered = (x for x in findings if isinstance(x, f.Perceived) and x.by == "owner")
    said = {(x.what, x.condition) for x in (*answered, *wrong)}
    whats = {what for what, _ in said}
    asked = (step for step in offered if step.asks and step.at in whats)
    return frozenset(step for step in asked if not said.isdisjoint({(step.at, None), (step.at, step.met)}))


def setup(step: Step) -> Hashable:
    """Equal for steps in which the same variants show: of one condition, met or set up; symptoms by themselves."""
    return step.condition, step.met, step.kind == "symptom"


def moment(weighed: Weighed, step: Step) -> Hashable:
    """Equal for steps in which variants show in the same ways."""
    return setup(step) if step.asks else weighed.moment(step.condition, step.kind == "symptom")


def ways(weighed: Weighed, step: Step, of: Index | None = None) -> list[Way]:
    """The ways in which variants (rows; None: all) may show in a step: at the machine now, or to its owner in weeks."""
    if step.asks:
        assert step.met is not None
        return weighed.told(step.met, of)
    return weighed.moments(step.condition, of, step.kind == "symptom")
