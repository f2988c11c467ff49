"""Findings as they are typed: every field, what is taken over, the echo, and mistakes with their places."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import BadInput, Problem
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.machine import loading
from halfsplit.operate.condition import condition
from halfsplit.predict.readings import Probe

DRYER = loading.load("vented-dryer")
REPAIRS = frozenset({"replace heater", "clean vent duct"})


def read(text: str) -> list[f.Finding]:
    """The findings of a text on the dryer."""
    return findings_file.read(text, "findings.yaml", DRYER, REPAIRS)


def problems(text: str) -> list[tuple[int, int, str, str]]:
    """Line, column, message and remedy of all that is wrong."""
    with pytest.raises(BadInput) as caught:
        read(text)
    assert all(one.file == "findings.yaml" for one in caught.value.problems)
    return [(one.line, one.column, one.message, one.remedy) for one in caught.value.problems]


def one_reading(fields: str) -> f.Reading:
    """The reading of these fields."""
    (found,) = read(f"- reading: {{{fields}}}")
    assert isinstance(found, f.Reading)
    return found


def test_every_field_of_a_reading() -> None:
    """Meter, leads, setting, isolated, lifted wires, value and note."""
    found = one_reading(
        "meter: ohms, red: heater.common, black: heater.front, set: {heat: low, door: open}, isolated: yes, "
        "lift: [heater.rear, heater.common], value: 21.4 ohm, note: wiggled it"
    )
    at = condition(DRYER, {"heat": "low", "door": "open"}, True, ["heater.common", "heater.rear"])
    assert (found.probe, found.condition) == (Probe("ohms", "heater.common", "heater.front"), at)
    assert (found.value, found.beeps, found.note) == (21.4, None, "wiggled it")
    assert found.step == pytest.approx(0.1)
    assert found.label == "ohms, heater.common to heater.front: 21.4 ohm"


def test_what_is_shaken_or_heated_meanwhile() -> None:
    """It is said with a reading, holds for that reading only, is echoed, and shows in the label."""
    text = """
- reading: {meter: ohms, red: door switch.C, black: door switch.NO, provoke: shake door switch, value: OL}
- reading: {value: 0.2}
"""
    provoked, plain = read(text)
    assert isinstance(provoked, f.Reading)
    assert isinstance(plain, f.Reading)
    assert (provoked.condition.provoke, plain.condition.provoke) == ("shake door switch", "")
    assert provoked.label == "ohms, door switch.C to door switch.NO (shake door switch): OL"
    assert findings_file.written(provoked)["reading"]["provoke"] == "shake door switch"


def test_a_thermostat_that_is_warmed() -> None:
    """Said with the reading, for that reading only, and echoed; it stays with what decides the reading."""
    text = """
- reading: {meter: ohms, red: high limit.1, black: high limit.2, provoke: warm high limit, value: OL}
- reading: {value: 0.2}
"""
    warmed, plain = read(text)
    assert isinstance(warmed, f.Reading)
    assert isinstance(plain, f.Reading)
    assert (warmed.condition.warmed, plain.condition.provoke) == ("high limit", "")
    assert warmed.condition.lasting == plain.condition
    assert warmed.condition.still != plain.condition
    assert warmed.label == "ohms, high limit.1 to high limit.2 (warm high limit): OL"
    assert read(json.dumps([findings_file.written(warmed)])) == [warmed]


def test_a_supply_that_was_loaded() -> None:
    """Said with volts on the running machine, for that reading only, and echoed."""
    setting = "{cycle: timed, heat: high, start: pressed}"
    text = f"""
- reading: {{meter: volts, red: terminal block.L1, black: terminal block.L2, set: {setting}, provoke: load the supply,
    value: 41 V}}
