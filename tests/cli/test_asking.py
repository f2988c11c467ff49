"""A question to the owner in the guide, and in `diagnose`: the words of the phone, yes and no."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.cli import wanting
from halfsplit.errors import NotUnderstood
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.plan import visit
from halfsplit.plan.steps import QUESTION, Step
from halfsplit.service import advising, visiting
from halfsplit.service import questions as words
from halfsplit.service.guiding import Guided
from tests.rehearse.benches import NAMES, adviser

each_machine = pytest.mark.parametrize("name", NAMES)
TOLD = {"vented-dryer": "air is warm", "water-heater": "water gets hot", "refrigerator": "freezer is cold"}


def questions(name: str) -> list[Step]:
    """Those of a machine."""
    return [step for step in adviser(name).table.steps if step.kind == QUESTION]


def guided(name: str) -> Guided:
    """After the owner's complaint."""
    return Guided(adviser(name), (f.Perceived(TOLD[name], False),))


@each_machine
def test_on_site_it_is_asked_in_the_words_of_the_phone(name: str) -> None:
    """The same question and the same setting; of what may hurt no setting is said, and nobody is told to try."""
    predictor = adviser(name).bench.predictor
    found = visit.questions(adviser(name), guided(name).weighed, lambda _: True)
    phone = {one["what"]: one for one in (visiting._question(predictor, (), each) for each in found)}
    asked = dangers = 0
    for step in questions(name):
        if step.at in phone:
            text = advising.advice_for(adviser(name), guided(name).weighed, step).text
            one = phone[step.at]
            assert text == f"Ask the owner: {one['ask']} {words.FROM_MEMORY}"
            assert not (one["danger"] and "when set to" in text)
            dangers += one["danger"]
            asked += 1
    assert asked > 3
    assert dangers


@each_machine
def test_what_the_owner_answers_is_a_finding_of_theirs(name: str) -> None:
    """Typed yes or no; written and read again it is the same; then it is not asked again, and nothing was done."""
    before = guided(name)
    for step in questions(name)[:6]:
        if step.at == TOLD[name]:
            continue
        after = before.answered(step, "no")
        assert after.findings[-1] == f.Perceived(step.at, False, step.met, "owner")
        text = str([findings_file.written(one) for one in after.findings[-1:]]).replace("'", '"')
        assert findings_file.read(text, "again", before.machine) == [after.findings[-1]]
        was, now = (advising.standing(one.asked, one.findings) for one in (before, after))
        assert now == replace(was, done=was.done | {step})
        with pytest.raises(NotUnderstood, match="neither yes nor no"):
            before.answered(step, "fine")


def test_the_guide_shows_a_question_and_takes_yes_or_no() -> None:
    """What is wanted is said as for a symptom; the data of a step hold all that is needed to write the finding."""
    advice = next(
        one for one in advising.advise(adviser("vented-dryer"), guided("vented-dryer").weighed, count=12)
        if one.step.kind == QUESTION
    )  # fmt: skip
    assert wanting.wanted(advice) == "yes or no"
    assert sorted(one.split(":")[0] for one in advice.outcomes) == ["no", "yes"]
    data = advising.as_data(advice)
    assert (data["kind"], data["live"], data["isolated"], data["lift"]) == ("question", False, None, [])
    assert (data["cautions"], data["at"]) == ([], advice.step.at)
    assert advice.step.met is not None
    assert (data["set"], data["met"], data["by"]) == (None, dict(advice.step.met.setting), "owner")
