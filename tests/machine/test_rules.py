"""Each static rule finds the mistake that its docstring tells, where it is; and every rule is tried here."""

from __future__ import annotations

import pytest

from halfsplit.machine import library, loading
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.rules import catalogue
from halfsplit.machine.rules.facts import Nets
from halfsplit.service import checking

DRYER, TANK, COLD = "vented-dryer", "water-heater", "refrigerator"

# rule: machine, text that is replaced (once), by what, text on the line that is blamed
CASES: dict[str, tuple[str, str, str, str]] = {
    "supply volts absurd": (DRYER, "supply:\n", "supply:\n  volts: 5000 V\n", "volts: 5000 V"),
    "gas not said": (
        DRYER,
        "  belt switch: {",
        "  gas tube: {type: air path, in: top}\n  belt switch: {",
        "gas tube: {",
    ),
    "gas bay not named": (
        COLD,
        "frame: cabinet\n",
        "frame: cabinet\ngas: {cock: behind it, bays: [machine room], parts: [condenser coil]}\n",
        "gas: {cock",
    ),
    "gas by another name": (
        COLD,
        "frame: cabinet\n",
        "frame: cabinet\ngas: {cock: behind it, bays: [coil cover, machine room], parts: [drain tube, drain]}\n",
        "water inside: {leaks",
    ),
    "water by another name": (TANK, "  water on the floor: {", "  water under it: {", "water under it: {"),
    "doubled wire": (
        DRYER,
        "- OG  12 AWG 1.6 m  heat selector.call  control thermostat.1\n",
        "- OG  heat selector.call  control thermostat.1\n  - OG  control thermostat.1  heat selector.call  # again\n",
        "# again",
    ),
    "load bridged by wire": (DRYER, "wires:\n", "wires:\n  - GY  buzzer.1  buzzer.2\n", "buzzer: {type"),
    "load out of reach": (
        DRYER,
        "wires:\n",
        "  night light: {type: lamp, volts: 120 V, watts: 5 W, in: top}\n"
        "  its fuse: {type: link fuse, amps: 10 A, in: top}\nwires:\n"
        "  - BK  night light.1  its fuse.1\n  - BK  night light.2  its fuse.2\n",
        "night light: {type",
    ),
    "long wire": (DRYER, "14 AWG 1.6 m  timer.motor", "14 AWG 16 m  timer.motor", "timer.motor  thermal fuse"),
    "part without wire": (
        DRYER,
        "  belt switch: {",
        "  spare lamp: {type: lamp, volts: 120 V, watts: 5 W, in: top}\n  belt switch: {",
        "spare lamp:",
    ),
    "terminal without wire": (DRYER, "    spare: [clock]\n", "", "  timer:"),
    "wire ring": (
        DRYER,
        "wires:\n",
        "wires:\n  - WH  motor.hold  buzzer.2  # ring\n",
        "- WH  18 AWG 0.3 m  timer.neutral  buzzer.2",
    ),
    "wires join supply": (
        DRYER,
        "wires:\n",
        "wires:\n  - BK  terminal block.L1  terminal block.N  # short\n",
        "# short",
    ),
    "earth colour on live": (
        DRYER,
        "- YE  14 AWG 1.6 m  motor.start",
        "- GNYE  14 AWG 1.6 m  motor.start",
        "motor.start",
    ),
    "earth wire colour": (DRYER, "wires:\n", "wires:\n  - BK  cabinet.metal  drum lamp.2  # bond\n", "# bond"),
    "frame not earthed": (TANK, "PE: jacket.metal}", "PE: lower element.1}", "frame: jacket"),
    "no frame": (DRYER, "frame: cabinet\n", "", "cabinet: {type: frame"),
    "thin supply": (DRYER, "cable: 10 AWG 12 m", "cable: 14 AWG 12 m", "cable: 14 AWG"),
    "chart line always closed": (
        COLD,
        "      1-4: [cooling]",
        "      1-4: [cooling, defrost]",
        "1-4: [cooling, defrost]",
    ),
    "chart line doubled": (COLD, "      1-4: [cooling]\n", "      1-4: [cooling]\n      4-1: [defrost]\n", "4-1:"),
    "chart line never closed": (COLD, "      1-4: [cooling]", "      1-4: []", "1-4: []"),
    "chart position doubled": (
        COLD,
        "      1-4: [cooling]",
        "      1-4: [cooling, cooling]",
        "1-4: [cooling, cooling]",
    ),
    "control unheard": (DRYER, "  start: momentary", "  start: momentary\n  dial: [a, b]", "dial: [a, b]"),
    "positions alike": (
        COLD,
        "positions: [cooling, defrost]",
        "positions: [cooling, defrost, rest, pause]",
        "positions: [cooling",
    ),
    "same setting twice": (
        DRYER,
        "settings:\n",
        "settings:\n  hot: {start: pressed, door: shut, heat: high, cycle: timed}\n",
        "high heat:",
    ),
    "closes above opening": (DRYER, "closes: 58 °C ± 4", "closes: 85 °C ± 4", "closes: 85 °C"),
    "limit above cut off": (DRYER, "opens: 177 °C ± 8", "opens: 117 °C ± 8", "high limit:"),
    "one shot blown": (DRYER, "opens: 91 °C ± 4", "opens: 71 °C ± 4", "opens: 71 °C"),
    "place lacks warmth": (
        COLD,
        "food compartment: {working: 8 °C, cold: 0 °C, warm: 20 °C}",
        "food compartment: {working: 8 °C, cold: 0 °C}",
        "food compartment: {working",
    ),
    "place unused": (
        COLD,
        "temperatures:\n",
        "temperatures:\n  cellar: {working: 8 °C, cold: 0 °C, warm: 20 °C}\n",
        "cellar:",
    ),
    "ranges overlap": (DRYER, "closes: 58 °C ± 4", "closes: 58 °C ± 12", "opens: 68 °C ± 3"),
    "temperature absurd": (COLD, "working: 8 °C", "working: 800 °C", "working: 800 °C"),
    "thermostat always open": (DRYER, "opens: 68 °C ± 3", "opens: 6.8 °C ± 3", "opens: 6.8 °C"),
    "dead short load": (TANK, "ohms: 12.8 ohm ± 5 %", "ohms: 12.8 mohm ± 5 %", "ohms: 12.8 mohm"),
    "foreign currency": (COLD, "price: 280 USD", "price: 280 CAD", "price: 280 CAD"),
    "implausible value": (COLD, "watts: 25 W", "watts: 25 kW", "watts: 25 kW"),
    "minutes absurd": (COLD, "replace: 180 min", "replace: 18 h", "replace: 18 h"),
    "never trips": (COLD, "amps: 4 A", "amps: 400 A", "amps: 400 A"),
    "price absurd": (COLD, "price: 280 USD", "price: 28000 USD", "price: 28000 USD"),
    "rated volts": (COLD, "volts: 120 V, watts: 8 W", "volts: 230 V, watts: 8 W", "volts: 230 V"),
    "starting below running": (
        COLD,
        "running: 1.4 A, starting: 6 A",
        "running: 6 A, starting: 1.4 A",
        "starting: 1.4 A",
    ),
    "tolerance absurd": (COLD, "ohms: 31 ohm ± 6 %", "ohms: 31 ohm ± 60 %", "ohms: 31 ohm ± 60 %"),
    "bay empty": (COLD, "bays:\n", "bays:\n  attic: {behind: outside, open: 1 min, close: 1 min}\n", "attic:"),
    "bay in a ring": (DRYER, "back: {behind: outside", "back: {behind: rear cover", "back: {behind"),
    "names alike": (
        DRYER,
        "  high limit: {",
        "  High-Limit: {type: seal, in: outside, fails: 0}\n  high limit: {",
        "  high limit: {",
    ),
    "frees no switch": (DRYER, "frees: [door]", "frees: [cycle]", "frees: [cycle]"),
    "hands at nothing": (
        DRYER,
        "settings:\n",
        "  shelf: {positions: [in, out], hands: out}\nsettings:\n",
        "shelf: {positions",
    ),
    "unplugs from behind": (DRYER, "unplugs: [door switch", "unplugs: [motor", "unplugs: [motor"),
    "heat never enough": (
        TANK,
        "at least: 2000 W, set: {warmth: cold",
        "at least: 9000 W, set: {warmth: cold",
        "9000 W",
    ),
    "mechanical unperceived": (COLD, "parts:\n", "parts:\n  hinge: {type: moving part, in: outside}\n", "hinge:"),
    "seen amiss": (
        TANK,
        "black: jacket.metal, isolated: yes, value: OL",
        "black: jacket.metal, value: OL",
        "value: OL",
    ),
    "seen beyond": (TANK, "black: limit.3, value: 240 V", "black: limit.3, value: 2400 V", "value: 2400 V"),
    "band too wide": (DRYER, "closes: 58 °C ± 4", "closes: 5.8 °C ± 4", "closes: 5.8 °C"),
    "seen lifts nothing": (
        DRYER,
        "lift: [motor.line, motor.start]",
        "lift: [motor.line, timer.clock]",
        "timer.clock], value",
    ),
    "seen same terminal": (TANK, "red: limit.1, black: limit.2", "red: limit.1, black: limit.1", "black: limit.1"),
    "share absurd": (
        COLD,
        "lit: [food lamp], set: {door: open}",
        "lit: [food lamp], at least: 5, set: {door: open}",
        "at least: 5",
    ),
    "symptom cannot": (
        COLD,
        "lit: [food lamp], set: {door: open}",
        "lit: [defrost heater], set: {door: open}",
        "lit: [defrost heater]",
    ),
    "symptom never changes": (
        COLD,
        "replace: 25 min, fails: 6}\n  drain tube",
        "replace: 25 min, fails: 0}\n  drain tube",
        "water inside:",
    ),
    "symptom out of sight": (
        DRYER,
        "  buzzer sounds: {",
        "  buzzer sounds: {in: drum space, ",
        "in: drum space",
    ),
    "symptom twice": (COLD, "symptoms:\n", "symptoms:\n  it runs: {running: compressor}\n", "compressor runs:"),
}
# No machine of the library has such a part: tried with the parts of test_part_types.
ELSEWHERE = {"relay drops above pull", "sensor off curve"}


