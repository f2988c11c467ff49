"""What the guide offers when it has thought further, beside the step it shows."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest

from halfsplit.cli import conversation, ending, offering, talking
from halfsplit.cli.conversation import Asked
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import fitting
from halfsplit.plan.ahead import Planned
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.plan.view import Way
from halfsplit.service.further import Further, Thought
from halfsplit.service.guiding import Guided
from halfsplit.work.state import JobState
from tests.cli.typed import Capture, talk, talk_from, type_in
from tests.rehearse import benches


class Ready:
    """A planner that would rather look at the cord block, or at another place, and spare 12 minutes."""

    def __init__(self, at: str = "") -> None:
        self.at = at
        self.shown: tuple[Step, ...] = ()

    def __call__(self, asked: Adviser) -> Ready:
        """The planner of this adviser."""
        self.asked = asked
        return self

    def plan(self, weighed: Weighed, state: JobState) -> Planned:
        """The same whatever was found."""
        (usual,) = fitting.next_steps(self.asked, weighed, state)
        plain = [s for s in reversed(self.asked.table.steps) if s.kind == "look" and not s.closely]
        looks = [s for s in plain if s != usual.step]
        step = next(s for s in looks if s.at == (self.at or s.at))
        self.shown = self.shown or (usual.step, step)
        return Planned(Way(step, 88.0), (Way(usual.step, 100.0),), "made up", 0)


def counts(found: list[dict[str, dict[str, object]]]) -> list[dict[str, dict[str, object]]]:
    """What was found and was not taken back, nor set aside."""
    return [one for one in found if not any("taken back" in fields for fields in one.values())]


def led(monkeypatch: pytest.MonkeyPatch, typed: list[str], further: Further | None) -> tuple[str, Any]:
    """The talk with a refrigerator of one's own that is warm, and what was found."""
    lines = ["4 no", "", *typed]
    type_in(monkeypatch, lines)
    out = io.StringIO()
    found = conversation.hold(talking.Talk(out), Asked("refrigerator", own=True), further, asks=False)
    return " ".join(out.getvalue().split()), found["findings"]


def test_a_better_step_is_told_and_not_put_under_the_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked for, it is told; an outcome typed after that is recorded for the step shown."""
    ready = Ready()
    said, found = led(monkeypatch, ["further", "no", "fine", "0", "stop"], Further(ready))
    assert "about 12 min less expected in all. Type take for that. Until then what is shown above stands." in said
    plain, alone = led(monkeypatch, ["no", "fine", "0", "stop"], None)
    assert found == alone
    assert "Thought further" not in plain


def test_taken_it_is_the_step_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    """take shows the other step, and what is typed is recorded for that; undo before it gives the first one back."""
    ready = Ready()
    said, found = led(monkeypatch, ["further", "take", "fine", "stop"], Further(ready))
    assert found[-1] == {"look": {"at": ready.shown[1].at, "sees": "fine"}}
    offered = re.search(r"Thought further: (.+?) \([\d.]+ (?:s|min)\) That instead", said)
    assert offered
    assert said.count(f"NEXT {offered[1]}") == 1
    said, found = led(monkeypatch, ["further", "take", "undo", "stop"], Further(Ready()))
    assert len(counts(found)) == 1
    assert "Taken back: what you chose instead." in said


class Repairs(Ready):
    """A planner that would rather replace the starter, and spare 12 minutes."""

    def plan(self, weighed: Weighed, state: JobState) -> Planned:
        """The same whatever was found."""
        (usual,) = fitting.next_steps(self.asked, weighed, state)
        return Planned(Way(None, 88.0, ("replace starter",)), (Way(usual.step, 100.0),), "made up", 0)


class BeforeRepair(Ready):
    """A planner that looks at the starter, and before that is replaced at the condenser fan, to spare 12 minutes."""

    def plan(self, weighed: Weighed, state: JobState) -> Planned:
        """The fan once the starter is all but sure."""
        repairs, chance = weighed.likeliest
        if chance < 0.9:
            return super().plan(weighed, state)
        looks = [s for s in self.asked.table.steps if s.kind == "look" and not s.closely]
        fan = next(s for s in looks if s.at == "condenser fan")
        return Planned(Way(fan, 88.0), (Way(None, 100.0, repairs),), "made up", 0)


def test_a_repair_that_is_expected_to_cost_less_is_told_and_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once the complaint has been seen: told as unsure, made like any other, why answers for it, undo goes back."""
    typed = ["further", "take", "no", "further", "take", "why", "undo", "no", "stop"]
    said, found = led(monkeypatch, typed, Further(Repairs()))
    offered = re.search(r"Thought further: make a repair now: replace starter \((\S+ %) sure\).", said)
    assert offered
    assert said.count(f"WHAT WAS THOUGHT FURTHER ({offered[1]} sure): replace starter.") == 1
    assert "Repair: replace starter" in said
    assert "this was expected to cost less in all, and you took it" in said
    assert "Taken back: what you chose instead." in said
    assert not any("tried" in one for one in found)


