"""One mistake in a findings file is told once: it brings no false complaint, and hides no true one."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import BadInput
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.machine import loading, model
from halfsplit.modes import listing
from halfsplit.modes.fault import Fault

DRYER = loading.load("vented-dryer")
OHMS = "meter: ohms, red: heater.common, black: heater.front"
VOLTS = "meter: volts, red: terminal block.L1, black: terminal block.L2"
SEEN = "what: air is warm, value: no, by: repairer"
BLT = "- look: {at: blt, sees: fine}\n- reading: {"
LOADED = "provoke: load the supply"


def told(text: str) -> list[str]:
    """All that is told of a text, in the order of the file."""
    try:
        findings_file.read(text, "x.yaml", DRYER, frozenset({"replace heater"}))
    except BadInput as refused:
        return [f"{one.message} {one.remedy}".rstrip() for one in refused.problems]
    return []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (f"- symptom: {{{SEEN}, set: {{door: closed}}, took: 2 min}}", ["'door' has no position 'closed'."]),
        (f"- symptom: {{{SEEN}, set: {{door: closed}}, exchange: none}}", ["'door' has no position 'closed'."]),
        (f"- symptom: {{{SEEN.replace('repairer', 'cat')}, set: {{door: open}}, took: 2 min}}", ["No by 'cat'."]),
        ("- symptom: {what: air is wram, value: no, by: repairer, took: 2 min}", ["No symptom 'air is wram'."]),
        (f"- reading: {{{OHMS}, isolated: maybe, value: 1}}", ["'isolated' is yes or no, not 'maybe'."]),
        (f"- reading: {{{OHMS}, isolated: no, provoke: shake motor, value: 1}}", ["ohms on a machine that is not"]),
        ("- reading: {meter: oms, red: motor.line, black: motor.start, provoke: shake motor, value: 1}", ["No meter"]),
        ("- reading: {meter: [volts], red: motor.line, black: motor.start, value: 12 V}", ["'meter' is one text."]),
        (f"- reading: {{{VOLTS}, set: {{heat: hihg}}, {LOADED}, value: 41 V}}", ["'heat' has no position 'hihg'."]),
        (
            f"- reading: {{{VOLTS}, set: {{heat: hihg}}, value: 41 V}}\n- reading: {{{LOADED}, value: 41 V}}",
            ["'heat' has no position 'hihg'."],
        ),
        ("- reading: {metr: volts, red: motor.line, black: motor.start, value: 12 V}", ["A reading has no field"]),
        (f"- reading: {{{OHMS}, valeu: 5}}\n- reading: {{value: 6}}", ["A reading has no field 'valeu'."]),
        (f"- readin: {{{OHMS}, value: 5}}\n- reading: {{value: 120 V}}", ["No kind of finding 'readin'."]),
        ("- look: {at: blt, sees: fine}\n- look: {at: belt, sees: fine, closely: yes}", ["No part or terminal 'blt'."]),
        ("- repair: {made: replace heater, well: no}", ["This repair says no 'cured'."]),
        ("- reading: {red: {a: b}, black: heater.rear, value: 1}", ["'red' is one text. Write it without brackets."]),
        ("- look: {at: [belt], sees: fine}", ["'at' is one text."]),
        ("- symptom: {what: [air is warm], value: no}", ["'what' is one text."]),
        ("- repair: {made: [replace heater], cured: no}", ["'made' is one text."]),
        ("- closed: {power: [on]}", ["'power' is one text."]),
        (f"- reading: {{{OHMS}, lift: {{a: b}}, value: 1}}", ["'lift' is one text."]),
        (f"- reading: {{{OHMS}, lift: [heater.front, [motor.line]], value: 1}}", ["Each of 'lift' is one text."]),
        (f"- reading: {{{OHMS}, exchange: {{a: b}}, value: 1}}", ["'exchange' is one text."]),
        (f"- reading: {{{OHMS}, set: {{door: {{x: y}}}}, value: 1}}", ["The position of 'door' is one text."]),
        (f"- reading: {{{OHMS}, value: [OL, 2]}}", ["'value' is one text. Write it without brackets."]),
        (f"- reading: {{{OHMS}, value: 1, took: [2 min]}}", ["'took' is one text."]),
        ("- symptom: {what: air is warm, value: no, took: [2 min]}", ["'took' is one text.", "What an owner told"]),
    ],
)
def test_one_mistake_brings_no_false_complaints(text: str, says: list[str]) -> None:
    """Nothing is concluded from what could not be read."""
    found = told(text)
    assert len(found) == len(says), found
    assert all(one.startswith(message) for one, message in zip(sorted(found), sorted(says), strict=True)), found


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (BLT + OHMS + ", provoke: nonsense, value: 1}", "Nothing comes and goes"),
        (BLT + OHMS + ", exchange: [heater], value: 1}", "'heater' are no two"),
        ("- reading: {" + OHMS + ", set: {heet: low}, provoke: nonsense, value: 1}", "Nothing comes and goes"),
        ("- reading: {" + OHMS + ", isolated: maybe, exchange: [heater], value: 1}", "'heater' are no two"),
        ("- reading: {" + OHMS + ", colour: red, lift: [x.y], value: 12 V}", "No terminal 'x.y'."),
        ("- reading: {" + OHMS + ", colour: red, lift: [x.y], value: 12 V}", "'V' is no unit of a resistance."),
        ("- look: {at: blt, sees: fine, took: 3}", "'3' is no time that a step takes."),
        ("- look: {at: belt, closely: perhaps, sees: brokn}", "'brokn' is not among what may be seen"),
        ("- symptom: {what: x, value: no, exchange: [heater]}", "An owner exchanges no parts"),
        ("- closed: {power: in, took: 3}", "'3' is no time that a step takes."),
    ],
)
def test_a_mistake_hides_no_other(text: str, says: str) -> None:
    """All is told at the first run, what stands beside another mistake or after it as well."""
    found = told(text)
    assert len(found) > 1
    assert any(one.startswith(says) for one in found), found


@pytest.mark.parametrize("meter", ["amps", "temperature"])
@pytest.mark.parametrize("black", ["nonsense", "heater.front"])
def test_a_black_lead_where_there_is_none_is_told(meter: str, black: str) -> None:
    """As the command line does; it is not left unread."""
    value = "4 A" if meter == "amps" else "60 °C"
    (said,) = told(f"- reading: {{meter: {meter}, red: cut-off.1, black: {black}, value: {value}}}")
    assert said == f"{meter} takes no black lead. Name with red where it is held."


def test_faults_are_listed_once_a_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """However many looks there are."""
    listed: list[model.Machine] = []
    real = listing.faults

    def faults(machine: model.Machine) -> tuple[Fault, ...]:
        listed.append(machine)
        return real(machine)

    monkeypatch.setattr(listing, "faults", faults)
    text = "- look: {at: belt, sees: fine}\n- look: {at: cut-off, sees: fine}\n- look: {at: heater, sees: fine}\n"
    assert len(findings_file.read(text, "x.yaml", DRYER)) == 3
    assert len(listed) == 1


def test_a_text_that_looks_unread_is_refused() -> None:
    """Nobody can write what stands for a text that could not be read."""
    for text in (" unread", "unread", "?"):
        assert told(f"- reading: {{{OHMS}, value: {json.dumps(text)}}}")
        assert told(f"- look: {{at: {json.dumps(text)}, sees: fine}}")


_WORDS = ["ohms", "volts", "amps", "heater.front", "heater.rear", "belt", "yes", "no", "OL", "low", "on", "3 min"]
_inner = st.recursive(
    st.sampled_from(_WORDS),
    lambda inner: st.one_of(
        st.lists(inner, max_size=2), st.dictionaries(st.sampled_from(["heat", "door", "a"]), inner, max_size=2)
    ),
    max_leaves=4,
)


@st.composite
def _findings(draw: st.DrawFn) -> list[object]:
    kinds = draw(st.lists(st.sampled_from(sorted(findings_file.KINDS)), max_size=3))
    fields = {kind: st.dictionaries(st.sampled_from(sorted(findings_file.KINDS[kind])), _inner) for kind in set(kinds)}
    return [{kind: draw(fields[kind])} for kind in kinds]


@given(_findings())
def test_no_message_shows_what_is_inside(found: list[object]) -> None:
    """Whatever stands under a field, a person is told of it in words; and there is a remedy or a word in it."""
    for one in told(json.dumps(found)):
        assert "Node(" not in one
        assert "Spot(" not in one
        assert "unread" not in one


@given(_findings())
def test_what_is_not_refused_is_whole(found: list[object]) -> None:
    """Nothing unread goes on to be weighed."""
    try:
        read = findings_file.read(json.dumps(found), "x.yaml", DRYER)
    except BadInput:
        return
    assert len(read) == len(found)
    for one in read:
        assert isinstance(one, f.Finding)
        assert "unread" not in repr(one)
