"""What is turned or shows behind a cover: its bay is opened and priced, and no hand turns anything under power."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading
from halfsplit.operate import condition as conditions
from halfsplit.plan import barring, owner, pricing, safely, steps, taken, undoing
from halfsplit.plan.steps import Step
from halfsplit.plan.switching import Modes
from halfsplit.predict.readings import Probe
from halfsplit.rehearse import random_steps
from halfsplit.service import proof_run, wording
from halfsplit.work import minutes, refusals, safety, together
from halfsplit.work.hazards import Hazard, Kind
from halfsplit.work.state import JobState
from tests.rehearse import benches
from tests.rehearse.watcher import is_found, of_sessions

BENCH = Bench(loading.load("refrigerator"))
FRIDGE = BENCH.machine
HANDS = FRIDGE.handwork
RESTS = next(step for step in steps.symptom_steps(FRIDGE) if step.at == "runs cold in defrost")
COLD = next(step for step in steps.symptom_steps(FRIDGE) if step.at == "freezer is cold")
KICK_PLATE = FRIDGE.bays["kick plate"]
TURNED = 2 * HANDS.isolate + 2 * HANDS.energise


def test_only_what_is_turned_opens_its_bay() -> None:
    """Every step: the bay is needed where the control is off rest, and not for its sake where it rests."""
    seen = set()
    for step in steps.steps(FRIDGE):
        if step.condition is None or step.condition.lift or step.condition.exchange:
            continue
        turned = step.condition.position("defrost") != "cooling"
        at_rest = replace(step, condition=replace(step.condition, setting=conditions.condition(FRIDGE).setting))
        bays = set(steps.bays_needed(FRIDGE, at_rest)) | ({"kick plate"} if turned else set())
        assert set(steps.bays_needed(FRIDGE, step)) == bays
        seen.add(turned)
    assert seen == {True, False}


@pytest.mark.parametrize("name", [name for name in library.names() if name != "refrigerator"])
def test_no_other_machine_of_the_library_has_one(name: str) -> None:
    """Their controls are set from outside, and their prices stay."""
    machine = loading.load(name)
    own = {step.condition.own for step in steps.steps(machine) if step.condition}
    found = [steps.bays_to_make(machine, replace(at, lift=())) for at in own]
    assert found
    assert not any(found)


def test_it_costs_opening_and_the_power_off_and_on() -> None:
    """From a closed machine: isolated, opened, live again. From one that runs with the bay open: off and on again."""
    first = pricing.cost_of(FRIDGE, JobState(), RESTS)
    assert first.opening + first.closing == KICK_PLATE.open_minutes + KICK_PLATE.close_minutes
    assert first.power == HANDS.isolate + HANDS.energise
    back = pricing.cost_of(FRIDGE, taken.after(FRIDGE, JobState(), RESTS), COLD)
    assert back.opening == back.closing == 0
    assert back.power == HANDS.isolate + HANDS.energise
    assert back.setting == HANDS.set


def test_a_live_step_behind_a_cover_brings_the_power_back() -> None:
    """A reading under power in a bay that is closed on a live machine: isolated to open, then energised, both counted;
    a dead one only isolates."""
    at = conditions.usual(FRIDGE)
    state = JobState(condition=at)
    probe = Probe("volts", "cord block.L", "cord block.N")
    live = Step("reading", at, probe, places=("cord block.L", "cord block.N"))
    dead = Step("reading", replace(at, isolated=True), replace(probe, meter="ohms"), places=live.places)
    assert pricing.cost_of(FRIDGE, state, live).power == HANDS.isolate + HANDS.energise
    assert pricing.cost_of(FRIDGE, state, dead).power == HANDS.isolate


def test_there_and_back_in_arrays_as_step_by_step() -> None:
    """From mode to mode as the steps cost: to the control turned and back again."""
    there, back = taken.after(FRIDGE, JobState(), RESTS), taken.after(FRIDGE, JobState(), COLD)
    modes = Modes(FRIDGE, replace(back, open_bays=frozenset({"kick plate"})))
    turned, rests = modes.of_steps([RESTS, COLD])
    between = modes.switching()
    assert COLD.condition is not None
    assert between[turned, rests] == minutes.changing(FRIDGE, there.condition, COLD.condition)
    assert between[turned, rests] + between[rests, turned] == pytest.approx(TURNED + 2 * HANDS.set)


LOOK = Step("look", at="starter", places=("starter",))
WALL = next(step for step in steps.live_steps(FRIDGE) if step.condition and conditions.cut_off(FRIDGE, step.condition))


def in_turn(*some: Step) -> list[tuple[str, list[Kind], JobState]]:
    """The words of steps done one after another, the kinds of thing done, and how the machine stands after each."""
    state, safe, found = JobState(), safely.begin(FRIDGE), []
    for step in some:
        after = taken.after(FRIDGE, state, step)
        done = safely.prepared(FRIDGE, safe, state, after, step)
        said = wording.sentence(BENCH.predictor, state, step, steps.bays_needed(FRIDGE, step), done.kinds)
        found.append((said, [doing.kind for doing in done.doings], after))
        state, safe = after, done.state
    return found


def test_it_is_turned_dead_and_the_power_comes_back_after_it() -> None:
    """What is done, in order, there and back."""
    for _, kinds, _ in in_turn(RESTS, COLD):
        assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.TURN) < kinds.index(Kind.ENERGISE)


def test_the_words_turn_it_before_the_power_is_back() -> None:
    """In the order in which it is done, with where its slot is; set once, not twice."""
    for (said, _, _), position in zip(in_turn(RESTS, COLD), ("defrost", "cooling"), strict=True):
        turn = f"Turn defrost to {position} ({FRIDGE.controls['defrost'].where})."
        assert said.index("Isolate") < said.index(turn) < said.index("bring the power back")
        assert "defrost" not in said.partition("Set:")[2].partition(".")[0]


def test_nobody_turns_it_for_a_look() -> None:
    """It stands as it stood, in the words, in what is done and in what is left to be undone; then it is turned back."""
    _, (said, kinds, looked), (then, turned, back) = in_turn(RESTS, LOOK, COLD)
    assert "Turn" not in said
    assert Kind.TURN not in kinds
    assert looked.condition is not None
    assert looked.condition.position("defrost") == "defrost"
    assert "Turn defrost to cooling" in then
    assert Kind.TURN in turned
    assert back.condition is not None
    assert back.condition.position("defrost") == "cooling"
    was = undoing.after(FRIDGE, [RESTS, LOOK])
    assert (was.moved, set(was.opened)) == ((("defrost", "defrost"),), {"kick plate", "machine room"})
    assert undoing.after(FRIDGE, [RESTS, LOOK, COLD]).moved == ()


def test_a_repair_leaves_it_as_it_stands_and_the_closing_list_turns_it_back() -> None:
    """With hands elsewhere in the machine."""
    repair = BENCH.repairs["replace starter"]
    (_, _, state), *_ = in_turn(RESTS)
    under = taken.under_repair(FRIDGE, state, repair)
    done = safely.repaired(FRIDGE, safely.begin(FRIDGE), state, under, repair)
    assert Kind.TURN not in [doing.kind for doing in done.doings]
    was = undoing.after(FRIDGE, [RESTS], [repair])
    tasks = [(task.kind, task.at, task.to) for task in together.closing(FRIDGE, was).tasks]
    assert tasks.index(("setting", "defrost", "cooling")) < tasks.index(("cover", "kick plate", ""))


def test_for_a_reading_at_the_wall_it_is_turned_dead_too() -> None:
    """Isolated and proved dead, not only unplugged; and no power comes back for it."""
    _, (said, kinds, _) = in_turn(RESTS, WALL)
    in_order = ["prove it dead", "The receptacle stays live.", "Turn defrost to cooling"]
    assert sorted(in_order, key=said.index) == in_order
    assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.TURN)
    cost = pricing.cost_of(FRIDGE, taken.after(FRIDGE, JobState(), RESTS), WALL)
    assert cost.power == HANDS.isolate


def test_it_is_turned_before_its_bay_is_closed_for_a_run() -> None:
    """On a machine that does not run with that bay open, as the library has none."""
    stops = replace(FRIDGE, bays={**FRIDGE.bays, "kick plate": replace(KICK_PLATE, runs=False)})
    at = conditions.condition(stops, {"defrost": "defrost"}, isolated=True)
    read = Step("reading", at, Probe("ohms", "cord block.L", "cord block.N"))
    state = taken.after(stops, JobState(), read)
    after = taken.after(stops, state, COLD)
    made = safely.prepared(stops, safely.begin(stops), state, after, COLD)
    kinds = [doing.kind for doing in made.doings]
    assert kinds.index(Kind.TURN) < kinds.index(Kind.CLOSE) < kinds.index(Kind.ENERGISE)
    said = wording.sentence(Bench(stops).predictor, state, COLD, (), made.kinds)
    assert said.index("Turn defrost") < said.index("Close the kick plate")


def test_the_proof_run_says_how_it_is_turned() -> None:
    """There once, while the clamp has the machine open, and back once, by a line of its own at the end of the last of
    the settings in a row that want it; it is left as its owner has it. Not of what shows in days of use."""
    made = proof_run.of_repairs(BENCH, ["replace defrost heater"])
    said = [one for one in made.sentences() if "urn defrost" in one]
    there, back = said
    assert "Turn defrost to defrost" in there
    assert back.startswith("Then isolate the machine")
    assert back.index("Open the kick plate") < back.index("Turn defrost back to cooling") < back.index("Close the kick")
    assert back.endswith("Power last.")
    heads = [card.head.split(": ")[1].split(";")[0] for card in made.run]
    wanted = ["defrosting (defrost still at defrost)", "thawed (let it come to 'warm', defrost still at defrost)"]
    assert heads[1:3] == wanted
    assert made.run[2].lines[-1].text == back


def test_without_a_clamp_it_is_turned_when_it_is_due_and_no_sooner() -> None:
    """At the head of the first setting that wants it, and back at the end of the last."""
    made = proof_run.of_repairs(BENCH, [], refused=[refusals.NoMeter("amps")])
    turns = [(card.head.split(": ")[1].split(";")[0].split(" (")[0], number, len(card.lines))
             for card in made.run for number, line in enumerate(card.lines, 1)
             if "urn defrost" in line.text]  # fmt: skip
    assert turns == [("defrosting", 1, turns[0][2]), ("thawed", turns[1][1], turns[1][1])]
    there, back = (line.text for card in made.run for line in card.lines if "urn defrost" in line.text)
    assert there.startswith("First set back: door shut. Isolate the machine")
    assert there.index("Turn defrost to defrost") < there.index("Close the kick plate")
    assert "Turn defrost back to cooling" in back


WATCHED = (17, 150)
"""Seed and number of the random sessions."""


def sessions() -> random_steps.Sessions:
    """Random sessions on the refrigerator."""
    return random_steps.Sessions(benches.guide("refrigerator"))


def test_no_random_session_turns_it_live() -> None:
    """Dead, behind its open cover, and whenever the setting says otherwise than it stands."""
    found, kinds = of_sessions(sessions(), *WATCHED)
    assert not found
    assert Kind.TURN in kinds


def test_the_watcher_sees_it_turned_live(monkeypatch: pytest.MonkeyPatch) -> None:
    """The watcher is not blind: to a need that is dropped, nor to a control that nobody turned."""
    with monkeypatch.context() as at:
        at.setitem(safety.NEEDS, Kind.TURN, safety.NEEDS[Kind.LOOK])
        assert is_found(sessions(), *WATCHED, "not proved dead: turn")
    monkeypatch.setattr(safely, "turned_inside", lambda *_: ())
    assert is_found(sessions(), *WATCHED, "set otherwise")


def test_what_is_hot_there_is_waited_for() -> None:
    """Where the control's bay holds what gets hot, as on no machine of the library, it cools before a hand goes in."""
    heater = replace(FRIDGE.parts["defrost timer"], cools=20.0)
    warm = replace(FRIDGE, parts={**FRIDGE.parts, "defrost timer": heater})
    state = JobState(condition=conditions.usual(warm), warm=20.0)
    made = safely.prepared(warm, safely.begin(warm), state, taken.after(warm, state, RESTS), RESTS)
    kinds = [doing.kind for doing in made.doings]
    assert kinds.index(Kind.COOL) < kinds.index(Kind.TURN)
    cost = pricing.cost_of(warm, state, RESTS)
    assert cost.cooling == pytest.approx(20.0 - HANDS.isolate - cost.opening)  # the power comes back after the wait
    assert pricing.cost_of(FRIDGE, state, RESTS).cooling == 0
    modes = Modes(warm, state)
    (turns,) = modes.of_steps([RESTS])
    assert modes.switching()[0, turns] > Modes(FRIDGE, state).switching()[0, 0]
    assert any(doing.step.hazard is Hazard.HOT for doing in made.doings)


