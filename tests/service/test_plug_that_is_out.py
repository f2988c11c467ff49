"""A plug that is out already, for ohms or for a reading at the wall, is not pulled again, nor the machine isolated."""

from __future__ import annotations

from halfsplit.evidence import finding as f
from halfsplit.plan import safely, taken
from halfsplit.plan.steps import Step, bays_needed
from halfsplit.service import repairing, wording
from halfsplit.service.guiding import Guided
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser, guide

DRYER = adviser("vented-dryer")
MACHINE = DRYER.bench.machine
WALL = next(s for s in DRYER.table.steps if s.probe and s.condition and s.condition.position("plug") == "out")
LIVE = next(
    s
    for s in DRYER.table.steps
    if s.live and s.condition and s.condition.position("cycle") != "off" and bays_needed(MACHINE, s)
)
AT_RECEPTACLE = next(s for s in DRYER.table.steps if s.kind == "look" and s.at == "receptacle")
DEAD = next(s for s in DRYER.table.steps if s.condition and s.condition.isolated and bays_needed(MACHINE, s))


def said(*before: Step) -> tuple[str, tuple[str, ...]]:
    """How the last of these steps is told once the others were done, and the cautions on the way to it."""
    state, safe = JobState(), safely.begin(MACHINE)
    for step in before:
        then = taken.after(MACHINE, state, step)
        done = safely.prepared(MACHINE, safe, state, then, step)
        text = wording.sentence(DRYER.bench.predictor, state, step, bays_needed(MACHINE, step), done.kinds)
        state, safe = then, done.state
    return text, done.cautions


def test_the_plug_is_pulled_once() -> None:
    """From a machine as its owner left it; not where it was isolated for ohms, nor for a second reading at the wall."""
    assert said(WALL)[0].startswith("Pull the plug. The receptacle stays live.")
    for before in ((DEAD,), (WALL,)):
        text = said(*before, WALL)[0]
        assert text.startswith("The receptacle stays live.")
        assert "Pull the plug" not in text


def test_where_a_machine_is_isolated_for_a_look_at_the_receptacle_the_plug_stays_out() -> None:
    """It stands open under power after a live reading: the plug is not put in again beside open covers, controls set,
    when the look is done, and ohms come next with nothing more to isolate. A closed machine is plugged in again."""
    text, cautions = said(LIVE, AT_RECEPTACLE)
    assert "Isolate the machine (plug out) and prove it dead" in text
    assert text.count("First set back") == 1
    assert not any(wrong in text for wrong in ("Pull the plug", "Plug it in again", "Set again"))
    assert [one for one in cautions if one.startswith("DANGER")]
    assert "solate" not in said(LIVE, AT_RECEPTACLE, DEAD)[0]
    assert "bring the power back" in said(LIVE, AT_RECEPTACLE, LIVE)[0]
    closed = said(AT_RECEPTACLE)[0]
    assert "Pull the plug." in closed
    assert "Plug it in again" in closed


def test_a_machine_that_is_dead_is_not_isolated_once_more_after_a_reading_at_the_wall() -> None:
    """Neither told nor cautioned; one of which only the plug was pulled is isolated and proved dead."""
    again, cautions = said(DEAD, WALL, DEAD)
    assert "solate" not in again
    assert not [one for one in cautions if one.startswith("DANGER")]
    first, minded = said(WALL, DEAD)
    assert "Isolate the machine (plug out) and prove it dead" in first
    assert [one for one in minded if one.startswith("DANGER")]


def test_a_list_that_reads_the_plug_to_the_frame_proves_dead_first() -> None:
    """Where the plug was pulled for the wall alone nobody has: it had been told as still dead. Not where it was."""
    told = f.Perceived("air is warm", False), f.Perceived("drum turns", False)
    reset = next(name for name in DRYER.bench.repairs if name.startswith("breaker: switch"))
    for before, proves in (((WALL,), True), ((DEAD, WALL), False)):
        read = [f.Reading(one.probe, one.condition, None) for one in before if one.probe and one.condition]
        guided = Guided(guide("vented-dryer"), (*told, *read))
        made = repairing.work(guided, [guided.bench.repairs[reset]]).closed
        kinds = [task.kind for task in made.tasks]
        assert ("isolate" in kinds) == proves
        assert not proves or kinds.index("isolate") < kinds.index("insulation")
