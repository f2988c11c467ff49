"""The guided diagnosis goes on after a repair from what a proof run has shown: pure state, taken back whole."""

from __future__ import annotations

import json
from functools import cache

import numpy as np
import pytest

from halfsplit.errors import BadInput
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file, mended
from halfsplit.operate import condition as conditions
from halfsplit.plan import powering
from halfsplit.plan.score import Adviser
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, after_repair, answers, closing, guiding, proof_cards, repairing
from halfsplit.service.further import Further
from halfsplit.service.guiding import Guided
from halfsplit.work import stopping
from halfsplit.work.hazards import STOPS
from halfsplit.work.refusals import NoOwner, NoPower
from tests.rehearse.benches import adviser, bench

MACHINE = bench("water-heater").machine
TOP = conditions.condition(MACHINE, MACHINE.settings["top is hot"])
FIRST = "replace upper element"
WRONG = f.Perceived("hot water lasts", False, TOP, "repairer")
HOT = f.Perceived("water gets hot", True, conditions.usual(MACHINE), "repairer")
FRAME = Probe("ohms", "limit.1", MACHINE.frame)
COLD = f.Perceived("water gets hot", False)


def stands(guided: Guided) -> tuple[bool, frozenset[str]]:
    """Whether the machine was left isolated, of which nothing counts as proved, and the bays that are open."""
    state = advising.standing(guided.asked, guided.findings, guided.refused)
    assert state.unproved >= state.left_isolated
    return state.left_isolated, state.open_bays


def barred(guided: Guided) -> frozenset[object]:
    """What is not done as the machine stands."""
    return advising.standing(guided.asked, guided.findings, guided.refused).refused


@cache
def before() -> Guided:
    """A cold tank, of which the upper element is replaced."""
    return Guided(adviser("water-heater"), (COLD,))


@cache
def after(*shown: f.Finding) -> Guided:
    """After that repair, with what the proof run has shown."""
    return after_repair.after(before(), [before().bench.repairs[FIRST]], shown)


def test_it_goes_on_from_what_is_left() -> None:
    """The prior of the rehearsals, the breaker reset that isolated it, the findings of the proof run, nobody asked who
    knew the machine as it was; what was before stays as it was."""
    reset = "breaker: switch fully off and on"
    left = mended.after(before().bench, before().findings, [FIRST, reset]).singles.prior
    prior, known = after(WRONG).bench.singles.prior, after(WRONG).bench.singles
    pinched = [s for s, v in enumerate(known.variants) if any("chafed" in known.faults[i].mode for i in v.faults)]
    others = np.setdiff1d(np.arange(len(left)), pinched)
    assert prior[others] == pytest.approx(left[others] / (1 + mended.PINCHED))
    assert prior[pinched].sum() > mended.PINCHED / (1 + mended.PINCHED)
    assert after(WRONG).findings == (WRONG, f.Tried(FIRST, False))
    assert NoOwner() in after(WRONG).refused
    assert before().findings == (COLD,)
    assert before().bench is bench("water-heater")
    assert after(WRONG).ranked[0].faults != before().ranked[0].faults


def test_what_leads_to_the_frame_after_a_repair_is_a_pinched_wire() -> None:
    """Hands were behind that cover: low ohms from one prong alone are most likely a wire there; of a repair for which
    no hand goes to the machine no wire is suspected more than before."""
    dryer = Guided(adviser("vented-dryer"), (f.Perceived("air is warm", False),))
    made = dryer.bench.repairs["replace cut-off"]
    zero = [one for one in repairing.work(dryer, [made]).proof.checks if one.number == 0]
    low = answers.understood(dryer.bench.predictor, next(x.step for x in zero if "L2" in x.said), "0.5")
    after_it = after_repair.after(dryer, [made], [low], ran=False)
    framed = sum(one.probability for one in after_it.ranked if any("to frame" in name for name in one.faults))
    assert framed > 0.35
    assert after_it.ranked[0].faults[0].endswith("chafed to frame")
    switched = next(one for name, one in dryer.bench.repairs.items() if name.startswith("breaker: switch"))
    left = mended.after(dryer.bench, dryer.findings, [switched.name]).singles.prior
    assert after_repair.after(dryer, [switched], ()).bench.singles.prior == pytest.approx(left)