- reading: {{value: 238 V}}
"""
    loaded, plain = read(text)
    assert isinstance(loaded, f.Reading)
    assert isinstance(plain, f.Reading)
    assert (loaded.condition.loads, plain.condition.loads, loaded.condition.isolated) == (True, False, False)
    assert loaded.condition.still == plain.condition
    assert loaded.label == "volts, terminal block.L1 to terminal block.L2 (load the supply): 41 V"
    assert read(json.dumps([findings_file.written(loaded)])) == [loaded]


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ("meter: ohms, provoke: shake dor switch, value: OL", "Nothing comes and goes with 'shake dor switch'."),
        ("meter: volts, provoke: shake motor, value: 120 V", "To shake motor on a machine that is not isolated"),
        ("meter: ohms, provoke: load the supply, value: OL", "To load the supply the machine has to run"),
        ("meter: volts, isolated: yes, provoke: load the supply, value: 0 V", "To load the supply the machine has to"),
        ("meter: volts, set: {plug: out}, provoke: load the supply, value: 0 V", "To load the supply the machine has"),
        ("meter: volts, provoke: load the supply, value: 239 V", "This setting does not load the supply: 0.0 A"),
        (
            "meter: volts, set: {cycle: timed, heat: air only, start: pressed}, provoke: load the supply, value: 239 V",
            "This setting does not load the supply",
        ),
        ("meter: volts, provoke: load the suply, value: 120 V", "Nothing comes and goes with 'load the suply'."),
        ("meter: ohms, provoke: warm thermal fuse, value: OL", "No thermostat of this machine can be warmed"),
        ("meter: ohms, provoke: warm hi limit, value: OL", "No thermostat of this machine can be warmed"),
        ("meter: volts, provoke: warm high limit, value: 0 V", "To warm high limit on a machine that is not isolated"),
    ],
)
def test_what_cannot_be_provoked_is_told(fields: str, message: str) -> None:
    """Nothing that the machine has not, and nothing under power."""
    ((_, _, said, remedy),) = problems(f"- reading: {{red: motor.line, black: motor.start, {fields}}}")
    assert said.startswith(message)
    assert remedy


@pytest.mark.parametrize(
    ("meter", "typed", "value", "beeps"),
    [
        ("ohms", "9.2k", 9200.0, None),
        ("ohms", "OL", None, None),
        ("ohms", "0.L", None, None),
        ("ohms", "23,4", 23.4, None),
        ("volts", "118 V", 118.0, None),
        ("volts", "-118 V", 118.0, None),
        ("amps", "4.9 A", 4.9, None),
        ("temperature", "155F", 68.333, None),
        ("continuity", "beeps", None, True),
        ("continuity", "no beep", None, False),
        ("continuity", "OL", None, False),
    ],
)
def test_values_as_they_are_typed(meter: str, typed: str, value: float | None, beeps: bool | None) -> None:
    """Multipliers, commas, units, over range and the beeper, in SI (temperatures in degrees Celsius)."""
    black = "" if meter in ("amps", "temperature") else "black: heater.front, "
    red = "cut-off.1" if meter == "temperature" else "heater.common"
    found = one_reading(f"meter: {meter}, red: {red}, {black}value: '{typed}'")
    assert found.value == (value if value is None else pytest.approx(value, abs=1e-3))
    assert (found.beeps, found.text) == (beeps, typed)


def test_of_a_reading_only_the_range_may_be_known() -> None:
    """One range or several, with half a last digit at each end; up to OL; what is written is read again."""
    (one,) = read("- reading: {meter: ohms, red: heater.front, black: heater.rear, value: 9.0 ohm to 1.2k}")
    (two,) = read("- reading: {meter: volts, red: heater.front, black: heater.rear, value: 0 V to 2 V or 90 V to OL}")
    assert isinstance(one, f.Reading)
    assert isinstance(two, f.Reading)
    assert list(one.spans[0]) == pytest.approx([8.95, 1250.0])
    assert len(one.spans) == 1
    assert two.spans == ((-0.5, 2.5), (89.5, float("inf")))
    assert read(json.dumps([findings_file.written(x) for x in (one, two)])) == [one, two]


@pytest.mark.parametrize(
    ("typed", "spans"),
    [
        ("-5 V to 4 V", [(0.0, 5.5)]),
        ("-240 V to -230 V", [(229.5, 240.5)]),
        ("-5 V to -2 V or 3 V to 6 V", [(1.5, 5.5), (5.5, 6.5)]),
        ("-OL to -230 V", [(229.5, float("inf"))]),
        ("-2 V to OL", [(0.0, float("inf"))]),
    ],
)
def test_a_range_below_nothing_is_that_of_its_magnitudes(typed: str, spans: list[tuple[float, float]]) -> None:
    """The leads may be changed over: below 0 the ends change places, and a range that holds 0 begins there."""
    (one,) = read(f"- reading: {{meter: volts, red: heater.front, black: heater.rear, value: {typed}}}")
    assert isinstance(one, f.Reading)
    assert list(one.spans) == spans
    assert one.value == spans[0][0]
    assert read(json.dumps([findings_file.written(one)])) == [one]


def test_a_range_of_temperatures_keeps_its_sign() -> None:
    """It may be colder than 0 °C."""
    found = one_reading("meter: temperature, red: cut-off.1, value: -10 °C to 5 °C")
    assert list(found.spans) == [(-10.5, 5.5)]


def test_isolated_follows_from_the_meter() -> None:
    """Ohms on an isolated machine, volts on a live one, unless it is said."""
    leads = "red: heater.common, black: heater.front, value: 1"
    assert one_reading(f"meter: ohms, {leads}").condition.isolated
    assert not one_reading(f"meter: volts, {leads}").condition.isolated
    assert one_reading(f"meter: volts, isolated: yes, {leads}").condition.isolated


def test_looks_symptoms_and_repairs() -> None:
    """Each with all its fields."""
    look, told, seen, tried = read(
        "- look: {at: terminal block.L1, sees: burnt, note: brown}\n"
        "- symptom: {what: drum turns, value: yes}\n"
        "- symptom: {what: air is warm, value: no, by: repairer, set: {heat: low}, note: cold}\n"
        "- repair: {made: replace heater, cured: no, note: last week}\n"
    )
    assert look == f.Look("terminal block.L1", "burnt", "brown")
    assert told == f.Perceived("drum turns", True)
    assert seen == f.Perceived("air is warm", False, condition(DRYER, {"heat": "low"}), "repairer", "cold")
    assert tried == f.Tried("replace heater", False, "last week")
    assert [one.label for one in (look, told, tried)] == [
        "look at terminal block.L1: burnt", "drum turns: yes", "replace heater: not cured",
    ]  # fmt: skip


def test_what_a_reading_leaves_out_is_taken_from_the_one_before() -> None:
    """Meter, leads, setting and lifted wires stay until they are said anew."""
    first, second, third = read(
        "- reading: {meter: ohms, red: heater.common, black: heater.front, set: {heat: low}, "
        "lift: [heater.common], value: 21.4}\n"
        "- reading: {black: heater.rear, value: 21.6}\n"
        "- reading: {red: heater.front, set: {door: open}, lift: none, value: 0.1}\n"
    )
    assert isinstance(first, f.Reading)
    assert isinstance(second, f.Reading)
    assert isinstance(third, f.Reading)
    assert second.probe == Probe("ohms", "heater.common", "heater.rear")
    assert second.condition == first.condition
    assert third.probe == Probe("ohms", "heater.front", "heater.rear")
    assert third.condition == condition(DRYER, {"heat": "low", "door": "open"}, True)


def test_a_symptom_takes_the_setting_only_once_one_was_said() -> None:
    """Told before any setting, it was met in a setting that nobody knows; after one, in that."""
    before, _, after = read(
        "- symptom: {what: drum turns, value: yes}\n"
        "- symptom: {what: air is warm, value: no, set: {heat: low}}\n"
        "- symptom: {what: breaker trips, value: no}\n"
    )
    assert isinstance(before, f.Perceived)
    assert isinstance(after, f.Perceived)
    assert before.condition is None
    assert after.condition == condition(DRYER, {"heat": "low"})


def test_amps_have_no_black_lead_and_do_not_lose_it() -> None:
    """A clamp goes round one wire; the next reading of volts must say where both leads are."""
    amps = one_reading("meter: amps, red: terminal block.L1, value: 4.9 A")
    assert amps.probe == Probe("amps", "terminal block.L1")
    assert "amps, at terminal block.L1" in amps.label


def test_an_empty_text_has_no_findings() -> None:
    """Nothing was found yet."""
    assert read(" \n") == []


def test_json_is_read_as_well() -> None:
    """The same grammar in braces."""
    text = json.dumps([{"look": {"at": "belt", "sees": "broken"}}])
    assert read(text) == [f.Look("belt", "broken")]


# ---- the echo ---------------------------------------------------------------------------------------------

_notes = st.sampled_from(["", "wiggled it", "twice: yes"])
_settings = st.dictionaries(st.sampled_from(["heat", "cycle", "door"]), st.integers(0, 1), max_size=3).map(
    lambda given: {name: DRYER.controls[name].positions[index] for name, index in given.items()}
)
_terminals = st.sampled_from([t for t in DRYER.reachable if t.startswith(("heater.", "timer.", "motor."))])


@st.composite
def _readings(draw: st.DrawFn) -> f.Reading:
    meter, text, value, beeps, step = draw(
        st.sampled_from(
            [
                ("ohms", "21.4", 21.4, None, 0.1), ("ohms", "OL", None, None, 0.0),
                ("continuity", "beeps", None, True, 0.0), ("volts", "118 V", 118.0, None, 1.0),
            ]
        )
    )  # fmt: skip
    at = condition(
        DRYER, draw(_settings), meter != "volts" or draw(st.booleans()), draw(st.sets(_terminals, max_size=2))
    )
    red, black = draw(st.lists(_terminals, min_size=2, max_size=2, unique=True))
    return f.Reading(Probe(meter, red, black), at, value, beeps, step, text, draw(_notes))



@st.composite
def _perceptions(draw: st.DrawFn) -> f.Perceived:
    """A drum is turned by hand on a machine that is isolated."""
    what, by = draw(st.sampled_from(sorted(DRYER.symptoms))), draw(st.sampled_from(["owner", "repairer"]))
    at = condition(DRYER, draw(_settings), DRYER.symptoms[what].by_hand and by == "repairer")
    return f.Perceived(what, draw(st.booleans()), at, by, draw(_notes))


_perceived = _perceptions()
_looks = st.builds(
    f.Look, st.sampled_from(["belt", "cut-off", "heater.front"]), st.sampled_from(["fine", "off"]), _notes
)
_tried = st.builds(f.Tried, st.sampled_from(sorted(REPAIRS)), st.booleans(), _notes)
_closed = st.builds(f.Closed, st.booleans(), _notes)
_back = st.builds(f.TakenBack, st.one_of(_readings(), _perceived, _looks))


@given(st.lists(st.one_of(_readings(), _perceived, _looks, _tried, _closed, _back), min_size=1, max_size=5))
def test_what_is_written_is_read_again(found: list[f.Finding]) -> None:
    """The echo leaves nothing to be taken over: read again, even after others, each finding is what it was."""
    echo = json.dumps([findings_file.written(one) for one in found])
    assert read(echo) == found


# ---- mistakes ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "line", "column", "message"),
    [
        ("kind: dryer", 1, 1, "Findings are a list."),
        ("- drum turns", 1, 3, "A finding is one of reading"),
        ("- readin: {value: 1}", 1, 3, "No kind of finding 'readin'."),
        ("- reading: 12", 1, 12, "A reading has fields."),
        ("- look: {at: belt, sees: fine, taken back: perhaps}", 1, 44, "'taken back' is yes or no, not 'perhaps'."),
        ("- closed: {power: on, taken back: yes}", 1, 35, "A closed has no field 'taken back'."),
        ("- look: {at: belt}", 1, 9, "This look says no 'sees'."),
        ("- look: {at: belt, sees: fine, colour: red}", 1, 40, "A look has no field 'colour'."),
        ("- look: {at: blt, sees: fine}", 1, 14, "No part or terminal 'blt'."),
        ("- look: {at: belt, sees: brokn}", 1, 26, "'brokn' is not among what may be seen at belt."),
        ("- look: {at: belt, sees: Good}", 1, 26, "'Good' is not among what may be seen at belt."),
        ("- look: {at: belt, sees: quite broken}", 1, 26, "'quite broken' is not among what may be seen at belt."),
        ("- symptom: {what: drum turn, value: yes}", 1, 19, "No symptom 'drum turn'."),
        ("- symptom: {what: drum turns, value: perhaps}", 1, 38, "'value' is yes or no, not 'perhaps'."),
        ("- symptom: {what: drum turns, value: yes, by: cat}", 1, 47, "No by 'cat'."),
        ("- repair: {made: replace heatr, cured: no}", 1, 18, "No repair 'replace heatr'."),
        ("- closed: {}", 1, 11, "This closed says no 'power'."),
        ("- closed: {power: in}", 1, 19, "No power 'in'."),
        ("- reading: {value: 1}", 1, 12, "This reading does not say where red goes."),
        ("- reading: {meter: oms, red: heater.front, black: heater.rear, value: 1}", 1, 20, "No meter 'oms'."),
        ("- reading: {red: heater.fron, black: heater.rear, value: 1}", 1, 18, "No terminal 'heater.fron'."),
        ("- reading: {red: heater.front, black: heater.rear, value: many}", 1, 59, ""),
        ("- reading: {red: heater.front, black: heater.rear, value: 12 V}", 1, 59, ""),
        ("- reading: {red: heater.front, black: heater.rear, value: beeps}", 1, 59, "'beeps' is what continuity gives"),
        ("- reading: {red: heater.front, black: heater.rear, value: 5 ohm to 3 ohm}", 1, 59, "does not go upwards"),
        ("- reading: {red: heater.front, black: heater.rear, value: 9 to 9.5 or 1 to 2}", 1, 59, "does not go upwards"),
        ("- reading: {red: heater.front, black: heater.rear, value: OL to 3 ohm}", 1, 59, "'OL to 3 ohm' is no range"),
        ("- reading: {red: heater.front, black: heater.rear, value: 3 ohm to}", 1, 59, ""),
        ("- reading: {red: heater.front, black: heater.rear, lift: [x.y], value: 1}", 1, 59, "No terminal 'x.y'."),
        ("- reading: {red: heater.front, black: heater.rear, set: {heet: low}, value: 1}", 1, 64, "No control 'heet'."),
        ("- reading: {red: heater.front, black: heater.rear, set: {heat: lw}, value: 1}", 1, 64, "has no position"),
        ("- reading: {red: heater.front, black: heater.rear, set: low, value: 1}", 1, 57, "A setting is a mapping"),
        ("- reading: {red: heater.front, black: heater.rear, isolated: no, value: 1}", 1, 12, "ohms on a machine"),
        ("- reading: {red: [a], black: heater.rear, value: 1}", 1, 18, "'red' is one text."),
    ],
)  # fmt: skip
def test_a_mistake_is_told_with_its_place(text: str, line: int, column: int, message: str) -> None:
    """The line, the column and a sentence for each thing that can be wrong."""
    found = problems(text)
    assert (line, column) in {(one[0], one[1]) for one in found}
    assert any(message in one[2] for one in found)


@pytest.mark.parametrize(("typed", "taken"), [("Broken", "broken"), ("Melted", "Melted"), ("OL", "OL")])
def test_a_look_takes_any_word_that_is_no_slip(typed: str, taken: str) -> None:
    """A known word in letters of either size; one that no fault there leaves stays as it was written."""
    assert read(f"- look: {{at: belt, sees: {typed}}}") == [f.Look("belt", taken)]


def test_all_mistakes_are_told_at_once() -> None:
    """Three lines with four mistakes give four problems, in the order of the file."""
    found = problems(
        "- look: {at: blt, sees: fine}\n"
        "- reading: {red: heater.fron, black: heater.rer, value: 1}\n"
        "- symptom: {what: drum turn, value: yes}\n"
    )
    assert [(line, column) for line, column, *_ in found] == [(1, 14), (2, 18), (2, 38), (3, 19)]
    assert all("Did you mean" in remedy for *_, remedy in found)


def test_all_that_is_wrong_of_a_repair_is_told_at_once() -> None:
    """Its name and whether it cured; then that "not all is well" fits no repair in vain."""
    found = problems("- repair: {made: replace heatr, cured: maybe, well: no}")
    assert [one[1] for one in found] == [18, 40]
    (not_well,) = problems("- repair: {made: replace heater, cured: no, well: no}")
    assert not_well[:2] == (1, 51)


def test_what_was_put_together_stands_at_rest() -> None:
    """A reading after it takes its leads over, not what was set and lifted before; a symptom is of no setting then."""
    before, _, after, told = read(
        "- reading: {meter: volts, red: heater.front, black: heater.rear, set: {door: open}, value: 0 V}\n"
        "- closed: {power: on}\n- reading: {value: 1 V}\n- symptom: {what: drum turns, value: yes}\n"
    )
    assert isinstance(before, f.Reading)
    assert isinstance(after, f.Reading)
    assert isinstance(told, f.Perceived)
    assert after.probe == before.probe
    assert before.condition.position("door") == "open"
    assert after.condition == condition(DRYER)
    assert told.condition is None


def test_a_mistake_that_is_taken_over_is_told_once() -> None:
    """A wrong meter and a wrong lead on the first line are not told again on the lines that leave them out."""
    found = problems(
        "- reading: {meter: oms, red: heater.fron, black: heater.rear, value: 12 V}\n- reading: {value: 1}\n"
        + "- reading: {black: heater.front, value: 2}\n"
    )
    assert [(line, column) for line, column, *_ in found] == [(1, 20), (1, 30)]


_junk: st.SearchStrategy[object] = st.recursive(
    st.one_of(
        st.none(), st.booleans(), st.floats(), st.integers(), st.text(max_size=8), st.sampled_from(["OL", "yes"])
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["reading", "value", "red", "set"]), inner, max_size=3),
    ),
    max_leaves=8,
)
_fields = st.dictionaries(
    st.sampled_from(["meter", "red", "black", "set", "isolated", "lift", "value", "at", "sees", "what", "by", "made"]),
    st.one_of(_junk, st.sampled_from(["ohms", "continuity", "heater.front", "timer.line", "belt", "drum turns"])),
    max_size=8,
)


@given(st.lists(st.one_of(_junk, st.dictionaries(st.sampled_from(sorted(findings_file.KINDS)), _fields, max_size=1))))
def test_wrong_shapes_are_refused_and_never_break(found: list[object]) -> None:
    """Any tree at all is read, or refused with placed problems."""
    _read_or_refused(json.dumps(found))


@given(st.one_of(st.text(max_size=60), st.text(alphabet="-:[]{}&*!|>\n \t#'\"ab", max_size=60)))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Broken YAML, tags, anchors: refused with a place."""
    _read_or_refused(text)


def _read_or_refused(text: str) -> None:
    try:
        read(text)
        told: tuple[Problem, ...] | None = None
    except BadInput as refused:
        told = refused.problems
    assert told is None or told
    assert all(one.line >= 1 and one.column >= 1 and one.message for one in told or ())
