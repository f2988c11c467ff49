"""Two faults at once: drawn rightly, both effects in the truth, and the search goes on until the machine works."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest

from halfsplit.errors import BadInput, WrongUse
from halfsplit.evidence import finding as f
from halfsplit.evidence import mended, switched, well
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import loading
from halfsplit.modes import listing, tripping
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import effect
from halfsplit.plan import proof, renewed, steps
from halfsplit.plan.steps import Step
from halfsplit.predict.candidates import PAIR_ODDS
from halfsplit.predict.readings import Probe
from halfsplit.rehearse import consequences, trials
from halfsplit.rehearse.truth import Hidden, Truth, World
from halfsplit.rehearse.trying import Trying
from halfsplit.rehearse.two_faults import TwoFaults
from halfsplit.service import advising, rehearsing
from halfsplit.work import minutes, waits
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser, bench

TEXT = rehearsing.CONSEQUENCES.read_text("utf-8")


@cache
def two(name: str) -> TwoFaults:
    """Rehearsals with an independent pair."""
    return TwoFaults(adviser(name), trials.Asked(bench(name).machine, 1))


def hidden(name: str, *called: str) -> Truth:
    """A machine with these faults in their first sizes, values drawn; nobody is mistaken."""
    known = listing.by_name(bench(name).machine)
    first, *others = (known[one] for one in called)
    also = [Hidden(one, one.alternatives[0][1]) for one in others]
    rng, honest = np.random.default_rng(5), World(mistaken=0.0)
    return Truth(bench(name).machine, first, first.alternatives[0][1], rng, honest, also=also)


# ---- the truth --------------------------------------------------------------------------------------------


def test_both_effects_are_there_and_each_goes_with_its_repair() -> None:
    """Joined as `Effect.with_` joins them; after a repair only the other is left, after both the machine is healthy."""
    truth = hidden("water-heater", "upper element: open", "lower element: open")
    built = truth.operation.assembly
    upper, lower = (effect(built, one.changes) for one in truth.hidden)
    assert truth.found[0] == upper.with_(lower)
    truth.repaired(["replace upper element"])
    assert truth.found[0] == lower
    truth.repaired(["replace lower element"])
    assert truth.found == truth.dormant


def test_readings_of_two_open_elements() -> None:
    """Over range across both; after the repair of one that one reads its ohms (4500 W at 240 V: 12.8), by Ohm's law."""
    truth = hidden("water-heater", "upper element: open", "lower element: open")
    at = conditions.condition(truth.machine, isolated=True, lift=["upper element.1", "lower element.1"])
    probes = [Probe("ohms", f"{name} element.1", f"{name} element.2") for name in ("upper", "lower")]
    assert [truth.reads(probe, at)[1] for probe in probes] == [None, None]
    truth.repaired(["replace upper element"])
    upper, lower = (truth.reads(probe, at)[1] for probe in probes)
    assert upper == pytest.approx(12.8, rel=0.15)
    assert lower is None


# ---- what is drawn ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_pairs_are_the_repairers_and_need_two_repairs(name: str) -> None:
    """Of a hundred pairs none shares its part or repair, none is another trade's, none a setting of the owner."""
    made, rng = two(name), np.random.default_rng(3)
    for _ in range(100):
        pair = made._pair(rng)
        assert len({one.repair.name for one in pair}) == len({one.subject for one in pair}) == 2
        assert all(one.repair.by == "repairer" and not one.owner_only for one in pair)


def test_firsts_are_drawn_by_rate() -> None:
    """Of 4000 draws each frequent fault comes first within a fifth of its share of what is noticed."""
    made, rng = two("water-heater"), np.random.default_rng(4)
    total = sum(one.rate for one in made.noticed)
    firsts = [made._pair(rng)[0] for _ in range(4000)]
    for one in made.noticed:
        if one.rate / total > 0.05:
            assert firsts.count(one) / 4000 == pytest.approx(one.rate / total, rel=0.2)


