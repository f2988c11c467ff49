"""Which repair is made where no further step is taken: the first in the order p/C of probability to price.

Judges: every order of trying some repairs, its expected price added up one by one (Heckerman, Breese and Rommelse,
Communications of the ACM 38:49-57, 1995); the terms of `work/prices` and of `work/minutes`.
"""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import fitting, pricing, worth
from halfsplit.plan.score import Adviser
from halfsplit.service import deciding, following
from halfsplit.service.guiding import Guided
from halfsplit.work import prices, stopping
from halfsplit.work.refusals import CannotOpen
from halfsplit.work.state import JobState
from tests.plan.test_worth import WET
from tests.rehearse.benches import adviser

COMPLAINTS = {"water-heater": "water gets hot", "refrigerator": "food is cold", "vented-dryer": "air is warm"}
MOST = 5
"""So many repairs are tried in every order."""


def believed(monkeypatch: pytest.MonkeyPatch, chances: dict[tuple[str, ...], float]) -> Weighed:
    """A water heater of which this is believed of repairs."""
    ordered = dict(sorted(chances.items(), key=lambda one: -one[1]))
    monkeypatch.setattr(Weighed, "by_repair", ordered)
    return adviser("water-heater").bench.weigh([])


def dearer(order: tuple[tuple[str, ...], ...], chances: dict[tuple[str, ...], float]) -> float:
    """Expected minutes of trying repairs in an order until one cures, each from a closed machine."""
    asked, left, spent = adviser("water-heater"), sum(chances[one] for one in order), 0.0
    for names in order:
        spent += left * pricing.repair_price(asked.bench.machine, JobState(), *(asked.bench.repairs[n] for n in names))
        left -= chances[names]
    return spent


