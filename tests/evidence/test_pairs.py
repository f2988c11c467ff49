"""Pairs are sought only where single faults leave something unexplained, and joined as both at once."""

from __future__ import annotations

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file, pairs
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import loading
from halfsplit.modes import listing
from halfsplit.operate import condition as conditions
from halfsplit.plan.steps import Step
from halfsplit.predict.candidates import PAIR_ODDS, pair
from halfsplit.predict.readings import Probe
from halfsplit.rehearse.truth import Hidden, Truth, World, answer
from tests.rehearse.benches import bench

NAME = "water-heater"
UPPER = "- reading: {meter: ohms, red: upper element.1, black: upper element.2, lift: [upper element.1], value: OL}\n"
LOWER = "- reading: {meter: ohms, red: lower element.1, black: lower element.2, lift: [lower element.1], value: OL}\n"


def weighed(text: str, with_pairs: bool = True) -> Weighed:
    """Findings on the water heater."""
    used = bench(NAME)
    return used.weigh(findings_file.read(text, "findings.yaml", used.machine), with_pairs)


def test_one_fault_that_explains_all_asks_for_no_pair() -> None:
    """An open element alone: only single faults are weighed."""
    found = weighed(UPPER)
    assert found.explained
    assert len(found.candidates.variants) == len(bench(NAME).singles.variants)


def test_two_open_elements_are_a_pair() -> None:
    """Neither alone explains both readings; both together lead, and need not be named beforehand."""
    alone = weighed(UPPER + LOWER, with_pairs=False)
    assert not alone.explained
    assert all(len(one.faults) < 2 for one in alone.ranked())
    both = weighed(UPPER + LOWER)
    assert set(both.ranked()[0].faults) == {"upper element: open", "lower element: open"}
    assert np.isclose(both.posterior.probability.sum() + both.unexplained, 1.0)


def test_no_findings_no_pairs() -> None:
    """Nothing is unexplained before anything was found."""
    singles = bench(NAME).singles
    assert pairs.pairs(singles, np.zeros((0, len(singles.variants)))) == []


def test_pairs_are_of_two_different_faults_and_told_once() -> None:
    """No fault with itself, and each two sizes joined once at most."""
    singles = bench(NAME).singles
    some = 0
    for seed in range(8):  # by chance a single fault explains the masses of some
        masses = np.log(np.random.default_rng(seed).uniform(1e-6, 1.0, (3, len(singles.variants))))
        made = pairs.pairs(singles, masses)
        some += bool(made)
        assert all(len(set(one.faults)) == 2 for one in made)
        assert len(made) <= pairs.FIRSTS * pairs.SECONDS
    assert some >= 2


def test_a_pairs_weight_is_its_prior_odds() -> None:
    """Weight of one times weight of the other times the odds of a second fault; all of it shows where both do."""
    singles = bench(NAME).singles
    first, second = singles.variants[3], singles.variants[-1]
    both = pair(first, second)
    assert both.weight == first.weight * second.weight * PAIR_ODDS
    assert both.acting == first.acting * second.acting
    assert both.faults == tuple(sorted({*first.faults, *second.faults}))


def test_two_that_each_come_first_are_one_pair() -> None:
    """Two open elements are found from either side; the pair of their sizes is weighed once, at its own odds."""
    found = weighed(UPPER + LOWER)
    added = found.candidates.variants[len(bench(NAME).singles.variants) :]
    sizes = [(one.faults, sorted(map(repr, one.effect.operations))) for one in added]
    assert all(sizes.count(one) == 1 for one in sizes)