def test_it_has_been_put_together_and_used() -> None:
    """Whatever was opened for the repair or the clamp: the next step says what to open, and is isolated for it; nor is
    it closed again at the second repair. Where something leads to the frame the power stayed off."""
    made = after(WRONG)
    assert stands(made) == (False, frozenset())
    probe = Probe("ohms", "upper element.1", "upper element.2")
    dead = [one for one in made.asked.table.steps if one.condition and one.condition.isolated]
    told = made.instead(next(one for one in dead if one.probe == probe)).advice
    assert told is not None
    assert told.text.startswith("Isolate the machine (breaker off, locked)")
    assert "Open the upper cover" in told.text
    assert any("240 V behind it" in one for one in told.cautions)
    second = made.bench.repairs["replace lower element"]
    assert guiding.undone(made, [second]).opened == ("lower cover",)
    off = conditions.condition(MACHINE, isolated=True)
    read = f.Reading(FRAME, off, 300.0, text="300")
    framed = after_repair.after(before(), [before().bench.repairs[FIRST]], [read], ran=False)
    assert stands(framed) == (True, frozenset())
    assert framed.all_findings == (COLD, f.Tried(FIRST, None), read, f.Closed(False))
    assert NoPower() in barred(framed)
    assert framed.advice is not None
    assert not powering.wants_power(MACHINE, framed.advice.step)
    assert NoPower() not in guiding.not_done_after(framed, [second])
    assert NoPower() not in barred(after_repair.after(framed, [second], [HOT, WRONG]))
    assert NoPower() in barred(after_repair.after(before(), [second], (), ran=False))


def test_it_stands_alike_where_what_was_found_is_written_and_read_again() -> None:
    """Open for the clamp of the proof run, it is closed again, with the power or without."""
    clamped = f.Reading(Probe("amps", "limit.1"), TOP, 0.0, step=0.1, text="0.0")
    assert stands(after(WRONG).told(clamped)) == (False, frozenset({"upper cover"}))
    for ran in (True, False):
        made = after_repair.after(before(), [before().bench.repairs[FIRST]], [WRONG, clamped], ran)
        text = json.dumps([findings_file.written(one) for one in made.all_findings])
        again = findings_file.read(text, "x", MACHINE)
        assert again == list(made.all_findings)
        state = advising.standing(before().asked, again)
        assert (state.left_isolated, state.open_bays) == stands(made) == (not ran, frozenset())
        assert (NoPower() in state.refused) == (NoPower() in barred(made)) == (not ran)


WET = (f.Perceived("water gets hot", False), f.Perceived(stopping.WATER, True), stopping.breaker_off(MACHINE))
DRY = f.Perceived(stopping.WATER, False, conditions.usual(MACHINE), "repairer")


@pytest.mark.parametrize("ran", [True, False])
def test_water_stays_on_the_floor_until_it_is_seen_to_be_gone(ran: bool) -> None:
    """Through a proof run in which nobody spoke of it, in memory as in a file: no power, danger told, a tag; where the
    machine was in use meanwhile the breaker goes off once more."""
    wet = Guided(adviser("water-heater"), WET)
    repair, second = (wet.bench.repairs[name] for name in (FIRST, "replace lower element"))
    made = after_repair.after(wet, [repair], [WRONG], ran)
    assert after_repair.left_wet(wet, [WRONG], ran)
    assert made.always == wet.always != ()
    assert made.wet == ran
    assert NoPower() in barred(made)
    assert NoPower() in guiding.not_done_after(made, [second])
    kept = findings_file.read(json.dumps([findings_file.written(one) for one in made.all_findings]), "x", MACHINE)
    assert stopping.is_wet(kept)
    assert stopping.is_breaker_off(kept) == (not ran)
    assert "tag" in {task["kind"] for task in closing.closing(MACHINE, findings=kept)["tasks"]}
    dry = after_repair.after(wet, [repair], [WRONG, DRY], ran=True)
    assert not dry.always
    assert not after_repair.left_wet(dry, [])
    assert NoPower() not in barred(dry)


