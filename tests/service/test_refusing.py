"""What stands in the way of a step is said once and holds for the rest of the job."""

from __future__ import annotations

from typing import Any

import pytest

from halfsplit.errors import WrongUse
from halfsplit.evidence import finding as f
from halfsplit.plan.steps import QUESTION, Step, bays_needed
from halfsplit.service import advising, diagnosing, names, refusing
from halfsplit.service.guiding import Guided
from halfsplit.work import refusals
from halfsplit.work.state import with_fronts
from tests.rehearse.benches import adviser

COLD = f.Perceived("water gets hot", False)
LOW, STILL = "low-impedance volts", f.Perceived("drum turns", False)


def advised(guided: Guided) -> list[Step]:
    """The next dozen steps, best first."""
    return [one.step for one in advising.advise(guided.asked, guided.weighed, guided.refused, 12)]


def said(guided: Guided, step: Step) -> dict[str, object]:
    """What may be the matter with a step, in words, and what is refused by that."""
    state = advising.standing(guided.asked, guided.findings, guided.refused)
    return dict(refusing.of_step(guided.machine, state, step))


def test_a_cover_that_will_not_open_is_planned_around() -> None:
    """No step behind it is advised any more; a step elsewhere still is."""
    guided = Guided(adviser("water-heater"), (COLD,))
    step = next(one for one in advised(guided) if bays_needed(guided.machine, one))
    (bay, refusal) = next((w, r) for w, r in said(guided, step).items() if isinstance(r, refusals.CannotOpen))
    assert bay == f"the {refusal.bay} will not open"
    after = guided.without(refusal)
    assert advised(after)
    for one in advised(after):
        assert refusal.bay not in with_fronts(guided.machine, bays_needed(guided.machine, one))


@pytest.mark.parametrize(("name", "found", "meter"), [("water-heater", COLD, "ohms"), ("vented-dryer", STILL, LOW)])
def test_a_meter_without_a_function_is_planned_around(name: str, found: f.Perceived, meter: str) -> None:
    """What it does not read is asked for no more. Volts are wanted, at the wall, where it reads no ohms, which cost
    less."""
    guided = Guided(adviser(name), (found,))
    guided = guided if meter == "ohms" else guided.without(refusals.NoMeter("ohms"))
    step = next(one for one in advised(guided) if one.probe and one.probe.meter == meter)
    after = guided.without(said(guided, step)[f"the meter does not read {meter}"])
    assert advised(after)
    assert all(one.probe is None or one.probe.meter != meter for one in advised(after))


def test_one_step_may_be_all_that_cannot_be_done() -> None:
    """Only it is gone then; every step can be refused so, a look from outside as well."""
    guided = Guided(adviser("water-heater"), (COLD,))
    for step in advised(guided):
        choices = said(guided, step)
        assert list(choices.values())[-1] == step
        assert step not in advised(guided.without(step))


def test_nobody_to_help_is_asked_where_two_lift() -> None:
    """Behind a cover that takes two people, and nowhere else."""
    guided = Guided(adviser("vented-dryer"), (f.Perceived("air is warm", False),))
    heavy = {name for name, bay in guided.machine.bays.items() if bay.people > 1}
    for step in guided.asked.steps.usual[::97]:
        behind = with_fronts(guided.machine, bays_needed(guided.machine, step))
        assert (refusals.NoHelper() in said(guided, step).values()) == bool(heavy.intersection(behind))


def test_an_owner_who_is_not_here_is_asked_no_more() -> None:
    """Said at one question it holds for all; at no other step is it offered."""
    guided = Guided(adviser("vented-dryer"), (f.Perceived("air is warm", False),))
    question = next(one for one in guided.asked.steps.usual if one.kind == QUESTION)
    assert said(guided, question)["the owner is not here"] == refusals.NoOwner()
    for step in guided.asked.steps.usual[::97]:
        assert (refusals.NoOwner() in said(guided, step).values()) == (step.kind == QUESTION)
    before, after = advised(guided), advised(guided.without(refusals.NoOwner()))
    assert any(one.kind == QUESTION for one in before)
    assert after
    assert all(one.kind != QUESTION for one in after)


# ---- said before any step is known -------------------------------------------------------------------------


def diagnosed(name: str, told: list[f.Finding], *cannot: str) -> list[dict[str, Any]]:
    """The next steps where something cannot be done."""
    asked = adviser(name)
    return list(diagnosing.diagnose(asked.bench.machine, told, cannot=cannot)["next"])


@pytest.mark.parametrize(
    ("name", "symptom", "missing", "word"),
    [
        ("refrigerator", "freezer is cold", (), "ohms"),
        ("refrigerator", "freezer is cold", ("ohms",), "low-impedance volts"),
        ("water-heater", "water gets hot", (), "upper cover"),
    ],
)
def test_what_is_said_once_holds_for_all_next_steps(
    name: str, symptom: str, missing: tuple[str, ...], word: str
) -> None:
    """A meter that reads no ohms, or no low-impedance volts either, a cover that stays shut: without the word some step
    wants it, with it none does. No owner is there, whom one would rather ask."""
    told: list[f.Finding] = [f.Perceived(symptom, False)]
    machine = adviser(name).bench.machine

    def wants(step: dict[str, Any]) -> bool:
        parts = {(step[end] or "").partition(".")[0] for end in ("red", "black", "at")} & set(machine.parts)
        return step["meter"] == word or any(word in with_fronts(machine, (machine.parts[one].bay,)) for one in parts)

    assert any(map(wants, diagnosed(name, told, "owner", *missing)))
    around = diagnosed(name, told, "owner", *missing, word)
    assert around
    assert not any(map(wants, around))


def test_every_word_that_means_nothing_is_named_with_what_was_meant() -> None:
    """All problems at once, each with the nearest word."""
    with pytest.raises(WrongUse) as caught:
        refusing.named(adviser("coil-cooktop").bench.machine, ["amp", "left frnt burner", "top"])
    said_so = str(caught.value)
    assert "Nothing here is called 'amp'. Did you mean 'amps'?" in said_so
    assert "Nothing here is called 'left frnt burner'. Did you mean 'left front burner'" in said_so
    assert "'top'" not in said_so


def test_every_word_refuses_what_it_says() -> None:
    """A bay, a part that plugs in, a function, a helper, the owner; Tab offers them all."""
    found = refusing.choices(adviser("coil-cooktop").bench.machine)
    assert found["top"] == refusals.CannotOpen("top")
    assert found["left front burner"] == refusals.CannotLift("left front burner")
    assert found["amps"] == refusals.NoMeter("amps")
    assert found["help"] == refusals.NoHelper()
    assert found["owner"] == refusals.NoOwner()
    assert names.offered("coil-cooktop", "refusals") == list(found)
    assert refusing.named(adviser("coil-cooktop").bench.machine, ["Help"]) == {refusals.NoHelper()}
