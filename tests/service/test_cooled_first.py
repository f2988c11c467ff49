"""What is hot is waited for before the cover over it and the part itself come off, in a step and in a repair."""

from __future__ import annotations

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.operate.condition import condition, usual
from halfsplit.plan import safely, steps, taken
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import repairing, wording
from halfsplit.service.guiding import Guided
from halfsplit.work import places as at_work
from halfsplit.work.hazards import CAUTIONS, Hazard
from halfsplit.work.state import JobState
from tests.rehearse import benches

DRYER, COOKTOP = Bench(loading.load("vented-dryer")), Bench(loading.load("coil-cooktop"))
COOL = "Let it cool: 10 min after it last ran."


def test_a_step_behind_hot_covers_waits_once_it_is_off() -> None:
    """The dryer has run: isolated, then waited for, then opened."""
    machine, at, probe = DRYER.machine, condition(DRYER.machine, isolated=True), Probe("ohms", "cut-off.1", "cut-off.2")
    step = Step("reading", at, probe, places=steps.places_of(probe, at))
    state = JobState(condition=usual(DRYER.machine))
    done = safely.prepared(machine, safely.begin(machine), state, taken.after(machine, state, step), step)
    said = wording.sentence(DRYER.predictor, state, step, steps.bays_needed(machine, step), done.kinds)
    assert said.index("Isolate") < said.index(COOL) < said.index("Open the top")


def test_a_repair_waits_before_the_top_is_up_and_the_burner_out() -> None:
    """The cooktop has run on HIGH."""
    seen = f.Perceived("left front glows", False, usual(COOKTOP.machine), "repairer")
    job = Guided(benches.guide("coil-cooktop"), (seen,))
    first = repairing.work(job, [job.bench.repairs["replace left front receptacle"]]).first
    order = ("Isolate the machine", "Let it cool", "Open the top", "Lift the left front burner out")
    places = [next(n for n, text in enumerate(first) if text.startswith(one)) for one in order]
    assert places == sorted(places)
    assert first[places[1]] == COOL


def test_hands_at_a_cover_mind_what_glowed_outside() -> None:
    """All four burners of the cooktop have run: whoever opens the rear cover then, in which nothing gets hot, minds hot
    parts first; once it has cooled nobody is told of them again."""
    machine, hot = COOKTOP.machine, "{}: {}".format(*CAUTIONS[Hazard.HOT])
    at = condition(machine, dict.fromkeys(("left front", "right rear", "left rear", "right front"), "high"))
    ran = JobState(condition=at, warm=at_work.cooling(machine))
    read = condition(machine, isolated=True)
    terminal = next(f"{p.name}.{t}" for p in machine.parts.values() if p.bay == "rear cover" for t in p.terminals)
    step = steps.Step("reading", read, Probe("ohms", terminal, machine.frame), places=(terminal, machine.frame))
    assert steps.bays_needed(machine, step) == ("rear cover",)
    after = taken.after(machine, ran, step)
    done = safely.prepared(machine, safely.begin(machine), ran, after, step)
    assert hot in done.cautions
    cold = safely.begin(machine)._replace(hot=False, live=(False,) * len(machine.supply.isolates))
    assert hot not in safely.prepared(machine, cold, JobState(condition=read), after, step).cautions