def found_by(rule: str, text: str) -> list[int]:
    """The lines that a rule blames in a text."""
    sheet, complaints = loading.read_with_complaints(text, "x", None)
    before = Complaints(complaints.root)
    for flaw in catalogue.RULES[rule](sheet):
        before.add(flaw.path, flaw.message, flaw.remedy, flaw.shift)
    return [problem.line for problem in before.problems]


@pytest.mark.parametrize("rule", CASES)
def test_rule_finds_its_mistake(rule: str) -> None:
    """Planted in a good file, the mistake is found by its rule, on its line; unplanted it is not."""
    name, old, new, blamed = CASES[rule]
    text = library.text(name)
    assert old in text
    assert found_by(rule, text) == []
    changed = text.replace(old, new, 1)
    lines = [number for number, line in enumerate(changed.split("\n"), 1) if blamed in line]
    assert set(found_by(rule, changed)) & set(lines)


@pytest.mark.parametrize("volts", ["5000 V", "1200 V", "240 V", "12 V", "0 V", "-120 V", "120 mV", "120 kV"])
@pytest.mark.parametrize("name", [DRYER, TANK])
def test_absurd_supply_is_the_one_problem_that_is_told(name: str, volts: str) -> None:
    """On its line, with what to do; no short, no starved load behind it. 240 V to neutral is 480 V across."""
    text = library.text(name).replace("supply:\n", f"supply:\n  volts: {volts}\n", 1)
    (problem,) = loading.examine_text(text, "x")[1]
    assert text.split("\n")[problem.line - 1] == f"  volts: {volts}"
    assert [problem] == checking.examine_text(text, "x")[1]
    assert problem.remedy