@pytest.mark.parametrize("name", [*NAMES, "vented-dryer-3-wire", "coil-cooktop"])
def test_every_listed_fault_exists_and_leads_to_two_repairs(name: str) -> None:
    """Read against the machine's own faults; each line has another repair for the cause than for what it makes."""
    pairs = consequences.read(TEXT, "practice.yaml", loading.load(name))
    assert len(pairs) >= 5
    assert len(set(pairs)) == len(pairs)
    assert all(cause.repair.name != made.repair.name for cause, made in pairs)
    assert all(one.repair.by == "repairer" for pair in pairs for one in pair)


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("water-heater: x", [(1, 15)]),
        ("- a", [(1, 1)]),
        ("water-heater:\n  - {cause: 'limit: tripped'}\n", [(2, 5)]),
        ("water-heater:\n  - {cause: 'limit: triped', makes: 'limt: tripped'}\n", [(2, 13), (2, 37)]),
    ],
)
def test_mistakes_in_a_list_of_consequences(text: str, places: list[tuple[int, int]]) -> None:
    """Told all at once, each with its place."""
    with pytest.raises(BadInput) as caught:
        consequences.read(text, "practice.yaml", bench("water-heater").machine)
    assert [(one.line, one.column) for one in caught.value.problems] == places


def test_a_machine_that_is_not_listed_has_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """And rehearsing with a consequence of it is wrong use, as two faults with a named one are."""
    assert consequences.read("refrigerator: []", "practice.yaml", bench("water-heater").machine) == ()
    with pytest.raises(WrongUse, match="--fault"):
        rehearsing.prepared(rehearsing.Asked("water-heater", fault="limit: tripped", faults="two"))
    monkeypatch.setattr(consequences, "read", lambda *_: ())
    with pytest.raises(WrongUse, match="No consequences"):
        rehearsing.prepared(rehearsing.Asked("water-heater", faults="consequence"))


# ---- what is left after a repair --------------------------------------------------------------------------


def cured_by(repair: str) -> list[int]:
    """The variants of the water heater that this repair alone cures."""
    singles = bench("water-heater").singles
    return [s for s, group in enumerate(singles.group_of.tolist()) if singles.repairs_of(group) == (repair,)]


def test_what_was_cured_has_no_weight_left() -> None:
    """After an element was changed, most likely nothing is wrong; effects stay, and the bench itself is as it was."""
    asked, repair = bench("water-heater"), "replace upper element"
    at = conditions.condition(asked.machine, isolated=True, lift=["upper element.1", "upper element.2"])
    across = f.Reading(Probe("ohms", "upper element.1", "upper element.2"), at, None)
    found: list[f.Finding] = [f.Perceived("water gets hot", False), across]
    left = mended.after(asked, found, [repair]).singles
    assert left.prior.sum() == pytest.approx(1.0)
    assert left.prior[cured_by(repair)].sum() == 0.0
    assert left.prior[0] > 0.8
    assert left.effects == asked.singles.effects
    assert asked.singles.prior[cured_by(repair)].sum() > 0.05


def test_what_tripped_and_was_set_again_may_trip_again() -> None:
    """A tenth of what had tripped stays, of it alone; and where the machine is cold once more with the limit open, its
    button is believed before a new limit is bought, and looked at before anything else."""
    asked, repair = bench("water-heater"), "limit: press the button and find what made it trip"
    found: list[f.Finding] = [f.Perceived("water gets hot", False), f.Look("limit", "tripped")]
    before = asked.weigh(found, with_pairs=False).posterior.probability
    left = mended.after(asked, found, [repair]).singles.prior
    (tripped,) = cured_by(repair)
    assert left.sum() == pytest.approx(1.0)
    assert left[tripped] == pytest.approx(tripping.AGAIN * before[tripped] / before.sum(), rel=0.05)
    assert left[0] > 0.8
    cold = f.Perceived("water gets hot", False, conditions.usual(asked.machine), "repairer")
    at = conditions.condition(asked.machine, isolated=True)
    opened = f.Reading(Probe("ohms", "limit.3", "limit.4"), at, None)
    made = renewed.after(adviser("water-heater"), found, [repair])
    weighed = made.bench.weigh([f.Tried(repair, False), cold, opened])
    assert weighed.ranked()[0].faults == ("limit: tripped",)
    (due,) = made.next_steps(weighed, advising.standing(made, weighed.findings), 1)
    assert (due.step.kind, due.step.at) == ("look", "limit")