def test_a_step_before_a_repair_is_told_and_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the starter is due, known by its mark: asked for, and on Enter, a look is told; taken it is the step shown,
    and recorded; what was offered before belongs to another state. Undo gives the repair back."""
    typed = ["further", "take", "burnt", "7.8", "take", "further", "take", "no", "undo", "", ""]
    typed += ["take", "no", "fine", "stop"]
    said, found = led(monkeypatch, typed, Further(BeforeRepair("starter")))
    assert said.count("Repair: replace starter") == 3
    assert said.count("Is the machine put together by now, and the power on?") == 2
    assert said.index("Repair: replace starter") < said.index("Nothing else has been offered here.")
    assert said.count("Thought further: ") == 3
    assert "Card 1 of " in said
    assert "Taken back: what you chose instead." in said
    assert found[-1] == {"look": {"at": "condenser fan", "sees": "fine"}}
    assert not any("repair" in one for one in found)


@pytest.mark.parametrize("closed", ["yes", "no"])
def test_a_repair_taken_back_leaves_no_live_machine_under_the_hand(
    closed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The list ends with the power on: who says that it is done is shown no bare reading at what was open before; the
    machine stands put together, and does so though more is taken back."""
    typed = ["further", "take", "burnt", "7.8", "undo", "perhaps", closed, "stop"]
    said, found = led(monkeypatch, typed, Further(Ready("starter")))
    asked = "Is the machine put together by now, and the power on? (yes / no: the repair was not begun / begun)"
    assert said.count(asked) == 2
    step = said[said.rindex(asked) :].split("NEXT")[1]
    assert step.lstrip().startswith("Isolate the machine (plug out) and prove it dead") == (closed == "no")
    assert "Open the" not in step
    assert (found[-1] == {"closed": {"power": "on"}}) == (closed == "yes")


class Live(Ready):
    """A planner that reads volts at the starter once its place has been looked at."""

    def plan(self, weighed: Weighed, state: JobState) -> Planned:
        """The look, then the volts."""
        if len(weighed.findings) < 2:
            return super().plan(weighed, state)
        live = next(s for s in self.asked.table.steps if s.live and s.probe and s.probe.meter == "volts")
        return Planned(Way(live, 88.0), (), "made up", 0)


def test_what_is_taken_back_may_have_been_done(monkeypatch: pytest.MonkeyPatch) -> None:
    """A live reading taken back, the look before it, and all: the next step has the machine isolated and proved dead
    anew, whatever stood proved, and what was taken back is listed as such."""
    typed = ["further", "take", "burnt", "further", "take", "0", "undo", "undo", "further", "take", "stop"]
    said, found = led(monkeypatch, typed, Further(Live("starter")))
    assert said.count("Taken back:") == 2
    assert said.count(ending.PERHAPS_DONE) == 2
    offered = said[said.rindex("Thought further:") :]
    assert "prove it dead (meter proved before and after, on a source known to be live)" in offered
    assert len(counts(found)) == 1
    assert len(found) > 3
    left = said[said.index("If you leave the machine") :]
    assert left.index("Isolate the machine") < left.index("Close the")


def test_a_dead_step_is_offered_where_a_live_one_is_shown() -> None:
    """With what is known of it: that it wants no live reading, and takes at most the excess longer; no minutes that
    nobody worked out."""

    class Known(Further):
        """Has thought about every state to its end."""

        def about(self, guided: Guided) -> Thought | None:
            """A look, where a live reading is shown."""
            return Thought(next(s for s in guided.asked.table.steps if s.kind == "look"), no_live=True)

    out = io.StringIO()
    guided = Guided(benches.guide("refrigerator"), (f.Perceived("food is cold", False),))
    assert offering.Offers(talking.Talk(out), Known(Ready())).tell(guided)
    said = " ".join(out.getvalue().split())
    assert "That instead: it wants no live reading, and at most 10 min longer in all, as expected." in said
    assert "less expected" not in said


def test_enter_tells_it_once_it_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """Enter tells what is ready, once, and then what may be typed; take before it was told takes nothing."""
    further = Further(Ready())

    class Typing(io.StringIO):
        """Waits for the thought before the third Enter, as a person who reads would."""

        def readline(self, size: int | None = -1) -> str:  # type: ignore[override]
            line = super().readline()
            if line.startswith("Enter"):
                further.wait(60)
                return "\n"
            return line

    monkeypatch.setattr("sys.stdin", Typing("4 no\n\n\ntake\nEnter\nEnter\nstop\n"))
    out = io.StringIO()
    conversation.hold(talking.Talk(out), Asked("refrigerator", own=True), further)
    said = " ".join(out.getvalue().split())
    assert said.index("Nothing else has been offered here.") < said.index("Thought further:")
    assert said.count("Thought further:") == 1
    assert said.index("Thought further:") < said.index("or one of: why")