@pytest.mark.parametrize("volts", ["120 V", "115 V ± 5 %", "110 V", "127 V", "100 V"])
def test_volts_of_a_house_are_no_mistake(volts: str) -> None:
    """What homes have, each leg to neutral, is not refused by this rule."""
    text = library.text(DRYER).replace("supply:\n", f"supply:\n  volts: {volts}\n")
    assert found_by("supply volts absurd", text) == []


@pytest.mark.parametrize(
    ("name", "ask", "told"),
    [
        ("puddle", "Is there a puddle?", True),
        ("wet below", "Is it wet?", True),
        ("leaks", "Does it leak?", True),
        ("water inside", "Is there water at the bottom inside?", False),
        ("sweats", "Is there sweat round the door?", False),
    ],
)
def test_water_on_the_floor_is_told_by_its_words(name: str, ask: str, told: bool) -> None:
    """Whatever it is called it reads as the floor, or it does not; what is seen behind a cover is not on the floor."""
    old = 'water on the floor: {leaks: [tank, drain valve], ask: "Is there water under the heater?"}'
    text = library.text(TANK)
    assert old in text
    entry = f'{name}: {{leaks: [tank, drain valve], ask: "{ask}"}}'
    assert bool(found_by("water by another name", text.replace(old, entry))) == told
    inside = entry.replace("ask:", "in: upper cover, ask:")
    assert found_by("water by another name", text.replace(old, inside)) == []


def test_every_rule_is_tried() -> None:
    """A new rule needs a case here."""
    assert set(CASES) | ELSEWHERE == set(catalogue.RULES)


def test_every_rule_tells_its_mistake() -> None:
    """The docstring of a rule is what the reference page prints."""
    assert all((rule.__doc__ or "").strip().endswith(".") for rule in catalogue.RULES.values())


def test_nets_join_what_hangs_together() -> None:
    """Joining is told apart from finding joined."""
    nets = Nets([("a", "b"), ("c", "d")])
    assert nets.join("b", "c")
    assert not nets.join("d", "a")