def test_no_proof_run_is_printed_where_the_power_stays_off() -> None:
    """After low ohms to the frame what is read dead, and no more; beside a burnt receptacle nothing at the plug."""
    off = conditions.condition(MACHINE, isolated=True)
    low = f.Reading(FRAME, off, 300.0, text="300")
    made = closing.closing(MACHINE, findings=(COLD, f.Tried(FIRST, False), low))
    assert made["proof"][-1] == proof_cards.NOT_PROVED
    assert not any("Set to" in one for one in made["proof"])
    dryer = bench("vented-dryer").machine
    cold, burnt = f.Perceived("air is warm", False), f.Look("receptacle", "burnt")
    made = closing.closing(dryer, findings=(cold, f.Tried("replace cut-off", False), burnt))
    assert made["proof"] == [proof_cards.NOT_PROVED]
    assert "insulation" not in {task["kind"] for task in made["tasks"]}
    assert len(closing.closing(dryer, findings=(cold, f.Tried("replace cut-off", False)))["proof"]) > 10


def test_water_after_a_cure_is_new_water() -> None:
    """What was told before the cure is gone with it; what is seen after it bars the power and is tagged."""
    cured = (*WET, f.Tried(FIRST, True))
    assert not stopping.is_wet(cured)
    again = (*cured, stopping.breaker_off(MACHINE))
    assert stopping.is_wet(again)
    assert stopping.is_breaker_off(again)
    kinds = {task["kind"] for task in closing.closing(MACHINE, findings=again)["tasks"]}
    assert "tag" in kinds
    assert "power" not in kinds
    assert not stopping.is_breaker_off((*again, f.Closed(True)))


def test_after_an_untried_repair_the_frame_is_proved_whatever_is_repaired_next() -> None:
    """Also where no hand goes to the machine, which stands isolated: ohms to the frame, the bond, and power last."""
    off = conditions.condition(MACHINE, isolated=True)
    low = f.Reading(FRAME, off, 300.0, text="300")
    made = after_repair.after(before(), [before().bench.repairs[FIRST]], [low], ran=False)
    switched = next(one for name, one in made.bench.repairs.items() if name.startswith("breaker: switch"))
    work = repairing.work(made, [switched])
    kinds = [task.kind for task in work.closed.tasks]
    assert kinds.index("insulation") < kinds.index("panel") == len(kinds) - 1  # its breaker is its power
    assert [one.number for one in work.proof.checks][:2] == [0, 0]
    again = after_repair.after(made, [switched], [low], ran=False)
    assert NoPower() in barred(again)
    found = (*made.all_findings, f.Tried(switched.name, False))
    told = [task["kind"] for task in closing.closing(MACHINE, findings=found)["tasks"]]
    assert "insulation" in told


def left(guided: Guided) -> set[tuple[str, str]]:
    """How the machine is left without a repair: the power back, or a tag and what is on it."""
    tasks = guiding.put_together(guided, ()).tasks
    return {(one.kind, one.to if one.kind == "tag" else "") for one in tasks if one.kind in ("power", "judge", "tag")}


