"""Readings between any two places: all are weighed, few are advised, and those are as the predictor says."""

from __future__ import annotations

from itertools import combinations, groupby

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file, outcome
from halfsplit.evidence.weighing import Weighed
from halfsplit.operate import condition as conditions
from halfsplit.plan import leads, odd, pricing, score, steps, table, worth
from halfsplit.plan.odd import OddSteps
from halfsplit.plan.score import Adviser
from halfsplit.service import advising, naming
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser, bench

each_machine = pytest.mark.parametrize("name", NAMES)


@each_machine
def test_every_pair_is_offered_in_every_setting_once(name: str) -> None:
    """Trusted and odd steps together are all pairs of reachable terminals in all conditions, none twice."""
    machine = bench(name).machine
    strange = odd.odd_steps(machine)
    inside = {t for part in leads.own_parts(machine) for t in leads.reachable(machine, part)}
    everywhere = inside | set(leads.prongs(machine))
    found = {(step.condition, frozenset(step.places)) for step in map(strange.step, range(len(strange)))}
    assert len(found) == len(strange)
    trusted = {frozenset(pair) for pair in leads.trusted_pairs(machine)}
    for settings, reach, isolated in (
        (steps.dead_settings(machine), everywhere, True),
        (conditions.live_settings(machine), inside, False),
    ):
        for setting in settings:
            at = next(c for c in strange.conditions if c.setting == setting and c.isolated == isolated)
            pairs = {pair for where, pair in found if where == at}
            offered = {frozenset(p) for p in combinations(sorted(reach), 2)} - trusted
            assert pairs == {pair for pair in offered if steps.reached_at(machine, setting, pair)}


@pytest.mark.parametrize("name", [name for name in NAMES if "dryer" not in name])
def test_the_table_keeps_one_of_each_kind(name: str) -> None:
    """Every odd step that tells anything shows the same, at the same places, as just one step that was kept."""
    asked = adviser(name)
    kept = _keys(asked, asked.table.odd)
    usual = {
        (asked.table.outcomes.codes[k].tobytes(), frozenset(steps.bays_needed(asked.bench.machine, step)), step.live)
        for k, step in enumerate(asked.table.steps)
        if step.condition and not step.condition.provoke and not step.condition.lift
    }
    assert len(kept) == len(set(kept)) == len(asked.table.odd)
    assert not usual & set(kept)
    every = set(_keys(asked, odd.odd_steps(asked.bench.machine)))
    assert every - usual == set(kept)


def _keys(asked: Adviser, some: OddSteps) -> list[tuple[bytes, frozenset[str], bool]]:
    """Codes, places and danger of the odd steps that tell anything, worked out anew, a condition at a time."""
    found = []
    for _, group in groupby(map(some.step, range(len(some))), key=lambda step: step.condition):
        members = list(group)
        made = table.outcomes_of(asked.bench.predictor, *members).codes
        for step, codes in zip(members, made, strict=True):
            if (codes != codes[0]).any():
                found.append((codes.tobytes(), frozenset(steps.bays_needed(asked.bench.machine, step)), step.live))
    return found


@each_machine
def test_bits_by_code_of_odd_steps_against_counting(name: str) -> None:
    """The partition scores an odd step as its codes do, worked out anew and counted plainly."""
    asked = adviser(name)
    prior = asked.bench.singles.prior / asked.bench.singles.prior.sum()
    scores = asked.table.partition.score(prior)[len(asked.table.steps) :]
    assert len(scores) == len(asked.table.odd)
    for number in np.random.default_rng(5).choice(len(scores), 25, replace=False).tolist():
        codes = table.outcomes_of(asked.bench.predictor, asked.table.odd.step(number)).codes[0]
        sure = np.eye(256)[codes.astype(int) + 128]
        plain = outcome.information(prior, asked.bench.singles.repair_of, sure)
        assert scores[number] == pytest.approx(plain, abs=1e-9)


def _weighed(name: str, told: int) -> Weighed:
    machine = bench(name).machine
    at = conditions.usual(machine)
    found = [f.Perceived(what, bool(n % 2), at) for n, what in enumerate(list(machine.symptoms)[: told + 1])]
    return bench(name).weigh(found, with_pairs=False)


def _times_better(best: list[score.Scored]) -> float:
    """How many times what the best trusted step of these tells a minute the first one tells."""
    rates = [one.bits / max(one.extra, worth.LEAST_MINUTES) for one in best]
    return rates[0] / max(rate for rate, one in zip(rates, best, strict=True) if not one.step.odd)


