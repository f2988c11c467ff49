"""The guided diagnosis, typed line by line as a person would."""

from __future__ import annotations

import io
import re
import sys
from typing import Any, cast

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfsplit.cli import conversation, curing, ending, talking
from halfsplit.cli.conversation import Asked
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import fitting
from halfsplit.plan.ahead import Planned
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.plan.view import Way
from halfsplit.service import machines
from halfsplit.service.further import Further
from halfsplit.work.state import JobState
from tests.cli.words import Ended, run

Capture = pytest.CaptureFixture[str]


def talk(monkeypatch: pytest.MonkeyPatch, capsys: Capture, typed: list[str], *words: str) -> Ended:
    """Runs the guide with these lines typed."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in typed)))
    return run(capsys, "guide", *words)


class Typist(io.StringIO):
    """Types Enter until the screen shows this in what came since the last line, then these lines, one by one."""

    def __init__(self, shows: str, typed: list[str]) -> None:
        super().__init__("".join(f"{line}\n" for line in typed))
        self.shows, self.seen, self.entered = shows, 0, 0

    def readline(self, size: int | None = -1) -> str:  # type: ignore[override]
        """The next line; the end of input after a hundred in vain."""
        screen = cast("io.StringIO", sys.stdout).getvalue()
        since, self.seen = " ".join(screen[self.seen :].split()), len(screen)
        if self.tell() or self.shows in since:
            return super().readline()
        self.entered += 1
        return "\n" if self.entered < 100 else ""


def talk_from(monkeypatch: pytest.MonkeyPatch, capsys: Capture, shows: str, typed: list[str], *words: str) -> str:
    """The guide with Enter until this is shown and these lines from there on: all that it said, on one line."""
    monkeypatch.setattr("sys.stdin", typist := Typist(shows, typed))
    ended = run(capsys, "guide", *words)
    assert ended.code == 0
    assert typist.tell(), f"{shows!r} was never shown"
    return " ".join(ended.out.split())


def test_after_a_trial_in_vain_every_cover_is_on(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """All was put together for the trial, as the list says, and so the steps that follow take it to be. Of the first
    repair of a hidden fault behind covers it is told that it has cured nothing, whatever it did."""

    def in_vain(self: curing.Curing, due: object, proof: object) -> str:
        self.talk.say("It is not cured.", 2)
        return "no"

    monkeypatch.setattr(curing.Curing, "is_cured", in_vain)
    told = talk_from(
        monkeypatch, capsys, "It is not cured.", ["ok", "stop"], "vented-dryer", "--seed", "14", "--no-further"
    )  # fmt: skip
    after = told[told.index("It is not cured.") :]
    assert "Close the " in told[: told.index("It is not cured.")]
    assert ending.STANDS[True] in after
    assert after.index("DANGER: Until it is proved dead") < after.index(ending.STANDS[True]) < after.index("NEXT")


@pytest.mark.parametrize(("machine", "seed"), [("vented-dryer", "7"), ("water-heater", "3"), ("refrigerator", "5")])
def test_a_hidden_fault_is_found(machine: str, seed: str, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """With Enter alone the way leads to a repair with minutes and price, and to what is checked after."""
    ended = talk(monkeypatch, capsys, [""] * 60, machine, "--seed", seed)
    assert ended.code == 0
    assert re.search(r"Repair: .+ [\d.]+ min, \d+ USD", ended.out)
    assert "Put together, in this order" in ended.out
    assert "Prove it:" in ended.out
    assert "cured" in ended.out


def test_a_live_machine_is_isolated_before_its_repair(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """A tank that was heard to rumble: the machine was never isolated, so the repair says to, before anything else."""
    ended = talk(monkeypatch, capsys, [""] * 60, "water-heater", "--seed", "9")
    enough = ended.out.index("ENOUGH IS KNOWN")
    before, told = ended.out[:enough], ended.out[enough:]
    assert "See for yourself, once it has run some 5 min: Does" in before
    assert "Isolate" not in before
    places = [told.index(text) for text in ("DANGER", "Isolate the machine (breaker off", "Repair:", "Put together")]
    assert places == sorted(places)
    assert "breaker on" in told


def test_a_button_that_was_let_go_is_not_spoken_of(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """What is put together after START was pressed ends with the power, and no button is set back."""
    ended = talk(monkeypatch, capsys, [""] * 60, "vented-dryer", "--seed", "22")
    enough = ended.out.index("NO STEP IS WORTH")
    before, told = ended.out[:enough], ended.out[enough:]
    assert "start pressed. See for yourself: Does" in before
    assert "plug in" in told
    assert "untouched" not in told[: told.index("Prove it:")]


def test_the_same_seed_hides_the_same(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """With --json the talk goes to stderr, and stdout holds what was found: the same for the same seed."""
    first, again = (talk(monkeypatch, capsys, [""] * 60, "water-heater", "--seed", "3", "--json") for _ in range(2))
    assert first.data == again.data
    assert first.data["hidden"]
    assert "NEXT" in first.err


def test_words_at_any_time(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """why, causes, help, skip, undo and a wrong answer all leave the talk where it can go on; stop ends it with 0."""
    typed = ["why", "causes", "help", "9.2 furlongs", "skip", "undo", "undo", "undo", "undo", "undo", "undo", "stop"]
    ended = talk(monkeypatch, capsys, typed, "refrigerator", "--seed", "3")
    assert ended.code == 0
    flat = " ".join(ended.out.split())
    told = ("that come into question", "odds of the likeliest cause", "something this file does not say", "Taken back")
    for said in told:
        assert said in flat, said
    for said in ("'9.2 furlongs' is neither yes nor no", "There is nothing to take back", "Stopped"):
        assert said in flat, said


def test_what_cannot_be_done_is_asked_for_once(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """cannot lists what may stand in the way of the step shown; what is chosen is planned around from there on."""
    typed = ["1 no", "", "cannot", "the meter", "cannot", "only", "stop"]
    ended = talk(monkeypatch, capsys, typed, "water-heater", "--own")
    assert ended.code == 0
    flat = " ".join(ended.out.split())
    assert flat.count("What stands in the way?") == 2
    assert "the meter does not read" in flat
    assert "only this step cannot be done here" in flat


def test_what_could_not_be_done_is_taken_back(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """undo after cannot brings the step back that was refused by mistake, and then takes the finding back."""
    typed = ["1 no", "", "ok", "cannot", "the meter", "ok", "undo", "ok", "cannot", "only", "ok", "undo", "ok", "undo"]
    ended = talk(monkeypatch, capsys, typed, "water-heater", "--own")
    flat = " ".join(ended.out.split())
    assert flat.count("Taken back: what could not be done.") == 2
    steps = [part.split(" - ")[0] for part in flat.split("NEXT ")[1:]]
    assert steps[0] == steps[2] == steps[4]
    assert steps[1] != steps[0]
    assert flat.count("Taken back:") == 3
    assert "Planned around: the meter does not read" in flat


def test_undo_leads_out_of_what_cannot_be_done(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Back to the step that is shown: nothing is refused, and the next undo takes the finding back."""
    typed = ["1 no", "", "ok", "cannot", "x", "undo", "undo", "undo", "stop"]
    flat = " ".join(talk(monkeypatch, capsys, typed, "water-heater", "--own").out.split())
    assert "'x' is none of these. Type a number from 1 to 3, or how one of them begins. Or undo." in flat
    assert flat.count("Nothing is set aside.") == 1
    assert "Planned around" not in flat
    assert flat.count("Taken back:") == 1
    assert "Taken back: water gets hot: no" in flat
    assert flat.count("There is nothing to take back.") == 1


