"""What is kept in the cache folder comes back as it was, and only while what it was made from is the same."""

from __future__ import annotations

import operator
from pathlib import Path

import numpy as np
import pytest

from halfsplit.evidence.weighing import Bench
from halfsplit.operate.condition import condition
from halfsplit.service import advising, diagnosing, kept, machines, remembering


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty cache folder."""
    monkeypatch.setenv("HALFSPLIT_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


def test_a_machine_comes_back_as_it_was(cache: Path) -> None:
    """Read anew or from the cache, a machine is the same."""
    read = machines.load("refrigerator")
    assert len(list(cache.iterdir())) == 1
    assert machines.load("refrigerator") == read


def test_a_table_of_steps_comes_back_as_it_was(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A compiled table is kept whole: the second time nothing is compiled, and every array is the same."""
    bench = Bench(machines.load("water-heater"))
    made = advising.adviser(bench, "key").table
    monkeypatch.setattr("halfsplit.plan.table.compiled", None)
    again = advising.adviser(bench, "key").table
    assert again.steps == made.steps
    for part in ("outcomes", "odd", "partition"):
        for name, array in vars(getattr(made, part)).items():
            assert np.array_equal(getattr(getattr(again, part), name), array), name
    assert np.array_equal(again.alike, made.alike)


def test_herds_come_back_as_they_were(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a live and of an isolated condition: every array and state the same, and nothing is settled again."""
    machine = machines.load("water-heater")
    first = remembering.bench(machine, "key").predictor
    conditions = [condition(machine), condition(machine, isolated=True, lift=("upper element.1",))]
    made = [first.readings.herds(at, first.found_effects) for at in conditions]
    again = remembering.bench(machine, "key").predictor
    monkeypatch.setattr("halfsplit.operate.settle.Operation.settle", None)
    for at, herds in zip(conditions, made, strict=True):
        for one, other in zip(herds, again.readings.herds(at, again.found_effects), strict=True):
            for name, value in vars(one).items():
                same = np.array_equal if isinstance(value, np.ndarray) else operator.eq
                assert same(getattr(other, name), value), name


def test_keys_differ_by_every_part(cache: Path) -> None:
    """No two different lists of texts share a key."""
    parts = [("a", "b"), ("ab",), ("a", "b", ""), ("b", "a"), ()]
    assert len({kept.key(*one) for one in parts}) == len(parts)


def test_room_is_made(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the size that is kept the oldest goes."""
    monkeypatch.setattr(kept, "MOST_BYTES", 2500)
    for number in range(4):
        kept.put(f"thing {number}", "x" * 1000)
    assert [kept.get(f"thing {number}", {}) is not None for number in range(4)] == [False, False, True, True]


def test_nothing_is_kept_where_that_is_wished(monkeypatch: pytest.MonkeyPatch) -> None:
    """HALFSPLIT_CACHE set to nothing switches the cache off."""
    monkeypatch.setenv("HALFSPLIT_CACHE", "")
    kept.put("thing", "x")
    assert kept.folder() is None
    assert kept.get("thing", {}) is None


FINDINGS = """
- symptom: {what: water gets hot, value: no}
- reading: {meter: ohms, red: upper element.1, black: upper element.2, lift: [upper element.1], value: OL}
- reading: {meter: volts, red: limit.1, black: limit.3, value: 239 V}
"""


def test_remembered_predictions_change_nothing(cache: Path) -> None:
    """A diagnosis with everything remembered, with nothing, and with other readings remembered is the same."""
    machine = machines.load("water-heater")
    findings = diagnosing.read_findings(machine, FINDINGS, "test")
    plain = diagnosing.diagnose(machine, findings)
    diagnosing.diagnose(machine, findings[:2], key="key")
    assert diagnosing.diagnose(machine, findings, key="key") == plain
    assert diagnosing.diagnose(machine, findings, key="key") == plain


def test_a_memory_of_another_machine_is_not_used(cache: Path) -> None:
    """What was remembered for as many variants as this machine has not is left aside."""
    other = remembering.bench(machines.load("refrigerator"), "key")
    remembering.learn_the_usual(other)
    remembering.keep(other, "key")
    found = remembering.bench(machines.load("water-heater"), "key").predictor
    assert isinstance(found, remembering.Remembering)
    assert found.memory == remembering.Memory()
