"""Thinking further beside the person: nothing changes under the hand, what comes too late is dropped.

The planners here think for as long as a test holds them: events, no clock.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace

import pytest

from halfsplit.errors import Refused
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.machine import loading
from halfsplit.operate import condition as conditions
from halfsplit.plan import advise, fitting
from halfsplit.plan.ahead import Planned
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.plan.view import Way
from halfsplit.service import advising, further, leaving
from halfsplit.service.further import SPARED, Further, Thought
from halfsplit.service.guiding import Guided
from halfsplit.service.leaving import Limits
from halfsplit.work.refusals import CannotOpen
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser

LONG = 60.0
"""Seconds after which a test that hangs fails; none waits for them."""


class Slow:
    """Thinks until it is let go; says what it thinks about, and thinks what a test gives it."""

    def __init__(self) -> None:
        self.began, self.may_end = threading.Event(), threading.Event()
        self.asked: list[tuple[f.Finding, ...]] = []
        self.ways: list[Way] = []
        self.raises: Exception | None = None

    def __call__(self, _: Adviser) -> Slow:
        """The planner of any adviser."""
        return self

    def plan(self, weighed: Weighed, state: JobState) -> Planned:
        """What the test gave, when the test says so."""
        self.asked.append(weighed.findings)
        self.began.set()
        assert self.may_end.wait(LONG)
        if self.raises:
            raise self.raises
        return planned(self.ways)


def planned(ways: list[Way]) -> Planned:
    """A plan of these ways, the best first."""
    return Planned(ways[0], tuple(ways[1:]), "made up", 0)


@pytest.fixture
def slow() -> Iterator[Slow]:
    """A planner that is let go at the end in any case."""
    made = Slow()
    yield made
    made.may_end.set()


@pytest.fixture
def guided() -> Guided:
    """A water heater that does not heat."""
    return Guided(adviser("water-heater"), (f.Perceived("water gets hot", False),))


def other_step(guided: Guided) -> Step:
    """A step that is not the one advised."""
    assert guided.advice is not None
    return next(s for s in guided.asked.table.steps if s.kind == "look" and s != guided.advice.step)


def ways(guided: Guided, spared: float) -> list[Way]:
    """Another step that spares so many minutes, and the one advised."""
    assert guided.advice is not None
    return [Way(other_step(guided), 100.0 - spared), Way(guided.advice.step, 100.0)]


def test_the_step_shown_stays_until_the_person_takes_the_other(slow: Slow, guided: Guided) -> None:
    """Before, while and after it is thought: the advice is the same object; taken, the other step is next."""
    slow.ways, advised = ways(guided, 12.0), guided.advice
    thinks = Further(slow)
    thinks.begin(guided)
    assert slow.began.wait(LONG)
    assert not thinks.knows(guided)
    assert thinks.about(guided) is None
    slow.may_end.set()
    assert thinks.wait(LONG)
    assert thinks.about(guided) == Thought(other_step(guided), 12.0)
    assert guided.advice is advised
    taken = guided.instead(other_step(guided))
    assert taken.advice is not None
    assert taken.advice.step == other_step(guided)
    assert taken.findings == guided.findings
    undone = taken.undone()
    assert undone.findings == guided.findings
    assert undone.advice is not None
    assert advised is not None
    assert undone.advice.step == advised.step


def test_what_arrives_after_the_job_moved_on_is_dropped(slow: Slow, guided: Guided) -> None:
    """An answer given while it thinks stands; the old thought is nobody's, and the new state is thought about next."""
    slow.ways = ways(guided, 12.0)
    thinks = Further(slow)
    thinks.begin(guided)
    assert slow.began.wait(LONG)
    assert guided.advice is not None
    typed = {"look": "fine", "symptom": "no", "question": "no"}.get(guided.advice.step.kind, "0")
    moved = guided.answered(guided.advice.step, typed)
    thinks.begin(moved)
    slow.may_end.set()
    assert thinks.wait(LONG)
    assert thinks.about(guided) is None
    assert not thinks.knows(guided)
    assert thinks.knows(moved)
    assert slow.asked == [guided.findings, moved.findings]
    assert moved.findings[:-1] == guided.findings


