"""What comes and goes does so between set-ups: what was found in one says whether it acts there."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.evidence import findings_file
from halfsplit.evidence.weighing import Weighed
from halfsplit.operate.condition import Condition
from halfsplit.operate.condition import condition as stands
from halfsplit.predict.moments import given, moments
from tests.rehearse.benches import adviser, bench

NAME = "water-heater"
LOOSE = "joint limit.1: loose"
VOLTS = "- reading: {{meter: volts, red: {}, black: {}, value: {} V}}\n"


def _weighed(*readings: tuple[str, str, str]) -> Weighed:
    text = "- symptom: {what: water gets hot, value: no}\n" + "".join(VOLTS.format(*one) for one in readings)
    return bench(NAME).weigh(findings_file.read(text, "x.yaml", bench(NAME).machine), with_pairs=False)


def _at() -> Condition:
    return stands(bench(NAME).machine)


def _acts(weighed: Weighed, at: Condition | None) -> float:
    """The chance that the loose joint shows in a condition."""
    singles = bench(NAME).singles
    number = next(n for n, fault in enumerate(singles.faults) if fault.name == LOOSE)
    row = next(s for s, variant in enumerate(singles.variants) if variant.faults == (number,))
    return sum(float(chance[0]) for chance, shows in weighed.moments(at, np.array([row])) if shows[0] == row)


def test_what_was_found_says_whether_it_acts() -> None:
    """As usual before; nearly surely after no volts in that set-up, hardly after whole ones; elsewhere as usual."""
    usual = _acts(_weighed(), _at())
    assert usual == pytest.approx(0.4)
    nothing, whole = _weighed(("limit.1", "limit.3", "0")), _weighed(("limit.1", "limit.3", "240"))
    assert _acts(nothing, _at()) > 0.95
    assert _acts(whole, _at()) < 0.05
    dead = stands(bench(NAME).machine, isolated=True)
    assert _acts(nothing, dead) == pytest.approx(0.4)
    assert _acts(nothing, None) == 1.0


def test_a_reading_that_tells_nothing_of_it_leaves_its_chance() -> None:
    """Volts of the other leg against earth are whole whether the joint acts or not."""
    other = _weighed(("limit.3", "jacket.metal", "120"))
    assert _acts(other, _at()) == pytest.approx(0.4, abs=0.1)


def test_nothing_more_is_expected_of_a_second_reading_across_the_same_gap() -> None:
    """Once it showed nothing, other pairs behind the same joint tell hardly anything of which repair is due."""
    asked = adviser(NAME)
    before, after = _weighed(), _weighed(("limit.1", "limit.3", "0"), ("limit.1", "limit.4", "0"))
    steps = asked.table.steps
    behind = [
        k for k, step in enumerate(steps)
        if step.kind == "reading" and step.probe and step.probe.meter == "volts" and step.condition == _at()
        and {step.probe.red, step.probe.black} == {"limit.1", "upper thermostat.next"}
    ]  # fmt: skip
    assert behind
    for k in behind:
        assert asked.bits(before, k) > 0.3
        assert asked.bits(after, k) < 0.1


def test_by_bayes_against_enumeration() -> None:
    """Two faults that come and go, any masses: the chances are those of the joint, way by way; they sum to one."""
    rng = np.random.default_rng(4)
    parts, acting = np.array([[0, 0], [1, 0], [2, 0], [1, 2]]), np.array([1.0, 0.3, 0.6, 1.0])
    for _ in range(20):
        mass = rng.random(4) + 1e-3
        found = given(moments(parts, acting, np.array([3])), np.log(mass))
        joint = {3: 0.18 * mass[3], 1: 0.12 * mass[1], 2: 0.42 * mass[2], 0: 0.28 * mass[0]}
        for chance, row in found:
            assert chance[0] == pytest.approx(joint[int(row[0])] / sum(joint.values()))