@pytest.mark.parametrize("seed", range(20))
def test_it_begins_the_cheapest_of_all_orders(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Random chances of five repairs, none sure; prices as they are, from 100 to 700 minutes."""
    lots, asked = np.random.default_rng(seed), adviser("water-heater")
    ours = sorted(name for name, one in asked.bench.repairs.items() if one.by == "repairer")
    names: list[tuple[str, ...]] = [(str(n),) for n in lots.permutation(ours)[:MOST]]
    chances = dict(zip(names, lots.dirichlet(np.ones(MOST)).tolist(), strict=True))
    weighed = believed(monkeypatch, chances)
    first, chance = fitting.first_of(asked, weighed, JobState())
    assert chance == chances[first]
    if max(chances.values()) < worth.SURE:
        best = min(dearer(order, chances) for order in permutations(names))
        rest = [one for one in names if one != first]
        assert min(dearer((first, *order), chances) for order in permutations(rest)) == pytest.approx(best)


def test_a_cheaper_one_comes_before_a_whole_tank(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tank is likelier and costs four times as much: the valve first, and `why` says so."""
    tank: tuple[str, ...] = ("tank: replace the whole appliance",)
    valve: tuple[str, ...] = ("replace drain valve",)
    asked, weighed = adviser("water-heater"), believed(monkeypatch, {tank: 0.5, valve: 0.4})
    assert fitting.made_first(asked, weighed, JobState()) == (valve, 0.4)
    guided = Guided(asked, (WET,))
    assert guided.made_first == (valve, 0.4)
    said = " ".join(deciding.why(guided, [asked.bench.repairs[valve[0]]]))
    assert "In about 40 of 100 such jobs replace drain valve cures." in said
    assert "tank: replace the whole appliance would in about 50, but costs more where it is wrong." in said


def test_what_is_sure_is_made_whatever_it_costs(monkeypatch: pytest.MonkeyPatch) -> None:
    """And where nothing wrong is likeliest nothing is made; of what is left when that was made, the rest."""
    tank: tuple[str, ...] = ("tank: replace the whole appliance",)
    element: tuple[str, ...] = ("replace upper element",)
    asked = adviser("water-heater")
    sure = believed(monkeypatch, {tank: worth.SURE, element: 1 - worth.SURE})
    assert fitting.made_first(asked, sure, JobState()) == (tank, worth.SURE)
    assert fitting.first_of(asked, sure, JobState(), tank) == (element, 1 - worth.SURE)
    assert fitting.first_of(asked, sure, JobState(), (*tank, *element)) == ((), 0.0)
    nothing = believed(monkeypatch, {(): 0.6, element: 0.4})
    assert fitting.made_first(asked, nothing, JobState()) == ((), 0.6)
    assert fitting.first_of(asked, nothing, JobState()) == (element, 0.4)


def test_no_job_is_handed_over_on_a_guess(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another trade's repair, cheap as it is for us, comes only where it is the likeliest; so does one that lies behind
    what will not open, which is handed over too."""
    asked, free = adviser("water-heater"), JobState()
    barred = JobState(refused=frozenset({CannotOpen("upper cover")}))
    trade: tuple[str, ...] = (next(n for n, one in asked.bench.repairs.items() if one.by == "electrician"),)
    upper: tuple[str, ...] = ("replace upper element",)
    lower: tuple[str, ...] = ("replace lower element",)
    tank: tuple[str, ...] = ("tank: replace the whole appliance",)
    guess = believed(monkeypatch, {upper: 0.24, lower: 0.23, trade: 0.22})
    assert fitting.made_first(asked, guess, free) == (upper, 0.24)
    assert fitting.made_first(asked, guess, barred) == (upper, 0.24)
    likeliest = believed(monkeypatch, {trade: 0.4, upper: 0.39})
    assert fitting.made_first(asked, likeliest, free) == (trade, 0.4)
    behind = believed(monkeypatch, {tank: 0.7, upper: 0.28})
    assert fitting.made_first(asked, behind, free) == (upper, 0.28)
    assert fitting.made_first(asked, behind, barred) == (tank, 0.7)


def test_on_paper_the_same_is_made(monkeypatch: pytest.MonkeyPatch) -> None:
    """Named as in the talk, where the likeliest of all is likely enough to be written down."""
    asked = adviser("water-heater")
    tank: tuple[str, ...] = ("tank: replace the whole appliance",)
    valve: tuple[str, ...] = ("replace drain valve",)
    monkeypatch.setattr(Adviser, "next_steps", lambda *_: [])
    looked = f.Perceived("water on the floor", True, stopping.breaker_off(asked.bench.machine).condition, "repairer")
    guided = Guided(asked, (looked,))
    for chances, named in (({tank: 0.55, valve: 0.44}, valve), ({tank: 0.45, valve: 0.35}, ())):
        believed(monkeypatch, chances)
        fresh = Guided(asked, guided.findings)
        assert [one.name for one in fresh.due] == list(valve)
        assert following.rule(fresh)(fresh.findings).repairs == named


def test_the_price_of_a_repair_here() -> None:
    """Work, part, trying, another visit, and the way in from where the machine stands."""
    asked = adviser("water-heater")
    machine, repairs = asked.bench.machine, asked.bench.repairs
    element = repairs["replace upper element"]
    shut = pricing.repair_price(machine, JobState(), element)
    inside = pricing.repair_price(machine, JobState(open_bays=frozenset(element.bays)), element)
    bays = sum(machine.bays[bay].open_minutes for bay in element.bays)
    assert bays > 0
    assert shut - inside >= bays
    assert shut > prices.price(element).minutes > prices.AGAIN


@pytest.mark.parametrize("name", COMPLAINTS)
def test_on_machines_it_is_the_highest_ratio(name: str) -> None:
    """Every set of repairs priced, none passed over by its probability alone."""
    asked = adviser(name)
    weighed = asked.bench.weigh([f.Perceived(COMPLAINTS[name], False)] if name != "water-heater" else [WET])
    known, machine = asked.bench.repairs, asked.bench.machine
    ratios = {
        names: p / pricing.repair_price(machine, JobState(), *(known[n] for n in names))
        for names, p in weighed.by_repair.items()
        if names and not pricing.handed_over(machine, JobState(), *(known[n] for n in names))
    }
    assert max(weighed.by_repair.values()) < worth.SURE
    first = fitting.first_of(asked, weighed, JobState())[0]
    likeliest = next(names for names in weighed.by_repair if names)
    assert first == (max(ratios, key=ratios.__getitem__) if likeliest in ratios else likeliest)
