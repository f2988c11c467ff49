"""Parts for the van and questions for the phone, against slow sums over every candidate, and by laws."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence import slips, unexplained, weigh
from halfsplit.evidence.weighing import Kept, Weighed
from halfsplit.operate.condition import Condition
from halfsplit.plan import steps, visit
from halfsplit.plan.visit import Question
from halfsplit.work import prices
from tests.rehearse.benches import NAMES, adviser

COMPLAINTS: dict[str, list[dict[str, bool]]] = {
    "vented-dryer": [
        {"drum turns": True, "air is warm": False},
        {"drum turns": False},
        {"breaker trips": True},
        {"one load dries in time": False, "air is warm": True, "drum turns": True},
    ],
    "water-heater": [{"water gets hot": False}, {"hot water lasts": False, "water gets hot": True}],
    "refrigerator": [{"food is cold": False}, {"compressor runs": False, "lamp lights": True}],
}
CASES = [(name, place) for name in NAMES for place in range(len(COMPLAINTS[name]))]
each_case = pytest.mark.parametrize(("name", "place"), CASES)


@cache
def weighed(name: str, place: int) -> Weighed:
    """What is believed after a complaint."""
    return adviser(name).bench.weigh([f.Perceived(what, there) for what, there in COMPLAINTS[name][place].items()])


def asked(name: str, place: int) -> list[Question]:
    """Every question."""
    return visit.questions(adviser(name), weighed(name, place), lambda _: True)


@pytest.fixture
def careful(monkeypatch: pytest.MonkeyPatch) -> None:
    """A world in which no hand slips: there the sums are exact."""
    monkeypatch.setattr(slips, "SLIP", 1e-15)


def afresh(name: str, place: int) -> tuple[Weighed, list[Question]]:
    """What is believed after a complaint, and every question not told yet, with nothing remembered from before."""
    predictor = adviser(name).bench.predictor
    told = Weighed(predictor, weighed(name, place).findings, Kept(predictor))
    found = visit.questions(adviser(name), told, lambda _: True)
    return told, [one for one in found if one.what not in COMPLAINTS[name][place]]


# ---- parts -------------------------------------------------------------------------------------------------


def needed(name: str, group: tuple[int, ...]) -> set[str]:
    """The parts that a set of faults needs, told from each fault by itself: a new part of the machine's own."""
    faults = adviser(name).bench.faults
    machine = adviser(name).bench.machine
    found = set()
    for fault in (faults[index] for index in group):
        own = fault.subject in machine.parts and not machine.parts[fault.subject].house
        if own and "replace" in fault.repair.name and fault.repair.by == "repairer":
            found.add(fault.subject)
    return found


@each_case
def test_a_parts_saving_is_the_sum_over_candidates(name: str, place: int) -> None:
    """Of all possible causes those that need the part, times the second trip, less carrying; sorted; nothing else."""
    told = weighed(name, place)
    chance: dict[str, float] = {}
    for one in told.ranked():
        group = tuple(sorted(i for i, fault in enumerate(told.candidates.faults) if fault.name in one.faults))
        for which in needed(name, group):
            chance[which] = chance.get(which, 0.0) + one.probability
    found = visit.van(adviser(name).bench.machine, told).parts
    assert {part.name for part in found} == {which for which, p in chance.items() if p >= visit.LEAST_PART}
    for part in found:
        assert part.probability == pytest.approx(chance[part.name], abs=1e-9)
        assert part.saving == pytest.approx(chance[part.name] * prices.SECOND_TRIP - prices.CARRYING, abs=1e-6)
    assert [part.saving for part in found] == sorted((part.saving for part in found), reverse=True)


@each_case
def test_what_needs_no_part_brings_none(name: str, place: int) -> None:
    """Joints, wires, ducts that are cleaned, the house, and the work of other trades never put a part on the van."""
    machine = adviser(name).bench.machine
    for part in visit.van(machine, weighed(name, place)).parts:
        assert part.name in machine.parts
        assert not machine.parts[part.name].house
        assert machine.parts[part.name].type not in ("air path", "breaker", "receptacle", "sealed system", "service")


@each_case
def test_the_vans_shares_sum_to_one(name: str, place: int) -> None:
    """Covered, missing, no part, and what the file does not say are all there is."""
    told = weighed(name, place)
    van = visit.van(adviser(name).bench.machine, told)
    assert van.covered + van.missing + van.no_part + told.unsaid == pytest.approx(1, abs=1e-9)
    assert all(part.saving > 0 for part in van.load)


