"""What makes computing impossible is refused when the file is read, at its place, with what to do."""

from __future__ import annotations

import pytest

from halfsplit.machine import library, loading
from halfsplit.quantity.dimension import Dimension
from halfsplit.quantity.parse import parse_quantity
from halfsplit.service import checking

DRYER, TANK, COLD, COOKTOP = "vented-dryer", "water-heater", "refrigerator", "coil-cooktop"

# what: machine, text that is replaced (once), by what, text on the line that is blamed, what is said
CASES: dict[str, tuple[str, str, str, str, str]] = {
    "control called warmth": (
        TANK,
        "settings:\n",
        "controls:\n  warmth: [off, high]\nsettings:\n",
        "  warmth: [off, high]",
        "'warmth' says how warm the machine is, so no control can be called that. Give this another name",
    ),
    "strap's control called warmth": (
        DRYER,
        "strap: {type: bond strap, ",
        "strap: {type: bond strap, control: warmth, ",
        "control: warmth",
        "'warmth' says how warm the machine is",
    ),
    "wire to itself": (
        TANK,
        "limit.2  upper thermostat.C",
        "limit.2  limit.2",
        "limit.2  limit.2",
        "This wire goes from limit.2 to itself. Look where its other end goes.",
    ),
    "cord to itself": (
        DRYER,
        "L1: terminal block.L1",
        "L1: receptacle.prong L1",
        "receptacle.prong L1",
        "This wire goes from receptacle.prong L1 to itself.",
    ),
    "heat below nought": (
        TANK,
        "at least: 2000 W",
        "at least: -5 W",
        "at least: -5 W",
        "What is perceived is above nought. Write it as in 300 W.",
    ),
    "light of nought": (
        COLD,
        "lit: [food lamp], set: {door: open}",
        "lit: [food lamp], at least: 0 %, set: {door: open}",
        "at least: 0 %",
        "What is perceived is above nought. Write it as in 0.5, or 50 %.",
    ),
    "endless tolerance": (
        TANK,
        "ohms: 12.8 ohm ± 5 %",
        "ohms: 12.8 ohm ± 1e999 ohm",
        "± 1e999 ohm",
        "'ohms': The tolerance '1e999 ohm' is out of all reason for a resistance. Write it as in ± 5 %.",
    ),
    "ohms below nought": (
        TANK,
        "ohms: 12.8 ohm ± 5 %",
        "ohms: -12.8 ohm",
        "ohms: -12.8 ohm",
        "'ohms': It must be above nought. Look at the sign and the digits.",
    ),
    "unknown currency": (
        TANK,
        "frame: jacket\n",
        "frame: jacket\ncurrency: bananas\n",
        "currency: bananas",
        "'bananas' is no currency that is known here. Known: AUD, CAD, CHF,",
    ),
    "clamp without a wire": (
        DRYER,
        "seen:\n",
        "seen:\n  - {meter: amps, red: timer.clock, value: 2 A}\n",
        "red: timer.clock, value: 2 A",
        "A clamp goes around wires, and none lands on timer.clock. Name a terminal with a wire.",
    ),
    "clamp with a black lead": (
        DRYER,
        "seen:\n",
        "seen:\n  - {meter: amps, red: motor.line, black: motor.start, value: 2 A}\n",
        "black: motor.start, value: 2 A",
        "A clamp takes no black lead. Leave it out.",
    ),
    "volts with one lead": (
        DRYER,
        "seen:\n",
        "seen:\n  - {meter: volts, red: motor.line, value: 2 V}\n",
        "red: motor.line, value: 2 V",
        "It is not said where the black lead stood. Write `black: PART.TERMINAL`.",
    ),
    "ohms of nought": (TANK, "ohms: 12.8 ohm ± 5 %", "ohms: 0 ohm", "ohms: 0 ohm", "'ohms': It must be above nought."),
}


@pytest.mark.parametrize("what", CASES)
def test_it_is_refused_on_its_line(what: str) -> None:
    """The file is no machine; the sentence stands at the line, and the good file says nothing."""
    name, old, new, blamed, says = CASES[what]
    text = library.text(name)
    assert old in text
    changed = text.replace(old, new, 1)
    machine, problems = loading.examine_text(changed, "x")
    assert machine is None
    assert any(says in str(p) and blamed in changed.split("\n")[p.line - 1] for p in problems), problems


def test_a_control_called_warmth_is_the_one_problem_that_is_told() -> None:
    """Neither its settings nor the part that it moves are complained of as well, with temperatures or without."""
    more = "controls:\n  warmth: [off, high]\nsettings:\n  b: {warmth: high}\n"
    text = library.text(TANK).replace("settings:\n", more)
    assert len(checking.examine_text(text, "x")[1]) == 1
    text = library.text(COOKTOP).replace(", warmth: hot", "").replace("left front", "warmth")
    told = [problem.message for problem in checking.examine_text(text, "x")[1]]
    assert len(told) == 1, told


def test_amps_seen_on_a_healthy_machine_need_no_black_lead() -> None:
    """A clamp has none, and the value is tested like any other."""
    for value, said in (("18.5 A", []), ("8 A", ["On a healthy machine this file gives 18"])):
        seen = f"{{meter: amps, red: upper element.1, set: {{warmth: cold tank}}, value: {value}}}"
        text = library.text(TANK).replace("seen:\n", f"seen:\n  - {seen}\n")
        machine, problems = checking.examine_text(text, "x")
        assert machine is not None
        assert machine.seen[0].black == ""
        assert [p.message[:38] for p in problems][:1] == [one[:38] for one in said]


def test_a_currency_is_known_as_prices_know_it() -> None:
    """What a price may be written in, the file may name."""
    text = library.text(TANK).replace("USD", "EUR").replace("frame: jacket\n", "frame: jacket\ncurrency: EUR\n")
    assert loading.load_text(text, "x").currency == "EUR"


def test_a_tolerance_that_is_wide_and_finite_is_read() -> None:
    """Only what no meter could show is refused; what is too wide to be meant is for the rules to tell."""
    assert parse_quantity("12.8 ohm ± 20 ohm", Dimension.RESISTANCE).high == 32.8
    assert parse_quantity("20 °C ± 300 K", Dimension.TEMPERATURE).low == -280.0