def test_nothing_found_leaves_each_other_fault_at_its_odds() -> None:
    """Summed by hand: alone, or with the likeliest that was cured at PAIR_ODDS; against nothing, or what was cured."""
    variants, repair = bench("water-heater").singles.variants, "replace upper element"
    weight = np.array([v.weight for v in variants])
    left = mended.after(bench("water-heater"), [], [repair]).singles.prior
    cured = cured_by(repair)
    most = max(cured, key=lambda s: weight[s])
    both_cured = sum(weight[s] for s in cured if variants[s].faults != variants[most].faults)
    nothing = weight[0] + weight[cured].sum() + PAIR_ODDS * weight[most] * both_cured
    for s in set(range(1, len(weight))) - set(cured):
        assert left[s] / left[0] == pytest.approx(weight[s] * (1 + PAIR_ODDS * weight[cured].max()) / nothing)


def test_what_comes_and_goes_keeps_its_odds_beside_what_stays() -> None:
    """An open element that three set-ups tell of says nothing of another that opens when hot: the prior's odds."""
    asked = bench("water-heater")
    ends = (("upper element.1",), ("upper element.2",), ("upper element.1", "upper element.2"))
    probe = Probe("ohms", "upper element.1", "upper element.2")
    settings = [conditions.condition(asked.machine, isolated=True, lift=lift) for lift in ends]
    found = [f.Reading(probe, at, None, text="OL") for at in settings]
    left = mended.after(asked, found, ["replace upper element"]).singles
    name = listing.by_name(asked.machine)["lower element: opens when hot"]
    (row,) = [s for s, v in enumerate(left.variants) if [left.faults[i] for i in v.faults] == [name]]
    assert left.variants[row].acting < 1
    assert left.prior[row] / left.prior[0] == pytest.approx(PAIR_ODDS * asked.singles.variants[row].weight, rel=0.05)


# ---- the proof run ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [*NAMES, "coil-cooktop"])
def test_every_symptom_is_seen_in_the_settings_that_it_agrees_with(name: str) -> None:
    """Read against the file: in each named setting that its own is part of; where none is, once, as its own says. What
    takes its time or shows without power is seen once, what takes more than an hour not at all, nor is a frame touched
    to feel whether it tingles; nor is asked what another symptom of the same things says in the same setting."""
    predictor = adviser(name).bench.predictor
    machine, runs = predictor.machine, proof.runs(predictor)
    named = [conditions.condition(machine, given) for given in machine.settings.values()]
    assert [at for at in runs if at in named] == list(named)
    for what, symptom in machine.symptoms.items():
        seen = [at for at, names in runs.items() if what in names]
        agree = [at for at in named if all(dict(at.setting)[c] == p for c, p in symptom.setting)]
        assert all(set(symptom.setting) <= set(at.setting) for at in seen)
        if symptom.kind in ("tingles", "hand"):  # what a hand turns the machine turns itself
            assert not seen
        elif symptom.unpowered:
            assert seen == agree[:1] or (len(seen) == 1 and not agree)
        elif symptom.takes:
            assert seen == agree[:1] or len(seen) == (not agree and symptom.takes <= steps.LONGEST)
        elif agree:
            asked = [at for at in agree if answers_as_where_it_is_met(name, what, at)]
            assert set(seen) <= set(asked)
            assert all(another_says_it(name, what, at, runs[at]) for at in asked if at not in seen)
        else:
            assert len(seen) == 1


