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
from halfsplit.plan.proof_walk import Walk
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, after_repair, answers, closing, proof_run, proving, repairing, setting_back
from halfsplit.service import tasks as task_words
from halfsplit.service.guiding import Guided
from halfsplit.work import handling, refusals
from halfsplit.work.hazards import SIGNAL_WORDS, Kind
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES

COOKTOP, HEATER = loading.load("coil-cooktop"), loading.load("water-heater")
DRYER = Bench(loading.load("vented-dryer"))


def guided(*told: str) -> Guided:
    """Burners that do not glow, and the left front one open, lifted out."""
    asked = advising.adviser(Bench(COOKTOP))
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
    asked = advising.adviser(Bench(HEATER))
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
    (open_,) = proving.left_open(job, work.names, replace(work.proof, runs=()))
    assert open_ == f"The owner also said: {asked} {proving.STILL_OPEN}"


def test_what_did_not_stay_steady_is_number_nought_as_well() -> None:
    """What is shaken has what a healthy burner shows, in range or not; found wrong, the power stays off and nothing
    else was seen."""
    job = guided("left front glows", "right front glows")
    made = new_burner(job).proof
    shaken = [one for one in made.checks if one.at.provoke]
    assert [one.number for one in shaken] == [proof_run.FIRST] * 2
    assert [one.at.provoke for one in shaken] == ["shake right front receptacle", "heat right front burner"]
    assert all(one.said.endswith("49.1 Ω, steady.") for one in shaken)
    first = shaken[0]
    for typed, right in (("45", True), ("OL", False), ("0.3", False)):
        assert first.is_right(job.bench, answers.understood(job.bench.predictor, first.step, typed)) == right
    jumped = answers.understood(job.bench.predictor, first.step, "OL")
    assert proof_run.showed(job.bench, made, job.findings, {first: jumped}) == [jumped]
    after = after_repair.after(job, [job.bench.repairs["replace left front burner"]], [jumped], ran=False)
    assert "right front" in " ".join(after.ranked[0].faults)
    assert advising.standing(after.asked, after.findings).isolated


@pytest.mark.parametrize("name", ["vented-dryer", "refrigerator", "water-heater"])
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
    """Every setting with every symptom and every load, as a healthy machine has it; each number and each line once, but
    for what is minded in every power state, numbered in the order of reading; no frame is touched."""
    bench = Bench(loading.load(name))
    made = proof_run.of_repairs(bench, [])
    runs = proof.runs(bench.predictor)
    seen = [(one.at, one.step.at) for one in made.checks if one.seen]
    wanted = {(at, what) for at, names in runs.items() for what in names}
    behind = {(at, what) for at, what in wanted if what == "air flows at the vent" and at != next(iter(runs))}
    assert len(set(seen)) == len(seen)
    assert set(seen) == wanted - behind  # its duct is off for the clamp
    assert list(dict.fromkeys(at for at, _ in seen)) == [*runs]
    healthy = [bool(bench.predictor.symptom(what, at, False)[0] > 0.5) for at, what in seen]
    assert [one.there for one in made.checks if one.seen] == healthy
    assert not any(bench.machine.symptoms[what].kind == "tingles" for _, what in seen)
    clamped = [one.step for one in made.checks if not one.seen]
    assert {step.condition for step in clamped} <= set(runs)
    assert set(proof.loads(bench, JobState(), next(iter(runs)))) <= set(clamped)
    told = made.sentences()
    assert [one.number for one in made.checks] == [*range(1, len(made.checks) + 1)]
    printed = [int(number) for one in told for number in re.findall(r"(?:^ ?|; |before: )(\d+) ", one)]
    assert printed == [one.number for one in made.checks]
    lines = [one for one in told if not one.startswith(SIGNAL_WORDS)]
    assert len(set(lines)) == len(lines)
    assert any(one.startswith("DANGER: Live parts.") for one in made.cautions)


