"""Each rule of behaviour on one slip in a good file that it is there to find. Judge: the hand that made the slip."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from halfsplit.audit import catalogue
from halfsplit.audit.survey import Survey
from halfsplit.machine import library, loading
from halfsplit.machine.complaints import Complaints
from halfsplit.operate.effect import HEALTHY
from halfsplit.predict import healthy, mending
from halfsplit.service import checking
from tests.cli.words import run


@dataclass(frozen=True)
class Made:
    """A slip: old text to new text, pairs of them in turn, and how the line begins that is blamed."""

    file: str
    changes: tuple[tuple[str, str], ...]
    blamed: str

    def text(self) -> str:
        """The file with its slip; every old text stood there once."""
        text = library.text(self.file)
        for old, new in self.changes:
            assert text.count(old) == 1, (old, text.count(old))
            text = text.replace(old, new)
        return text


DRYER, COLD, WATER = "vented-dryer", "refrigerator", "water-heater"
BUZZER = "wires:\n  - GNYE  buzzer.2  cabinet.metal\n"
MADE: dict[str, Made] = {
    "hots shorted": Made(
        WATER, (("lower thermostat.2  lower element.1", "lower thermostat.2  lower element.2"),), "- BU"
    ),
    "supply end elsewhere": Made(
        COLD, (("{L: cord block.L, N: cord block.N", "{L: cord block.N, N: cord block.L"),), "meets"
    ),
    "trips": Made(COLD, (("amps: 4 A", "amps: 0.6 A"),), "overload"),
    "chatters": Made(DRYER, (("motor.hold  door switch.NO", "motor.hold  door switch.NC"),), "motor"),
    "frame live": Made(
        "vented-dryer-3-wire",
        (
            ("strap, fitted: yes", "strap, fitted: no"),
            ("parts:\n", f"without:\n  - timer.neutral  buzzer.2\n{BUZZER}parts:\n"),
        ),
        "- GNYE",
    ),
    "frame joined inside": Made(COLD, (("defrost heater.2  cord block.N", "defrost heater.2  cabinet.metal"),), "- WH"),
    "load never fed": Made(DRYER, (("timer.buzzer  buzzer.1", "timer.buzzer  buzzer.2"),), "buzzer"),
    "load underfed": Made(COLD, (("volts: 120 V, watts: 25 W", "volts: 230 V, watts: 25 W"),), "food lamp"),
    "load of one leg": Made(DRYER, (("terminal block.L2  motor.heat 2", "terminal block.N  motor.heat 2"),), "heater"),
    "load overfed": Made(DRYER, (("terminal block.N  door switch.C", "terminal block.L2  door switch.C"),), "timer"),
    "load never off": Made(
        WATER, (("lower thermostat.2  lower element.1", "limit.2  lower element.1"),), "lower element"
    ),
    "motor never starts": Made(COLD, (("120 V, watts: 11 W", "240 V, watts: 11 W"),), "condenser fan"),
    "contact idle": Made(COLD, (("defrost timer.2  terminator.1", "defrost timer.3  terminator.1"),), "1-2"),
    "contact bypassed": Made(DRYER, (("wires:\n", "wires:\n  - BK  belt switch.1  motor.line\n"),), "belt switch"),
    "control idle": Made(
        COLD,
        (
            ("freezer fan.2  door switch.NO", "freezer fan.2  cord block.N"),
            ("door switch.NC  food lamp.2", "cord block.N  food lamp.2"),
        ),
        "door",
    ),
    "position idle": Made(
        COLD, (("[normal, off]", "[normal, colder, off]"), ("on: [normal]", "on: [normal, colder]")), "cold dial"
    ),
    "timer stuck": Made(DRYER, (("clock-neutral: [timed, cool down]", "clock-neutral: [timed]"),), "timer"),
    "works at off": Made(DRYER, (("line-buzzer: [cool down]", "line-buzzer: [off, cool down]"),), "cycle"),
    "lamp of a shut door": Made(
        COLD,
        (
            ("freezer fan.2  door switch.NO", "freezer fan.2  door switch.NC"),
            ("door switch.NC  food lamp.2", "door switch.NO  food lamp.2"),
        ),
        "food lamp",
    ),
    "setting idle": Made(
        DRYER, (("line-motor: [timed, automatic, cool down]", "line-motor: [timed, automatic]"),), "cool down"
    ),
    "seen otherwise": Made(
        COLD, (("lift: [defrost heater.1], value: 31 ohm", "lift: [defrost heater.1], value: 13 ohm"),), "- {meter"
    ),
    "symptom unmoved": Made(
        COLD,
        (("stays lit: {lit: [food lamp], set: {door", "stays lit: {trips: [overload], set: {cold dial: off, door"),),
        "lamp stays lit",
    ),
}


def found(rule: str, text: str) -> list[int]:
    """The lines on which one rule alone finds something."""
    sheet, complaints = loading.read_with_complaints(text, "slip", None)
    survey = Survey(sheet)
    flaws = healthy.RULES[rule](sheet, survey.operation) if rule in healthy.RULES else catalogue.RULES[rule](survey)
    for flaw in flaws:
        complaints.add(flaw.path, flaw.message, flaw.remedy, flaw.shift)
    return [problem.line for problem in complaints.problems]


@pytest.mark.parametrize("rule", [*catalogue.RULES, *healthy.RULES])
def test_rule_finds_its_slip_and_places_it(rule: str) -> None:
    """A slip of the rule's kind is found by that rule, on the line of what is to blame, and not in the good file."""
    made = MADE[rule]
    text = made.text()
    lines = [text.splitlines()[number - 1].strip() for number in found(rule, text)]
    assert lines
    assert any(line.startswith(made.blamed) for line in lines), lines
    assert found(rule, library.text(made.file)) == []