# ---- what shows behind a cover -----------------------------------------------------------------------------

MOVES = next(step for step in steps.symptom_steps(FRIDGE) if step.at == "timer moves")


def test_what_shows_behind_a_cover_is_opened_for_and_asked_of_no_owner() -> None:
    """Opened dead, the power back, watched beside the open cover; in prices, in what is done and in the words."""
    assert steps.bays_needed(FRIDGE, MOVES) == ("kick plate",)
    assert "timer moves" not in owner.perceives(FRIDGE)
    cost = pricing.cost_of(FRIDGE, JobState(), MOVES)
    assert (cost.opening, cost.closing) == (KICK_PLATE.open_minutes, KICK_PLATE.close_minutes)
    assert (cost.power, cost.running) == (HANDS.isolate + HANDS.energise, 20.0)
    ((said, kinds, after),) = in_turn(MOVES)
    assert kinds.index(Kind.ISOLATE) < kinds.index(Kind.OPEN) < kinds.index(Kind.ENERGISE)
    assert kinds[-1] is Kind.WATCH
    assert said.index("Open the kick plate") < said.index("bring the power back") < said.index("Does the timer move on")
    assert after.open_bays == {"kick plate"}
    made = proof_run.of_repairs(BENCH, [])
    (card,) = [one for one in made.run if any(check.step.at == "timer moves" for check in one.checks)]
    check, closed = card.lines[-2:]
    assert check.checks[0].step.at == "timer moves"  # last in its setting, since it opens a cover
    assert "Open the kick plate" in check.text
    assert "Close the kick plate" in closed.text


def test_a_bay_that_will_not_open_bars_it() -> None:
    """As any step behind it."""
    state = JobState(refused=frozenset({refusals.CannotOpen("kick plate")}))
    assert barring.bars(FRIDGE, state, MOVES)
    assert not barring.bars(FRIDGE, state, COLD)
