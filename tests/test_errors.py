"""The exceptions and the remedy for an unknown name."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import Ambiguous, BadInput, Problem, Refused, did_you_mean


def test_all_problems_are_told_at_once_in_the_order_of_the_file() -> None:
    """Bad input carries every problem, sorted by place, and is no reason to go on."""
    late, early = Problem("a.yaml", 9, 1, "No part 'x'.", "Add it."), Problem("a.yaml", 2, 5, "No unit.", "")
    error = BadInput([late, early])
    assert error.problems == (early, late)
    assert str(error) == "a.yaml:2:5: No unit.\na.yaml:9:1: No part 'x'. Add it."
    assert (error.exit_code, error.can_go_on) == (3, False)


def test_a_problem_without_a_place_names_the_file() -> None:
    """Line 0 means that the place is not known."""
    assert str(Problem("a.yaml", 0, 0, "Not there.", "")) == "a.yaml: Not there."


def test_choices_are_in_the_sentence() -> None:
    """An ambiguous text names what can be typed instead."""
    error = Ambiguous("1,200", ("1200", "1.200"))
    assert str(error) == "'1,200' can be read in more than one way. Write '1200' or '1.200'."
    assert error.text == "1,200"


def test_a_refusal_lets_the_job_go_on() -> None:
    """A refused event is wrong use, not the end."""
    assert (Refused("The power is on.").exit_code, Refused("The power is on.").can_go_on) == (2, True)


def test_the_nearest_name_is_offered_in_its_own_letters() -> None:
    """Case does not hide a name, and it is offered as it is written."""
    assert did_you_mean("HEATER", ["Heater", "motor"]) == "Did you mean 'Heater'?"


def test_far_names_are_listed() -> None:
    """Where nothing is near the known names are listed, the first twelve of many, or said to be none."""
    assert did_you_mean("zzz", [f"part {n:02}" for n in range(14)]).endswith("part 11 and 2 more.")
    assert did_you_mean("zzz", []) == "None are known here."


def test_of_many_far_names_the_nearest_come_first() -> None:
    """One that shares a word with what was typed is not cut off behind the alphabet."""
    names = [*(f"aerial.{n:02}" for n in range(20)), "receptacle.prong N", "receptacle.N"]
    said = did_you_mean("the plug's N prong", names)
    assert said.startswith("Known, the nearest first: receptacle.prong N, receptacle.N, ")
    assert said.endswith(" and 10 more.")


@given(st.text(), st.lists(st.text(min_size=1), max_size=5))
def test_a_known_name_is_always_its_own_nearest(name: str, others: list[str]) -> None:
    """Any name that is known is offered first, unless another differs only in case."""
    rest = [one for one in others if one.casefold() != name.casefold()]
    said = did_you_mean(name, [name, *rest])
    assert said.startswith(f"Did you mean {name!r}") or not name
