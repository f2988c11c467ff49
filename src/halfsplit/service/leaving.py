"""When the work ends though nothing is dangerous and it is ours: it costs too much, or the complaint does not show.

Knows what is believed and what repairs cost; says nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.plan import fitting, pricing
from halfsplit.work import prices
from halfsplit.work.state import JobState

NOT_WORTH_IT, NOT_REPRODUCED = "not worth it", fitting.NOT_REPRODUCED
TOO_DEAR = 0.9
"""Probability that what is due costs too much from which the work is not worth it."""
PASSED_OVER = frozenset({NOT_WORTH_IT, NOT_REPRODUCED})
"""The rules of `work.hazards.STOPS` that a person may pass over: nothing is dangerous, and the work is ours."""


@dataclass(frozen=True)
class Limits:
    """What the owner would spend at most on a repair, in the machine's currency (None: whatever it costs), and the
    rules in spite of which the person goes on."""

    worth: float | None = None
    anyway: frozenset[str] = frozenset()


WHATEVER = Limits()
"""Whatever it costs, and every rule holds."""


def costs(bench: Bench, names: Sequence[str]) -> float:
    """What a set of repairs costs its owner, in the machine's currency: parts, and the work with opening, closing and
    trying. What finding out has taken is spent, whatever is decided.

    >>> from halfsplit.machine import loading
    >>> bench = Bench(loading.load("water-heater"))
    >>> round(costs(bench, ["replace upper element"]))
    114
    """
    repairs, hourly = [bench.repairs[name] for name in names], bench.machine.handwork.hourly
    work = pricing.repair_cost(bench.machine, JobState(), *repairs).minutes
    return sum(one.price for one in repairs) + (work + prices.PROOF) * hourly / 60.0


def is_worth_it(bench: Bench, names: Sequence[str], limits: Limits) -> bool:
    """Whether repairs cost no more than the owner would spend, or the person goes on all the same."""
    return limits.worth is None or NOT_WORTH_IT in limits.anyway or costs(bench, names) <= limits.worth


def too_dear(bench: Bench, weighed: Weighed, limits: Limits) -> tuple[str, ...]:
    """The likeliest repairs where it is sure enough that whatever is due costs more than it is worth; else none.

    Which of the dear repairs it is need not be known for that.
    """
    dear = {names: p for names, p in weighed.by_repair.items() if names and not is_worth_it(bench, names, limits)}
    return max(dear, key=dear.__getitem__) if sum(dear.values()) >= TOO_DEAR else ()


def does_not_show(weighed: Weighed, limits: Limits) -> bool:
    """Whether the complaint does not show, nor anything else that is wrong, and no repair is sure enough."""
    return asks_to_see(limits) and fitting.does_not_show(weighed)


def asks_to_see(limits: Limits) -> bool:
    """Whether the complaint is to be seen before an unsure repair: unless the person goes on although it does not."""
    return NOT_REPRODUCED not in limits.anyway
