"""Of steps that are nearly as good, what a person reads safely comes first: 0 against OL before 9.6 against 10.4."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from halfsplit.evidence import findings_file
from halfsplit.evidence.slips import SLIP
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import score
from halfsplit.plan.score import GLANCE, NEARLY, Scored
from halfsplit.plan.setups import Setups
from halfsplit.work.refusals import NoOwner
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser, bench

NO_OWNER = JobState(refused=frozenset({NoOwner()}))
"""So that readings are looked at, and not questions first."""
MACHINES = ("refrigerator", "vented-dryer")
COMPLAINTS = {
    "refrigerator": "- symptom: {what: food is cold, value: no}\n",
    "vented-dryer": "- symptom: {what: air is warm, value: no}\n",
}


def _weighed(name: str, text: str = "") -> Weighed:
    told = COMPLAINTS[name] + text
    return bench(name).weigh(findings_file.read(told, "findings.yaml", bench(name).machine), with_pairs=False)


def _fine_and_coarse(asked: score.Adviser, weighed: Weighed) -> tuple[Scored, Scored]:
    """Two dead readings: of one a glance takes in least, of the other most, of what it tells."""
    found = [
        one
        for one in asked.next_steps(weighed, NO_OWNER, 60)
        if one.step.kind == "reading" and not one.step.odd and not one.step.live and not one.setup
    ]
    share = [asked._at_a_glance(weighed, one) / one.rate for one in found]
    return found[int(np.argmin(share))], found[int(np.argmax(share))]


@pytest.mark.parametrize("name", MACHINES)
def test_the_coarse_one_leads_only_where_it_is_nearly_as_good(name: str) -> None:
    """At the same price and nearly the same bits the safe reading leads; where it tells a fifth less it does not."""
    asked, weighed = adviser(name), _weighed(name)
    fine, coarse = _fine_and_coarse(asked, weighed)
    assert asked._at_a_glance(weighed, fine) / fine.rate < asked._at_a_glance(weighed, coarse) / coarse.rate
    better = replace(fine, extra=1.0, cost=coarse.cost)
    for share, first in (((1 + NEARLY) / 2, coarse.step), (NEARLY - 0.1, fine.step)):
        nearly = replace(coarse, extra=coarse.bits / (share * better.rate))
        assert nearly.rate == pytest.approx(share * better.rate)
        assert asked.in_order(weighed, NO_OWNER, [better, nearly])[0].step == first


@pytest.mark.parametrize("name", MACHINES)
def test_who_leads_is_nearly_the_best(name: str) -> None:
    """All steps stay, and before danger is looked at none leads that tells much less a minute than the best."""
    asked, weighed = Setups(bench(name), adviser(name).table), _weighed(name)
    steps = [one for one in asked.next_steps(weighed, NO_OWNER, 60) if not one.step.live]
    ordered = asked.in_order(weighed, NO_OWNER, steps)
    assert {one.step for one in ordered} == {one.step for one in steps}
    best = max(one.rate for one in steps)
    assert ordered[0].rate >= NEARLY * best
    near = [asked._at_a_glance(weighed, one) for one in steps if one.rate >= NEARLY * best]
    assert asked._at_a_glance(weighed, ordered[0]) == pytest.approx(max(near))


@pytest.mark.parametrize("name", MACHINES)
def test_a_glance_against_cells_added_up(name: str) -> None:
    """What a glance takes in, against mutual information with a spread that much wider, cell by cell."""
    asked, weighed = adviser(name), _weighed(name)
    fine, _ = _fine_and_coarse(asked, weighed)
    assert fine.step.probe is not None
    assert fine.step.condition is not None
    slow = weighed.predictor.reading(fine.step.probe, fine.step.condition)
    spread = np.sqrt((slow.jacobian**2).sum(axis=1) + slow.noise**2 + GLANCE**2)
    edges = np.linspace(slow.mean.min() - 2, slow.mean.max() + 2, 900)
    below = norm.cdf(edges[None], slow.mean[:, None], spread[:, None])
    number = np.diff(below, axis=1, prepend=0.0, append=1.0) * (1 - slow.over[:, None])
    shown = np.concatenate([number, slow.over[:, None]], axis=1)
    acting = weighed.candidates.acting_when(fine.step.condition.provoke)[:, None]
    belief = weighed.posterior.probability / weighed.posterior.probability.sum()
    table = acting * shown + (1 - acting) * shown[:1]
    table = (1 - SLIP) * table + SLIP * (belief @ table)
    joint = np.array([belief[weighed.candidates.repair_of == r] @ table[weighed.candidates.repair_of == r]
                      for r in np.unique(weighed.candidates.repair_of)])  # fmt: skip
    h = [-(p[p > 0] * np.log2(p[p > 0])).sum() for p in (joint.sum(axis=1), joint.sum(axis=0), joint)]
    told = asked._at_a_glance(weighed, fine) / fine.rate * fine.bits
    assert told == pytest.approx(h[0] + h[1] - h[2], abs=0.05)
    assert told < fine.bits