def test_a_clogged_duct_or_a_lost_leg_calls_for_nothing() -> None:
    """Of a dryer whose leg was found dead at the wall nothing is taken along."""
    asked_ = adviser("vented-dryer")
    leads = next(s for s in asked_.table.steps if s.kind == "reading" and s.probe and s.probe.red == "receptacle.L1")
    assert leads.probe is not None
    assert leads.condition is not None
    dead = f.Reading(leads.probe, leads.condition, 0.0, step=0.1, text="0.0 V")
    told = asked_.bench.weigh([f.Perceived("drum turns", True), f.Perceived("air is warm", False), dead])
    van = visit.van(asked_.bench.machine, told)
    assert van.load == ()
    assert van.no_part > 0.9


# ---- questions ---------------------------------------------------------------------------------------------


def brute_bits(told: Weighed, what: str, at: Condition) -> float:
    """Mutual information of the owner's answer and the repair, summed cell by cell, from the prior and the tables.

    For every variant, every setting that the owner may have meant, and whether what comes and goes acted then.
    """
    joint: dict[tuple[object, bool], float] = {}
    shares = told.candidates.prior * (1 - unexplained.PRIOR)
    for there in (False, True):
        masses = shares * as_told(told, what, at, there)
        for s, mass in enumerate(masses.tolist()):
            repair = told.candidates.repairs_of(int(told.candidates.group_of[s]))
            joint[repair, there] = joint.get((repair, there), 0.0) + mass
        joint["?", there] = unexplained.PRIOR * as_odd(told, what, at, there)
    total = sum(joint.values())
    of_repair: dict[object, float] = {}
    of_answer: dict[bool, float] = {}
    for (cure, there), mass in joint.items():
        of_repair[cure] = of_repair.get(cure, 0.0) + mass / total
        of_answer[there] = of_answer.get(there, 0.0) + mass / total
    return sum(
        mass / total * math.log2(mass / total / of_repair[cure] / of_answer[there])
        for (cure, there), mass in joint.items()
        if mass
    )


def says(told: Weighed, what: str, at: Condition, there: bool) -> np.ndarray:
    """(S,) probability that the owner says so."""
    yes = told.predictor.symptom(what, at, True)
    return yes if there else 1 - yes


def as_told(told: Weighed, what: str, at: Condition, there: bool) -> np.ndarray:
    """(S,) mass of the complaint and this answer under each variant that the file knows."""
    acting, total = told.candidates.acting, 0.0
    new = says(told, what, at, there)
    for meant, weight in weigh.usual_conditions(told.predictor):
        old = np.prod([says(told, x.what, meant, x.there) for x in perceived(told)], axis=0)
        together = acting * old * new + (1 - acting) * old[0] * new[0]
        apart = (acting * old + (1 - acting) * old[0]) * (acting * new + (1 - acting) * new[0])
        total = total + weight * (together if meant == at else apart)
    return np.asarray(total)


def as_odd(told: Weighed, what: str, at: Condition, there: bool) -> float:
    """The same under something that the file does not say: each finding by itself, by the shares of the model."""
    found = [(meant, weight) for meant, weight in weigh.usual_conditions(told.predictor)]
    return sum(
        weight
        * odd(told, what, at, there)
        * float(np.prod([odd(told, x.what, meant, x.there) for x in perceived(told)]))
        for meant, weight in found
    )


def odd(told: Weighed, what: str, at: Condition, there: bool) -> float:
    """One finding under something that the file does not say."""
    says_so = says(told, what, at, there)
    any_cause = float(told.candidates.prior @ says_so)
    return float(
        unexplained.AS_HEALTHY * says_so[0] + unexplained.AS_ANY_CANDIDATE * any_cause + unexplained.AS_ANYTHING / 2
    )


def perceived(told: Weighed) -> list[f.Perceived]:
    """The complaint."""
    return [x for x in told.findings if isinstance(x, f.Perceived)]


