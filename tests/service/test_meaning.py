"""Outcomes in words: the same for whoever leads or prints; what they speak for, and what a step is said to tell."""

from __future__ import annotations

import re
from dataclasses import fields, replace

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.operate import condition as conditions
from halfsplit.plan import shown, whole
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.quantity.display import duration
from halfsplit.service import advising, following, meaning, reasons
from halfsplit.service.guiding import Guided
from halfsplit.work.minutes import Cost
from halfsplit.work.minutes import cost as cost_in
from halfsplit.work.state import JobState
from halfsplit.work.waits import COOL_DOWN
from tests.rehearse.benches import NAMES, adviser

COMPLAINT = {"vented-dryer": "air is warm", "water-heater": "water gets hot", "refrigerator": "food is cold"}
JARGON = re.compile(r"\bbits?\b|posterior|likelihood|candidate|mutual|variant|\bherd|entropy|information", re.I)
each_machine = pytest.mark.parametrize("name", NAMES)


def told(name: str) -> Weighed:
    """What is believed after one complaint."""
    return adviser(name).bench.weigh([f.Perceived(COMPLAINT[name], False)])


@each_machine
def test_what_goes_with_an_outcome_is_no_more_than_there_is(name: str) -> None:
    """Summed over the outcomes each variant has at most its probability, all of it where there are words only."""
    weighed = told(name)
    for step in adviser(name).table.steps[::83]:
        found = shown.outcomes(weighed, step)
        jointly = np.sum([one.jointly for one in found], axis=0)
        assert np.all(jointly <= weighed.posterior.probability + 1e-9)
        assert all(one.jointly.sum() <= one.probability + 1e-9 for one in found)
        if step.kind == "symptom":
            assert jointly == pytest.approx(weighed.posterior.probability)


@each_machine
def test_what_goes_with_an_outcome_is_what_is_believed_after_it(name: str) -> None:
    """Weighed anew with the finding of a look or symptom, each repair is as likely as the outcome said: within 5 %.

    Not quite: what the file does not say, and what hangs together with the complaint, are weighed more closely then.
    """
    weighed, seen = told(name), 0
    for step in [s for s in adviser(name).table.steps if s.probe is None][::5]:
        for one in shown.outcomes(weighed, step):
            after = adviser(name).bench.weigh([*weighed.findings, one.finding], with_pairs=False)
            repairs = np.bincount(weighed.candidates.repair_of, one.jointly) / one.probability
            anew = np.bincount(after.candidates.repair_of, after.posterior.probability)
            assert repairs == pytest.approx(anew, abs=0.05), one.finding.label
            seen += 1
    assert seen > 10


@each_machine
def test_guide_diagnose_and_paper_say_the_same(name: str) -> None:
    """The first box of the printed plan has the step advised where nobody can be asked, since on paper nobody is,
    and its outcomes, word by word but for ranges: those on paper are the same or parts of them."""
    findings, weighed = [f.Perceived(COMPLAINT[name], False)], told(name)
    (first,) = advising.advise(adviser(name), weighed, following.UNASKED, count=1)
    box = following.as_data(following.plan(Guided(adviser(name), tuple(findings)), least=0.3))
    assert box["text"] == first.text
    guided, meter = shown.outcomes(weighed, first.step), weighed.predictor.readings.meter
    printed = shown.outcomes(weighed, first.step, whole.APART)
    assert [meaning.shows(meter, one) for one in guided] == [one.split(": ")[0] for one in first.outcomes]
    assert [one["shows"] for one in box["outcomes"]] == [meaning.shows(meter, one) for one in printed]
    words = [[meaning.shows(meter, one) for one in some if one.kind != "range"] for some in (guided, printed)]
    assert words[0] == words[1]
    whole_ones = [(one.low, one.high) for one in guided if one.kind == "range"]
    for one in printed:
        assert one.kind != "range" or any(low <= one.low and one.high <= high for low, high in whole_ones)
    assert first.scored is not None
    assert box["reason"] == advising.reason(weighed, first.scored, printed)
    assert advising.as_data(first)["reason"] == first.reason


@each_machine
def test_every_step_has_two_outcomes_that_speak(name: str) -> None:
    """Of a step that is advised at least two outcomes are told, and a cause is named at two of them."""
    for one in advising.advise(adviser(name), told(name), count=8):
        assert sum(not outcome.endswith("says little") for outcome in one.outcomes) >= 2, one.outcomes


@each_machine
def test_a_range_has_one_unit_at_its_end(name: str) -> None:
    """Whatever ranges the meter shows its ends in, one unit is said, once, so that they can be compared at a glance."""
    weighed, seen = told(name), 0
    for step in [s for s in adviser(name).table.steps if s.probe is not None][::31]:
        for one in shown.outcomes(weighed, step):
            if one.kind in ("range", "unsteady"):
                said = meaning.shows(weighed.predictor.readings.meter, one)
                assert len(re.findall(r"[\d.]+ [kM]?[ΩVA]", said)) + said.count("OL") == 1 + (" to OL" in said), said
                seen += 1
    assert seen > 10