def test_nobody_is_left_with_a_machine_that_leads_to_its_frame() -> None:
    """Left without a repair its power stays off, with a tag; so where it was wrong before its proof run. Where nothing
    leads to the frame the power comes back. From the file of what was found the same."""
    off = conditions.condition(MACHINE, isolated=True)
    tag = {("tag", STOPS[stopping.NOT_SAFE].tag)}
    low, clear = (f.Reading(FRAME, off, value, text=text) for value, text in ((300.0, "300"), (None, "OL")))
    for found, wanted in (((low,), tag), ((clear,), {("power", "")}), ((f.Tried(FIRST, None),), tag)):
        assert left(before().told(*found)) == wanted
        made = closing.closing(MACHINE, findings=(COLD, *found))
        assert {"tag", "power"} & {task["kind"] for task in made["tasks"]} == {kind for kind, _ in wanted}
    framed = after_repair.after(before(), [before().bench.repairs[FIRST]], [low], ran=False)
    assert left(framed.told(f.Look("limit", f.FINE))) == tag


def test_where_it_never_ran_nobody_knows_whether_it_cured() -> None:
    """It is isolated then, what was replaced is good, and nothing else speaks for the repair or against it; so it is
    written, and read again."""
    repair = before().bench.repairs[FIRST]
    made = after_repair.after(before(), [repair], (), ran=False)
    assert stands(made) == (True, frozenset())
    assert not any("upper element: open" in one.faults for one in made.ranked)
    believed = made.weighed.posterior.probability
    assert believed / believed.sum() == pytest.approx(made.bench.singles.prior)
    assert made.findings[-1].label == "replace upper element: not tried"
    written = findings_file.written(made.findings[-1])
    assert written == {"repair": {"made": FIRST, "cured": "untried"}}
    text = f"- repair: {{made: {FIRST}, cured: untried}}\n"
    assert findings_file.read(text, "x", MACHINE) == [made.findings[-1]]
    with pytest.raises(BadInput, match="'cured' is yes, no or untried, not 'perhaps'"):
        findings_file.read(text.replace("untried", "perhaps"), "x", MACHINE)


def test_repairs_in_vain_are_taken_back_at_once() -> None:
    """All of them, to the same diagnosis: whoever told the repair knows that it is told. Of a complaint that can be
    seen at once is asked whether it is there still; what was replaced is good in any case."""
    both = [before().bench.repairs[name] for name in (FIRST, "replace lower element")]
    still = after_repair.asked_back(before())
    assert still == (f.Perceived("water gets hot", False, conditions.usual(MACHINE), "repairer"),)
    seen = after_repair.after(before(), both, still)
    assert seen.findings[:-1] == still
    assert not any("element: open" in name for one in seen.ranked for name in one.faults)
    assert seen.undone() is before()
    made = after_repair.after(before(), both, (), ran=False)
    assert not any("element: open" in name for one in made.ranked for name in one.faults)
    assert made.made == {FIRST, "replace lower element"}
    assert made.undone() is before()
    more = made.told(f.Look("limit", f.FINE))
    assert more.undone().findings == (*made.findings, f.TakenBack(f.Look("limit", f.FINE)))
    assert more.undone().undone() is before()


@pytest.mark.parametrize(
    ("shown", "cured"),
    [((HOT, WRONG), True), ((WRONG,), False), ((f.Perceived("water gets hot", False, None, "repairer"),), False)],
)
def test_a_repair_has_cured_where_what_was_wrong_is_seen_no_longer(shown: tuple[f.Perceived, ...], cured: bool) -> None:
    """That is what is written down, not where nobody looked; what was found before it stands before it."""
    assert after(*shown).all_findings == (COLD, f.Tried(FIRST, cured, well=not cured), *shown, f.Closed(True))
    assert after(*shown).made == {FIRST}