@each_case
@pytest.mark.usefixtures("careful")
def test_bits_are_the_mutual_information(name: str, place: int) -> None:
    """Putting both answers in and weighing anew gives what the whole table of joint probabilities gives; so its order.

    What was told already is left out: the same thing asked twice is no independent finding.
    """
    told, new = afresh(name, place)
    assert new
    brute = [brute_bits(told, one.what, one.condition) for one in new]
    assert [one.bits for one in new] == pytest.approx(brute, abs=1e-6)
    best = sorted(range(len(new)), key=lambda k: -brute[k])
    assert [brute[k] for k in sorted(range(len(new)), key=lambda k: -new[k].bits)] == pytest.approx(
        [brute[k] for k in best], abs=1e-6
    )


@each_case
@pytest.mark.usefixtures("careful")
def test_the_answers_average_to_what_is_believed(name: str, place: int) -> None:
    """Answers sum to 1, and the probability of each repair after them, weighted, is that before (total probability)."""
    told, new = afresh(name, place)
    for one in new:
        assert sum(answer.probability for answer in one.answers) == pytest.approx(1)
        for repairs, before in told.by_repair.items():
            after = sum(a.probability * a.weighed.by_repair[repairs] for a in one.answers)
            assert after == pytest.approx(before, abs=1e-9)
        lost = sum(a.probability * visit.unsure_load(a.weighed) for a in one.answers)
        assert visit.unsure_load(told) - lost >= -1e-9
        assert one.load == pytest.approx(visit.unsure_load(told) - lost, abs=1e-9)


@each_case
def test_slips_move_the_bits_but_little(name: str, place: int) -> None:
    """With slips of the hand weighed too each question tells a little less, by 0.03 bits at the most; more only where
    a breaker was told to trip, which hardly anybody is mistaken in, so that most of the doubt is a slip."""
    most = 0.2 if "breaker trips" in COMPLAINTS[name][place] else 0.03
    told, new = afresh(name, place)  # whatever was weighed before, in a careful world
    for one in new:
        assert one.bits == pytest.approx(brute_bits(told, one.what, one.condition), abs=most)


@each_case
def test_savings_add_up_and_are_sorted(name: str, place: int) -> None:
    """Each question's saving is the sum of its terms; the best comes first; every answer is the owner's."""
    found = asked(name, place)
    for one in found:
        assert one.bits >= 0
        assert one.load >= 0
        assert one.saving == pytest.approx(one.on_site + one.load - one.asking)
        assert all(answer.finding.by == "owner" for answer in one.answers)
    assert [one.saving for one in found] == sorted((one.saving for one in found), reverse=True)


def test_only_what_an_owner_can_set_is_asked() -> None:
    """No timer is turned behind a plate by a telephone, no strap fitted; the knobs of the console are the owner's."""
    machine = adviser("refrigerator").bench.machine
    found = {one.what for one in asked("refrigerator", 0)}
    met = [(s.at, s.condition) for s in steps.symptom_steps(machine) if s.condition]
    by_tool = {what for what, at in met if at.position("defrost") != "cooling"}
    assert by_tool
    assert not by_tool & found
    assert {"compressor runs", "lamp lights"} <= found
    assert "low heat is milder" in {one.what for one in asked("vented-dryer", 0)}


def test_what_was_told_with_its_setting_is_not_asked_again() -> None:
    """Told without a setting it is asked again with one where that matters; told so, it is not."""
    asked_ = adviser("vented-dryer")
    first = next(one for one in asked("vented-dryer", 0) if one.what == "air is warm")
    told = asked_.bench.weigh([*weighed("vented-dryer", 0).findings, first.answers[0].finding])
    assert "air is warm" not in {one.what for one in visit.questions(asked_, told, lambda _: True)}


@pytest.mark.parametrize(
    ("name", "what", "again"),
    [
        ("vented-dryer", "air is warm", True),  # on air only a healthy one is not
        ("vented-dryer", "drum turns", False),
        ("refrigerator", "freezer is cold", False),
        ("coil-cooktop", "left front glows", False),
    ],
)
def test_what_no_setting_of_the_owners_would_change_is_not_asked_again(name: str, what: str, again: bool) -> None:
    """Told without a setting: the first question is not the complaint itself."""
    bench = adviser(name).bench
    told = bench.weigh([f.Perceived(what, False)])
    found = {one.what for one in visit.questions(adviser(name), told, lambda _: True)}
    assert (what in found) == again
    assert found


def test_a_question_whose_condition_cannot_be_met_is_not_asked() -> None:
    """The caller says which conditions can be met."""
    assert visit.questions(adviser("water-heater"), weighed("water-heater", 0), lambda _: False) == []