@each_machine
def test_nothing_is_said_in_bits(name: str) -> None:
    """Neither a step, its reason and outcomes, nor what findings do to the odds, speaks as an engineer would."""
    weighed = told(name)
    said = reasons.of(weighed, weighed.ranked()[0])
    for one in advising.advise(adviser(name), weighed, count=8):
        for text in (one.text, one.reason, *one.outcomes, *(w for pair in meaning.weights(said) for w in pair)):
            assert not JARGON.search(text), text


def test_what_is_ruled_out_is_counted() -> None:
    """Of three repairs in question, a no (half of the time) leaves one: one is expected to be ruled out."""
    name = "water-heater"
    weighed = told(name)
    candidates = weighed.candidates
    numbers = np.unique(candidates.repair_of)
    numbers = numbers[numbers != candidates.repair_of[0]][:3]
    rows = [int(np.flatnonzero(candidates.repair_of == number)[0]) for number in numbers]
    belief = np.zeros(len(candidates.repair_of))
    belief[rows] = 0.5, 0.25, 0.25
    weighed.__dict__["posterior"] = replace(weighed.posterior, probability=belief, unexplained=0.0)
    no, yes = np.zeros(len(belief)), np.zeros(len(belief))
    no[rows[0]], yes[rows[1:]] = 0.5, 0.25
    at = conditions.condition(weighed.predictor.machine)
    outcomes = [
        shown.Outcome("word", f.Perceived("water gets hot", there, at, "repairer"), 0.5, joint)
        for there, joint in ((False, no), (True, yes))
    ]
    made = meaning.tells(weighed, outcomes)
    assert made.now == 3
    assert made.ruled_out == pytest.approx(0.5 * 2 + 0.5 * 1)
    assert made.shows == "yes"
    assert made.sure == pytest.approx(0.5)


@each_machine
def test_what_a_step_costs_is_told_whole(name: str) -> None:
    """Every kind of minutes has its words, and what is told of a step adds up to what it takes."""
    assert set(meaning.GOES_INTO) == {field.name for field in fields(Cost)}
    for advice in advising.advise(adviser(name), told(name), count=6):
        head, _, parts = advice.spent.partition(":")
        assert advice.scored
        kinds = [getattr(advice.scored.cost, kind) for kind in meaning.GOES_INTO]
        assert sum(kinds) == pytest.approx(advice.scored.cost.minutes)
        if sum(kind > 0 for kind in kinds) == 1 and not advice.spent:
            continue
        assert head == duration(advice.minutes)
        assert parts.split(".  All")[0].count(",") + 1 >= sum(kind > 0 for kind in kinds)


def test_what_is_waited_for_is_told_as_waiting() -> None:
    """Minutes that the machine runs are none of the step itself, and told though nothing else is."""
    alone = meaning.spent(Cost(running=40.0), 40.0)
    assert alone == "40 min: 40 min to wait while it runs until that is seen."
    both = meaning.spent(Cost(setting=0.3, waiting=6.0, running=3.0), 9.3)
    assert "6 min to wait until it is as warm or as cold as wanted, 3 min to wait while it runs" in both
    assert "for the step itself" not in alone + both


def test_what_cools_down_is_not_told_as_waiting_for_warmth() -> None:
    """A dryer that we have run hot, wanted cold again: ten minutes, in words that are true of both ways."""
    machine = adviser("vented-dryer").bench.machine
    hot = JobState(condition=conditions.condition(machine, {"warmth": "hot"}))
    cost = cost_in(machine, hot, 1.0, (), conditions.condition(machine, isolated=True))
    assert cost.waiting == COOL_DOWN
    told = meaning.spent(cost, cost.minutes)
    assert "10 min to wait until it is as warm or as cold as wanted" in told
    assert "for warmth" not in told


def test_a_beep_is_an_outcome() -> None:
    """Continuity has two outcomes, beeps and silent, of which one holds what was found."""
    asked = adviser("water-heater")
    machine, weighed = asked.bench.machine, told("water-heater")
    step = next(s for s in asked.table.steps if s.probe and s.probe.meter == "ohms")
    assert step.probe is not None
    at = conditions.condition(machine, (), True)
    beeping = Step("reading", at, Probe("continuity", step.probe.red, step.probe.black), places=step.places)
    found = shown.outcomes(weighed, beeping)
    assert {meaning.shows(asked.bench.meter, one) for one in found} == {"beeps", "silent"}
    assert sum(one.probability for one in found) == pytest.approx(1)
    for one in found:
        assert [other.holds(one.finding) for other in found] == [other is one for other in found]
        assert isinstance(one.finding, f.Reading)
        assert one.finding.beeps is (one.finding.text == "beeps")
