"""Places that a person may name: those that a lead reaches, and for a function that reads with one lead those at which
there is something to read. Asked for on the command line and stated in a findings file alike."""

from __future__ import annotations

import pytest

from halfsplit.errors import BadInput, WrongUse
from halfsplit.evidence import findings_file
from halfsplit.machine import library, loading, model
from halfsplit.operate.effect import HEALTHY
from halfsplit.operate.settle import Operation
from halfsplit.predict.readings import Probe, Readings
from halfsplit.service import asking, names

DRYER, TANK = loading.load("vented-dryer"), loading.load("water-heater")
UNFELT = (
    "Nothing says how warm {} gets; it can be read at: thermal fuse, control thermostat, inlet thermostat, high limit, "
    "cut-off."
)
UNWIRED = "A clamp goes around wires, and none lands on timer.clock. Did you mean 'timer.line' or 'timer.motor'?"
REFUSED = [
    ("temperature", "heater.common", "", UNFELT.format("heater")),
    ("amps", "timer.clock", "", UNWIRED),
    ("ohms", "heater.~rear middle", "heater.rear", "No terminal 'heater.~rear middle'. Did you mean 'heater.rear'?"),
    ("ohms", "heater.rear", "heater.~rear middle", "No terminal 'heater.~rear middle'. Did you mean 'heater.rear'?"),
]


@pytest.mark.parametrize(("meter", "red", "black", "says"), REFUSED)
def test_what_nothing_is_read_at_is_refused(meter: str, red: str, black: str, says: str) -> None:
    """With one sentence, whoever asks and whoever states it."""
    with pytest.raises(WrongUse) as asked:
        asking.probe(DRYER, meter, red, black)
    assert str(asked.value) == says
    stated = f"- reading: {{meter: {meter}, red: {red}, {f'black: {black}, ' if black else ''}value: 5}}\n"
    with pytest.raises(BadInput) as typed:
        findings_file.read(stated, "x", DRYER)
    assert any(says in str(problem) for problem in typed.value.problems)


def test_the_warmth_is_read_of_a_part_that_feels_it_and_of_no_other() -> None:
    """The degrees of its place; what feels none is not said to be at 20 °C."""
    readings, at = Readings(Operation(TANK)), asking.condition(TANK, ["all hot"], False, ())
    probe = asking.probe(TANK, "temperature", "lower thermostat.1", "")
    assert readings.read(probe, at, (HEALTHY,)).value[0] == 60.0
    with pytest.raises(WrongUse, match="how warm lower element gets"):
        readings.read(Probe("temperature", "lower element.1"), at, (HEALTHY,))


def test_a_machine_without_temperatures_has_no_place_to_read_them() -> None:
    """A thermostat of which no temperatures are told feels nothing either."""
    text = library.text("water-heater")
    told = "bottom of tank: {cold tank: 15 °C, top hot: 20 °C, hot tank: 60 °C}"
    machine = loading.load_text(text.replace(told, "bottom of tank: {}"), "x")
    with pytest.raises(WrongUse, match="lower thermostat gets; it can be read at: limit, upper thermostat"):
        asking.probe(machine, "temperature", "lower thermostat.1", "")


def test_no_inner_point_is_offered_or_lifted() -> None:
    """Neither to the shell, nor under `lift`, nor as a place of a look."""
    inner = {terminal for terminal in DRYER.terminals if "~" in terminal}
    assert inner
    assert set(names.offered("vented-dryer", "terminals")) == set(DRYER.terminals) - inner == set(DRYER.reachable)
    with pytest.raises(WrongUse, match=r"No terminal 'heater.~rear middle'. Did you mean"):
        asking.condition(DRYER, [], True, ["heater.~rear middle"])
    for text in (
        "- reading: {meter: ohms, red: heater.rear, black: heater.front, lift: [heater.~rear middle], value: 5}\n",
        "- look: {at: heater.~rear middle, sees: fine}\n",
    ):
        with pytest.raises(BadInput, match=r"heater.~rear middle"):
            findings_file.read(text, "x", DRYER)


def test_what_a_lead_reaches_is_told_by_the_part() -> None:
    """All of its terminals but those inside it; what sits in a socket is among them."""
    cooktop = loading.load("coil-cooktop")
    assert cooktop.parts["left front burner"].reachable == ("left front burner.1", "left front burner.2")
    assert set(cooktop.gripped) <= set(cooktop.reachable)
    assert model.is_inner("left front burner.~middle")