@pytest.mark.parametrize("name", ["refrigerator", "water-heater"])
@pytest.mark.parametrize("told", range(3))
def test_an_odd_step_leads_only_where_it_tells_twice_as_much(name: str, told: int) -> None:
    """The best steps set aside one after another, a trusted one is advised until none is left that tells half as much a
    minute as the odd one that comes then."""
    asked, weighed = adviser(name), _weighed(name, told)
    aside: frozenset[object] = frozenset()
    while not (best := asked.next_steps(weighed, JobState(refused=aside), 40))[0].step.odd:
        aside |= {best[0].step}
    assert aside
    assert _times_better(best) >= score.ODD_MUST_BE_BETTER


BURNT_SOMEWHERE = """
- symptom: {what: keeps free of ice, value: no, by: owner}
- reading: {meter: ohms, red: defrost timer.2, black: defrost timer.3, set: {door: open}, isolated: yes, value: OL}
- reading: {meter: ohms, red: terminator.1, black: terminator.2, set: {defrost: defrost, door: shut, warmth: warm},
    isolated: yes, value: OL}
- reading: {meter: ohms, red: terminator.2, black: defrost heater.1, isolated: yes, value: 0.4 ohm}
- look: {at: defrost heater.2, sees: fine}
- look: {at: defrost timer.2, sees: fine}
- look: {at: terminator.1, sees: fine}
- reading: {meter: ohms, red: defrost timer.2, black: terminator.1, isolated: yes, value: 0.5 ohm}
- reading: {meter: ohms, red: defrost heater.1, black: defrost heater.2, isolated: yes, value: 32.0 ohm}
- reading: {meter: ohms, red: defrost timer.4, black: defrost timer.2, isolated: yes, value: 3.354 kohm}
"""
"""Of a rehearsed job: each part of the defrost circuit reads whole by itself, and the whole of it does not."""


@pytest.mark.parametrize("there", [False, True], ids=["as it was left", "in the middle of the job"])
def test_an_odd_step_leads_in_a_job(there: bool) -> None:
    """With nothing set aside, where the readings on trusted pairs leave a joint between them."""
    asked = adviser("refrigerator")
    findings = findings_file.read(BURNT_SOMEWHERE, "x", asked.bench.machine)
    state = advising.standing(asked, findings) if there else JobState()
    best = asked.next_steps(asked.bench.weigh(findings, with_pairs=False), state, 40)
    assert best[0].step.odd
    assert _times_better(best) >= score.ODD_MUST_BE_BETTER


def test_where_nothing_else_tells_an_odd_step_is_advised() -> None:
    """With every trusted step set aside, odd ones come; set aside too, they do not come again."""
    asked = adviser("water-heater")
    weighed = _weighed("water-heater", 0)
    aside = frozenset(asked.table.steps)
    found = asked.next_steps(weighed, JobState(refused=aside), 2)
    assert found
    assert all(one.step.odd for one in found)
    again = asked.next_steps(weighed, JobState(refused=aside | {one.step for one in found}), 2)
    assert not {one.step for one in again} & {one.step for one in found}


@each_machine
def test_any_odd_step_can_be_advised_like_the_others(name: str) -> None:
    """Chosen by its own number, it is told, priced as the plan prices it, and said to be odd; what is none is not."""
    asked, weighed = adviser(name), _weighed(name, 1)
    strange = asked.table.odd
    prices = asked.prices(weighed, JobState())
    for number in np.random.default_rng(3).choice(len(strange), 3, replace=False).tolist():
        step = strange.step(number)
        assert strange.number_of(step) == number
        told = advising.advice_for(asked, weighed, step)
        assert told.scored is not None
        assert (told.scored.cost, told.scored.extra) == prices.of(len(asked.table.steps) + number)
        assert advising.ODD in told.reason
        assert all(naming.place(asked.bench.machine, place) in told.text for place in step.places)
    with pytest.raises(KeyError):
        strange.number_of(asked.table.steps[0])


def test_the_rate_of_an_odd_step_counts_for_less() -> None:
    """Bits a minute, divided by how much better it must be."""
    asked = adviser("water-heater")
    step = asked.table.odd.step(0)
    cost = pricing.cost_of(asked.bench.machine, JobState(), step)
    assert score.Scored(step, 1.0, cost, 2.0).rate == pytest.approx(0.5 / score.ODD_MUST_BE_BETTER)
