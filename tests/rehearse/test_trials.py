"""Rehearsals end, are safe, mostly right, and the same on any number of workers; fixed orders; the page of figures."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.errors import BadInput, WrongUse
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.machine import library
from halfsplit.machine.handwork import Handwork
from halfsplit.modes import listing
from halfsplit.plan import fitting, pricing
from halfsplit.plan.ahead import Ahead
from halfsplit.plan.score import Scored
from halfsplit.plan.setups import Setups
from halfsplit.plan.steps import Step
from halfsplit.rehearse import ambiguity, compare, drawing_lots, order, play, trials
from halfsplit.rehearse.play import Played
from halfsplit.rehearse.truth import Truth
from halfsplit.service import rehearsing
from halfsplit.work import prices, warms
from halfsplit.work.state import JobState
from tests.depth import tried
from tests.rehearse.benches import NAMES, adviser, bench

each_machine = pytest.mark.parametrize("name", NAMES)


def played(name: str, count: int, workers: int = 1, **asked: object) -> list[Played]:
    """Trials 0 to count - 1."""
    made = replace(trials.Asked(bench(name).machine, 1), **asked)  # type: ignore[arg-type]
    return list(trials.run(trials.Rehearsal(adviser(name), made), count, workers))


@each_machine
def test_a_few_jobs_end_safely_and_mostly_right(name: str) -> None:
    """Each ends within its steps, none has an unsafe step, and most first repairs are right (a loose bound)."""
    jobs = played(name, 12)
    assert all(job.steps <= play.MOST_STEPS * play.MOST_REPAIRS for job in jobs)
    assert sum(job.unsafe_steps for job in jobs) == 0
    assert sum(job.right_first for job in jobs) >= 8
    assert all(0 <= job.claimed <= 1 and job.minutes > 0 for job in jobs)


def test_the_same_jobs_on_any_number_of_workers() -> None:
    """One worker, two workers, and once more: field by field the same."""
    one, two, again = played("water-heater", 6), played("water-heater", 6, 2), played("water-heater", 6)
    assert trials.as_contract(one) == trials.as_contract(two) == trials.as_contract(again)
    assert trials.as_contract(played("water-heater", 6, seed=2)) != trials.as_contract(one)


def test_a_fault_that_the_file_lacks_is_right_when_it_is_said_so() -> None:
    """Hidden alone, such faults are drawn by the seed; right means that the job ended in saying so."""
    lacking = drawing_lots.Departure(missing=1.0)
    jobs = played("water-heater", tried(2, 3), departure=lacking)
    assert all(job.fault.startswith(drawing_lots.NOT_IN_FILE) for job in jobs)
    assert all(job.right_first == job.said_unknown for job in jobs)


def test_faults_are_drawn_by_rate() -> None:
    """Of 4000 draws each frequent fault comes within a fifth of its share."""
    faults = bench("water-heater").faults
    rates = np.array([fault.rate for fault in faults])
    random = np.random.default_rng(1)
    lots = [drawing_lots.draw(faults, rates, random, drawing_lots.AS_THE_MODEL).fault.name for _ in range(4000)]
    for fault in faults:
        share = fault.rate / rates.sum()
        if share > 0.05:
            assert lots.count(fault.name) / 4000 == pytest.approx(share, rel=0.2)


def test_an_unknown_fault_is_wrong_use() -> None:
    """Nothing can be hidden that the machine does not have."""
    with pytest.raises(WrongUse, match="no fault"):
        played("water-heater", 1, fault="upper element: bent")


@each_machine
def test_what_counts_as_one_shows_the_same_in_every_step(name: str) -> None:
    """Each set has at least two repairs, and all its sizes share their codes."""
    asked = adviser(name)
    sets = ambiguity.sets(asked)
    assert sets
    assert sum(one.share for one in sets) < 0.2
    for rows in play.inseparable(asked):
        codes = asked.table.outcomes.codes[:, sorted(rows)]
        assert (codes == codes[:, :1]).all()


# ---- where a job stops ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "fault", "rule"),
    [
        ("refrigerator", "sealed system: leaking or blocked", "sealed refrigerant system"),
        ("refrigerator", "receptacle: L contact burnt", "burnt receptacle"),
        ("water-heater", "service: leg L1 lost", "fixed wiring"),
    ],
)
def test_a_job_that_is_another_trades_ends_with_a_stop(name: str, fault: str, rule: str) -> None:
    """Most such jobs end in a stop that is right, handed over: of six at most one cleans or tightens something first.
    No part is bought."""
    jobs = played(name, 6, fault=fault)
    stopped = [job for job in jobs if job.stopped]
    assert len(stopped) >= 3
    assert any(job.stopped in (rule, "fixed wiring") for job in stopped)
    assert sum(not job.right_first for job in stopped) <= 1
    assert not any(job.needless_parts for job in stopped)


def test_a_tingling_frame_ends_the_job_at_once_and_wrongly_where_the_fault_is_the_repairers() -> None:
    """Told by the owner, nothing is measured; the loose earth of the machine itself is no electrician's work."""
    told = [f.Perceived("cabinet tingles", True)]
    fault = listing.by_name(bench("refrigerator").machine)["joint cabinet.metal: loose"]
    truth = Truth(bench("refrigerator").machine, fault, fault.alternatives[0][1], np.random.default_rng(1))
    job = play.play(adviser("refrigerator"), truth, list(told))
    assert (job.stopped, job.steps, job.repairs, job.right_first) == ("tingling frame", 0, (), False)
    assert job.minutes == Handwork().isolate


