"""Which checks show that a repair holds: by machines with the fault hidden in them still, and by trying every check."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.plan import holds, proof, proof_walk, safely
from halfsplit.plan.steps import Step
from halfsplit.rehearse import truth
from halfsplit.work import minutes
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, bench

MOST = 12
"""So many repairs of each machine are tried, spread over all of them."""

each_machine = pytest.mark.parametrize("name", NAMES)


def stages_of(machine: Bench) -> list[proof_walk.Stage]:
    """The proof run of a machine."""
    healthy = proof.healthy(machine)
    walk = proof_walk.Walk(healthy, JobState(), safely.begin(machine.machine))
    return [stage for stage in walk.stages(proof.runs(healthy.predictor)) if stage.walked]


def some_repairs(machine: Bench) -> list[str]:
    """Repairs that the repairer makes."""
    ours = [name for name, one in machine.repairs.items() if one.by == "repairer"]
    return ours[:: max(1, len(ours) // MOST)]


def is_wrong(healthy: Bench, step: Step, hidden: truth.Truth) -> bool:
    """Whether a hidden machine does not show in a check what a healthy one does."""
    shown = truth.answer(hidden, step)
    if isinstance(shown, f.Perceived):
        assert step.condition is not None
        return shown.there != healthy.predictor.healthy_shows(step.at, step.condition)
    assert isinstance(shown, f.Reading)
    return not proof.is_as_it_should(healthy, step, shown)


@each_machine
def test_a_fault_left_in_the_machine_is_shown_by_the_few_as_by_all(name: str) -> None:
    """The repair was made in vain: the machine answers every check with that fault in it, as the rehearsals have it.

    Of what the clamp shows a size near the limit may pass: one fault in ten.
    """
    own, stages = bench(name), stages_of(bench(name))
    healthy = proof.healthy(own)
    checks = [walked.step for stage in stages for walked in stage.walked if walked.step]
    by_all, by_few = 0, 0
    for repair in some_repairs(own):
        few = holds.soonest(own, [repair], (), stages)
        steps = [step for _, step in few.steps]
        for fault in own.faults:
            if fault.acting < 1 or not fault.repair.is_done_by([repair]) or fault.owner_only:
                continue
            changes = max(fault.alternatives, key=lambda one: one[0])[1]
            exact = truth.World(spread=0.0, mistaken=0.0)
            hidden = truth.Truth(own.machine, fault, changes, np.random.default_rng(1), exact)
            wrong = [step for step in checks if is_wrong(healthy, step, hidden)]
            by_all += bool(wrong)
            by_few += bool(set(wrong) & set(steps))
    assert by_all > 5
    assert by_few >= 0.9 * by_all


@each_machine
def test_none_of_the_few_is_there_for_nothing_and_no_single_check_would_do_for_less(name: str) -> None:
    """Each shows something that no other does. Where one check shows all, none that does so takes less."""
    own, stages = bench(name), stages_of(bench(name))
    whole = sum(stage.minutes for stage in stages)
    for repair in some_repairs(own):
        few = holds.soonest(own, [repair], (), stages)
        offered = list(holds._offered(own, [repair], (), stages))
        if not offered:
            assert few == holds.Holds()
            continue
        every = np.any([one.shows for one in offered], axis=0)
        chosen = [one for one in offered if (one.stage, one.step) in few.steps]
        assert len(chosen) == len(few.steps)
        assert np.array_equal(np.any([one.shows for one in chosen], axis=0), every)
        for one in chosen:
            others = [other.shows for other in chosen if other is not one]
            assert not others or not np.array_equal(np.any(others, axis=0), every)
        alone = [holds._minutes(stages, [one]) for one in offered if np.array_equal(one.shows, every)]
        if len(chosen) == 1:
            assert few.minutes == pytest.approx(min(alone))
        assert 0 < few.minutes <= whole + 1e-9


@each_machine
def test_all_checks_together_take_what_the_run_takes(name: str) -> None:
    """Every check of every stage chosen, by hand: nothing is left out of the minutes, and nothing counted twice."""
    own, stages = bench(name), stages_of(bench(name))
    machine = own.machine
    every = [
        holds._Offered(number, step, max(minutes.running(machine, step.kind, step.at), machine.handwork.perceive),
                       np.ones(1, bool))
        for number, stage in enumerate(stages) for step in (one.step for one in stage.walked) if step
    ]  # fmt: skip
    assert holds._minutes(stages, every) == pytest.approx(sum(stage.minutes for stage in stages))


def test_a_tank_is_waited_for_where_what_would_have_warmed_it_is_left_out() -> None:
    """What shows on a tank that is warm alone: the file's minutes from cold, and those of the tap."""
    own = bench("water-heater")
    few = holds.soonest(own, ["replace dip tube"], (), stages_of(own))
    ((_, step),) = few.steps
    assert step.condition is not None
    from_cold = own.machine.comes_to[step.condition.position("warmth")]
    assert few.minutes == pytest.approx(from_cold + own.machine.symptoms[step.at].takes, abs=2.0)


def test_what_was_told_is_seen_too() -> None:
    """A joint in the path of the motor is shown by a drum that turns; the owner had told of a load that stays wet."""
    own, stages = bench("vented-dryer"), stages_of(bench("vented-dryer"))
    joint = "joint thermal fuse.2: make the joint good"
    plain = holds.soonest(own, [joint], (), stages)
    told = holds.soonest(own, [joint], ("one load dries in time",), stages)
    assert "one load dries in time" not in {step.at for _, step in plain.steps}
    assert "one load dries in time" in {step.at for _, step in told.steps}
    assert told.minutes > plain.minutes