def test_a_slip_at_the_end_is_answered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Asked whether all is as it must be, a slip is no answer, and Enter shows the first card; undo goes back."""
    typed = ["further", "take", "burnt", "7.8", "perhaps", "", "undo", "no", "stop"]
    said, found = led(monkeypatch, typed, Further(Ready("starter")))
    assert said.index("ENOUGH IS KNOWN") < said.index("Repair: replace starter")
    assert "'perhaps' is neither yes nor no. Type yes or no; y or n will do. Or undo" in said
    assert "Taken back:" in said[said.index("'perhaps'") :]
    assert "Card 1 of " in said[said.index("'perhaps'") :]
    assert len(counts(found)) == 2
    assert said.rindex("NEXT") > said.index("ENOUGH IS KNOWN")
    assert re.search(r"ENOUGH IS KNOWN \([^)]+ sure\): replace starter\. Likeliest: starter: open", said)


def test_why_is_answered_at_the_repair(monkeypatch: pytest.MonkeyPatch) -> None:
    """How surely it cures, minutes, parts as minutes, the trial, another visit, and the best step that is left out."""
    typed = ["further", "take", "burnt", "7.8", "why", "undo", "stop"]
    said, found = led(monkeypatch, typed, Further(Ready("starter")))
    told = said[said.index("why / causes / further / cannot / undo)") :]
    for text in (
        r"In about \d+ of 100 such jobs replace starter cures\.", r"min: [\d.]+ min for the repair itself",
        r"to close again",
        r"\d+ USD for parts are worth [\d.]+ (min|h)", r"To see whether it cured counts 5 min;",
        r"another visit would take",
        r"The best step left takes .+ and would spare about|No step left tells more",
    ):  # fmt: skip
        assert re.search(text, told), text
    assert "bits" not in told
    assert len(counts(found)) == 2  # taken back, though it is stopped where it is asked how the machine stands
    assert "If anything of the repair was begun" in told
    assert "If you leave the machine as it is now" in told


def test_a_repair_of_a_hidden_fault_can_be_asked_why(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """The machine answers once Enter says that it is repaired; before that why, causes and further are answered as with
    --own, no other word is taken for an answer, and undo goes back with nothing asked of a machine nobody opened."""
    typed = ["why", "causes", "further", "yes", "undo", *[""] * 20]
    said = talk_from(monkeypatch, capsys, ending.MAKE, typed, "water-heater", "--seed", "3", "--no-further")
    order = (
        "Prove it:", ending.MAKE, "such jobs limit: press the button and find what made it trip cures.",
        "To see whether it cured counts 5 min;", "something this file does not say", "Nothing thinks further",
        "'yes' is no answer to a repair. Press Enter,", "Taken back:", "ENOUGH IS KNOWN", ending.MAKE,
        "The hidden fault was limit: tripped: cured.",
    )  # fmt: skip
    at = 0
    for text in order:
        at = said.index(text, at) + len(text)
    assert "put together by now" not in said


def test_causes_are_told_at_the_repair(monkeypatch: pytest.MonkeyPatch) -> None:
    """With --own too, and it is still asked whether all is as it must be."""
    said, _ = led(monkeypatch, ["further", "take", "burnt", "7.8", "causes", "stop"], Further(Ready("starter")))
    told = said[said.index("ENOUGH IS KNOWN") :]
    assert re.search(r"starter: open .*something this file does not say Done and checked", told)


def test_thinking_further_is_turned_off(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """With --no-further the word says so; without it who asks waits and is answered; the way found is the same."""
    off = talk(monkeypatch, capsys, ["further", "take", ""], "water-heater", "--seed", "3", "--no-further", "--json")
    assert "you began with --no-further" in off.err
    on = talk(monkeypatch, capsys, ["further", ""], "water-heater", "--seed", "3", "--json")
    assert "Thought further:" in on.err
    assert on.data == off.data


def test_another_word_for_what_was_seen_is_noted_and_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A slip in a known word, or in a word that may be typed at any time, is no finding; another word is one."""
    typed = ["further", "take", "fnie", "udno", "rusty", "stop"]
    said, found = led(monkeypatch, typed, Further(Ready()))
    assert "Did you mean 'fine'?" in said
    assert "'udno' is not among what may be seen here. If you meant the word undo, type undo." in said
    assert re.search(r"'rusty' at [^:]+ is noted, and counts as something else\. Known there: fine", said)
    assert [one["look"]["sees"] for one in found if "look" in one] == ["rusty"]