def test_a_cold_dryer_is_not_run_hot_in_a_rehearsal() -> None:
    """No step of the job wants a warmth that a machine found cold cannot reach; the guide follows the same rule."""
    asked = adviser("vented-dryer")
    told = [f.Perceived("drum turns", True), f.Perceived("air is warm", False)]
    step = play.as_advised(asked)
    weighed = asked.bench.weigh(told)
    for _ in range(4):
        chosen = step(weighed, JobState())
        assert chosen is not None
        at = chosen[0].condition
        assert warms.can_be_met(asked.bench.machine, told, at, fitting.healthy(asked))
    shows = fitting.healthy(asked)
    asking = [step for step in asked.table.steps if step.kind == "symptom"]
    assert not all(warms.can_be_met(asked.bench.machine, told, step.condition, shows) for step in asking)


@pytest.mark.parametrize(("name", "cure"), [("limit: first pole open", 2), ("service: leg L1 lost", 4)])
def test_what_was_in_vain_is_priced(name: str, cure: int) -> None:
    """Repairs made without a single step: each that did not cure is another visit, and its part was bought."""
    asked, known = adviser("water-heater"), bench("water-heater").repairs
    fault = listing.by_name(bench("water-heater").machine)[name]
    truth = Truth(bench("water-heater").machine, fault, fault.alternatives[0][1], np.random.default_rng(1))
    job = play.play(asked, truth, play.complaint(asked, truth), lambda weighed, state: None)
    wrong = [known[one] for one in job.repairs if one != fault.repair.name]
    assert len(wrong) == cure
    bought = [one for one in wrong if one.price]
    parts = sum(one.price / Handwork().hourly * 60 for one in bought)
    assert job.in_vain == pytest.approx(parts + cure * prices.AGAIN)
    assert job.needless_parts == len(bought)


def test_needless_parts_are_those_bought_that_were_not_at_fault() -> None:
    """By hand: a joint and a reset buy nothing, another trade buys its own, each part is bought once."""
    known = {one.repair.name: one.repair for one in bench("water-heater").faults}
    tried = ["replace limit", "tank: replace the whole appliance", "limit: press the button and find what made it trip"]
    made = [known[name] for name in (*tried, "replace limit", "service: call the utility")]
    assert len(play.parts_in_vain(made, set())) == 2
    assert len(play.parts_in_vain(made, {"replace limit"})) == 1
    assert len(play.parts_in_vain([known["replace limit"]], {tried[2]})) == 1


# ---- fixed orders -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("named", rehearsing.orders())
def test_orders_of_the_library_are_read(named: str) -> None:
    """Each is a list of steps of its machine, safe ones all."""
    machine = bench(named.split(".")[0]).machine
    steps = rehearsing.read_order(named, machine)
    assert len(steps) > 10
    assert not any(play.is_unsafe(machine, (), step) for step in steps)


def test_every_machine_has_both_orders() -> None:
    """Front to back, and cheapest first; none is of a machine that the library has not."""
    kinds = ("cheapest-first", "front-to-back")
    assert sorted(rehearsing.orders()) == sorted(f"{name}.{kind}" for name in library.names() for kind in kinds)


@pytest.mark.parametrize("name", library.names())
def test_cheapest_first_is_what_it_says(name: str) -> None:
    """From a closed machine, each step of that order takes at least the minutes of the one before it."""
    machine = bench(name).machine
    steps = rehearsing.read_order(f"{name}.cheapest-first", machine)
    taken = [pricing.cost_of(machine, JobState(), step).minutes for step in steps]
    assert taken == sorted(taken)


def test_an_order_is_followed_as_it_stands() -> None:
    """The findings of a job are the owner's words, then the order's steps one by one up to where it is sure."""
    steps = rehearsing.read_order("water-heater.front-to-back", bench("water-heater").machine)
    (job,) = played("water-heater", 1, order=steps, fault="lower element: open")
    assert job.steps <= len(steps)
    found = [one for one in job.findings if getattr(one, "by", "repairer") == "repairer"]
    assert found
    for step, one in zip(steps, found, strict=False):
        assert step.at in ("", getattr(one, "at", step.at) if step.kind == "look" else getattr(one, "what", ""))
        assert step.probe == getattr(one, "probe", None)


