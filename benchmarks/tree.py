"""The whole plan as a tree, and the exact cost of following any rule to the end.

Knows states and a rule that names the next action; does not know how the rule decides.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from benchmarks import branching
from halfsplit.plan import nodes
from halfsplit.plan.problem import Action, Problem
from halfsplit.plan.states import State

Rule = Callable[[State], Action]


@dataclass(frozen=True)
class Outcome:
    """What an action may show: its probability given the action, the outcome's number, and what follows;
    `then` is None when the machine works or the branch is too improbable to be drawn."""

    probability: float
    outcome: int
    works: bool
    then: Step | None


@dataclass(frozen=True)
class Step:
    """An action in the tree, its minutes here and what each outcome leads to."""

    action: Action
    minutes: float
    outcomes: tuple[Outcome, ...]

    def walk(self) -> Iterator[Step]:
        """This step and every later one, first to last."""
        yield self
        for outcome in self.outcomes:
            if outcome.then:
                yield from outcome.then.walk()

    def expected_minutes(self) -> float:
        """Expected cost of the tree as drawn; branches left out count nothing."""
        later = sum(o.probability * o.then.expected_minutes() for o in self.outcomes if o.then)
        return self.minutes + later


def drawn(problem: Problem, state: State, rule: Rule, least: float = 0.0, share: float = 1.0) -> Step:
    """The tree of a rule. `share`: the probability of being in this state at all."""
    action = rule(state)
    outcomes = []
    for branch in branching.branches(problem, state, action):
        reached = share * branch.probability
        follows = branch.state is not None and reached >= least
        then = drawn(problem, branch.state, rule, least, reached) if branch.state and follows else None
        outcomes.append(Outcome(branch.probability, branch.outcome, branch.state is None, then))
    return Step(action, branching.minutes(problem, state, action), tuple(outcomes))


class Followed(NamedTuple):
    """What a rule comes to: expected minutes to a proven repair, and the probability that the first repair is right."""

    minutes: float
    first_right: float


def followed(problem: Problem, state: State, rule: Rule) -> Followed:
    """A rule followed to its end in every branch: exact expectations, not samples."""
    known: dict[nodes.Key, Followed] = {}
    keys = nodes.Nodes(problem)

    def here(state: State) -> Followed:
        key = keys.root(state).key
        if key not in known:
            action = rule(state)
            after = branching.branches(problem, state, action)
            then = [(branch.probability, here(branch.state)) for branch in after if branch.state]
            minutes = branching.minutes(problem, state, action) + sum(chance * one.minutes for chance, one in then)
            right = sum(chance * one.first_right for chance, one in then)
            if action.kind == "repair":
                right = sum(branch.probability for branch in after if branch.state is None)
            known[key] = Followed(minutes, right)
        return known[key]

    return here(state)


def cost_of(problem: Problem, state: State, rule: Rule) -> float:
    """Exact expected cost [min] of following a rule until the machine works."""
    return followed(problem, state, rule).minutes