def test_only_the_newest_state_is_thought_about(slow: Slow, guided: Guided) -> None:
    """Of three states given while it is busy the last alone is taken up; a second thread is not begun."""
    slow.ways = ways(guided, 12.0)
    thinks = Further(slow)
    before = set(threading.enumerate())
    states = [guided, *(guided.told(f.Perceived("water on the floor", False)) for _ in range(3))]
    for state in states:
        thinks.begin(state)
        assert slow.began.wait(LONG)
        assert len(set(threading.enumerate()) - before) == 1
    slow.may_end.set()
    assert thinks.wait(LONG)
    assert slow.asked == [states[0].findings, states[-1].findings]
    assert thinks.knows(states[-1])


def test_stopped_it_says_nothing_more(slow: Slow, guided: Guided) -> None:
    """After the end nobody waits, and what was under way is dropped."""
    slow.ways = ways(guided, 12.0)
    thinks = Further(slow)
    thinks.begin(guided)
    assert slow.began.wait(LONG)
    thinks.stop()
    assert thinks.wait(LONG)
    slow.may_end.set()
    assert thinks.about(guided) is None


def test_a_mistake_while_thinking_is_told_and_ends_nothing(slow: Slow, guided: Guided) -> None:
    """What went wrong is in the thought; the next state is thought about as ever."""
    slow.raises = RuntimeError("lost count")
    slow.may_end.set()
    thinks = Further(slow)
    thinks.begin(guided)
    assert thinks.wait(LONG)
    assert thinks.about(guided) == Thought(failed="RuntimeError: lost count")
    slow.raises, slow.ways, again = None, ways(guided, 12.0), replace(guided)
    thinks.begin(again)
    assert thinks.wait(LONG)
    assert thinks.about(again) == Thought(other_step(guided), 12.0)


@pytest.mark.parametrize(("spared", "offered"), [(SPARED + 0.1, True), (SPARED - 0.1, False), (-3.0, False)])
def test_only_what_can_be_told_apart_is_offered(spared: float, offered: bool, guided: Guided) -> None:
    """A step that spares less than a price is sure to is none."""
    assert (further.thought(planned(ways(guided, spared)), guided) is not None) is offered


def test_what_stands_is_no_thought(guided: Guided) -> None:
    """To hand over, or the step shown, is none; without a price nothing is less."""
    assert guided.advice is not None
    now, second = Way(guided.advice.step, 100.0), Way(other_step(guided), 80.0)
    for ways_on in ([Way(None, 70.0), now], [Way(None, 70.0), second, now], [now, second]):
        assert further.thought(planned(ways_on), guided) is None
    alone = [Way(other_step(guided), 70.0)]
    assert further.thought(planned(alone), guided) == Thought(other_step(guided), None)


def test_a_step_taken_stands_until_something_is_found(guided: Guided) -> None:
    """Chosen instead, it is the advice; a finding, another step set aside or undo ends that."""
    chosen = guided.instead(other_step(guided))
    assert chosen.chosen
    for after in (chosen.undone(), chosen.told(f.Perceived("water on the floor", False)), chosen.without(Step("x"))):
        assert not after.chosen


ELEMENT: tuple[str, ...] = ("replace upper element",)
LOWER: tuple[str, ...] = ("replace lower element",)
SEEN = f.Perceived("water gets hot", False, conditions.usual(loading.load("water-heater")), "repairer")


def repair_first(guided: Guided, repairs: tuple[str, ...], spared: float = 12.0) -> Planned:
    """A plan that makes these repairs, and so many minutes dearer the step advised."""
    assert guided.advice is not None
    return planned([Way(None, 100.0 - spared, repairs), Way(guided.advice.step, 100.0)])


