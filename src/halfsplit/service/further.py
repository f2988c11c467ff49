"""A better step while the person reads: many steps ahead, worked out beside the talk, never put under the hand.

Holds the one state that is thought about, and what came of it; a thought belongs to the very state that it was thought
for, and is dropped once the job has moved on. Knows planners that look ahead and the guided diagnosis; not the
terminal. It is a thread, not a process: the quick step beside it takes about twice as long (75 ms for 36 ms on the
dryer, measured), the prompt itself waits outside the interpreter's lock, and a process would have to take over all
that is known of the machine. A state is frozen; beside the talk the plan alone is made, which only reads what is known
of the machine, and all else of a thought is worked out by whoever asks for it.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import advise, fitting, pricing
from halfsplit.plan.ahead import Ahead, Planned
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.plan.view import Way
from halfsplit.service import leaving
from halfsplit.service.guiding import Guided
from halfsplit.work.state import JobState

SPARED = 1.0
"""Another step is told from so many minutes on that it is expected to spare: a price is sure to about 0.3 minutes
(`advise.SURE`), and with 2 a person who takes what is offered was 0.5 % off the least of all plans."""


class Planner(Protocol):
    """Looks many steps ahead."""

    def plan(self, weighed: Weighed, state: JobState) -> Planned:
        """What to do now, the other ways, and what each is expected to cost in all."""


@dataclass(frozen=True)
class Thought:
    """The step to take instead of what is shown, or the `repairs` to make; with both the complaint is seen before them.

    `less`: so many minutes to a proven repair are expected to be spared (prices as minutes), at least `SPARED`;
    or `at_least` so many; None where what is shown was not priced, and repairs are not offered then. `no_live`: what is
    shown is live, and waits: a plan without any live step takes at most the excess longer (`worth.EXCESS`). `failed`
    says why nothing came of it; nothing else is said then.
    """

    step: Step | None = None
    less: float | None = None
    failed: str = ""
    repairs: tuple[str, ...] = ()
    at_least: bool = False
    no_live: bool = False

    @property
    def other(self) -> Step | tuple[str, ...] | None:
        """What to do instead; None where nothing came of it."""
        return self.step or self.repairs or None


def thought(planned: Planned, guided: Guided) -> Thought | None:
    """What a plan would rather have done than what is shown, a step or repairs; None where that stands. Before
    repairs that are not sure the complaint is seen, where it is to be."""
    shown = _shown(guided)
    ways = [planned.way, *planned.others]
    best = planned.way
    if shown is None or _to_do(best) == shown or not _may_be_offered(guided, best):
        return None
    now = next((way.expected for way in ways if _to_do(way) == shown), None)
    less, given_up = None if now is None else now - best.expected, shown in planned.usual
    if not is_offered(less, given_up, best.step is not None):
        return None
    if less is not None:
        return _instead(guided, Thought(best.step, less, repairs=best.repairs))
    if given_up:
        return _instead(guided, Thought(best.step, advise.NEAR, repairs=best.repairs, at_least=True))
    return _instead(guided, Thought(best.step, no_live=planned.bars_live and isinstance(shown, Step) and shown.live))


def is_offered(less: float | None, given_up: bool, is_step: bool) -> bool:
    """Whether the best way is told of instead of what is shown, from which it is expected to spare `less` minutes.

    None: what is shown was not priced. `given_up`: it was one of those to be priced, and surely costs `advise.NEAR`
    more; else only a step is told of, and no repair.
    """
    return given_up or is_step if less is None else less >= SPARED


def _shown(guided: Guided) -> Step | tuple[str, ...] | None:
    """The repairs that are due, else the step advised; None at a stop, and where nothing is left."""
    if guided.due:
        return guided.made_first[0]
    return guided.advice.step if guided.advice and guided.advice.scored else None


def _to_do(way: Way) -> Step | tuple[str, ...]:
    return way.step or way.repairs


def _may_be_offered(guided: Guided, way: Way) -> bool:
    """Of repairs: not to hand over, nor made in vain, nor where nothing shows or nothing wrong is likeliest, nor dearer
    than the owner would spend."""
    if way.step is not None:
        return True
    repairs = guided.repairs_left(way.repairs)
    whole = bool(repairs) and len(repairs) == len(way.repairs)
    ours = whole and not pricing.handed_over(guided.machine, guided.standing, *repairs)
    wrong = bool(guided.made_first[0]) and not leaving.does_not_show(guided.weighed, guided.limits)
    return ours and wrong and leaving.is_worth_it(guided.bench, [one.name for one in repairs], guided.limits)


def _instead(guided: Guided, found: Thought) -> Thought | None:
    """The step; or the repairs, after the complaint where that is to be seen before. None where that is shown."""
    if found.step is not None or not leaving.asks_to_see(guided.limits):
        return found
    seen = fitting.first_seen(guided.asked, guided.weighed, guided.standing)
    shown = guided.advice.step if guided.advice else None
    return None if seen is not None and seen == shown else replace(found, step=seen)


class Further:
    """Thinks about the state given last, one state at a time."""

    def __init__(self, planner: Callable[[Adviser], Planner] = Ahead) -> None:
        self._made_by = planner
        self._planner: tuple[Adviser, Planner] | None = None
        self._changed = threading.Condition()
        self._wanted: Guided | None = None
        self._made: Planned | Thought | None = None
        self._done = True
        self._busy = False

    def begin(self, guided: Guided) -> None:
        """Thinks about this state from now on; what was thought, or is being thought, about another is dropped.

        The quick step is worked out first, here: beside the talk, what it keeps is only read.
        """
        _ = guided.advice
        with self._changed:
            if self._wanted is guided:
                return
            self._wanted, self._made, self._done = guided, None, False
            if self._busy:
                return
            self._busy = True
        threading.Thread(target=self._work, name="thinking further", daemon=True).start()

    def stop(self) -> None:
        """Lets go of the state; what is under way ends by itself and is dropped."""
        with self._changed:
            self._wanted, self._made, self._done = None, None, True
            self._changed.notify_all()

    def knows(self, guided: Guided) -> bool:
        """Whether this state has been thought about to the end."""
        with self._changed:
            return self._wanted is guided and self._done

    def about(self, guided: Guided) -> Thought | None:
        """What came of this very state; None where nothing did, or nothing yet."""
        with self._changed:
            if self._wanted is not guided:
                return None
            if isinstance(self._made, Planned):
                self._made = thought(self._made, guided)
            return self._made

    def wait(self, timeout: float | None = None) -> bool:
        """Until the state given last is thought about to the end, at most so many seconds; whether it is."""
        with self._changed:
            return self._changed.wait_for(lambda: self._done, timeout)

    def _work(self) -> None:
        while True:
            with self._changed:
                guided = self._wanted
                if guided is None or self._done:
                    self._busy = False
                    return
            made = self._plan(guided)
            with self._changed:
                if self._wanted is guided:
                    self._made, self._done = made, True
                    self._changed.notify_all()

    def _plan(self, guided: Guided) -> Planned | Thought:
        """A mistake here must not end the talk, nor be hidden: it is told where the thought would have been."""
        try:
            if self._planner is None or self._planner[0] is not guided.asked:  # a repair makes another adviser
                self._planner = guided.asked, self._made_by(guided.asked)
            return self._planner[1].plan(guided.weighed, guided.standing)
        except Exception as error:
            return Thought(failed=f"{type(error).__name__}: {error}")
