"""A look once more, closely: offered after a first one only, priced for its minutes, weighed and drawn alike."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.errors import BadInput
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.modes.fault import Fault
from halfsplit.plan import fitting, pricing, shown, steps
from halfsplit.plan.steps import Step
from halfsplit.predict import predictor as pr
from halfsplit.rehearse.truth import Truth
from halfsplit.service import acting, answers, wording
from halfsplit.work.state import JobState, with_fronts
from tests.rehearse.benches import NAMES, adviser, bench


def marked(name: str) -> list[Fault]:
    """The faults of a machine that leave a mark at their own place."""
    places = {step.at for step in adviser(name).table.steps if step.closely}
    return [one for one in bench(name).faults if one.looks != f.FINE and one.subject.removeprefix("joint ") in places]


@pytest.mark.parametrize("name", NAMES)
def test_a_close_look_follows_a_first_one(name: str) -> None:
    """None is offered on a machine at which nobody has looked yet; after a first look only that at its own place."""
    asked = adviser(name)
    closely = [k for k, step in enumerate(asked.table.steps) if step.closely]
    assert closely
    assert not asked.allowed(JobState())[closely].any()
    for k in closely:
        first = replace(asked.table.steps[k], closely=False)
        can = asked.allowed(JobState(done=frozenset({first})))
        assert [j for j in closely if can[j]] == [k]


@pytest.mark.parametrize("name", NAMES)
def test_its_minutes_are_those_of_a_close_look(name: str) -> None:
    """Beyond a first look at the same place, just what it takes longer; priced alike in the groups of the table."""
    asked, machine = adviser(name), bench(name).machine
    longer = machine.handwork.look_closely - machine.handwork.look
    assert longer > 0
    prices = asked.steps.priced(JobState())
    for k, step in enumerate(asked.table.steps):
        if step.closely:
            first = pricing.cost_of(machine, JobState(), replace(step, closely=False)).minutes
            assert prices.of(k).cost.minutes == pytest.approx(first + longer)


@pytest.mark.parametrize("name", NAMES)
def test_two_looks_that_found_nothing_speak_twice(name: str) -> None:
    """Against a mark that is there they weigh as the product of both misses, by Bayes' rule on odds to a fault that
    leaves none anywhere."""
    here, plain = bench(name), next(one for one in bench(name).faults if one.looks == f.FINE)
    for one in marked(name)[:3]:
        at = one.subject.removeprefix("joint ")
        if plain.subject in (at, f"joint {at}"):
            continue
        odds = []
        for findings in ([], [f.Look(at, f.FINE)], [f.Look(at, f.FINE), f.Look(at, f.FINE, closely=True)]):
            known = {c.faults: c.probability for c in here.weigh(findings, with_pairs=False).ranked()}
            odds.append(known[one.name,] / known[plain.name,])
        right = 1 - pr.FALSE_LOOK
        assert odds[1] / odds[0] == pytest.approx(pr.MISSED_LOOK / right, rel=0.05)
        assert odds[2] / odds[1] == pytest.approx(pr.MISSED_CLOSELY / right, rel=0.05)


def test_the_hidden_machine_shows_what_is_expected() -> None:
    """Of marks that are there a close look misses as many as the predictor says, and of none it sees as few."""
    one = next(x for x in bench("vented-dryer").faults if x.name == "belt: broken")
    truth = Truth(bench("vented-dryer").machine, one, one.alternatives[0][1], np.random.default_rng(1))
    missed = [truth.sees("belt", closely=True) for _ in range(2000)].count(f.FINE) / 2000
    assert missed == pytest.approx(pr.MISSED_CLOSELY, abs=0.03)
    assert [truth.sees("timer", closely=True) for _ in range(500)].count(f.FINE) > 470


@pytest.mark.parametrize("name", NAMES)
def test_what_has_shown_a_mark_is_not_looked_at_again(name: str) -> None:
    """A close look fits after a first one that found nothing there, or nothing that a fault leaves; after no other."""
    asked = adviser(name)
    for step in (one for one in asked.table.steps if one.closely):
        mark, *_ = asked.bench.predictor.marks(step.at)
        fine, marked = f.Look(step.at, f.FINE, "in poor light"), f.Look(step.at, mark)
        assert fitting.fits(asked, [fine], step)
        assert fitting.fits(asked, [f.Look(step.at, "something else")], step)
        for findings in ([], [marked], [f.Look("elsewhere", f.FINE)], [f.Look(step.at, f.FINE, closely=True)]):
            assert not fitting.fits(asked, findings, step)


def test_a_close_look_in_a_file_wants_a_first_one() -> None:
    """Without one the file is refused; with one it is read and written alike."""
    machine = bench("vented-dryer").machine
    first, again = "- look: {at: belt, sees: fine}\n", "- look: {at: belt, sees: broken, closely: yes}\n"
    found = findings_file.read(first + again, "f.yaml", machine)
    assert found == [f.Look("belt", "fine"), f.Look("belt", "broken", closely=True)]
    assert findings_file.written(found[1]) == {"look": {"at": "belt", "sees": "broken", "closely": "yes"}}
    for text in (again, "- look: {at: idler, sees: fine}\n" + again):
        with pytest.raises(BadInput, match="a close look comes after one"):
            findings_file.read(text, "f.yaml", machine)
    for odd in ("maybe", "[yes]", "{a: b}"):
        with pytest.raises(BadInput, match="'closely' is"):
            findings_file.read(first + again.replace("closely: yes", f"closely: {odd}"), "f.yaml", machine)


def test_it_is_told_and_answered_as_one() -> None:
    """Its sentence says how; what is typed is a close look; its outcomes stand for close looks. Hands pull at nothing
    outside, where the machine may be live."""
    predictor, machine = bench("vented-dryer").predictor, bench("vented-dryer").machine
    hands = {"idler": acting.MOVE, "motor": acting.PULL, "motor.line": acting.PULL}
    hands |= dict.fromkeys(("belt", "vent duct", "receptacle", "breaker"), "")
    for at, how in hands.items():
        step = Step("look", at=at, places=(at,), closely=True)
        bays = steps.bays_needed(machine, step)
        told = wording.sentence(predictor, JobState(frozenset(with_fronts(machine, bays))), step, bays)
        assert told.removesuffix(f" {acting.PLUG_IN}").endswith(f"{acting.CLOSELY} {how}".rstrip())
        assert told.endswith(acting.PLUG_IN) == (at == "receptacle")
        named = "the wall receptacle" if at == "receptacle" else at
        assert f"Look closely at {named}" in told or at == "motor.line"
    inside = Step("look", at="belt", places=("belt",), closely=True)
    assert answers.understood(predictor, inside, "broken") == f.Look("belt", "broken", closely=True)
    weighed = bench("vented-dryer").weigh([f.Perceived("drum turns", False)])
    stand = [one.finding for one in shown.outcomes(weighed, inside)]
    assert stand
    assert all(isinstance(one, f.Look) and one.closely for one in stand)