def test_a_machine_is_chosen_and_own_findings_typed(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Without FILE a machine is chosen by number, complaints are typed, and the end of input is a stop."""
    typed = ["99", "4", "own", "1 no", "77 no", "x", ""]
    ended = talk(monkeypatch, capsys, typed, "--json")
    assert ended.code == 0
    assert len(ended.data["findings"]) == 1
    assert "Type a number from 1 to" in ended.err
    assert "NEXT" in ended.err


def test_anyway_where_nothing_stands_says_so(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """It is no answer to a step, and is not taken for one."""
    said = talk(monkeypatch, capsys, ["1 no", "", "ok", "anyway", "stop"], "water-heater", "--own").out
    assert "Nothing stands here that may be passed over." in said


def test_a_talk_cut_short_among_complaints_loses_none(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """What the owner has said by then is in the data."""
    ended = talk(monkeypatch, capsys, ["1 no", "stop"], "water-heater", "--own", "--json")
    (found,) = ended.data["findings"]
    assert found["symptom"]["value"] == "no"
    assert "Stopped. Nothing is lost; found so far:" in ended.err
    assert ended.err.rstrip().endswith(": no")


def test_a_complaint_is_taken_back_where_it_was_typed(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """The last one; with none left it says so and nothing is lost."""
    ended = talk(monkeypatch, capsys, ["1 no", "undo", "undo", "2 yes", "stop"], "water-heater", "--own", "--json")
    (found,) = ended.data["findings"]
    assert found["symptom"]["value"] == "yes"
    assert ended.err.count("Taken back: ") == 1
    assert "There is nothing to take back." in ended.err


def test_a_stop_that_is_ours_to_pass_over(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """For an owner who would spend five nothing is worth it: told with the price and how to close; anyway goes on."""
    typed = ["1 no", "", "why not", "anyway", "undo", "stop"]
    ended = talk(monkeypatch, capsys, typed, "water-heater", "--own", "--worth", "5", "--json")
    said = " ".join(ended.err.split())
    assert said.count("STOP. It costs more than its owner would spend.") == 2
    assert "Its owner would spend 5 at most." in said
    assert "is no answer to a stop. Type anyway to go on all the same, undo if that was not so, or stop." in said
    places = [said.index(text) for text in ("would spend 5", "Put together", "NEXT Isolate", "Taken back")]
    assert places == sorted(places)
    assert "Taken back: that you would go on all the same." in said


def test_undo_gives_the_step_back(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """A finding taken back leaves the same step as before it."""
    ended = talk(monkeypatch, capsys, ["", "ok", "undo", "stop"], "refrigerator", "--seed", "5")
    steps = re.findall(r"NEXT  (.+)$", ended.out, re.MULTILINE)
    assert len(steps) == 3
    assert steps[0] == steps[2] != steps[1]


def test_each_step_says_where(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """A step with a meter says where red and black go, and whether the machine is isolated."""
    ended = talk(monkeypatch, capsys, [""] * 60, "vented-dryer", "--seed", "7")
    flat = " ".join(ended.out.split())
    assert "red" in flat.lower()
    assert "black" in flat.lower()


@pytest.mark.parametrize("words", [["--seed", "-1"], ["no-such-machine"], ["vented-dryer", "extra"]])
def test_wrong_use(words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Wrong words end with 2 before anything is asked."""
    ended: Any = talk(monkeypatch, capsys, [], *words)
    assert ended.code == 2


# ---- what is not understood --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (["heatr"], "'heatr' is none of these. Type a number from 1 to 5, or how one of them begins."),
        (["vented"], "'vented' begins 'Vented dryer"),
        (["4", "nothing"], "'nothing' is none of these. Type drawn or own."),
        (["4", "own", "77 no"], "'77 no' does not begin with a number from 1 to "),
        (["4", "own", "no"], "Type the number of a question above, a blank, and yes or no, as in: 3 no."),
        (["4", "own", "1"], "Question 1 has no answer yet. Type it as in: 1 yes."),
        (["4", "own", "1 mybe"], "'mybe' is neither yes nor no. Type yes or no; y or n will do. Type it as in: 1 yes."),
        (["4", "own", "1 no", "", "udno"], "If you meant the word undo, type undo."),
    ],
)
def test_what_is_not_understood(typed: list[str], says: str, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Each question answers a slip with what was typed and what it understands."""
    ended = talk(monkeypatch, capsys, typed)
    assert ended.code == 0
    assert says in " ".join(ended.out.split())


def test_a_stop_understands_its_words(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """At a stop a slip is answered; undo goes back."""
    number = [*machines.load("water-heater").symptoms].index("jacket tingles") + 1
    typed = [f"{number} yes", "", "sure", "", "undo", "stop"]
    said = " ".join(talk(monkeypatch, capsys, typed, "water-heater", "--own").out.split())
    assert "'sure' is no answer to a stop. Type undo if that was not so, or stop." in said
    assert "Taken back: jacket tingles: yes" in said


def test_another_word_for_what_was_seen_is_noted_and_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A slip in a known word, or in a word that may be typed at any time, is no finding; another word is one."""
    typed = ["further", "take", "fnie", "udno", "rusty", "stop"]
    said, found = led(monkeypatch, typed, Further(Ready()))
    assert "Did you mean 'fine'?" in said
    assert "'udno' is not among what may be seen here. If you meant the word undo, type undo." in said
    assert re.search(r"'rusty' at [^:]+ is noted, and counts as something else\. Known there: fine", said)
    assert [one["look"]["sees"] for one in found if "look" in one] == ["rusty"]


# ---- thought further ---------------------------------------------------------------------------------------


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
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
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


def test_undo_names_the_step_that_may_have_been_begun(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """After a slip in typing not the step that is typed anew, but the one that was shown since."""
    typed = ["5 yes", "", "no", "yes", "", "27", "yes", "yes", "OL", "45", "", "undo", "stop"]
    said = " ".join(talk(monkeypatch, capsys, typed, "coil-cooktop", "--own").out.split())
    assert "If you have begun the step shown above (ohms, left front switch.L1 to left front switch.H1):" in said


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
    assert len(counts(found)) == 3  # who stops where it is asked how the machine stands has gone nowhere


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


# ---- cautions ----------------------------------------------------------------------------------------------


TOP = "CAUTION: top: prop the top so that it cannot fall [Enter or ok: read, and minded] >"
COOKTOP = ("coil-cooktop", "--seed", "4", "--no-further")
"""One whose receptacle is burnt: it is read from outside first, and the top is opened to look."""


def test_cautions_are_acknowledged_before_the_step(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """An answer does not pass; ok does; told once a power state, not again at the repair and in the list. Nobody is at
    a hidden fault's proof run, so that those of it stand in its list and are not asked for (`test_proof_cautions`)."""
    said = talk_from(monkeypatch, capsys, TOP, ["10 ohm", "help", "ok", *[""] * 30], *COOKTOP)
    assert said.count("The cautions come first") == 2
    before, proof = said[: said.index("Prove it:")], said[said.index("Prove it:") :]
    assert before.count("Until it is proved dead") == 1
    assert said.count("prop the top") == 1
    assert "Live parts" not in before  # what the proof run wants minded an hour later stands before its own line
    assert proof.index("Live parts") < proof.index("Meter at amps")
    texts = (
        "DANGER: Until it is proved dead", "NEXT Isolate", "prop the top", "The cautions come first",
        "NEXT Open the top", "Repair:", "Close the top: 2 x PH2.", "Count: ",
    )  # fmt: skip
    places = [said.index(text) for text in texts]
    assert places == sorted(places)
    assert "cured" in said


def test_undo_and_the_end_of_input_at_a_caution(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """undo takes the last finding back, and the end of input ends as everywhere; the step was never shown."""
    said = talk_from(monkeypatch, capsys, TOP, ["undo"], *COOKTOP)
    found = re.findall(r"minded\] > NEXT .+? what the meter shows\] > (.+?) Likeliest now", said)
    assert found
    assert f"Taken back: {found[-1]}" in said
    assert "NEXT Open the top" not in said
    assert f"- {found[-1]}" not in said.partition("Stopped. Nothing is lost; found so far:")[2]


def test_cannot_at_a_caution(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """What stands in the way may be said before the step is shown; the repair says that it lies behind that."""
    said = talk_from(monkeypatch, capsys, TOP, ["cannot", "1", *[""] * 30], *COOKTOP)
    assert "1 the top will not open" in said
    assert "Planned around: the top will not open." in said
    repair = re.search(r"NO STEP IS WORTH|ENOUGH IS KNOWN", said)
    assert repair
    assert "Open the top" not in said[: repair.start()]
    assert said.index("it lies behind what will not open") < said.index("Open the top")


def test_a_program_is_not_held_up(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """With --json and no terminal nothing waits; what is to be acknowledged is listed."""
    ended = talk(monkeypatch, capsys, ["", ""], "coil-cooktop", "--seed", "4", "--no-further", "--json")
    assert ended.data["acknowledge"][0].startswith("DANGER: Until it is proved dead")
    assert len(ended.data["findings"]) == 6
    assert "Enter or ok" not in ended.err


LINES = st.sampled_from(
    ["", "yes", "no", "OL", "0.2", "240 V", "fine", "burnt", "why", "causes", "further", "take", "skip", "undo", "help"]
)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(typed=st.lists(LINES | st.text(max_size=6), max_size=12), own=st.booleans())
def test_whatever_is_typed(typed: list[str], own: bool, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Any lines at all lead to an end with 0 and one document."""
    words = ["water-heater", "--json", *(["--own"] if own else ["--seed", "1"])]
    ended = talk(monkeypatch, capsys, [line.replace("\n", " ") for line in typed], *words)
    assert ended.code == 0
    assert set(ended.data) == {"findings", "cured", "hidden", "acknowledge"}


@pytest.mark.parametrize(("columns", "most"), [("46", 46), ("10", 30), ("400", 92)])
def test_lines_are_as_long_as_the_screen_is_wide(
    columns: str, most: int, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    """On a phone's screen no sentence runs over it; on a wide one none is longer than is pleasant to read."""
    monkeypatch.setenv("COLUMNS", columns)
    ended = talk(monkeypatch, capsys, [""] * 60, "water-heater", "--seed", "3", "--no-further")
    told = [line for line in ended.out.splitlines() if " > " not in line]
    longest = max(len(line) for line in told)
    assert most - 12 <= longest <= most
