"""The proof run in sentences: insulation before the power, what must be seen, and what is left to be provoked.

Knows the guided diagnosis and `plan/proof`; of what must be seen, `service/closing`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.modes.fault import Repair
from halfsplit.plan import proof
from halfsplit.service import advising, closing, wording
from halfsplit.service.guiding import Guided
from halfsplit.work import together

MOST = 0.75
"""Share of what would explain a complaint, and comes and goes, that is provoked."""
MOST_WAYS = 3


def sentences(guided: Guided, repairs: Sequence[Repair]) -> tuple[str, ...]:
    """The whole proof run of these repairs, in order. Of work that is another trade's, or of a setting, only what must
    be seen."""
    seen = closing.proof_run(guided.weighed.predictor, guided.findings)
    if not any(together.hands_in(guided.machine, one) for one in repairs):
        return seen
    return (*_insulation(guided), *seen, *_unexplained(guided, [one.name for one in repairs]))


def _insulation(guided: Guided) -> Iterator[str]:
    """Ohms to the frame from each conductor, the machine dead and set as it is used."""
    state = advising.standing(guided.asked, guided.findings)
    for step in proof.insulation(guided.bench, state):
        assert step.probe is not None
        ends = (wording.place(guided.machine, end) for end in (step.probe.red, step.probe.black))
        yield f"Before the power, set as in use: ohms from {' to '.join(ends)}. It must be OL."


def _unexplained(guided: Guided, repairs: Sequence[str]) -> Iterator[str]:
    """What the owner complained of and what is repaired most probably did not show."""
    for one in well.complaints(guided.bench.predictor, guided.findings):
        if not proof.explained(guided.weighed, one, repairs):
            yield _provoked(guided, one)


def _provoked(guided: Guided, one: f.Perceived) -> str:
    asked = guided.machine.symptoms[one.what].question or one.what
    said = f"No repair explains what the owner said: {asked} {'yes' if one.there else 'no'}."
    ways = _ways(guided, one.what)
    if not ways:
        return f"{said} Try it once more."
    how = " ".join(wording.provoking(way) for way in ways)
    return f"{said} Isolated and proved dead, the meter at ohms and clipped on: {how} The reading must stay."


def _ways(guided: Guided, what: str) -> list[str]:
    """What is shaken, heated or turned, likeliest to bring out most of what would explain a complaint first."""
    known, believed = guided.bench.singles, proof.come_and_go(guided.bench, what)
    left, chosen = believed.copy(), list[str]()
    answers = {
        way: np.array([any(way in known.faults[i].provoked for i in v.faults) for v in known.variants])
        for way in dict.fromkeys(way for s in np.flatnonzero(believed) for way in _provoked_by(guided, int(s)))
    }
    while answers and len(chosen) < MOST_WAYS and left.sum() > (1 - MOST) * believed.sum():
        best = max(answers, key=lambda way: float(left @ answers[way]))
        chosen.append(best)
        left = np.where(answers.pop(best), 0.0, left)
    return chosen


def _provoked_by(guided: Guided, row: int) -> tuple[str, ...]:
    known = guided.bench.singles
    return tuple(way for i in known.variants[row].faults for way in known.faults[i].provoked)