def test_repairs_that_are_expected_to_cost_less_are_offered(guided: Guided) -> None:
    """Taken they are due, though a step is advised; a finding or undo ends that. By less than is told apart: not."""
    seen = guided.told(SEEN)
    assert further.thought(repair_first(seen, ELEMENT), seen) == Thought(None, 12.0, repairs=ELEMENT)
    assert further.thought(repair_first(seen, ELEMENT, SPARED - 0.1), seen) is None
    assert not seen.due
    taken = seen.instead(ELEMENT)
    assert [one.name for one in taken.due] == list(ELEMENT)
    assert taken.made_first == (ELEMENT, seen.weighed.by_repair[ELEMENT])
    for after in (taken.undone(), taken.told(f.Perceived("hot water lasts", False)), taken.without(Step("x"))):
        assert after.other is None
        assert not after.due


def test_the_complaint_is_seen_before_repairs_that_are_not_sure(guided: Guided) -> None:
    """The owner's word alone: what would be seen first is offered with the minutes of those repairs."""
    state = advising.standing(guided.asked, guided.findings)
    first = fitting.first_seen(guided.asked, guided.weighed, state)
    assert first is not None
    assert first.at == "water gets hot"
    assert further.thought(repair_first(guided, ELEMENT), guided) == Thought(first, 12.0, repairs=ELEMENT)
    shown = guided.instead(first)
    assert shown.advice is not None
    assert further.thought(repair_first(shown, ELEMENT), shown) is None


def test_what_was_given_up_as_dearer_spares_at_least_so_much(guided: Guided) -> None:
    """The step shown was priced and is no way: it surely costs more. Where it was not priced a step is offered without
    minutes, and no repair is; nor repairs of which one was made in vain."""
    seen = guided.told(SEEN)
    assert seen.advice is not None
    alone = planned([Way(None, 90.0, ELEMENT)])
    assert further.thought(alone, seen) is None
    priced = replace(alone, usual=(seen.advice.step,))
    assert further.thought(priced, seen) == Thought(None, advise.NEAR, repairs=ELEMENT, at_least=True)
    look = replace(planned([Way(other_step(seen), 90.0)]), usual=(seen.advice.step,))
    assert further.thought(look, seen) == Thought(other_step(seen), advise.NEAR, at_least=True)
    both = (*ELEMENT, *LOWER)
    vain = seen.told(f.Tried(ELEMENT[0], False))
    assert vain.repairs_left(both)
    assert further.thought(repair_first(vain, both), vain) is None


def test_a_live_step_shown_waits_for_a_plan_without_any(guided: Guided) -> None:
    """It was not priced beside that, so no minutes are claimed, and repairs are not offered; where a dead step is
    shown, or live ones were priced, danger is no reason."""
    live = next(step for step in guided.asked.table.steps if step.live and step.probe)
    shown, dead = guided.instead(live), other_step(guided)
    barred = replace(planned([Way(dead, 90.0)]), bars_live=True)
    assert further.thought(barred, shown) == Thought(dead, no_live=True)
    assert further.thought(replace(barred, usual=(live,), bars_live=False), shown) == Thought(
        dead, advise.NEAR, at_least=True
    )
    assert further.thought(barred, guided) == Thought(dead)
    assert further.thought(replace(planned([Way(None, 90.0, ELEMENT)]), bars_live=True), shown) is None


def test_a_machine_put_together_stays_so_whatever_is_taken_back(guided: Guided) -> None:
    """Isolated and open for a look, then told a repair: put together, undoing takes findings back and not that; what
    was chosen stands, and a step is prepared anew."""
    look = other_step(guided)
    seen = guided.told(SEEN, f.Look(look.at, "fine"))
    for power in (True, False):
        closed = seen.put_together(power)
        assert closed.last == f.Look(look.at, "fine")
        once = closed.undone()
        back = f.TakenBack(f.Look(look.at, "fine"))
        assert once.findings == (*guided.findings, SEEN, back, f.Closed(power))
        state = advising.standing(once.asked, once.findings)
        assert not state.open_bays
        assert state.left_isolated is not power
        assert not state.isolated
        told = [x for x in once.undone().undone().findings if not isinstance(x, f.TakenBack)]
        assert told == [f.Closed(power)]
        with pytest.raises(Refused):
            once.undone().undone().undone()
        assert seen.instead(ELEMENT).put_together(power).due
    later = closed.told(f.Perceived("hot water lasts", False))
    assert later.undone().findings == closed.findings


