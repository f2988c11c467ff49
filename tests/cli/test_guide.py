"""The guided diagnosis, typed line by line as a person would."""

from __future__ import annotations

import re
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfsplit.cli import curing, ending
from halfsplit.service import machines
from tests.cli.typed import Capture, talk, talk_from
from tests.depth import tried


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
    assert "'x' is none of these. Type a number from 1 to 4, or how one of them begins. Or undo." in flat
    assert flat.count("Nothing is set aside.") == 1
    assert "Planned around" not in flat
    assert flat.count("Taken back:") == 1
    assert "Taken back: water gets hot: no" in flat
    assert flat.count("There is nothing to take back.") == 1


def test_a_machine_is_chosen_and_own_findings_typed(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Without FILE a machine is chosen by number, complaints are typed, and the end of input is a stop."""
    typed = ["99", "5", "own", "1 no", "77 no", "x", ""]
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


def test_undo_names_the_step_that_may_have_been_begun(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """After a slip in typing not the step that is typed anew, but the one that was shown since."""
    typed = ["5 yes", "", "no", "yes", "", "27", "yes", "yes", "OL", "45", "", "undo", "stop"]
    said = " ".join(talk(monkeypatch, capsys, typed, "coil-cooktop", "--own").out.split())
    assert "If you have begun the step shown above (ohms, left front switch.L1 to left front switch.H1):" in said


LINES = st.sampled_from(
    ["", "yes", "no", "OL", "0.2", "240 V", "fine", "burnt", "why", "causes", "further", "take", "skip", "undo", "help"]
)


@settings(max_examples=tried(6, 12), suppress_health_check=[HealthCheck.function_scoped_fixture])
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