def test_a_contact_without_a_wire_on_purpose_is_not_idle() -> None:
    """A switch of which only two terminals are used: `spare` says so, and nothing is left to look at."""
    text = library.text(DRYER).replace("door switch.NC  drum lamp.2", "terminal block.N  drum lamp.2")
    assert found("contact idle", text) != []
    switch = "door switch: {type: door switch,"
    assert text.count(switch) == 1
    assert found("contact idle", text.replace(switch, f"{switch} spare: [NC],")) == []
    assert found("contact idle", text.replace(switch, f"{switch} spare: [NO],")) != []


@pytest.mark.parametrize("rule", ["hots shorted", "load overfed", "timer stuck", "seen otherwise"])
def test_check_tells_what_a_rule_finds(rule: str) -> None:
    """What a rule finds comes out of the check with a place, a sentence and a remedy."""
    problems = checking.examine_text(MADE[rule].text(), "slip")[1]
    assert set(found(rule, MADE[rule].text())) <= {problem.line for problem in problems}
    assert all(p.line and p.column and p.message.endswith(".") and p.remedy for p in problems)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            "upper thermostat.first  upper element.1",
            "upper thermostat.first  upper element.2",
            "upper element.1 instead",
        ),
        ("upper thermostat.C\n", "upper thermostat.next\n", "upper thermostat.C instead"),
    ],
)
def test_slip_that_explains_all_is_named_on_its_line(old: str, new: str, says: str) -> None:
    """Where one end of one wire explains all that is odd, its line is told, with the terminal where it belongs."""
    text = library.text(WATER).replace(old, new)
    line = next(number for number, row in enumerate(text.splitlines(), 1) if new.strip() in row)
    told = [p for p in checking.examine_text(text, "slip")[1] if "it would fit" in p.message]
    assert any(p.line == line and says in p.message for p in told), told


@pytest.mark.parametrize("name", library.names())
def test_good_files_are_not_odd(name: str) -> None:
    """Nothing in a good file is odd by the measure that slips are compared with."""
    survey = Survey(loading.read_sheet(library.text(name), name))
    assert mending.oddness(survey, [mending.Mend((), "", HEALTHY)]).tolist() == [0]


def test_later_stages_wait_for_earlier_ones() -> None:
    """Behind a short nothing is said of starved loads and idle contacts."""
    sheet, complaints = loading.read_with_complaints(MADE["hots shorted"].text(), "slip", None)
    assert catalogue.apply(Survey(sheet), complaints)
    assert isinstance(complaints, Complaints)
    assert all("shorted" in problem.message for problem in complaints.problems)


def test_check_ends_with_one_for_what_a_machine_would_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that can be read and is wired wrongly ends the command with 1, its problems in the document."""
    place = tmp_path / "mine.yaml"
    place.write_text(MADE["load never off"].text(), encoding="utf-8")
    ended = run(capsys, "check", str(place), "--json")
    assert ended.code == 1
    assert any("works in every setting" in problem["message"] for problem in ended.data["problems"])


def test_wire_that_goes_nowhere_is_not_run() -> None:
    """A wire from a terminal to itself is told by the static rules, and the machine is not run."""
    text = library.text(WATER).replace("limit.4  upper element.2", "limit.4  limit.4")
    assert any("to itself" in problem.message for problem in checking.examine_text(text, "slip")[1])
