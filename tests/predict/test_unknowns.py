"""What readings share: each value of each part is an unknown of its own, however parts and values are called."""

from __future__ import annotations

from halfsplit.circuit.assembly import Assembly
from halfsplit.machine import library, loading, twins
from halfsplit.machine.primitives import Value
from halfsplit.predict.unknowns import METER_UNKNOWNS, of_element, unknowns

DRYER = library.text("vented-dryer")


def with_part(line: str) -> str:
    """The dryer with one more part, without a wire."""
    return DRYER.replace("parts:\n", f"parts:\n  {line}\n", 1)


def test_values_whose_names_read_alike_are_two_unknowns() -> None:
    """`ohms` of `heater front` and `front ohms` of `heater` move apart; the halves of one coil move together."""
    machine = loading.load_text(with_part("heater front: {type: heater, ohms: 99 ohm ± 5 %, in: top}"), "x")
    alone, near, far = (
        of_element(machine.elements[name])
        for name in ("heater front.first half", "heater.front coil near half", "heater.front coil far half")
    )
    assert alone != near == far
    found = unknowns(Assembly(machine))
    row = found.relative[found.numbers[alone]]
    assert {name for name, k in Assembly(machine).branches.items() if row[k]} == {
        "heater front.first half",
        "heater front.second half",
    }


def test_no_value_of_a_part_is_the_meter_s() -> None:
    """A part called `gain` of a value `ohms` is no gain of the meter."""
    machine = loading.load_text(with_part("gain: {type: heater, ohms: 99 ohm ± 5 %, in: top}"), "x")
    assert of_element(machine.elements["gain.first half"]) not in METER_UNKNOWNS


def test_an_exchange_takes_the_values_of_the_two_parts_and_no_others() -> None:
    """A part whose name begins as a twin's keeps its own."""
    machine = loading.load_text(with_part("heater front: {type: heater, ohms: 99 ohm ± 5 %, in: top}"), "x")
    value = machine.elements["heater front.first half"].ohms  # type: ignore[union-attr]
    assert isinstance(value, Value)
    assert twins.exchanged(value, "heater", "timer") == value
    assert twins.exchanged(value, "heater front", "timer").shared.startswith("timer.")