def test_what_was_complained_of_may_be_gone_though_something_is_wrong() -> None:
    """Then the repair has cured that, and what explains it alone is no likelier than before; who has not looked has
    said no more than that not all is well, by which nothing being wrong is the less likely. What the repairer had seen
    to be well is not asked for."""
    gone = after(HOT)
    assert gone.all_findings == (COLD, f.Tried(FIRST, True, well=False), HOT, f.Closed(True))
    there = after(*after_repair.asked_back(before()))
    cold = "limit: tripped"
    odds = [sum(one.probability for one in guided.ranked if cold in one.faults) for guided in (gone, there)]
    assert odds[0] < 0.1 * odds[1]
    assert after().all_findings == (COLD, f.Tried(FIRST, False), f.Closed(True))
    nothing = after().bench.singles.prior[0]
    assert after().weighed.posterior.probability[0] < 0.5 * nothing
    assert after_repair.asked_back(before().told(HOT)) == ()
    assert [one.what for one in after_repair.asked_back(there)] == ["water gets hot"]
    assert [one.what for one in after_repair.asked_back(after(HOT, WRONG))] == ["hot water lasts"]


def test_what_it_has_shown_is_taken_back_whole() -> None:
    """What was found since is taken back first, one by one."""
    more = after(WRONG).told(f.Look("limit", f.FINE))
    assert more.undone().findings == (*after(WRONG).findings, f.TakenBack(f.Look("limit", f.FINE)))
    assert more.undone().undone() is before()


def test_a_second_repair_keeps_what_the_first_has_cured() -> None:
    """Both are good then, and the whole job is told in its order."""
    second = "replace lower element"
    made = after_repair.after(after(HOT, WRONG), [before().bench.repairs[second]], [WRONG])
    assert made.made == {FIRST, second}
    on = f.Closed(True)
    once, vain = f.Tried(FIRST, True, well=False), f.Tried(second, False)
    assert made.all_findings == (COLD, once, HOT, WRONG, on, vain, WRONG, on)
    known = made.bench.singles
    cured = [s for s, g in enumerate(known.group_of.tolist()) if s and known.cured(g, [FIRST, second])]
    assert known.prior[cured].sum() == 0
    assert made.undone() is after(HOT, WRONG)


def nothing_likeliest(guided: Guided) -> Guided:
    """The same, where nothing wrong is taken to be likelier than what is left."""
    vars(guided.weighed)["by_repair"] = {(): 0.98, (FIRST,): 0.01, ("replace lower element",): 0.01}
    return guided


def test_what_hardly_anything_speaks_for_is_not_repaired() -> None:
    """Where every cause is below one in a thousand, something that the file does not say is likelier."""
    guided = after(WRONG).told()
    vars(guided)["ranked"] = []
    assert guided.due == ()


def test_what_was_shown_wrong_is_repaired_though_nothing_is_likelier() -> None:
    """Not what is made already; not where it has been seen right since, nor before any proof run."""
    right = f.Perceived("hot water lasts", True, TOP, "repairer")
    go_on = nothing_likeliest(after(WRONG).told())
    assert [one.name for one in go_on.due] == ["replace lower element"]
    assert go_on.made_first == (("replace lower element",), 0.01)
    assert not go_on.is_sure  # of that nothing is wrong one is, but not of what is made
    trade = next(name for name, one in go_on.bench.repairs.items() if one.by == "electrician")
    theirs = nothing_likeliest(after(WRONG).told())
    vars(theirs.weighed)["by_repair"] = {(): 0.97, (trade,): 0.02, ("replace lower element",): 0.01}
    assert theirs.due == ()  # it is handed over, not made by us
    assert nothing_likeliest(after(WRONG).told(right)).due == ()
    assert nothing_likeliest(before().told(WRONG)).due == ()


def test_another_adviser_is_thought_further_with_another_planner() -> None:
    """After a repair the planner is made anew, for the machine as it is then; else it is kept."""
    made: list[Adviser] = []

    class Fails:
        """Plans nothing."""

        def plan(self, *_: object) -> None:
            """Fails at once."""
            raise ValueError("made up")

    def planner(asked: Adviser) -> Fails:
        made.append(asked)
        return Fails()

    further = Further(planner)  # type: ignore[arg-type]
    for guided in (before(), before().told(f.Look("limit", f.FINE)), after(WRONG)):
        further.begin(guided)
        assert further.wait(60)
    assert made == [before().asked, after(WRONG).asked]
