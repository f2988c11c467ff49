"""The whole plan of a job as a tree: each outcome of a step and what follows, to a repair, handing over or a stop.

Knows steps, outcomes and a rule that says what is due after some findings; does not know how the rule decides. An
outcome is followed by putting it among the findings, a range as a range, and asking the rule anew, the likeliest branch
first, so that a budget is spent where the job is likeliest to go.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import shown
from halfsplit.plan.shown import Outcome
from halfsplit.plan.steps import Step

LEAST = 0.02
"""A branch is followed where the job comes there with at least this probability, unless said otherwise."""
BUDGET = 150
"""So many boxes at most, unless said otherwise."""
MOST_MADE = 3
"""So many times the boxes that are kept are made at most: those that lead nowhere are taken out. Halfsplit's choice."""
APART = 1.0
"""Standard deviations each way that part ranges: finer than where a person is told what a reading may show
(`shown.APART`), since there the number itself is weighed once known, and here the range is all that is. With 2, as
there, the refrigerator's loop through the plug showed one range whether the starter was open or not, and 0.35 of its
jobs were cured instead of 0.80 (300 followed). Halfsplit's choice."""

Told = TypeVar("Told")


@dataclass(frozen=True, eq=False)
class Due(Generic[Told]):
    """What is due: a step, or else repairs, or neither: the job ends here. `told` is the rule's own, for the words.
    `cut`: none of them, though a step would still pay: the tree has no more room for it."""

    step: Step | None
    repairs: tuple[str, ...]
    weighed: Weighed
    told: Told
    cut: bool = False

    @property
    def cures(self) -> float:
        """Probability that the repairs due cure; 0 where none are."""
        return self.weighed.cures(self.repairs) if self.repairs else 0.0


@dataclass(frozen=True, eq=False)
class Way(Generic[Told]):
    """An outcome of a step; `then` is None where it is too improbable to be followed, the budget was spent, or where it
    leads to is no end: each outcome of the next step leaves the tree."""

    outcome: Outcome
    then: Box[Told] | None


@dataclass(frozen=True, eq=False)
class Box(Generic[Told]):
    """One box of the plan: its number, the probability that the job comes here, what is due, and what follows."""

    number: int
    reached: float
    findings: tuple[f.Finding, ...]
    due: Due[Told]
    ways: tuple[Way[Told], ...] = ()

    @property
    def something_else(self) -> float:
        """Probability, in this box, of an outcome that is none of those listed."""
        return max(1 - sum(way.outcome.probability for way in self.ways), 0.0) if self.ways else 0.0

    def walk(self) -> Iterator[Box[Told]]:
        """This box and all that follow, by number."""
        yield self
        for way in self.ways:
            if way.then:
                yield from way.then.walk()


Rule = Callable[[tuple[f.Finding, ...]], Due[Told]]


@dataclass(eq=False)
class _Open(Generic[Told]):
    """A box while the tree grows."""

    reached: float
    findings: tuple[f.Finding, ...]
    due: Due[Told]
    outcomes: tuple[Outcome, ...]
    then: dict[int, _Open[Told]]


def plan(
    rule: Rule[Told],
    findings: Sequence[f.Finding],
    least: float = LEAST,
    budget: int = BUDGET,
    progress: Callable[[int], None] | None = None,
) -> Box[Told]:
    """The tree from these findings. least: 0..1; budget: boxes that lead on, at least 1. `progress` is told how many
    there are."""
    root = _opened(rule, tuple(findings), 1.0)
    waiting = [(-reached, number, root, place) for number, (reached, place) in enumerate(_branches(root, least))]
    heapq.heapify(waiting)
    made, kept, numbered = 1, 1, len(waiting)
    while waiting and kept < budget and made < MOST_MADE * budget:
        negative, _, parent, place = heapq.heappop(waiting)
        found = (*parent.findings, parent.outcomes[place].finding)
        parent.then[place] = child = _opened(rule, found, -negative)
        made += 1
        if (leading := _leading_on(root)) > budget:  # the row of boxes to this end is too long for what is left
            del parent.then[place]
            continue
        kept = max(kept, leading)
        if progress:
            progress(kept)
        for reached, after in _branches(child, least):
            heapq.heappush(waiting, (-reached, numbered, child, after))
            numbered += 1
    _prune(root)
    return _numbered(root, 1)


def _leading_on(box: _Open[Told]) -> int:
    """How many boxes there are, this one among them, that lead on; 0 where it leads nowhere."""
    after = sum(map(_leading_on, box.then.values()))
    ends = box.due.step is None and not box.due.cut
    return after + 1 if after or ends else 0


def _prune(box: _Open[Told]) -> None:
    """Takes out the boxes that lead on nowhere: a step that tells nothing that is written down is not worth its
    minutes."""
    box.then = {place: child for place, child in box.then.items() if _leading_on(child)}
    for child in box.then.values():
        _prune(child)


def _opened(rule: Rule[Told], findings: tuple[f.Finding, ...], reached: float) -> _Open[Told]:
    due = rule(findings)
    found = shown.outcomes(due.weighed, due.step, APART) if due.step else ()
    return _Open(reached, findings, due, found, {})


def _branches(box: _Open[Told], least: float) -> Iterator[tuple[float, int]]:
    """The outcomes that are likely enough to be followed, and how likely the job is to come there."""
    for place, outcome in enumerate(box.outcomes):
        if box.reached * outcome.probability >= least:
            yield box.reached * outcome.probability, place


def _numbered(box: _Open[Told], number: int) -> Box[Told]:
    """The tree with its boxes numbered in the order in which they are read: a branch to its end, then the next."""
    following = number + 1
    ways = []
    for place, outcome in enumerate(box.outcomes):
        then = _numbered(box.then[place], following) if place in box.then else None
        following += sum(1 for _ in then.walk()) if then else 0
        ways.append(Way(outcome, then))
    return Box(number, box.reached, box.findings, box.due, tuple(ways))


# ---- what the tree claims ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Claim:
    """How jobs that follow the tree end: in a repair that cures, in one that does not, handed over or stopped at a
    leaf, or off the tree. They sum to 1."""

    cured: float
    wrong: float
    handed_over: float
    off_the_tree: float


def claim(root: Box[Told]) -> Claim:
    """What the tree claims of itself."""
    ends = [box for box in root.walk() if not box.ways]
    cured = sum(box.reached * box.due.cures for box in ends)
    repaired = sum(box.reached for box in ends if box.due.repairs)
    handed = sum(box.reached for box in ends if not box.due.repairs)
    return Claim(cured, repaired - cured, handed, max(1 - repaired - handed, 0.0))