def test_two_faults_in_one_circuit_that_show_together_what_neither_shows_alone() -> None:
    """A burner that leads to the frame through a burnt contact: the readings, made on the machine that has both, are
    explained by that pair for sure; of no single fault, and of no pair of faults that each explain one reading."""
    used = Bench(loading.load("coil-cooktop"))
    known = listing.by_name(used.machine)
    frame, burnt = (known[f"right rear {name}"] for name in ("burner: to frame", "receptacle: far contact burnt"))
    middle = next(changes for _, changes in frame.alternatives if "middle" in str(changes))
    most = next(changes for _, changes in burnt.alternatives if changes[0].amount == 60.0)
    rng, honest = np.random.default_rng(3), World(mistaken=0.0, slips=0.0)
    truth = Truth(used.machine, frame, middle, rng, honest, also=[Hidden(burnt, most)])
    high = conditions.condition(used.machine, dict(used.machine.settings["all high"]), isolated=True)
    low = conditions.condition(used.machine, {"right rear": "low"}, isolated=True)
    found: list[f.Finding] = [
        answer(truth, Step("reading", at, Probe("ohms", f"receptacle.prong {leg}", "receptacle.prong PE")))
        for leg, at in (("L2", high), ("L1", high), ("L2", low))
    ]
    found = [f.Perceived("right rear glows", False), *found]
    alone = used.weigh(found, with_pairs=False)
    assert alone.unexplained > pairs.STILL_UNEXPLAINED
    few = pairs.pairs(used.singles, alone.log_masses)
    both = used.weigh(found)
    assert both.ranked()[0].faults == (burnt.name, frame.name)
    assert both.ranked()[0].probability > 0.95
    assert not any({used.faults[i].name for i in one.faults} == {burnt.name, frame.name} for one in few)


def test_a_rare_fault_that_fits_by_chance_is_no_explanation_before_pairs() -> None:
    """A protector and a fan that are open leave the ohms of the other fan at the plug, which joints burnt to 150 ohms
    show too: of single faults such a joint is sure, though it looks fine; against pairs the two common faults lead, and
    a joint that is seen to be burnt still does."""
    used = bench("refrigerator")
    known = listing.by_name(used.machine)
    protector, fan = known["overload: open"], known["condenser fan: winding open"]
    rng, honest = np.random.default_rng(9), World(mistaken=0.0, slips=0.0)
    also = [Hidden(fan, fan.alternatives[0][1])]
    truth = Truth(used.machine, protector, protector.alternatives[0][1], rng, honest, also=also)
    at = conditions.condition(used.machine, dict(conditions.usual(used.machine).setting), isolated=True)
    ends = (("receptacle.prong L", "receptacle.prong N"), ("door switch.C", "door switch.NC"),
            ("cold control.2", "defrost timer.1"))  # fmt: skip
    found: list[f.Finding] = [f.Perceived(f"compressor {what}", False) for what in ("runs", "clicks", "hums")]
    found += [answer(truth, Step("reading", at, Probe("ohms", red, black))) for red, black in ends]
    found += [f.Look(place, f.FINE) for place in ("defrost timer.1", "cold control.2")]
    fine, burnt = ([*found, f.Look("cold control.1", sees)] for sees in (f.FINE, "burnt"))
    (alone, *_), joint = used.weigh(fine, with_pairs=False).ranked(), "joint cold control.1: burnt"
    assert alone.faults == (joint,)
    assert used.weigh(fine, with_pairs=False).likeliest[1] > 0.97
    assert used.weigh(fine).ranked()[0].faults == (protector.name, fan.name)
    assert used.weigh(burnt).ranked()[0].faults == (joint,)


def test_what_is_as_rare_as_a_pair() -> None:
    """By the weights: a single counts as rare exactly where two other faults together have at least its weight."""
    singles = bench("refrigerator").singles
    weights = singles.prior
    common = max(range(1, len(weights)), key=lambda s: weights[s])
    most = max(
        PAIR_ODDS * weights[common] * weights[s]
        for s, variant in enumerate(singles.variants)
        if variant.faults and not set(variant.faults) & set(singles.variants[common].faults)
    )
    rare = [pairs.no_rarer(singles, s) for s in range(len(weights))]
    assert rare == [bool(v.faults) and bool(weights[s] <= most) for s, v in enumerate(singles.variants)]
    assert not rare[0]
    assert any(rare)
    assert not all(rare[1:])
