"""The complaint that is seen before an unsure repair has its price: a step that shows something wrong spares it, on a
machine and in arrays."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks import tree
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.operate import condition as conditions
from halfsplit.plan import advise, fitting, policies, pricing
from halfsplit.plan.ahead import Ahead
from halfsplit.plan.nodes import Nodes
from halfsplit.plan.problem import Repairs, Tests, build
from halfsplit.plan.rollout import Search
from halfsplit.plan.score import Scored
from halfsplit.plan.states import start
from halfsplit.plan.steps import Step
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser, bench

SOON_LUKEWARM = f.Perceived("turns lukewarm soon", True, by="owner")
DEAD = JobState(condition=conditions.condition(bench("water-heater").machine, (), isolated=True))


def at_the_dip_tube() -> Weighed:
    """Nothing found yet: most of it is the dip tube."""
    return bench("water-heater").weigh([SOON_LUKEWARM])


def step(what: str) -> Step:
    """A look."""
    return next(s for s in adviser("water-heater").table.steps if s.kind == "look" and s.at == what)


# ---- on a machine -----------------------------------------------------------------------------------------


def test_a_look_that_shows_the_fault_spares_the_run() -> None:
    """What it spares: the minutes of seeing the complaint, as often as the look shows what no healthy one does."""
    asked, weighed = adviser("water-heater"), at_the_dip_tube()
    to_see = fitting.to_see(asked, weighed, DEAD)
    assert to_see > 10
    look = Scored(step("dip tube"), 0.5, pricing.cost_of(bench("water-heater").machine, DEAD, step("dip tube")), 4.0)
    without, with_it = (asked.stakes(weighed, look, minutes)[1] for minutes in (0.0, to_see))
    broken = sum(p for names, p in weighed.by_repair.items() if names == ("replace dip tube",))
    assert (with_it - without) / to_see == pytest.approx(broken, abs=0.05)


def test_the_owners_word_spares_no_run() -> None:
    """It is the complaint itself that the repairer has to see."""
    asked, weighed = adviser("water-heater"), at_the_dip_tube()
    question = next(s for s in asked.table.steps if s.asks)
    scored = Scored(question, 0.1, pricing.cost_of(bench("water-heater").machine, DEAD, question), 0.4)
    assert asked.stakes(weighed, scored, 0.0) == asked.stakes(weighed, scored, 30.0)


def test_once_something_wrong_is_found_there_is_nothing_to_see() -> None:
    """Nor where the repair is sure."""
    asked = adviser("water-heater")
    found = bench("water-heater").weigh([SOON_LUKEWARM, f.Look("dip tube", "broken")])
    assert fitting.to_see(asked, found, DEAD) == 0.0


def test_of_two_complaints_the_one_sooner_seen_comes_first() -> None:
    """A dryer with a load that stays wet and cold air: the air is felt within a minute."""
    told = [f.Perceived("one load dries in time", False, by="owner"), f.Perceived("air is warm", False, by="owner")]
    asked, weighed = adviser("vented-dryer"), bench("vented-dryer").weigh(told)
    seen = fitting.first_seen(asked, weighed, JobState())
    assert seen is not None
    assert seen.at == "air is warm"


# ---- in arrays --------------------------------------------------------------------------------------------


def two(seeing: float, unlike: bool) -> tuple[Nodes, float]:
    """A test of 20 minutes that tells all, the likelier repair 92 % likely; and what following one step ahead costs."""
    tests = Tests([[[1, 0], [0, 1]]], [20.0], unlike=[[unlike, False]])
    made = build([0.92, 0.08], tests, Repairs(np.eye(2), [100.0, 100.0]), seeing=seeing)
    root = Nodes(made).root(start(made))
    search = Search(made, advise.BUDGET._replace(cut=0.0, trim=0.0))
    assert search.base(search.nodes.root(start(made)), "as advised") == pytest.approx(
        tree.cost_of(made, start(made), lambda state: (n := Nodes(made).root(state)).action(policies.as_advised(n)))
    )
    return Nodes(made), float(root.repair_price.min())


@pytest.mark.parametrize(
    ("seeing", "unlike", "tested"), [(0.0, True, False), (30.0, True, True), (30.0, False, False), (5.0, True, False)]
)
def test_in_arrays_a_test_pays_by_the_seeing_that_it_spares(seeing: float, unlike: bool, tested: bool) -> None:
    """20 minutes against 12 of wrong repairs that it spares, and 92 % of the seeing where it shows something wrong."""
    nodes, price = two(seeing, unlike)
    root = nodes.root(start(nodes.problem))
    assert price == pytest.approx(100.0 + seeing)
    assert (root.action(policies.as_advised(root)).kind == "test") == tested


def test_a_view_says_which_outcomes_are_unlike_a_healthy_machine() -> None:
    """Of every reading and look the outcome that the healthy machine shows is not; of questions none is."""
    view = Ahead(adviser("water-heater")).view(at_the_dip_tube(), DEAD)
    assert view.problem.seeing > 10
    tube = view.steps.index(step("dip tube"))
    assert view.problem.unlike[tube].any()
    assert not view.problem.unlike[tube].all()
    for row, one in zip(view.problem.unlike, view.steps, strict=True):
        assert not (one.asks and row.any())
    seen = bench("water-heater").weigh([SOON_LUKEWARM, f.Look("tank floor", "clogged")])
    assert Ahead(adviser("water-heater")).view(seen, DEAD).problem.seeing == 0.0


# ---- what does not show -----------------------------------------------------------------------------------


def test_a_rehearsal_ends_where_nothing_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    """As the guide does; but not where the owner's setting would explain it, which costs nothing to show."""
    machine = bench("vented-dryer").machine
    told = [f.Perceived("air is warm", False, by="owner")]
    fine = f.Perceived("air is warm", True, conditions.usual(machine), "repairer")
    weighed = bench("vented-dryer").weigh([*told, fine])
    for likeliest, ends in ((("replace heater",), True), ((), True), (("show the owner how to set heat",), False)):
        monkeypatch.setattr(Weighed, "likeliest", (likeliest, 0.4))
        assert fitting.does_not_show(weighed) == ends
    monkeypatch.setattr(Weighed, "likeliest", (("replace heater",), 0.98))
    assert not fitting.does_not_show(weighed)