def test_what_was_made_in_vain_is_not_due_again(guided: Guided, monkeypatch: pytest.MonkeyPatch) -> None:
    """The next one is, however likely the first is thought still."""
    monkeypatch.setattr(Weighed, "by_repair", {LOWER: 0.4, ELEMENT: 0.38})
    assert guided.told(SEEN, f.Tried(LOWER[0], False)).made_first == (ELEMENT, 0.38)


def test_nothing_is_repaired_that_nothing_speaks_for(guided: Guided, monkeypatch: pytest.MonkeyPatch) -> None:
    """The complaint was looked for and does not show; or nothing wrong is likeliest: no repair is offered."""
    right = replace(SEEN, there=True)
    well = guided.told(right)
    assert leaving.does_not_show(well.weighed, well.limits)
    assert further.thought(repair_first(well, ELEMENT), well) is None
    monkeypatch.setattr(Weighed, "by_repair", {(): 0.6, ELEMENT: 0.4})
    seen = guided.told(SEEN)
    assert further.thought(repair_first(seen, ELEMENT), seen) is None


def test_what_the_owner_would_not_pay_is_not_offered(guided: Guided) -> None:
    """Dearer than it is worth to them, unless the person goes on all the same."""
    seen = guided.told(SEEN)
    cost = leaving.costs(seen.bench, ELEMENT)
    all_the_same = Limits(cost - 1, frozenset({leaving.NOT_WORTH_IT}))
    for limits, offered in ((Limits(cost + 1), True), (Limits(cost - 1), False), (all_the_same, True)):
        now = replace(seen, limits=limits)
        assert (further.thought(repair_first(seen, ELEMENT), now) is not None) is offered


def test_a_step_is_offered_before_repairs_that_are_due(guided: Guided, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is shown is the repair then: a step that spares enough is offered, another repair too; taken, it is due no
    more, and what was taken stands until something is found."""
    look = other_step(guided)
    monkeypatch.setattr(Weighed, "by_repair", {ELEMENT: 0.98, LOWER: 0.02})
    seen = guided.told(SEEN)
    assert [one.name for one in seen.due] == list(ELEMENT)
    as_due = Way(None, 100.0, ELEMENT)
    assert further.thought(planned([as_due, Way(look, 101.0)]), seen) is None
    assert further.thought(planned([Way(look, 100.0 - SPARED + 0.1), as_due]), seen) is None
    assert further.thought(planned([Way(look, 95.0), as_due]), seen) == Thought(look, 5.0)
    assert further.thought(planned([Way(None, 95.0, LOWER), as_due]), seen) == Thought(None, 5.0, repairs=LOWER)
    taken = seen.instead(look)
    assert not taken.due
    assert taken.advice is not None
    assert taken.advice.step == look
    assert taken.undone().due == seen.due
    again = seen.instead(LOWER)
    assert further.thought(planned([Way(None, 95.0, LOWER), as_due]), again) is None


def test_what_is_not_ours_or_out_of_reach_is_not_offered(guided: Guided) -> None:
    """Another trade's repair, one behind what will not open, one made in vain: the next best way, or none."""
    seen = guided.told(SEEN)
    trade = next(name for name, one in seen.bench.repairs.items() if one.by == "electrician")
    assert further.thought(repair_first(seen, (trade,)), seen) is None
    barred = seen.without(CannotOpen("upper cover"))
    assert further.thought(repair_first(barred, ELEMENT), barred) is None
    vain = seen.told(f.Tried(ELEMENT[0], False))
    assert further.thought(repair_first(vain, ELEMENT), vain) is None


def test_the_real_planner_thinks_the_same_beside_as_alone(guided: Guided) -> None:
    """What comes of the thread is what the planner says when it is asked in the usual way."""
    from halfsplit.plan.ahead import Ahead

    thinks = Further()
    thinks.begin(guided)
    assert thinks.wait(LONG)
    plan = Ahead(guided.asked).plan(guided.weighed, advising.standing(guided.asked, guided.findings))
    assert thinks.about(guided) == further.thought(plan, guided)