def another_says_it(machine: str, what: str, at: Condition, names: Sequence[str]) -> bool:
    """Whether a symptom that is asked has the same healthy answer, and is of the same kind and things."""
    predictor = adviser(machine).bench.predictor
    symptoms, healthy = predictor.machine.symptoms, predictor.healthy_shows(what, at)
    like = [one for one in names if (symptoms[one].kind, symptoms[one].of) == (symptoms[what].kind, symptoms[what].of)]
    return any(predictor.healthy_shows(one, at) == healthy for one in like)


def answers_as_where_it_is_met(machine: str, what: str, at: Condition) -> bool:
    """Whether a healthy machine answers in a setting as it does with the warmth at which the symptom is met."""
    predictor = adviser(machine).bench.predictor
    met = dict(conditions.usual(predictor.machine).setting) | dict(predictor.machine.symptoms[what].setting)
    given = dict(at.setting) | ({"warmth": met["warmth"]} if predictor.machine.warmths else {})
    here, there = (predictor.symptom(what, one, False)[0] > 0.5 for one in (at, Condition(tuple(given.items()))))
    return bool(here == there)


def test_of_a_freezer_that_rests_nobody_is_asked_whether_it_is_cold() -> None:
    """Cold enough, the compressor stands: that is asked for by the symptom that names the warmth, and by no other."""
    runs = proof.runs(adviser("refrigerator").bench.predictor)
    machine = bench("refrigerator").machine
    cooling, rests = (conditions.condition(machine, machine.settings[name]) for name in ("cooling", "cold enough"))
    resting = {"stops when cold", "breaker trips"}
    assert resting <= set(runs[rests])
    assert {"freezer is cold", "compressor runs"} <= set(runs[cooling]) - set(runs[rests])


@pytest.mark.parametrize("name", [*NAMES, "vented-dryer-3-wire", "coil-cooktop"])
def test_the_frame_is_proved_off_each_conductor_before_the_power(name: str) -> None:
    """Ohms at the plug, or where the cable meets the machine; over range on a healthy machine, and the neutral of an
    old cord, which the frame is bonded to, is not among them. Its leg that has loads to the neutral is read with all
    at rest."""
    made = adviser(name)
    found = proof.insulation(made.bench, JobState())
    legs = {step.probe.red for step in found if step.probe}
    expected = {
        "water-heater": {"limit.1", "limit.3"},
        "refrigerator": {"receptacle.prong L", "receptacle.prong N"},
        "vented-dryer-3-wire": {"receptacle.prong L1", "receptacle.prong L2"},
    }
    assert legs == expected.get(name, {f"receptacle.prong {leg}" for leg in ("L1", "L2", "N")})
    assert all(step.condition and step.condition.isolated and not step.live for step in found)
    rest = conditions.condition(made.bench.machine).setting
    resting = {step.probe.red for step in found if step.probe and step.condition and step.condition.setting == rest}
    if name == "vented-dryer-3-wire":
        assert resting == {"receptacle.prong L1"}


def test_a_complaint_is_explained_by_what_most_probably_was_cured() -> None:
    """An open burner says nothing of its neighbour, though led to the frame it would trip the breaker for both."""
    cooktop = Bench(loading.load("coil-cooktop"))
    told: list[f.Finding] = [f.Perceived("left front glows", False), f.Perceived("right front glows", False)]
    at = conditions.condition(cooktop.machine, isolated=True, lift=["left front burner.1", "left front burner.2"])
    read = f.Reading(Probe("ohms", "left front burner.1", "left front burner.2"), at, None, text="OL")
    weighed = cooktop.weigh([*told, read])
    its_own, other = well.complaints(cooktop.predictor, told)
    assert proof.explained(weighed, its_own, ["replace left front burner"])
    assert not proof.explained(weighed, other, ["replace left front burner"])


