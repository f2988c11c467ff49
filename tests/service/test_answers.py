"""What is typed at a step: all that is offered is understood, and a slip is answered in the person's words."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from halfsplit.errors import NotUnderstood
from halfsplit.evidence import displayed
from halfsplit.evidence import finding as f
from halfsplit.operate import condition as conditions
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import acting, answers
from tests.rehearse.benches import NAMES, bench

FIELDS = ("'value'", "'sees'", "'what'", "meter:", "'meter'", "'at'", "field", "finding")
"""Words of a findings file, which the person at the machine has not written."""


@cache
def steps() -> tuple[Step, ...]:
    """A step of each kind, and a reading with each function of the meter."""
    machine = bench("water-heater").machine
    at = conditions.condition(machine)
    red, black, *_ = machine.terminals
    readings = (Step("reading", at, Probe(meter, red, black)) for meter in answers.EXAMPLES)
    look = next(part for part in machine.parts if len(acting.seen(bench("water-heater").predictor, part)) > 2)
    return (Step("look", at=look), Step("symptom", at, at="water gets hot"), *readings)


def typed_at(step: Step, typed: str) -> object:
    """The answer as a finding."""
    return answers.understood(bench("water-heater").predictor, step, typed)


def test_every_function_of_the_meter_has_examples_that_are_understood() -> None:
    """Each example, for each function that a finding may have, is read without a question."""
    assert set(answers.EXAMPLES) == set(displayed.DIMENSIONS)
    for meter, examples in answers.EXAMPLES.items():
        for one in examples.replace(" or ", ", ").split(", "):
            assert displayed.measured(one, meter)[3] == one


@pytest.mark.parametrize("name", NAMES)
def test_every_word_offered_at_a_look_is_understood(name: str) -> None:
    """In small and capital letters, at every part and terminal."""
    predictor = bench(name).predictor
    for at in (*predictor.machine.parts, *list(predictor.machine.terminals)[::7]):
        for word in acting.seen(predictor, at):
            assert answers.understood(predictor, Step("look", at=at), word.upper()) == f.Look(at, word)


@pytest.mark.parametrize(
    ("kind", "typed", "says"),
    [
        ("symptom", "mybe", "'mybe' is neither yes nor no. Type yes or no; y or n will do."),
        ("symptom", "118 V", "'118 V' is neither yes nor no."),
        ("look", "fien", "Did you mean 'fine'?"),
        ("look", "yes", "Type fine, "),
        ("look", "118 V", "Type fine, "),
        ("look", "OL", "Type fine, "),
        ("look", "ok", "Did you mean 'fine'?"),
        ("look", "badly burnt", "Did you mean 'burnt'?"),
        ("look", "Melted", "Did you mean 'burnt'?"),
        ("look", "brown spots.", "Did you mean 'burnt'?"),
        ("look", "all good.", "Did you mean 'fine'?"),
        ("look", "not burnt", "Say it without a not."),
        ("ohms", "9.2 furlongs", "as in 9.2k, 0.4 ohm or OL"),
        ("ohms", "118 V", "'V' is no unit of a resistance"),
        ("ohms", "beeps", "is what continuity gives, not ohms. Type it as in 9.2k"),
        ("ohms", "yes", "does not begin with a number"),
        ("ohms", "1,234", "Write '1234' or '1.234'"),
        ("volts", "9.2 ohm", "as in 118 V"),
        ("amps", "OLL", "as in 21.5 A"),
        ("temperature", "155", "Write '155 °C' or '155 °F'"),
        ("capacitance", "12", "Type it as in 12 µF"),
        ("continuity", "perhaps", "as in beeps, silent or 12 ohm"),
    ],
)
def test_a_slip_is_answered_in_the_persons_words(kind: str, typed: str, says: str) -> None:
    """What was typed, what is understood here, and an example."""
    step = next(s for s in steps() if kind in (s.kind, s.probe.meter if s.probe else ""))
    with pytest.raises(NotUnderstood) as refusal:
        typed_at(step, typed)
    assert says in str(refusal.value)
    assert repr(typed) in str(refusal.value)
    assert not [word for word in FIELDS if word in str(refusal.value)]


def test_any_other_word_for_what_was_seen_is_taken() -> None:
    """One that is like none of those that the place may show, as it was typed."""
    look, *_ = steps()
    assert typed_at(look, " Rusty") == f.Look(look.at, "Rusty")


def test_all_that_is_wrong_is_said_at_once() -> None:
    """Of several answers each that is not understood by its number; the good ones are not taken alone."""
    look, seen, ohms, *_ = steps()
    predictor = bench("water-heater").predictor
    with pytest.raises(NotUnderstood) as refusal:
        answers.all_understood(predictor, (look, seen, ohms), ("fien", "yes", "118 V"))
    said = str(refusal.value)
    assert said.startswith("Answer 1: 'fien' is not among")
    assert "Answer 2" not in said
    assert "Answer 3: '118 V' is not understood" in said
    assert said.endswith("None was taken.")
    with pytest.raises(NotUnderstood, match="2 answers were typed, and only one is asked for here"):
        answers.all_understood(predictor, (look,), ("fine", "fine"))
    assert len(answers.all_understood(predictor, (look, seen, ohms), ("fine", "yes"))) == 2


@given(typed=st.text(max_size=80), number=st.integers(0, 9))
@example("what", 1)
@example("what", 2)
def test_whatever_is_typed_is_understood_or_answered(typed: str, number: int) -> None:
    """A finding, or a sentence that shows what was typed, ends, and names no field of a file."""
    step = steps()[number]
    try:
        typed_at(step, typed)
    except NotUnderstood as refusal:
        said = str(refusal)
        assert typed[:10].split("'")[0][:5].strip() in said or not typed.isprintable() or "\\" in said
        assert said.rstrip("?").rstrip(".").count(" ") > 4
        if typed.isalnum():
            own = said.replace(f"'{typed}'", "")  # who types the name of a field sees what they typed
            assert not [word for word in FIELDS if word in own]