@pytest.mark.parametrize("name", [*NAMES, "coil-cooktop"])
def test_what_was_opened_for_the_clamp_is_closed_after_the_last_amps(name: str) -> None:
    """Once, before the first setting in which and after which nothing is clamped, or at the end; its cautions first."""
    made = proof_run.of_repairs(Bench(loading.load(name)), [])
    amps = [n for n, run in enumerate(made.runs) if not all(one.seen for one in run.checks)]
    closes = [n for n, run in enumerate(made.runs) if run.closes]
    assert closes == [amps[-1] + 1] if amps[-1] + 1 < len(made.runs) else closes == []
    closing_told = [run.closes for run in made.runs if run.closes] or [made.after[-1]]
    (told,) = closing_told
    assert told.startswith("After the last amps: ")
    assert "solate the machine" in told
    assert bool(made.after) == (not closes)
    for n in closes:
        lines = [*made.runs[n].sentences()]
        minded = lines[: lines.index(made.runs[n].closes)]
        assert minded[0].startswith("DANGER: Until it is proved dead")
        assert all(one.startswith(SIGNAL_WORDS) for one in minded)


def test_air_is_seen_once_more_when_its_duct_is_on_again() -> None:
    """The dryer's duct comes off for the clamp; of a machine without one nothing is asked again."""
    (closed,) = [run.closes for run in proof_run.of_repairs(DRYER, []).runs if run.closes]
    asked = "The duct was off, so once more: Is the stream of air at the vent outside strong? It must be yes."
    assert closed.endswith(f"Power last. Set again: cycle cool down, start pressed. {asked}")
    for name in ("water-heater", "coil-cooktop"):
        assert not any("once more" in one for one in proof_run.of_repairs(Bench(loading.load(name)), []).sentences())


def test_heat_left_from_before_is_no_heat() -> None:
    """Where the air was warm in the setting before and must not be heated now, and not where it was not warm yet."""
    checks = [one for one in proof_run.of_repairs(DRYER, []).checks if one.step.at == "air is warm"]
    warned = [proof_run.LEFT_WARM.lower() in f"{one.said} {one.short}".lower() for one in checks]
    assert warned == [not one.there for one in checks]
    assert True in warned
    assert checks[0].there


def test_what_is_clamped_last_is_closed_at_the_end() -> None:
    """Where no other setting comes after it, with what is to be minded on the way; the power is back last."""
    healthy = proof.healthy(DRYER)
    walk = Walk(healthy, JobState(), safely.begin(DRYER.machine))
    at, names = next(iter(proof.runs(healthy.predictor).items()))
    list(walk.setting(at, names))
    assert walk.opened == ("back", "rear cover")
    done = walk.end()
    assert done is not None
    assert [one.at for one in done.doings if one.kind is Kind.CLOSE] == ["rear cover", "back"]
    assert done.doings[-1].kind is Kind.ENERGISE
    assert any(one.startswith("DANGER: Until it is proved dead") for one in done.cautions)


def test_each_setting_is_told_once_with_all_that_is_asked_in_it() -> None:
    """By its name and how the controls stand; a question in full where it is new, else in a few words."""
    first, *others = [run for run in proof_run.of_repairs(DRYER, []).runs if "low heat" in run.setting]
    assert not others
    minded, setting, *new = first.sentences()
    assert minded.startswith("WARNING: The machine may start by itself.")  # its rear cover is off for the clamp
    assert setting.startswith("Set to low heat (cycle timed, heat low, start pressed), running; as before: ")
    assert "drum turns: yes; " in setting
    assert "clamp round the wires at terminal block.L2: 9.89 A to 11.8 A" in setting
    milder = "Once it has run some 15 min: Is LOW milder than HIGH? It must be yes now."
    assert [one.split("  ")[1] for one in new] == [milder]