def test_what_would_explain_a_complaint_and_comes_and_goes_is_provoked() -> None:
    """The likeliest a minute first: the receptacle of the burner that was complained of is shaken; that leaves less."""
    made = adviser("coil-cooktop")
    believed = proof.come_and_go(made.bench, "right front glows")
    assert 0 < believed.sum() < 0.1
    found = made.brings_out(believed, JobState())
    assert found is not None
    step, left = found
    assert step.condition is not None
    assert step.condition.provoke == "shake right front receptacle"
    assert left.sum() < 0.5 * believed.sum()


@pytest.mark.parametrize("name", ["water-heater", "vented-dryer"])
def test_a_run_takes_as_long_as_the_last_that_is_seen_in_it(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A healthy machine, nobody mistaken: each run of the proof costs the longest of what is seen in it, however many
    and in whatever order, and the way to its warmth less what the run before has heated in the same setting; the
    clamp's readings are left out."""
    made, machine = adviser(name), bench(name).machine
    monkeypatch.setattr(proof, "loads", lambda *_: [])
    fault = next(iter(listing.by_name(machine).values()))
    truth = Truth(machine, fault, fault.alternatives[0][1], np.random.default_rng(1), World(mistaken=0.0))
    truth.repaired([fault.repair.name])
    job = Trying(made, truth, [], lambda _: lambda *_: None)
    assert job._tried()
    state, expected, ran = JobState(), 0.0, 0.0
    for at, names in proof.runs(made.bench.predictor).items():
        longest = max(machine.symptoms[one].takes or machine.handwork.perceive for one in names)
        now, warm = state.condition.position("warmth") if state.condition else "", at.position("warmth")
        wait = waits.waiting(machine, now, warm, isolated=False)
        stood = dict(state.condition.setting) if state.condition else {}
        on_the_way = warm != machine.warmths[0] and all(stood.get(c) == p for c, p in at.setting if c != "warmth")
        expected += minutes.changing(machine, state.condition, at) - min(wait, ran if on_the_way else 0.0) + longest
        runs = max(machine.symptoms[one].takes for one in names)
        ran = runs + (0.0 if wait else ran)
        state = JobState(condition=at)
    assert job.spent == pytest.approx(expected)


def test_a_tank_that_was_run_is_not_waited_for_once_more() -> None:
    """From a cold tank, through what is seen while it heats, until all of it is hot: the file's own 80 minutes, and the
    10 in which hot water must not turn lukewarm."""
    machine = bench("water-heater").machine
    job = tried("water-heater", "lower element: open")
    job.truth.repaired(["replace lower element"])
    job.state = JobState(condition=conditions.condition(machine, {"warmth": "cold tank"}))
    for name in ("water gets hot", "hot water lasts", "turns lukewarm soon"):
        at = steps.met_in(machine, machine.symptoms[name])
        job._run(Step("symptom", at, at=name))
    assert job.spent == pytest.approx(machine.comes_to["hot tank"] + machine.symptoms["turns lukewarm soon"].takes)


def tried(name: str, *called: str) -> Trying:
    """A job on a machine with these faults, nobody mistaken, on which nothing is found out but by trying it."""
    return Trying(adviser(name), hidden(name, *called), [], lambda _: lambda *_: None)


def test_what_is_wrong_is_told_apart_from_what_works() -> None:
    """A broken blower shows wherever air is looked for, and nothing else does; mended, nothing is wrong."""
    job = tried("vented-dryer", "blower wheel: broken")
    assert not job._tried()
    predictor, row = job.adviser.bench.predictor, row_of("vented-dryer", "blower wheel: broken")
    assert job.wrong
    for name, at in job.wrong:
        yes = predictor.symptom(name, at, False)
        assert (yes[0] > 0.5) != (yes[row] > 0.5)
    assert job._still_wrong()
    job.truth.repaired([job.faults[0].repair.name])
    assert not job._still_wrong()


def row_of(name: str, fault: str) -> int:
    """The first variant of a fault."""
    known = bench(name).singles
    return next(s for s, v in enumerate(known.variants) if [known.faults[i].name for i in v.faults] == [fault])


class Doubting(Trying):
    """After the repair of the upper element it takes everything else to be a hundred times less likely than nothing."""

    def _find_out(self) -> Weighed:
        weighed = self.adviser.bench.weigh(self.findings, with_pairs=False)
        first, then = ("replace upper element",), ("replace lower element",)
        vars(weighed)["by_repair"] = {(): 0.99, then: 0.01} if self.made else {first: 1.0}
        return weighed


@pytest.mark.parametrize("also", [(), ("lower element: open",)])
def test_a_machine_that_is_seen_not_to_work_is_not_closed(also: tuple[str, ...]) -> None:
    """However unlikely the second dead element is thought to be, it is repaired where the water stays cold; where that
    gets hot the machine is closed on the same belief."""
    truth = hidden("water-heater", "upper element: open", *also)
    played = Doubting(adviser("water-heater"), truth, [], lambda _: lambda *_: None).play()
    assert played.repairs == ("replace upper element", *("replace lower element" for _ in also))
    assert played.all_found


def test_one_mistaken_look_at_a_puddle_does_not_take_back_what_was_seen() -> None:
    """A puddle is looked at once a trial and not in every run: a look there that says the contrary of the others would
    weigh as much as all of them together, since repeats count once."""
    made, at = bench("refrigerator"), conditions.usual(bench("refrigerator").machine)
    there, not_there = (f.Perceived("water inside", yes, at, "repairer") for yes in (True, False))
    row = row_of("refrigerator", "drain: clogged")

    def odds(*found: f.Finding) -> float:
        believed = made.weigh(found, with_pairs=False).posterior.probability
        return float(believed[row] / believed[0])

    assert odds(there) > 30 * odds()
    assert odds(there, there, not_there) == pytest.approx(odds(), rel=0.05)
    runs = proof.runs(made.predictor)
    assert [at for at, names in runs.items() if "water inside" in names] == [next(iter(runs))]


# ---- whole jobs -------------------------------------------------------------------------------------------


def test_a_few_jobs_end_with_both_found() -> None:
    """Most end with both repairs made, or a breaker reset by isolating, none with an unsafe step; the fields say what
    was hidden and found."""
    jobs = list(trials.run(two("water-heater"), 12))
    assert sum(bool(job.all_found) for job in jobs) >= 9
    assert sum(job.unsafe_steps for job in jobs) == 0
    assert all(" + " in job.fault for job in jobs)
    for job in jobs:
        names = job.fault.split(" + ")
        machine = bench("water-heater").machine
        known, reset = listing.by_name(machine), "breaker: switch fully off and on"
        isolated = bool({*job.repairs} - {reset})
        reset_so = switched.mended(machine, listing.repairs(machine).values(), job.findings, isolated)
        assert job.all_found == ({known[name].repair.name for name in names} <= {*job.repairs, *reset_so})


def test_the_same_jobs_on_two_workers() -> None:
    """And the contract's fields, with whether all were found."""
    one, again = (trials.as_contract(list(trials.run(two("water-heater"), 4, workers))) for workers in (1, 2))
    assert one == again
    assert all("all_found" in job for job in one)


def test_the_trial_after_a_repair_finds_the_second_fault() -> None:
    """Two dead elements: after the first repair it is tried and does not work, after the second it does."""
    made = two("water-heater")
    known = listing.by_name(made.asked.machine)
    forced = TwoFaults(made.adviser, made.asked, [(known["lower element: open"], known["upper element: open"])])
    (job,) = trials.run(forced, 1)
    assert job.all_found
    assert [one.cured for one in job.findings if isinstance(one, f.Tried)] == [False, True]
