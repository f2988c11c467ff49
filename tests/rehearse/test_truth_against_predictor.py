"""The hidden machine, which solves its own network with drawn values, against the spread that was predicted."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.machine import model, primitives
from halfsplit.modes.fault import Fault
from halfsplit.operate.condition import condition
from halfsplit.plan.steps import Step
from halfsplit.predict import predictor as pr
from halfsplit.predict.readings import Probe
from halfsplit.rehearse.truth import Truth, World, answer, drawn
from tests.rehearse.benches import NAMES, adviser, bench

HONEST = World(mistaken=0.0)


def hidden(name: str, fault: Fault | None, seed: int, world: World = HONEST, acting: float = 1.0) -> Truth:
    """A machine with a fault in its first size."""
    changes = fault.alternatives[0][1] if fault else ()
    return Truth(bench(name).machine, fault, changes, np.random.default_rng(seed), world, acting)


def fault(name: str, called: str) -> Fault:
    """A fault by its name."""
    return next(one for one in bench(name).faults if one.name == called)


@lru_cache
def _apart(name: str) -> tuple[list[float], int, int]:
    """Deviations of random readings under random faults, in predicted ones; over range right, and in all."""
    asked, random = adviser(name), np.random.default_rng(11)
    singles, predictor = asked.bench.singles, asked.bench.predictor
    rows = [k for k, step in enumerate(asked.table.steps) if step.kind == "reading"]
    apart, right, count = [], 0, 0
    for seed in range(8):
        s = int(random.integers(1, len(singles.variants)))
        one = singles.faults[singles.variants[s].faults[0]]
        which = s - min(r for r, v in enumerate(singles.variants) if v.faults == singles.variants[s].faults)
        truth = Truth(asked.bench.machine, one, one.alternatives[which][1], np.random.default_rng(seed), HONEST)
        for k in random.choice(rows, 12, replace=False).tolist():
            step = asked.table.steps[k]
            assert step.probe is not None
            assert step.condition is not None
            slow = predictor.reading(step.probe, step.condition)
            _, value, _ = truth.reads(step.probe, step.condition)
            if 0.2 < slow.over[s] < 0.8:
                continue
            count += 1
            right += (value is None) == (slow.over[s] >= 0.5)
            if value is not None and np.isfinite(slow.value[s]):
                spread = np.sqrt((slow.jacobian[s] ** 2).sum() + slow.noise[s] ** 2)
                apart.append(float((np.arcsinh(value / slow.scale) - slow.mean[s]) / spread))
    return apart, right, count


@pytest.mark.parametrize("name", NAMES)
def test_readings_lie_in_the_predicted_spread(name: str) -> None:
    """Of random readings under random faults nearly all lie within three deviations, most within two."""
    apart, _, _ = _apart(name)
    assert len(apart) > 30
    assert np.mean(np.abs(apart) < 2) > 0.85
    assert np.mean(np.abs(apart) < 3) > 0.93


@pytest.mark.parametrize("name", NAMES)
def test_over_range_is_read_where_it_was_predicted(name: str) -> None:
    """And nowhere else, but for a reading or two at the edge of the range."""
    _, right, count = _apart(name)
    assert right >= count - 2


def test_values_are_drawn_within_tolerance_and_together() -> None:
    """Two coils share an unknown or not as the file says; none is off by more than twice its deviation."""
    machine = bench("vented-dryer").machine
    made = [drawn(machine, np.random.default_rng(seed)) for seed in range(30)]
    moved = set()
    for name, element in machine.elements.items():
        value = getattr(element, "ohms", None)
        if isinstance(value, primitives.Value) and value.nominal > 0:
            ratios = [_ohms(one, name) / value.nominal for one in made]
            assert max(np.abs(np.array(ratios) - 1)) <= 2 * value.relative_spread + 1e-12, name
            if value.relative_spread > 0 and not isinstance(element, primitives.Contact):
                assert np.std(ratios) > 0, name
                moved.add(name)
    assert len(moved) >= 8


def _ohms(machine: model.Machine, name: str) -> float:
    value = getattr(machine.elements[name], "ohms", None)
    assert isinstance(value, primitives.Value)
    return value.nominal


def test_the_same_seed_is_the_same_machine() -> None:
    """Its readings too, digit by digit."""
    at = condition(bench("vented-dryer").machine, isolated=True)
    probe = Probe("ohms", "control thermostat.bias 1", "control thermostat.bias 2")
    first, second = (
        [hidden("vented-dryer", None, seed).reads(probe, at) for seed in range(3)] for _ in range(2)
    )  # fmt: skip
    assert first == second
    assert len({text for text, _, _ in first}) > 1


def test_a_hidden_open_coil_reads_over_range() -> None:
    """Across the open coil with its wires off; the other one reads its 21.5 ohm."""
    truth = hidden("vented-dryer", fault("vented-dryer", "heater: front coil open"), 1)
    at = condition(truth.machine, isolated=True, lift=["heater.common", "heater.front", "heater.rear"])
    assert truth.reads(Probe("ohms", "heater.common", "heater.front"), at)[1] is None
    rear = truth.reads(Probe("ohms", "heater.common", "heater.rear"), at)[1]
    assert rear == pytest.approx(21.5 + 0.3, rel=0.12)


def test_a_wrong_setting_shows_in_what_the_owner_tells_only() -> None:
    """Set to AIR ONLY by mistake: cold for the owner, warm for the repairer who sets it right."""
    truth = hidden("vented-dryer", fault("vented-dryer", "heat: stood at air only"), 2)
    at = condition(truth.machine, truth.machine.settings["high heat"])
    assert not truth.perceived("air is warm", at, by_owner=True)
    assert truth.perceived("air is warm", at, by_owner=False)


def test_people_are_mistaken_as_often_as_it_is_said() -> None:
    """With a quarter of mistakes a quarter of the answers is wrong."""
    truth = hidden("water-heater", None, 3, World(mistaken=0.25))
    at = condition(truth.machine)
    wrong = sum(truth.perceived("water gets hot", at, by_owner=True) for _ in range(400))
    assert 70 < min(wrong, 400 - wrong) < 130


def test_nobody_takes_a_breaker_that_trips_for_another() -> None:
    """As seldom as the predictor says, and far more seldom than of what is felt or heard; a motor's overload is not
    such a breaker."""
    world = World(mistaken=1.0)
    truth = hidden("water-heater", None, 3, world)
    at = condition(truth.machine)
    wrong = sum(truth.perceived("breaker trips", at, by_owner=True) for _ in range(2000))
    assert wrong / 2000 == pytest.approx(pr.MISTAKEN_BREAKER / pr.MISTAKEN_SYMPTOM, abs=0.015)
    dryer = bench("vented-dryer").machine
    told = {what: pr.mistaken(dryer, what, by_owner=True) for what in dryer.symptoms}
    assert [what for what, share in told.items() if share < pr.MISTAKEN_SYMPTOM] == ["breaker trips"]
    assert pr.mistaken(dryer, "breaker trips", by_owner=False) < pr.REPAIRER_MISTAKEN


@pytest.mark.parametrize("name", ["vented-dryer", "vented-dryer-3-wire"])
def test_a_breaker_that_trips_is_believed(name: str) -> None:
    """Told so, a leg of the cord on the frame gains far more against a lost leg than any other symptom could give."""
    cord, leg = "wire receptacle.prong L1 to terminal block.L1: chafed to frame", "service: leg L1 lost"
    odds = []
    for findings in ([], [f.Perceived("breaker trips", True)]):
        known = {c.faults: c.probability for c in bench(name).weigh(findings, with_pairs=False).ranked()}
        odds.append(known[(cord,)] / known[(leg,)])
    assert odds[1] / odds[0] > 3 / pr.MISTAKEN_SYMPTOM


def test_a_mark_is_seen_where_it_is() -> None:
    """At the fault's own place nearly always, and hardly ever elsewhere."""
    truth = hidden("vented-dryer", fault("vented-dryer", "belt: broken"), 4)
    seen = [truth.sees("belt") for _ in range(300)]
    assert set(seen) == {f.FINE, truth.fault.looks if truth.fault else ""}
    assert seen.count(f.FINE) / 300 == pytest.approx(pr.MISSED_LOOK, abs=0.05)
    assert [truth.sees("timer") for _ in range(300)].count(f.FINE) > 280


