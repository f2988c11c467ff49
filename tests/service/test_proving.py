"""What proves a repair: what no repair explains is provoked, the frame proved off the supply, the rest seen."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.operate.condition import condition, usual
from halfsplit.plan import proof, safely
from halfsplit.plan.proof_walk import Stage, Walk, through
from halfsplit.predict.readings import Probe
from halfsplit.service import (
    advising,
    after_repair,
    answers,
    closing,
    proof_cards,
    proof_run,
    proof_shown,
    proving,
    repairing,
    setting_back,
)  # fmt: skip
from halfsplit.service import tasks as task_words
from halfsplit.service.guiding import Guided
from halfsplit.work import handling, refusals
from halfsplit.work.hazards import SIGNAL_WORDS
from halfsplit.work.state import JobState
from tests.rehearse import benches
from tests.rehearse.benches import NAMES, guide

COOKTOP, HEATER = loading.load("coil-cooktop"), loading.load("water-heater")
DRYER = Bench(loading.load("vented-dryer"))


def guided(*told: str) -> Guided:
    """Burners that do not glow, and the left front one open, lifted out."""
    asked = benches.guide("coil-cooktop")
    at = condition(COOKTOP, isolated=True, lift=["left front burner.1", "left front burner.2"])
    read = f.Reading(Probe("ohms", "left front burner.1", "left front burner.2"), at, None, text="OL")
    return Guided(asked, (*(f.Perceived(one, False) for one in told), read))


def new_burner(job: Guided) -> repairing.Work:
    """The left front burner is replaced."""
    return repairing.work(job, [job.bench.repairs["replace left front burner"]])


def test_the_frame_is_proved_off_each_prong_before_the_power() -> None:
    """In the closing list, once the cover is on and before the earth and the power; all is set back after it."""
    work = new_burner(guided("left front glows"))
    kinds = [task.kind for task in work.closed.tasks]
    assert kinds[-3:] == ["insulation", "earth", "power"]
    told = task_words.sentence(loading.load("coil-cooktop"), work.closed.tasks[kinds.index("insulation")])
    assert "the plug's L1 prong and the plug's L2 prong and the plug's N prong" in told
    assert "to the plug's PE prong: OL each. Then set it back." in told
    assert work.before_closing == ()


def test_inside_it_is_done_while_the_cover_is_open_or_that_is_opened_for_it() -> None:
    """A water heater has no plug: at the limit while that is uncovered; a cover that is shut is opened for it, with its
    cautions, before any cover goes on, and closed with the others."""
    asked = benches.guide("water-heater")
    for part, bay in (("upper thermostat", "upper cover"), ("lower thermostat", "lower cover")):
        job = Guided(asked)
        tasks = repairing.work(job, [asked.bench.repairs[f"replace {part}"]]).closed.tasks
        kinds = [task.kind for task in tasks]
        at, open_now = kinds.index("insulation"), bay == HEATER.parts["limit"].bay
        assert at < kinds.index("cover")
        said = task_words.sentence(HEATER, tasks[at])
        assert ("open the upper cover (2 x 1/4 in hex), prove it dead there too" in said) != open_now
        assert "ohms from limit.1 and limit.3" in said
        assert [one.at for one in tasks if one.kind == "cover"].count("upper cover") == 1
        assert (tasks[at].cautions == ()) == open_now
        assert "Still dead: " in said  # it has no control that a hand sets
        assert "set it back" not in said


def test_a_complaint_that_no_repair_explains_is_provoked_before_it_is_closed() -> None:
    """The other burner that was complained of: where the leads go, what is shaken, and why."""
    why, *steps, back = new_burner(guided("left front glows", "right front glows")).before_closing
    assert back == "Plug the right front burner in again."
    assert why == "No repair explains what the owner said: Does the right front burner glow red on HIGH? no."
    assert steps
    assert all("red on right front" in one and "It must stay steady." in one for one in steps)
    assert any("Shake right front receptacle" in one for one in steps)


def test_what_no_repair_explains_is_a_note_and_is_told_of_at_the_end() -> None:
    """On the list it has no number, since it is nothing to do; once the repair is proved it is said that it was not
    seen again, or where the proof run could not show it, that it is open."""
    job = guided("left front glows", "right front glows")
    work = new_burner(job)
    kinds = [task.kind for task in work.closed.tasks]
    numbers = list(task_words.numbered(kinds))
    said = closing.sentences(job.machine, work.closed)
    at = kinds.index("note")
    asked = "Does the right front burner glow red on HIGH? no."
    assert said[at] == f"Note: No repair explains what the owner said: {asked}"
    assert numbers[at] == ""
    assert numbers[at + 1] == str(at + 1)
    (told,) = proving.left_open(job, work.names, work.proof)
    assert told == f"The owner also said: {asked} {proving.NOT_AGAIN}"
    (open_,) = proving.left_open(job, work.names, replace(work.proof, cards=()))
    assert open_ == f"The owner also said: {asked} {proving.STILL_OPEN}"


def test_what_did_not_stay_steady_is_number_nought_as_well() -> None:
    """What is shaken has what a healthy burner shows, in range or not; found wrong, the power stays off and nothing
    else was seen."""
    job = guided("left front glows", "right front glows")
    made = new_burner(job).proof
    shaken = [one for one in made.checks if one.at.provoke]
    assert [one.number for one in shaken] == [proof_cards.FIRST] * 2
    assert [one.at.provoke for one in shaken] == ["shake right front receptacle", "heat right front burner"]
    assert all(one.said.endswith("49.1 Ω, steady.") for one in shaken)
    first = shaken[0]
    for typed, right in (("45", True), ("OL", False), ("0.3", False)):
        assert first.is_right(job.bench, answers.understood(job.bench.predictor, first.step, typed)) == right
    jumped = answers.understood(job.bench.predictor, first.step, "OL")
    assert proof_shown.showed(job.bench, made, job.findings, {first: jumped}) == [jumped]
    after = after_repair.after(job, [job.bench.repairs["replace left front burner"]], [jumped], ran=False)
    assert "right front" in " ".join(after.ranked[0].faults)
    assert advising.standing(after.asked, after.findings).left_isolated


@pytest.mark.parametrize("name", benches.QUICK)
def test_what_a_handle_brought_back_is_read_before_it_is_put_together(name: str) -> None:
    """At the wall, the volts of a healthy house; not where the machine is closed, nor where it is hard wired."""
    machine = loading.load(name)
    job = Guided(advising.adviser(Bench(machine)))
    repair = job.bench.repairs["breaker: switch fully off and on"]
    assert repairing.work(job, [repair]).before_closing == ()
    part = next(p for p in machine.parts.values() if len(p.terminals) == 2 and p.bay in machine.bays and not p.house)
    red, black = (f"{part.name}.{terminal}" for terminal in part.terminals)
    opened = job.told(f.Reading(Probe("ohms", red, black), condition(machine, isolated=True), 1.0, text="1"))
    work = repairing.work(opened, [repair])
    if machine.supply.hard_wired:
        assert work.before_closing == ()
        return
    (said,) = work.before_closing
    slots = ("L1 slot", "L2 slot", "240 V") if name == "vented-dryer" else ("L slot", "120 V")
    assert all(one in said for one in ("The receptacle stays live.", *slots))
    kinds = [task.kind for task in work.closed.tasks]
    assert kinds.index("provoke") < kinds.index("cover")
    assert any(one.startswith("DANGER") for one in work.acknowledge) or any("live" in one for one in work.acknowledge)


def test_the_wall_is_read_with_the_plug_that_the_list_has_pulled() -> None:
    """On a machine that stands open and live: it is isolated first, with the meter proved, the plug told once."""
    machine = loading.load("refrigerator")
    job = Guided(advising.adviser(Bench(machine)))
    part = next(p for p in machine.parts.values() if len(p.terminals) == 2 and p.bay in machine.bays and not p.house)
    live = Probe("volts", *(f"{part.name}.{terminal}" for terminal in part.terminals))
    opened = job.told(f.Reading(live, condition(machine), 120.0, text="120"))
    work = repairing.work(opened, [job.bench.repairs["breaker: switch fully off and on"]])
    said = task_words.sentences(machine, work.closed.tasks)
    assert said[0].startswith("Isolate the machine (plug out) and prove it dead (meter proved")
    (read,) = [one for one in said if "At the wall" in one]
    assert read.startswith("The receptacle stays live. At the wall, meter at")


def test_what_another_trade_does_is_only_seen_to_work() -> None:
    """No hand of ours goes to the machine, nor did before: no reading is asked for."""
    job = Guided(guided().asked, (f.Perceived("left front glows", False),))
    work = repairing.work(job, [job.bench.repairs["breaker: switch fully off and on"]])
    assert work.before_closing == ()
    assert "insulation" not in [task.kind for task in work.closed.tasks]
    assert all(one.said or one.short for one in work.proof.checks)


# ---- the proof run ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [*NAMES, "coil-cooktop"])
def test_the_list_holds_all_that_the_rehearsals_try_and_no_tingling(name: str) -> None:
    """Every setting with every symptom and every load, as a healthy machine has it; each line once, but for what is
    minded in every power state and what is closed; numbers run on in the order of reading; no frame is touched."""
    bench = Bench(loading.load(name))
    made = proof_run.of_repairs(bench, [])
    runs = proof.runs(bench.predictor)
    seen = [(one.at, one.step.at) for one in made.checks if one.seen]
    assert len(set(seen)) == len(seen)
    assert set(seen) == {(at, what) for at, names in runs.items() for what in names}
    healthy = [bool(bench.predictor.symptom(what, at, False)[0] > 0.5) for at, what in seen]
    assert [one.there for one in made.checks if one.seen] == healthy
    assert not any(bench.machine.symptoms[what].kind == "tingles" for _, what in seen)
    clamped = [one.step for one in made.checks if not one.seen]
    assert {step.condition for step in clamped} <= set(runs)
    assert set(proof.loads(bench, JobState(), next(iter(runs)))) <= set(clamped)
    told = made.sentences()
    numbers = list(dict.fromkeys(one.number for one in made.checks))
    assert sorted(numbers) == [*range(1, len(numbers) + 1)]
    (head,) = made.through
    all_through = [one for one in numbers if re.search(rf"[:;] {one} ", head)]
    asked = [(one.number, line.text) for card in made.run for line in card.lines for one in line.checks]
    assert [*all_through, *(number for number, _ in asked)] == sorted(numbers)
    assert all(re.search(rf"(^ ?|[:;] ){number} ", text) for number, text in asked)
    lines = [one for one in told if not one.startswith((*SIGNAL_WORDS, "Then ", "First "))]
    assert len(set(lines)) == len(lines)
    assert any(one.startswith("DANGER: Live parts.") for one in made.cautions)


@pytest.mark.parametrize("name", [*NAMES, "coil-cooktop"])
def test_what_is_seen_all_through_has_one_number_on_every_card(name: str) -> None:
    """Told once before the cards, and in the head of each card on which it is seen; all else has its number alone."""
    bench = Bench(loading.load(name))
    made = proof_run.of_repairs(bench, [])
    names = through(proof.healthy(bench), proof.runs(bench.predictor))
    assert names
    several = {one.number for one in made.checks if len([x for x in made.checks if x.number == one.number]) > 1}
    assert {one.step.at for one in made.checks if one.number in several} == names
    cards = [card for card in made.run if card.through]
    assert len(cards) == len(bench.machine.settings)
    assert all({one.step.at for one in card.through} == names for card in cards)
    assert all(card.head.endswith(" all through.") for card in cards)
    (head,) = made.through
    assert all(f"{what}: " in head for what in names)
    assert "breaker trips: no (once only: if it trips, leave it off)" in head


@pytest.mark.parametrize("name", [*NAMES, "coil-cooktop"])
def test_the_clamp_comes_first_and_is_closed_before_anything_is_seen(name: str) -> None:
    """From cold, in one opening; its cautions before it, with its ground screw and the bond, the power last. Nothing is
    seen or waited for with that cover off, and where a load wants warmth it is clamped once that has come, covered."""
    bench = Bench(loading.load(name))
    first, *others = walked(bench)
    assert not first.seen
    assert all(one.step is None or one.step.probe for one in first.walked)
    assert [one.step is None for one in first.walked] == [False] * (len(first.walked) - 1) + [True]
    opened = [one for one in first.walked if one.step and one.shut]
    assert len(opened) == (2 if name == "refrigerator" else 1)  # the defrost timer is turned behind the kick plate
    for stage in others:
        looked = [one for one in stage.walked if one.step and one.step.kind == "symptom"]
        assert not any(one.before.open_bays for one in looked)
        clamped = [one for one in stage.walked if one.step and one.step.probe]
        assert bool(clamped) == (name == "water-heater" and ("warmth", "top hot") in stage.settings[0].setting)
        assert [*stage.walked].index(looked[0]) == (len(clamped) + 1 if clamped else 0)
    card = proof_run.of_repairs(bench, []).run[0]
    assert card.head.startswith("Card 1 of ")
    assert "the clamp, " in card.head
    assert card.head.endswith(" off for the clamp.")
    closes = card.lines[-1]
    assert "solate the machine" in closes.text
    assert "Ground screw at" in closes.text
    assert closes.text.endswith("Power last.")
    assert closes.minded[0].startswith("DANGER: Until it is proved dead")


def walked(bench: Bench) -> list[Stage]:
    """All that is done in a proof run of a machine that stands as its owner left it."""
    healthy = proof.healthy(bench)
    return list(Walk(healthy, JobState(), safely.begin(bench.machine)).stages(proof.runs(healthy.predictor)))


def test_the_cards_say_how_many_how_long_and_what_is_off() -> None:
    """The minutes of all of them before the first; a whole load takes its 40 minutes with all covers on."""
    made = proof_run.of_repairs(DRYER, [])
    assert made.head[0] == f"In all: some {made.minutes:.0f} min, {len(made.run)} cards."
    assert 100 < made.minutes < 150
    (high,) = [card for card in made.run if ": high heat (" in card.head]
    assert high.head == (
        "Card 2 of 12: high heat (cycle timed, start pressed); some 40 min; all covers on; 1 to 6 all through."
    )
    fridge = proof_run.of_repairs(Bench(loading.load("refrigerator")), [])
    (cooling,) = [card for card in fridge.run if ": cooling; " in card.head]
    timer = next(one for one in cooling.checks if one.step.at == "timer moves")
    assert f"all covers on but for {timer.number}" in cooling.head


@pytest.mark.parametrize("name", [*NAMES, "coil-cooktop"])
def test_what_takes_longer_comes_later(name: str) -> None:
    """The minutes of what is waited for rise within a card; what opens a cover of its own is last."""
    machine = loading.load(name)
    for card in proof_run.of_repairs(Bench(machine), []).run:
        seen = [machine.symptoms[one.step.at] for one in card.checks if one.seen]
        order = [(bool(one.bay), one.takes) for one in seen]
        assert order == sorted(order)


def test_a_drum_that_turns_stands_before_it_is_seen_to_start() -> None:
    """Where what springs back is held otherwise or not touched after a run; not where the machine stands already. What
    springs back is said again wherever a setting wants it."""
    heads = {card.checks[0].step.at: card for card in proof_run.of_repairs(DRYER, []).run}
    still = "First switch it off (cycle off) and wait until it stands; only then set it so."
    for what in ("drum turns while start is held", "drum turns untouched"):
        assert heads[what].lines[0].text == still
    assert "but do not touch start;" in heads["drum turns untouched"].head
    for what in ("drum turns with the door open", "drum lamp lights", "keeps heating when hot"):
        assert heads[what].lines[0].text != still
    assert "(start pressed)" in heads["keeps heating when hot"].head
    assert "start pressed)" in heads["drum turns"].head


def test_what_was_set_otherwise_before_is_said() -> None:
    """The heat goes back to high after air only, for the clamp and for what is seen."""
    told = [one for one in proof_run.of_repairs(DRYER, []).sentences() if "utomatic high (" in one]
    assert len(told) == 2
    assert all("automatic, heat high, start pressed" in one for one in told)


def test_heat_left_from_before_is_no_heat() -> None:
    """Where the air was warm in the setting before and must not be heated now, and not where it was not warm yet."""
    checks = [one for one in proof_run.of_repairs(DRYER, []).checks if one.step.at == "air is warm"]
    warned = [proof_run.LEFT_WARM.lower() in f"{one.said} {one.short}".lower() for one in checks]
    assert warned == [not one.there for one in checks]
    assert True in warned
    assert checks[0].there


def test_what_goes_without_saying_by_another_answer_is_not_asked() -> None:
    """On AIR ONLY nothing heats, so that no air gets warm either: one question, and what is warm still must fall. On
    HIGH the air is warm, which tells of the heat that AIR ONLY must not give; and of the slow ones each is asked."""
    card = next(c for c in proof_run.of_repairs(DRYER, []).run if ": air only" in c.head)
    own = [check for check in card.checks if check.step.at in ("air is warm", "air only is warm")]
    assert [check.step.at for check in own] == ["air only is warm"]
    assert own[0].said.endswith("Heat left from the setting before does not count: it must fall.")
    high = next(c for c in proof_run.of_repairs(DRYER, []).run if ": high heat" in c.head)
    assert {"air is warm", "one load dries in time"} <= {check.step.at for check in high.checks}


def test_each_setting_is_told_once_with_all_that_is_asked_in_it() -> None:
    """By its name and how the controls stand; a question in full where it is new, else in a few words."""
    first, *others = [card for card in proof_run.of_repairs(DRYER, []).run if "low heat" in card.head]
    assert not others
    head, before, new = first.sentences()
    assert "low heat (cycle timed, heat low, start pressed); some 15 min;" in head
    assert re.fullmatch(r"As before: \d+ air is warm: yes\.", before)
    assert new.split("  ")[1] == "Once it has run some 15 min: Is LOW milder than HIGH? It must be yes."


def test_the_clamp_is_told_in_full_once_and_goes_round_the_cords_wire() -> None:
    """One wire of what meets there; in further settings place and amps alone."""
    lines = [line.text for line in proof_run.of_repairs(DRYER, []).run[0].lines]
    assert "close the clamp round the cord's wire at terminal block.L1 (BK). Read. It must be 23.1 A to" in lines[0]
    assert "The same round the cord's wire at terminal block.N (WH): " in lines[2]
    assert re.match(r"Low heat \(cycle timed, heat low, start pressed\): \d+ terminal block.L1: 13.5 A to", lines[3])
    (heater,) = [x for x in proof_run.of_repairs(Bench(HEATER), []).run[0].lines if x.text.startswith(" 2")]
    assert "round the cable's wire at limit.1 (BK)" in heater.text


def test_what_was_seen_to_stay_cold_is_not_seen_hot() -> None:
    """After the repair the air stays cold: no setting that wants the machine hot is asked for, else they are."""
    at = usual(DRYER.machine)
    hot = [one for one in proof_run.of_repairs(DRYER, []).run if "'hot'" in one.head]
    cold = f.Perceived("air is warm", False, at, "repairer")
    assert len(hot) == 2
    assert not [one for one in proof_run.of_repairs(DRYER, [], since=[cold]).run if "'hot'" in one.head]


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_left_on_or_open_after_the_last_number(name: str) -> None:
    """What the last run has left away from rest is set back by the last line; none where nothing is set."""
    bench = Bench(loading.load(name))
    made = proof_run.of_repairs(bench, [])
    back = setting_back.at_rest(bench.machine, made.checks[-1].at)
    assert made.rest == ((f"Last, set back: {back}.",) if back else ())
    assert (name == "coil-cooktop") <= ("left front off" in made.sentences()[-1])
    without = proof_run.of_repairs(bench, [], refused={refusals.NoPower()})
    assert without.rest == ()


def test_without_a_clamp_none_is_asked_for() -> None:
    """Nor is anything opened for it, nor closed; nor is a cover opened that will not open."""
    made = proof_run.of_repairs(DRYER, [], refused=[refusals.NoMeter("amps")])
    assert all(one.seen for one in made.checks)
    assert made.cautions == ()
    assert not made.opens
    fridge = Bench(loading.load("refrigerator"))
    shut = proof_run.of_repairs(fridge, [], refused=[refusals.CannotOpen("kick plate")])
    assert not any("kick plate" in one for one in shut.sentences())


def test_what_shows_in_days_of_use_is_left_to_the_owner() -> None:
    """Where what was repaired would change it, or it was complained of; else it is not spoken of."""
    fridge, ice = Bench(loading.load("refrigerator")), "keep free of ice"
    told = proof_run.of_repairs(fridge, ["replace defrost heater"]).left
    assert len(told) == 1
    assert told[0].startswith("In days of use its owner sees: Does it keep free of ice by itself")
    assert not proof_run.of_repairs(fridge, ["replace food lamp"]).left
    iced = [f.Perceived("keeps free of ice", False)]
    assert any(ice in one for one in proof_run.of_repairs(fridge, ["replace food lamp"], iced).left)


# ---- what it showed ---------------------------------------------------------------------------------------


def test_what_else_was_seen_in_the_same_setting_was_as_it_must_be() -> None:
    """Of two settings the one in which nothing was wrong is passed over, but for what had been complained of."""
    heater = Bench(HEATER)
    made = proof_run.of_repairs(heater, [])
    check = next(one for one in made.checks if one.step.at == "hot water lasts")
    named = {check: check.found(False)}
    found = proof_shown.showed(heater, made, [f.Perceived("water gets hot", False)], named)
    top = check.at
    assert {(x.what, x.there, x.condition == top) for x in found if isinstance(x, f.Perceived)} == {
        ("water gets hot", True, False), ("hot water lasts", False, True), ("breaker trips", False, True),
    }  # fmt: skip
    assert all(isinstance(x, f.Perceived) and x.by == "repairer" for x in found)


def test_nothing_is_taken_to_have_been_seen_that_nobody_need_have() -> None:
    """A dryer that stays cold after its repair: not warm in another setting, nor a load dried, which takes its time;
    what shows at once was seen before it."""
    made = proof_run.of_repairs(DRYER, [])
    cold = next(one for one in made.checks if one.step.at == "air is warm")
    told = [f.Perceived(what, False) for what in ("air is warm", "drum turns", "one load dries in time")]
    drum = next(one for one in made.checks if one.step.at == "clothes are marked")
    later = proof_shown.showed(DRYER, made, told, {drum: drum.found(False)})
    assert [x.there for x in later if isinstance(x, f.Perceived) and x.what == "one load dries in time"] == [True]
    found = proof_shown.showed(DRYER, made, told, {cold: cold.found(False), drum: drum.found(False)})
    assert "one load dries in time" not in {x.what for x in found if isinstance(x, f.Perceived)}
    found = proof_shown.showed(DRYER, made, told, {cold: cold.found(False)})
    assert [(x.what, x.there) for x in found if isinstance(x, f.Perceived)] == [
        ("drum turns", True), ("motor hums", False), ("air flows at the vent", True), ("drum lamp stays lit", False),
        ("breaker trips", False), ("drum thumps or squeals", False), ("air is warm", False),
    ]  # fmt: skip
    assert all(isinstance(x, f.Perceived) and x.condition == cold.at for x in found)


def test_what_was_out_of_reach_was_not_seen() -> None:
    """A tank that gives no hot water is never hot at the top, whatever else was said of it."""
    heater = Bench(HEATER)
    made = proof_run.of_repairs(heater, [])
    names = {one.step.at: one for one in made.checks if one.seen}
    wrong = {names[what]: names[what].found(False) for what in ("water gets hot", "hot water lasts")}
    found = proof_shown.showed(heater, made, [], wrong)
    assert "hot water lasts" not in {x.what for x in found if isinstance(x, f.Perceived)}
    assert f.Perceived("water gets hot", False, names["water gets hot"].at, "repairer") in found


@pytest.mark.parametrize("name", [*NAMES, "vented-dryer-3-wire", "coil-cooktop"])
def test_after_each_repair_by_hand_the_frame_is_proved_off_the_supply(name: str) -> None:
    """Whatever was opened for it: a freezer that was opened has warmed up, and is read as warm as it is."""
    asked = guide(name)
    job, machine = Guided(asked), asked.bench.machine
    by_hand = [one for one in asked.bench.repairs.values() if handling.hands_in(machine, one)]
    assert by_hand
    for one in by_hand:
        read = proving.to_frame(job, [one], proving.Shaken())
        assert len(read) == len(proof.insulation(asked.bench, JobState())), one.name


def test_what_is_set_for_the_ohms_to_the_frame_is_named() -> None:
    """The knobs with their positions, as they stand in use."""
    machine = loading.load("vented-dryer")
    texts = [task["text"] for task in closing.closing(machine, ["top"])["tasks"]]
    assert any(text.startswith("Still dead, set cycle timed: ohms from the plug's L1 prong") for text in texts)


def test_what_wants_a_wet_load_or_a_whole_hot_tank_says_so() -> None:
    """A dry load ends the automatic cycle early on a good dryer; a tank that is hot at the top alone lasts no longer
    than its upper third: it is asked of once the lower element has heated the rest."""
    symptoms = DRYER.machine.symptoms
    for what in ("one load dries in time", "automatic passes when cold", "clothes are marked"):
        assert "wet load" in symptoms[what].question
    runs = [one.step.at for one in proof_run.of_repairs(DRYER, []).checks]
    dried, ends = runs.index("one load dries in time"), runs.index("automatic passes when cold")
    assert dried > ends or "freshly wet" in symptoms["automatic passes when cold"].question  # the load is dry by then
    heater = HEATER
    whole = heater.comes_to["hot tank"] - heater.comes_to["top hot"]
    assert heater.symptoms["hot water lasts"].takes == whole
    (said,) = [one.said for one in proof_run.of_repairs(Bench(heater), []).checks if one.step.at == "hot water lasts"]
    assert said.startswith(f"Once it has run some {whole:.0f} min: ")
    minutes = [card.head.split("; ")[1] for card in proof_run.of_repairs(Bench(heater), []).run]
    assert minutes[2:] == ["some 74 min", "some 10 min"]  # it is all hot by then


