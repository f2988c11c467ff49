"""What would be read next in the same set-up, as `diagnose --alongside` and the guide tell it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from halfsplit.errors import NotUnderstood
from halfsplit.operate.condition import condition
from halfsplit.plan import setups
from halfsplit.plan.steps import Step
from halfsplit.predict.readings import Probe
from halfsplit.service import alongside, answers, guiding, machines
from halfsplit.work import refusals
from halfsplit.work.state import JobState
from tests.cli.typed import type_in
from tests.cli.words import run
from tests.rehearse import benches
from tests.rehearse.benches import adviser, bench

Capture = pytest.CaptureFixture[str]
COLD = "- symptom: {what: water gets hot, value: no}\n- look: {at: limit, sees: fine}\n"
MILD = "- symptom: {what: water scalds, value: no}\n"
FIELDS = {"when", "kind", "text", "minutes", "probability", "at", "closely", "meter", "red", "black", "alike", "within"}


def test_the_field_of_the_first_step(capsys: Capture, findings: Callable[[str], str]) -> None:
    """The first step alone has it, and names a reading by the same meter that takes only its own minutes."""
    found = run(capsys, "diagnose", "water-heater", findings(COLD), "--alongside", "--json").data["next"]
    first, *others = found
    (one, *_) = first["alongside"]
    assert set(one) == FIELDS
    assert (one["kind"], one["meter"], one["when"]) == ("reading", first["meter"], "While the leads are here")
    assert one["minutes"] == pytest.approx(machines.load("water-heater").handwork.reading)
    assert one["minutes"] <= first["minutes"]
    assert (one["red"], one["black"]) != (first["red"], first["black"])
    assert setups.MADE_NEXT < one["probability"] <= 1
    assert not [step for step in others if "alongside" in step]


def test_nothing_is_told_unasked(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Without the option the steps are the same, without the field."""
    place = findings(COLD)
    asked, plain = (run(capsys, "diagnose", "water-heater", place, *more, "--json").data["next"]
                    for more in (["--alongside"], []))  # fmt: skip
    assert plain == [{name: value for name, value in step.items() if name != "alongside"} for step in asked]


def test_the_lines_for_people(capsys: Capture, findings: Callable[[str], str], monkeypatch: pytest.MonkeyPatch) -> None:
    """`diagnose` has it below the step with the minutes, the guide below the outcomes; a question to the owner, which
    would come first, sets nothing up."""
    place = findings(COLD)
    (one, *_) = run(capsys, "diagnose", "water-heater", place, "--alongside", "--json").data["next"][0]["alongside"]
    leads = f"red on {one['red']}, black on {one['black']} ("
    said = run(capsys, "diagnose", "water-heater", place, "--alongside").out
    assert f"While the leads are here (35 s): {leads}" in said
    number = [*machines.load("water-heater").symptoms].index("water scalds") + 1
    type_in(monkeypatch, [f"{number} no", "", "cannot", "the owner is not here", "stop"])
    said = " ".join(run(capsys, "guide", "water-heater", "--own", "--no-further").out.split())
    (two, *_) = run(
        capsys, "diagnose", "water-heater", findings(MILD), "--alongside", "--json", "--cannot", "owner"
    ).data["next"][0]["alongside"]  # fmt: skip
    assert f"While you are here: {two['text']}" in said