def test_what_comes_and_goes_does_so_between_set_ups() -> None:
    """Within one set-up an intermittent fault stays as it is; over many it acts about half the time."""
    coil = fault("vented-dryer", "heater: front coil open")
    probe, acts = Probe("ohms", "heater.common", "heater.front"), []
    for seed in range(60):
        truth = hidden("vented-dryer", coil, seed, acting=0.5)
        at = condition(truth.machine, isolated=True, lift=["heater.common", "heater.front"])
        twice = {truth.reads(probe, at)[1] is None for _ in range(2)}
        assert len(twice) == 1
        acts.append(twice == {True})
    assert 18 < sum(acts) < 42


def test_slips_of_the_hand() -> None:
    """Half of them forget to lift the wire: 10.8 instead of 21.5 ohm on HIGH."""
    truth = hidden("vented-dryer", None, 6, World(slips=1.0))
    at = condition(truth.machine, {"heat": "high"}, True, ["heater.front"])
    probe = Probe("ohms", "heater.common", "heater.front")
    values = [truth.reads(probe, at)[1] or 0.0 for _ in range(40)]
    low = [value for value in values if value < 15]
    assert 8 < len(low) < 32
    assert np.mean(low) == pytest.approx(10.75 + 0.3, rel=0.1)


def test_answers_are_findings_of_their_kind() -> None:
    """A look, a symptom and a reading, each as it would be typed."""
    truth = hidden("vented-dryer", None, 7)
    at = condition(truth.machine, truth.machine.settings["high heat"])
    assert isinstance(answer(truth, Step("look", at="belt", places=("belt",))), f.Look)
    assert answer(truth, Step("symptom", at, at="drum turns")) == f.Perceived("drum turns", True, at, "repairer")
    volts = answer(truth, Step("reading", at, Probe("volts", "terminal block.L1", "terminal block.N")))
    assert isinstance(volts, f.Reading)
    assert volts.value is not None
    assert 100 < volts.value < 135
    assert volts.step > 0
