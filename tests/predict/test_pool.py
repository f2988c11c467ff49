"""Pairs whose predictions are kept show what pairs worked out anew show, in whatever order they were asked for."""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence import pairs
from halfsplit.evidence.weighing import Bench, Kept, Weighed
from halfsplit.machine import loading
from halfsplit.operate import condition as conditions
from halfsplit.plan import steps
from halfsplit.predict import pool
from halfsplit.predict.candidates import Variant, pair
from halfsplit.predict.pool import Pool
from halfsplit.predict.predictor import Predictor
from tests.rehearse.benches import bench

NAMES = ("water-heater", "coil-cooktop")


@cache
def both(name: str) -> tuple[Variant, ...]:
    """Two hundred drawn pairs of variants."""
    variants = bench(name).singles.variants
    drawn = np.random.default_rng(4).integers(1, len(variants), (400, 2)).tolist()
    found = [(a, b) for a, b in drawn if set(variants[a].faults).isdisjoint(variants[b].faults)]
    return tuple(pair(variants[a], variants[b]) for a, b in dict.fromkeys(found))[:200]


def same(name: str, made: Predictor, anew: Predictor, count: int = 25) -> None:
    """Every symptom, some looks and some steps of each kind show the same under all candidates."""
    machine = bench(name).machine
    for what in machine.symptoms:
        for by_owner in (True, False):
            at = conditions.usual(machine)
            np.testing.assert_allclose(made.symptom(what, at, by_owner), anew.symptom(what, at, by_owner), atol=1e-9)
    offered = [step for step in steps.steps(machine) if step.probe and step.condition and not step.condition.provoke]
    for step in offered[:: max(1, len(offered) // count)]:
        assert step.probe is not None
        assert step.condition is not None
        one, two = (predictor.reading(step.probe, step.condition) for predictor in (made, anew))
        for array in ("mean", "jacobian", "noise", "over"):
            np.testing.assert_allclose(getattr(one, array), getattr(two, array), rtol=1e-6, atol=1e-6, err_msg=array)
    place = next(iter(machine.parts))
    np.testing.assert_array_equal(made.look(place)[1], anew.look(place)[1])


def anew(name: str, variants: tuple[Variant, ...]) -> Predictor:
    """Worked out for these variants alone."""
    asked = bench(name)
    return Predictor(asked.operation, asked.singles.also(variants), asked.meter, asked.predictor)


@pytest.mark.parametrize("name", NAMES)
def test_what_is_kept_is_what_would_be_worked_out_anew(name: str) -> None:
    """After the pool has grown by parts, for variants of several slices, in another order than they came in; twins
    exchanged among the conditions."""
    kept, some = Pool(), both(name)
    for part in (some[:90], some[80:120], some[40:60], some[110:160]):
        same(name, kept.predictor(bench(name).predictor, part), anew(name, part), 8)
    mixed = some[155:60:-5] + some[:10]
    same(name, kept.predictor(bench(name).predictor, mixed), anew(name, mixed))


def test_slices_stay_few_and_what_is_asked_no_more_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    """The largest slice stays, the others are made one; above the most variants all but what is asked for goes."""
    kept, some, base = Pool(), both("water-heater"), bench("water-heater").predictor
    kept.predictor(base, some[:100])
    for n in range(100, 112):
        kept.predictor(base, some[60 : n + 1])
    assert len(kept._slices) <= pool.MOST_SLICES
    assert kept._slices[0].variants == some[:100]
    made = kept.predictor(base, some[90:112])
    same("water-heater", made, anew("water-heater", some[90:112]), 4)
    monkeypatch.setattr(pool, "MOST_VARIANTS", 120)
    kept.predictor(base, some[:130])
    assert [len(one.variants) for one in kept._slices] == [130]


def test_a_predictor_stays_what_it_was_when_the_pool_goes_on() -> None:
    """What was made before slices were joined or let go predicts the same afterwards."""
    kept, some, base = Pool(), both("water-heater"), bench("water-heater").predictor
    before = kept.predictor(base, some[:50])
    kept.predictor(base, some[50:150])
    kept.forget()
    kept.predictor(base, some[30:60])
    same("water-heater", before, anew("water-heater", some[:50]), 4)


def test_what_is_believed_does_not_depend_on_what_was_weighed_before() -> None:
    """The posterior with pairs, on a bench that has weighed other findings and on one that has not."""
    machine = loading.load("water-heater")
    told = [f.Perceived(what, True) for what in machine.symptoms]
    odd = [[told[a], told[b], told[6]] for a, b in combinations(range(6), 2)]
    used = Bench(machine)
    for findings in odd:
        assert used.weigh(findings).posterior.probability.sum() > 0
    asked = 0
    for findings in odd:
        there, here = Bench(machine).weigh(findings), used.weigh(findings)
        asked += len(here.candidates.variants) > len(used.singles.variants)
        np.testing.assert_allclose(here.posterior.probability, there.posterior.probability, atol=1e-9)
    assert asked > 5


def test_by_hand_and_from_the_pool_the_same_is_believed() -> None:
    """The bench's own pairs, weighed with a predictor of their own."""
    asked = bench("water-heater")
    told = [f.Perceived(what, True) for what in asked.machine.symptoms][:4]
    made = Weighed(asked.predictor, tuple(told), asked.kept)
    more = pairs.with_every(asked.singles, made.items, made.log_masses)
    assert len(more) > 100
    alone = Predictor(asked.operation, asked.singles.also(more), asked.meter, asked.predictor)
    there = Weighed(alone, tuple(told), Kept(alone)).posterior.probability
    pooled = asked.pool.predictor(asked.predictor, more)
    here = Weighed(pooled, tuple(told), Kept(pooled)).posterior.probability
    np.testing.assert_allclose(here, there, atol=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_the_healthy_machine_is_asked_without_the_pairs(name: str) -> None:
    """It shows what the first variant does, and for that nothing is worked out of the pairs."""
    made, machine = Pool().predictor(bench(name).predictor, both(name)), bench(name).machine
    at = conditions.usual(machine)
    shown = {what: made.healthy_shows(what, at) for what in machine.symptoms}
    assert not made._symptoms
    assert shown == {what: made.symptom(what, at, False)[0] > 0.5 for what in machine.symptoms}