def test_what_was_seen_to_stay_cold_is_not_seen_hot() -> None:
    """After the repair the air stays cold: no setting that wants the machine hot is asked for, else they are."""
    at = usual(DRYER.machine)
    hot = [one for one in proof_run.of_repairs(DRYER, []).runs if "'hot'" in one.setting]
    cold = f.Perceived("air is warm", False, at, "repairer")
    assert len(hot) == 2
    assert not [one for one in proof_run.of_repairs(DRYER, [], since=[cold]).runs if "'hot'" in one.setting]


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_left_on_or_open_after_the_last_number(name: str) -> None:
    """What the last run has left away from rest is set back by the last line; none where the cover that is closed last
    has had it set back, nor where nothing is set."""
    bench = Bench(loading.load(name))
    made = proof_run.of_repairs(bench, [])
    back = setting_back.at_rest(bench.machine, made.checks[-1].at)
    closed_last = "irst set back" in " ".join(made.after)
    assert made.rest == ((f"Last, set back: {back}.",) if back and not closed_last else ())
    assert (name == "coil-cooktop") <= ("left front off" in made.sentences()[-1])
    without = proof_run.of_repairs(bench, [], refused={refusals.NoPower()})
    assert without.rest == ()


def test_without_a_clamp_none_is_asked_for() -> None:
    """Nor is anything opened for it, nor closed; nor is a cover opened that will not open."""
    made = proof_run.of_repairs(DRYER, [], refused=[refusals.NoMeter("amps")])
    assert all(one.seen for one in made.checks)
    assert made.after == made.cautions == ()
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
    found = proof_run.showed(heater, made, [f.Perceived("water gets hot", False)], named)
    top = check.at
    assert {(x.what, x.there, x.condition == top) for x in found if isinstance(x, f.Perceived)} == {
        ("water gets hot", True, False), ("hot water lasts", False, True), ("breaker trips", False, True),
    }  # fmt: skip
    assert all(isinstance(x, f.Perceived) and x.by == "repairer" for x in found)


def test_nothing_is_taken_to_have_been_seen_that_nobody_need_have() -> None:
    """A dryer that stays cold after its repair, number 4: not warm in another setting, nor a load dried, which takes
    its time; that the drum turns was seen before it."""
    made = proof_run.of_repairs(DRYER, [])
    cold = next(one for one in made.checks if one.step.at == "air is warm")
    told = [f.Perceived(what, False) for what in ("air is warm", "drum turns", "one load dries in time")]
    drum = next(one for one in made.checks if one.step.at == "drum thumps or squeals")
    later = proof_run.showed(DRYER, made, told, {drum: drum.found(False)})
    assert [x.there for x in later if isinstance(x, f.Perceived) and x.what == "one load dries in time"] == [True]
    found = proof_run.showed(DRYER, made, told, {cold: cold.found(False), drum: drum.found(False)})
    assert "one load dries in time" not in {x.what for x in found if isinstance(x, f.Perceived)}
    found = proof_run.showed(DRYER, made, told, {cold: cold.found(False)})
    assert [(x.what, x.there) for x in found if isinstance(x, f.Perceived)] == [
        ("drum turns", True), ("motor hums", False), ("air is warm", False),
    ]  # fmt: skip
    assert all(isinstance(x, f.Perceived) and x.condition == cold.at for x in found)


def test_what_was_out_of_reach_was_not_seen() -> None:
    """A tank that gives no hot water is never hot at the top, whatever else was said of it."""
    heater = Bench(HEATER)
    made = proof_run.of_repairs(heater, [])
    names = {one.step.at: one for one in made.checks if one.seen}
    wrong = {names[what]: names[what].found(False) for what in ("water gets hot", "hot water lasts")}
    found = proof_run.showed(heater, made, [], wrong)
    assert "hot water lasts" not in {x.what for x in found if isinstance(x, f.Perceived)}
    assert f.Perceived("water gets hot", False, names["water gets hot"].at, "repairer") in found


@pytest.mark.parametrize("name", [*NAMES, "vented-dryer-3-wire", "coil-cooktop"])
def test_after_each_repair_by_hand_the_frame_is_proved_off_the_supply(name: str) -> None:
    """Whatever was opened for it: a freezer that was opened has warmed up, and is read as warm as it is."""
    asked = advising.adviser(Bench(loading.load(name)))
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
