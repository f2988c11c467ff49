"""Of a protector that closes again by itself nobody is led to believe too soon that it is broken."""

from __future__ import annotations

import pytest

from halfsplit.operate import condition as conditions
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import acting, opens_itself
from halfsplit.work.state import JobState
from tests.rehearse.benches import bench


def read(name: str, red: str, black: str, **given: object) -> Step:
    """Ohms between two places of an isolated machine."""
    at = conditions.condition(bench(name).machine, isolated=True, **given)  # type: ignore[arg-type]
    return Step("reading", at, Probe("ohms", red, black), places=(red, black))


@pytest.mark.parametrize(
    ("name", "red", "black", "part"),
    [
        ("refrigerator", "overload.1", "overload.2", "overload"),
        ("refrigerator", "overload.1", "compressor.C", "overload"),
        ("refrigerator", "compressor.S", "compressor.R", ""),
        ("vented-dryer", "thermal fuse.1", "thermal fuse.2", ""),
    ],
)
def test_it_is_said_of_readings_that_go_through_it_alone(name: str, red: str, black: str, part: str) -> None:
    """Of a machine that was live until now; of one that stands isolated already it has had its time."""
    step, predictor = read(name, red, black), bench(name).predictor
    said = opens_itself.again(predictor, JobState(), step)
    assert said.startswith(f"If it does not read as on a good machine: {part} may") if part else not said
    assert said in acting.itself(predictor, JobState(), step, ())
    assert not opens_itself.again(predictor, JobState(condition=step.condition), step)