@pytest.mark.parametrize(
    ("name", "numbers", "ends_early"), [("water-heater", (1, 9), False), ("coil-cooktop", (21,), True)]
)
def test_an_order_ends_where_the_adviser_does(name: str, numbers: tuple[int, ...], ends_early: bool) -> None:
    """After every finding of these jobs: a step of the order if and only if the adviser has one that pays, and the
    order one that can be done; one of them ends so while steps are left and no repair is sure."""
    asked = adviser(name)
    steps = rehearsing.read_order(f"{name}.front-to-back", asked.bench.machine)
    follow, advised = order.followed(asked, steps), play.as_advised(asked)
    early = []

    def both(weighed: Weighed, state: JobState) -> play.Choice | None:
        chosen, best = follow(weighed, state), advised(weighed, state)
        left = [step for step in steps if step not in state.done and fitting.fits(asked, weighed.findings, step)]
        assert (chosen is not None) == (best is not None and bool(left))
        assert chosen is None or chosen[0] == left[0]
        early.append(bool(left) and chosen is None and not fitting.sure(weighed))
        return chosen

    following = compare.Following(trials.Rehearsal(asked, trials.Asked(asked.bench.machine, 0)), both)
    assert all(following.trial(number).steps <= len(steps) for number in numbers)
    assert any(early) == ends_early


def test_an_order_ends_where_no_step_pays() -> None:
    """With an adviser for whom nothing pays it never begins; with one for whom everything does it goes to its end.
    Then the complaint is seen, as by everybody else before an unsure repair, and nothing more."""

    class Paid(Setups):
        def __init__(self, always: bool) -> None:
            super().__init__(bench("water-heater"), adviser("water-heater").table)
            self.always = always

        def pays(self, weighed: Weighed, advised: Scored, to_see: float = 0.0) -> bool:
            return self.always

    steps = rehearsing.read_order("water-heater.front-to-back", bench("water-heater").machine)
    weighed = bench("water-heater").weigh([f.Perceived("rumbles", True)])
    seen = order.followed(Paid(False), steps)(weighed, JobState())
    assert seen is not None
    assert seen[0].at == "rumbles"
    assert order.followed(Paid(False), steps)(weighed, JobState(done=frozenset({seen[0]}))) is None
    follow = order.followed(Paid(True), steps)
    for number, step in enumerate(steps):
        chosen = follow(weighed, JobState(done=frozenset(steps[:number])))
        assert chosen is not None
        assert chosen[0] == step
    assert follow(weighed, JobState(done=frozenset({*steps, seen[0]}))) is None


def test_an_order_leaves_out_what_cannot_be_done() -> None:
    """On a tank that stays cold nobody waits to see how long hot water lasts: that step is passed over, no other is."""
    asked = adviser("water-heater")
    steps = rehearsing.read_order("water-heater.front-to-back", asked.bench.machine)
    weighed = asked.bench.weigh([f.Perceived("water gets hot", False)])
    hot = [step for step in steps if not fitting.fits(asked, weighed.findings, step)]
    assert "hot water lasts" in [step.at for step in hot]
    done: list[Step] = []
    while chosen := order.followed(asked, steps)(weighed, JobState(done=frozenset(done))):
        done.append(chosen[0])
    assert done == [step for step in steps if step not in hot]


def test_an_order_does_not_look_further_than_one_step() -> None:
    """Asked for together, the order is followed, and one step ahead says when it ends."""
    asked = rehearsing.Asked("water-heater", order="water-heater.front-to-back", further=True)
    assert not isinstance(rehearsing.prepared(asked).adviser, Ahead)
    assert isinstance(rehearsing.prepared(replace(asked, order="")).adviser, Ahead)


def test_each_step_of_an_order_stands_for_itself() -> None:
    """What a step leaves out is the machine's rest, whatever was lifted or set before it."""
    first, second = order.read(
        "- reading: {meter: ohms, red: limit.1, black: limit.2, lift: [limit.1], set: {warmth: hot tank}}\n"
        "- reading: {meter: ohms, red: limit.3, black: limit.4}\n",
        "order.yaml",
        bench("water-heater").machine,
    )
    assert first.condition is not None
    assert second.condition is not None
    assert first.condition.lift == ("limit.1",)
    assert second.condition.lift == ()
    assert second.condition.position("warmth") != "hot tank"


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("", [(1, 1)]),
        ("kind: x", [(1, 1)]),
        ("- look: {at: blt}\n- symptom: {what: drum trns}\n", [(1, 14), (2, 19)]),
        ("- repair: {made: replace heater, cured: no}", [(1, 3)]),
        ("- reading: {meter: volts, red: cut-off.1, black: cut-off.2}", [(1, 3)]),
        ("- reading: {meter: ohms, red: cut-off.1, black: cut-off.2, isolated: no}", [(1, 12)]),
    ],
)
def test_mistakes_in_an_order(text: str, places: list[tuple[int, int]]) -> None:
    """Unknown names, repairs, ohms on a live machine and volts where it cannot run, each with its place."""
    with pytest.raises(BadInput) as caught:
        order.read(text, "order.yaml", bench("vented-dryer").machine)
    assert [(one.line, one.column) for one in caught.value.problems] == places


def test_an_unknown_order_is_wrong_use() -> None:
    """With the name that may have been meant."""
    with pytest.raises(WrongUse, match="front-to-back"):
        rehearsing.read_order("vented-dryer.frnt-to-back", bench("vented-dryer").machine)
