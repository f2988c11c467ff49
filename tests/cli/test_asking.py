"""A question to the owner in the guide, in `diagnose` and on paper: the words of the phone, yes and no."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.cli import conversation, paper
from halfsplit.errors import NotUnderstood
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.plan import visit
from halfsplit.plan.steps import QUESTION, Step
from halfsplit.service import advising, visiting, wording
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
    """The same question and the same setting; what may hurt is asked for as noticed, and nobody is told to try it."""
    machine = adviser(name).bench.machine
    found = visit.questions(adviser(name), guided(name).weighed, lambda _: True)
    phone = {one["what"]: one for one in (visiting._question(machine, (), each) for each in found)}
    asked = dangers = 0
    for step in questions(name):
        if step.at in phone:
            text = advising.advice_for(adviser(name), guided(name).weighed, step).text
            one = phone[step.at]
            setting = ", ".join(f"{control} {position}" for control, position in one["set"].items())
            if one["danger"]:
                assert text == f"Ask the owner: {one['ask']} Only what was noticed: nobody tries it."
                dangers += 1
            else:
                assert text == f"Ask the owner: {one['ask']}{f' (with {setting})' if setting else ''}"
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
    assert conversation.wanted(advice) == "yes or no"
    assert sorted(one.split(":")[0] for one in advice.outcomes) == ["no", "yes"]
    data = advising.as_data(advice)
    assert (data["kind"], data["live"], data["isolated"], data["lift"]) == ("question", False, None, [])
    assert (data["cautions"], data["at"]) == ([], advice.step.at)
    assert advice.step.met is not None
    assert data["set"] == dict(advice.step.met.setting)


def test_a_question_fits_on_paper() -> None:
    """Its longest sentence lies within the lines of a box."""
    asked = ((adviser(name).bench.machine, one) for name in NAMES for one in questions(name))
    texts = [wording.question(machine, one.at, one.met) for machine, one in asked]
    assert all(len(line) <= paper.WIDTH - 4 for text in texts for line in paper.wrapped(f"Ask the owner: {text}"))
