"""A half-tripped breaker is reset when the machine is isolated at it: the guide comes to it, and says so."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.modes import tripping
from halfsplit.operate.condition import usual
from halfsplit.rehearse import play
from halfsplit.rehearse.truth import Truth, World, answer
from halfsplit.service import after_repair, repairing
from halfsplit.service.guiding import Guided, complaint
from tests.rehearse.benches import adviser

RESET = "breaker: switch fully off and on"


def half_tripped() -> Truth:
    """A heater whose breaker is half-tripped."""
    bench = adviser("water-heater").bench
    fault = next(one for one in bench.faults if one.name == "breaker: half-tripped, L1 dead")
    return Truth(bench.machine, fault, fault.alternatives[0][1], np.random.default_rng(1), World(mistaken=0.0))


def test_a_breaker_that_was_reset_by_isolating_is_found_and_no_electrician_called() -> None:
    """The volts are full once it was off and on; the heater is seen to heat, and the reset is what is due."""
    truth = half_tripped()
    job = Guided(adviser("water-heater")).told(complaint("water gets hot", False), complaint("hot water lasts", False))
    for _ in range(20):
        if job.due or job.advice is None or job.advice.step.kind == "stop":
            break
        job = job.told(answer(truth, job.advice.step))
    assert [one.name for one in job.due] == [RESET]
    assert not truth.hidden
    assert repairing.work(job, job.due).first == (
        "The breaker was switched off for this work, which is the repair: with the power on again it is made.",
    )


def test_nothing_is_said_of_a_breaker_that_nobody_switched() -> None:
    """At the start the reset is still to be made."""
    job = Guided(adviser("water-heater")).told(complaint("water gets hot", False))
    assert repairing.work(job, [job.bench.repairs[RESET]]).first == ()


def test_a_rehearsal_comes_to_it_too() -> None:
    """Its hidden breaker is reset as a real one is, and is what is repaired first."""
    truth = half_tripped()
    told = play.complaint(adviser("water-heater"), truth)
    played = play.play(adviser("water-heater"), truth, told)
    assert any(isinstance(one, f.Reading) and one.condition.isolated for one in played.findings)
    assert (played.first, played.right_first) == ((RESET,), True)


def test_after_a_repair_in_vain_the_breaker_is_all_but_cleared() -> None:
    """The heater was isolated for a new element: a breaker that switching mends is good since, but for the one in ten
    that trips again (`modes/tripping`), and it is cold still."""
    job = Guided(adviser("water-heater")).told(complaint("water gets hot", False))
    cold = f.Perceived("water gets hot", False, usual(job.machine), "repairer")
    after = after_repair.after(job, [job.bench.repairs["replace upper element"]], [cold])
    was, left = (to_the_limit(told) for told in (job, after))
    assert left == pytest.approx(tripping.AGAIN * was, rel=0.05)


def to_the_limit(told: Guided) -> float:
    """How likely the breaker is to be reset, to how likely the limit has tripped."""
    of = told.weighed.by_repair
    return of[(RESET,)] / of[("limit: press the button and find what made it trip",)]