def test_all_that_stands_there_is_typed_at_once(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Two coils of a heater, one line: both findings are listed, one step later; too many are refused in words."""
    number = [*machines.load("water-heater").symptoms].index("water scalds") + 1
    typed = [f"{number} no", "", "cannot", "the owner is not here", "fine; fine; fine; fine; fine; fine", "fine; fine"]
    type_in(monkeypatch, [*typed, "stop"])
    ended = run(capsys, "guide", "water-heater", "--own", "--no-further", "--json")
    said = " ".join(ended.err.split())
    assert answers.AT_ONCE in said
    assert "6 answers were typed, and" in said
    looks = [found["look"]["at"] for found in ended.data["findings"] if "look" in found]
    assert len(looks) == 2
    assert all(f"{at}: fine" in said for at in looks)


def test_a_hidden_fault_answers_all_that_stands_there(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """With one Enter, each answer on its line, and what follows is no step for it; where nothing stands alongside, the
    step alone. Typed, the first alone will do."""
    hidden = ["guide", "water-heater", "--seed", "3", "--no-further", "--json"]
    type_in(monkeypatch, [""] * 60)
    ended = run(capsys, *hidden)
    said = " ".join(ended.err.split())
    assert said.count("[Enter: do all of it; or what you see]") == said.count("While you are here") == 1
    done = said[said.index("do all of it") :]
    assert "> look at limit: tripped ohms, limit.1 to limit.3: OL Likeliest now: limit: tripped" in done
    assert "NEXT" not in done
    assert ["look" in one or "reading" in one for one in ended.data["findings"][-3:]] == [True, True, False]
    enters = said[: said.index("do all of it")].count("] >")
    type_in(monkeypatch, [*[""] * enters, "tripped", "stop"])
    assert "look" in run(capsys, *hidden).data["findings"][-1]


@pytest.mark.parametrize("name", ["water-heater", "vented-dryer", "refrigerator"])
def test_at_once_is_as_one_by_one(name: str) -> None:
    """What is typed in one line is what it would be if each had been the step, after the first two complaints after
    which something stands alongside, the owner out; no answer is taken where one is wrong."""
    met, asked = 0, benches.guide(name)
    for symptom in bench(name).machine.symptoms:
        told = (guiding.complaint(symptom, False),)
        now = guiding.Guided(asked, told, frozenset({refusals.NoOwner()}))
        if met == 2 or now.advice is None or not now.alongside:
            continue
        met += 1
        steps = [now.advice.step, *(one.step for one in now.alongside)]
        words = [word_for(step) for step in steps]
        one_by_one = now
        for step, word in zip(steps, words, strict=True):
            one_by_one = one_by_one.answered(step, word)
        assert now.answered(steps[0], "; ".join(words)).findings == one_by_one.findings
        with pytest.raises(NotUnderstood, match=rf"Answer {len(words)}: '9 furlongs'.+None was taken"):
            now.answered(steps[0], "; ".join([*words[:-1], "9 furlongs"]))
    assert met == 2


def word_for(step: Step) -> str:
    """Something that is understood at a step."""
    if step.probe is None:
        return "fine" if step.kind == "look" else "no"
    return answers.EXAMPLES[step.probe.meter].split(",")[0]


def test_not_with_many_steps_ahead(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Both options at once are wrong use, with what to leave out."""
    ended = run(capsys, "diagnose", "water-heater", findings(COLD), "--alongside", "--further")
    assert ended.code == 2
    assert "Leave out --further or --alongside" in ended.err


def test_two_like_things_are_told_as_alike() -> None:
    """Where the other one was read before, what it showed is what a healthy one shows, within so many per cent."""
    compared = adviser("water-heater").table.compared
    first, second = (adviser("water-heater").table.steps[k] for k in compared.pairs[0].tolist())
    assert first.probe is not None
    showed = f"what {first.probe.red} to {first.probe.black} showed"
    said = alongside._alike(setups.Alongside(second, 0.9, first, 0.08))
    assert said == f"Healthy, it shows {showed}, within 8 %: the two are alike."
    assert alongside._alike(setups.Alongside(second, 0.9)) == ""


def test_a_slip_is_told_at_once(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """In the talk, below the answer. `ok` where nothing is to be minded is no answer, and changes nothing."""
    number = [*machines.load("water-heater").symptoms].index("water gets hot") + 1
    now = guiding.Guided(benches.guide("water-heater"), (guiding.complaint("water gets hot", False),))
    typed = [f"{number} no", ""]
    while now.advice is not None and not (now.advice.step.probe and now.advice.step.probe.meter == "ohms"):
        typed += ["ok", word_for(now.advice.step)]
        now = now.answered(now.advice.step, typed[-1])
    type_in(monkeypatch, [*typed, "ok", "7.7k", "stop"])
    said = " ".join(run(capsys, "guide", "water-heater", "--own", "--no-further", "--json").err.split())
    assert "7.7 kΩ fits nothing that the file knows (" in said
    assert "on a good machine): read it again? Type undo to take it anew." in said


def test_only_what_is_at_hand_is_told_while_the_leads_are_there() -> None:
    """From inside the dryer's housing nobody reads at the plug, nor at the back; the front's bay is near. Nor from the
    plug inside."""
    machine = bench("vented-dryer").machine
    at = condition(machine, isolated=True)

    def reading(red: str, black: str) -> Step:
        return Step("reading", at, Probe("ohms", red, black), places=(red, black))

    inside = reading("heater.front", "heater.rear")
    opened = JobState(open_bays=frozenset({"top", "drum space", "drum housing", "back", "rear cover"}))
    for red, black, near in (
        ("receptacle.prong L1", "receptacle.prong N", False),
        ("terminal block.L1", "terminal block.N", False),
        ("motor.line", "cabinet.metal", True),
        ("door switch.C", "door switch.NO", True),
    ):
        assert alongside.at_hand(machine, opened, inside, reading(red, black)) == near
    plug = reading("receptacle.prong L1", "receptacle.prong N")
    assert alongside.at_hand(machine, JobState(), plug, reading("receptacle.prong L2", "receptacle.prong N"))
    assert not alongside.at_hand(machine, opened, plug, inside)
