"""Ways of working side by side: the same jobs for each, and figures that are what was played."""

from __future__ import annotations

from functools import cache

import pytest

from halfsplit.machine import loading
from halfsplit.plan import advise, ahead, options
from halfsplit.rehearse import compare, play, trials
from tests.rehearse import benches

QUICK = options.Limits(advise.BUDGET._replace(nodes=60, cut=0.1, trim=0.05, steps=4, order=2), exact_nodes=0)


@cache
def rehearsal() -> trials.Rehearsal:
    """Jobs on the smallest machine of the library."""
    machine = loading.load("water-heater")
    return trials.Rehearsal(benches.adviser("water-heater"), trials.Asked(machine, 5))


def test_the_same_way_twice_differs_in_nothing() -> None:
    """A way against itself takes the same minutes on every job."""
    one = play.as_advised(rehearsal().adviser)
    played = [compare.Figures.of(p) for p in trials.run(compare.Following(rehearsal(), one), 4)]
    again = [compare.Figures.of(p) for p in trials.run(compare.Following(rehearsal(), one), 3, first=1)]
    assert again == played[1:3]
    first, second = compare.compare({"once": played, "again": [played[0], *again]})
    assert (second.more, second.error) == (0.0, 0.0)
    assert (first.trials, second.trials) == (4, 3)
    assert first.right_low <= first.right_first <= first.right_high


def test_the_planner_is_followed() -> None:
    """Every job that the planner plays ends in a repair, with no unsafe step, and takes minutes."""
    asked = ahead.Ahead(rehearsal().adviser, QUICK)
    following = compare.Following(rehearsal(), play.as_advised(asked))
    played = list(trials.run(following, 4))
    assert all(p.repairs and p.minutes > 0 and not p.unsafe_steps for p in played)
    figures = [compare.Figures.of(p) for p in played]
    found = compare.compared("ahead", figures, figures)
    assert found.minutes == pytest.approx(sum(p.minutes for p in played) / 4)
    assert found.right_first == sum(p.right_first for p in played) / 4


def test_no_way_undercuts_the_fault_told_for_nothing() -> None:
    """Job by job, a first repair that is right took at least the minutes of that repair alone."""
    one = compare.Following(rehearsal(), play.as_advised(rehearsal().adviser))
    taken = [(one.trial(number), one.known(number)) for number in range(5)]
    right = [(p, known) for p, known in taken if p.right_first and p.fault.split(":")[0] in p.repairs[0]]
    assert right
    assert all(p.minutes >= known - 1e-9 for p, known in right)
    assert [*compare.told_for_nothing(rehearsal(), 5, first=2)] == [known for _, known in taken[2:]]


def test_what_is_handed_over_takes_nothing_once_it_is_known() -> None:
    """A compressor is another trade's: told for nothing, the job is over, and no way of working undercuts that."""
    machine = loading.load("refrigerator")
    asked = trials.Asked(machine, 5, fault="compressor: seized")
    adviser = benches.adviser("refrigerator")
    one = compare.Following(trials.Rehearsal(adviser, asked), play.as_advised(adviser))
    played = [one.trial(number) for number in range(2)]
    assert all(p.stopped and p.right_first for p in played)
    assert [one.known(number) for number in range(2)] == [0.0, 0.0]
