"""The step itself, as a tradesperson would say it: whose receptacle, what is shaken, who looks, what is in the way."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.operate.condition import condition
from halfsplit.plan import shown
from halfsplit.plan.steps import Step, symptom_steps
from halfsplit.predict.readings import Probe
from halfsplit.service import acting, meaning, naming
from halfsplit.work.state import JobState
from tests.rehearse.benches import bench


def test_the_receptacle_of_the_house_is_the_walls() -> None:
    """A cooktop has four of its own."""
    told = bench("coil-cooktop").predictor
    said = acting.itself(told, JobState(), Step("look", at="receptacle", places=("receptacle",)), ())
    assert "Look at the wall receptacle: fine, burnt, something else?" in said
    own = Step("look", at="left front receptacle", places=("left front receptacle",))
    assert acting.itself(told, JobState(), own, ("top",)).startswith("Look at left front receptacle: ")


@pytest.mark.parametrize("name", ["vented-dryer", "refrigerator", "coil-cooktop", "water-heater"])
def test_a_symptom_is_to_be_seen_for_oneself(name: str) -> None:
    """Whatever the owner has told: never only the question that they were asked."""
    told = bench(name).predictor
    for step in symptom_steps(told.machine):
        said = acting.itself(told, JobState(), step, ())
        assert said.startswith("See for yourself")
        assert acting.seeing(told.machine, step.at)[1:] in said


@pytest.mark.parametrize(("name", "part", "lint"), [("coil-cooktop", "left front burner", False),
                                                     ("vented-dryer", "high limit", True)])  # fmt: skip
def test_lint_is_cleared_away_where_air_goes_through(name: str, part: str, lint: bool) -> None:
    """Only a machine with an air path gathers it."""
    said = acting.provoking(bench(name).machine, f"heat {part}")
    assert ("Clear away lint" in said) == lint
    assert f"Warm {part} with hot air" in said


def test_what_is_shaken_outside_is_told_in_words() -> None:
    """In lists and questions too."""
    dryer = bench("vented-dryer").machine
    at = condition(dryer, isolated=True, provoke="shake all in outside")
    found = f.Reading(Probe("ohms", "receptacle.prong L1", "receptacle.prong N"), at, text="OL")
    assert "all in outside" not in naming.told(dryer, found.label)
    assert "(shake the cord and all else outside)" in naming.told(dryer, found.label)


def test_an_outcome_that_speaks_for_no_fault_is_that_of_a_good_machine() -> None:
    """Over range from a line conductor to the frame: not that nothing at all is wrong."""
    tank = bench("water-heater")
    weighed = tank.weigh([f.Tried("replace limit", True)])
    at = condition(tank.machine, isolated=True)
    step = Step("reading", at, Probe("ohms", "limit.1", "jacket.metal"), places=("limit.1", "jacket.metal"))
    told = [meaning.causes(weighed, one) for one in shown.outcomes(weighed, step)]
    assert any(meaning.AS_GOOD in one for one in told)
    assert not any("nothing is wrong" in one for one in told)
