"""What common practice, standards and computed examples say of the library's machines: cases with their sources.

A case is a folder: README with a text circuit, `case.yaml` with the machine, readings with the range in which each
must lie and the source that says so.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from halfsplit.machine import loading, model
from halfsplit.modes import listing
from halfsplit.operate.condition import Condition, condition
from halfsplit.operate.effect import HEALTHY, Effect, effect
from halfsplit.operate.settle import Operation
from halfsplit.predict.readings import DEAD_METERS, Probe, Readings
from halfsplit.quantity import parse
from halfsplit.quantity.dimension import Dimension

FOLDER = Path(__file__).parent / "cases"


def case(name: str) -> dict[str, Any]:
    """A case as it is written: every value a text, since `off` is a position and not a truth."""
    read: dict[str, Any] = yaml.load((FOLDER / name / "case.yaml").read_text(encoding="utf-8"), yaml.BaseLoader)
    return read


NAMES = sorted(place.name for place in FOLDER.iterdir())
READINGS = [(name, number) for name in NAMES for number in range(len(case(name)["expect"]))]


class Bench:
    """One machine and its readings, kept over all cases."""

    kept: dict[str, Bench] = {}  # noqa: RUF012  (shared on purpose)

    def __init__(self, machine: model.Machine) -> None:
        self.machine, self.operation = machine, Operation(machine)
        self.readings = Readings(self.operation)
        self.faults = listing.by_name(machine)

    @classmethod
    def of(cls, folder: str, machine: str) -> Bench:
        """The bench of a machine of the library, or of one that stands in the case's folder."""
        place = str(FOLDER / folder / machine) if machine.endswith(".yaml") else machine
        if place not in cls.kept:
            cls.kept[place] = cls(loading.load(place))
        return cls.kept[place]

    def reads(self, said: dict[str, Any]) -> list[float]:
        """SI values of a reading, one for each alternative of its fault; over range is infinite."""
        probe = Probe(said["meter"], said["red"], said.get("black", ""))
        at = self._at(said)
        return [float(self.readings.read(probe, at, (made,)).value[0]) for made in self._effects(said.get("fault"))]

    def _at(self, said: dict[str, Any]) -> Condition:
        isolated = said.get("isolated") == "yes" or said["meter"] in DEAD_METERS
        return condition(self.machine, said.get("set", {}), isolated, said.get("lift", ()))

    def _effects(self, fault: str | None) -> list[Effect]:
        if fault is None:
            return [HEALTHY]
        return [effect(self.operation.assembly, changes) for _, changes in self.faults[fault].alternatives]


DIMENSIONS = {"ohms": Dimension.RESISTANCE, "amps": Dimension.CURRENT}
"""All other meters of the cases read volts."""


def bound(text: str, meter: str) -> float:
    """A bound in SI; OL is infinite."""
    if text == "OL":
        return float("inf")
    return parse.parse_quantity(text, DIMENSIONS.get(meter, Dimension.VOLTAGE)).value


@pytest.mark.parametrize(("name", "number"), READINGS)
def test_reads_as_practice_says(name: str, number: int) -> None:
    """The reading lies in the range that its source gives."""
    written = case(name)
    said = written["expect"][number]
    assert said["source"]
    for value in Bench.of(name, written["machine"]).reads(said):
        low, high = (bound(said[key], said["meter"]) for key in ("low", "high"))
        assert low <= value <= high, f"{value}: {said}"


@pytest.mark.parametrize("name", [name for name in NAMES if "sum" in case(name)])
def test_sums(name: str) -> None:
    """One reading is the sum of others."""
    written = case(name)
    rule = written["sum"]
    bench = Bench.of(name, written["machine"])
    values = [bench.reads(said)[0] for said in written["expect"]]
    apart = abs(values[int(rule["reading"])] - sum(values[int(other)] for other in rule["of"]))
    assert apart <= bound(rule["within"], "ohms"), values


@pytest.mark.parametrize("name", [name for name in NAMES if "ratio of squares" in case(name)])
def test_ratios_of_squares(name: str) -> None:
    """The square of a reading over the square of the same one on the machine beside it."""
    written = case(name)
    rule = written["ratio of squares"]
    said = written["expect"][int(rule["reading"])]
    here, there = (Bench.of(name, written[key]).reads(said)[0] for key in ("machine", "beside"))
    assert float(rule["low"]) <= (here / there) ** 2 <= float(rule["high"])
