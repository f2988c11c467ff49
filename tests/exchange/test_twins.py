"""Which parts are twins, what changes places with them, and that to exchange twice is to do nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import BadInput, WrongUse
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading, twins
from halfsplit.operate import condition as conditions
from halfsplit.predict import exchanging
from halfsplit.predict.candidates import Candidates

COOKTOP = loading.load("coil-cooktop")
BENCH = Bench(COOKTOP)
LARGE, SMALL = ("left front burner", "right rear burner"), ("left rear burner", "right front burner")
TEXT = library.text("coil-cooktop")


def changed(old: str, new: str) -> tuple[tuple[str, str], ...]:
    """The twins of the cooktop with its file changed in one place."""
    assert TEXT.count(old) >= 1
    return twins.twins(loading.load_text(TEXT.replace(old, new, 1), "changed"))


def test_burners_of_one_size_are_twins_and_nothing_else_is() -> None:
    """Receptacles and switches are alike too, and do not plug in; no other machine of the library has twins."""
    assert twins.twins(COOKTOP) == (LARGE, SMALL)
    assert all(not twins.twins(loading.load(name)) for name in library.names() if name != "coil-cooktop")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("large burner left front, ohms: 27 ohm", "large burner left front, ohms: 28 ohm"),
        ("large burner left front, ohms: 27 ohm ± 5 %", "large burner left front, ohms: 27 ohm ± 6 %"),
        ("large burner left front,", "large burner left front, lifts out: 0 min,"),
        ("title: large burner left front, ohms: 27 ohm ± 5 %", "hot: 1.1, ohms: 27 ohm ± 5 %"),
    ],
)
def test_what_differs_is_no_twin(old: str, new: str) -> None:
    """Another value, another tolerance, one that does not plug in."""
    assert changed(old, new) == (SMALL,)


def test_how_often_each_fails_makes_no_difference() -> None:
    """An older one of two is its twin all the same."""
    assert changed("title: large burner left front,", "title: large burner left front, fails: 30,") == (LARGE, SMALL)


def test_what_hands_set_by_different_knobs_is_no_twin() -> None:
    """Switches of one type that plug in: each listens to its own knob, so that they are not exchanged."""
    plugged = TEXT.replace("type: infinite switch,", "type: infinite switch, lifts out: 1 min,")
    assert twins.twins(loading.load_text(plugged, "plugged")) == (LARGE, SMALL)


def test_a_part_of_any_type_may_plug_in() -> None:
    """The file says so of a part whose type does not."""
    tank = library.text("water-heater").replace("    ohms: 12.8 ohm", "    lifts out: 1 min\n    ohms: 12.8 ohm")
    assert twins.twins(loading.load_text(tank, "tank")) == (("upper element", "lower element"),)


@pytest.mark.parametrize("minutes", ["-1 min", "quick", "3 ohm"])
def test_minutes_that_are_none_are_refused(minutes: str) -> None:
    """With the line and what to write."""
    with pytest.raises(BadInput) as refused:
        changed("large burner left front,", f"large burner left front, lifts out: {minutes},")
    assert all(problem.line and problem.remedy for problem in refused.value.problems)


# ---- names -------------------------------------------------------------------------------------------------

NAMES = st.sampled_from(["a", "b", "a b", "ab", "a.1", "b.1", "a b.1", "joint a", "c.a", "", "a."])


@given(st.recursive(NAMES, lambda inner: st.lists(inner, max_size=3).map(tuple)))
def test_exchanged_twice_is_as_before(thing: object) -> None:
    """Names of parts and terminals, however deep they stand."""
    assert twins.exchanged(twins.exchanged(thing, "a", "b"), "a", "b") == thing


@given(NAMES)
def test_only_what_belongs_to_the_two_is_renamed(name: str) -> None:
    """No part is taken for another whose name begins alike."""
    belongs = name.split(".")[0] in ("a", "b")
    assert (twins.exchanged(name, "a", "b") != name) == belongs


def test_the_elements_of_a_machine_exchanged_twice_are_as_before() -> None:
    """With ends, devices and the unknowns that values share; and once changes those of the twins alone."""
    for element in COOKTOP.elements.values():
        once = twins.exchanged(element, *LARGE)
        assert twins.exchanged(once, *LARGE) == element
        assert (once == element) == (element.part not in (*LARGE, *(f"{x} receptacle" for x in PLACES)))


PLACES = ("left front", "right rear")


def test_rewired_twice_is_as_before() -> None:
    """Each wire and contact back where it was."""
    again = twins.rewired(twins.rewired(COOKTOP, *LARGE), *LARGE)
    assert again == COOKTOP


# ---- faults ------------------------------------------------------------------------------------------------


def test_a_twin_hands_over_its_own_faults_and_nothing_else() -> None:
    """The same mode of the other part, and back; receptacles, switches, joints and settings stay."""
    other = exchanging.partners(COOKTOP, BENCH.faults, LARGE)
    assert {BENCH.faults[i].subject for i in other} == set(LARGE)
    for one, its in other.items():
        assert other[its] == one
        assert BENCH.faults[one].mode == BENCH.faults[its].mode
        assert BENCH.faults[one].subject != BENCH.faults[its].subject


def test_effects_handed_over_twice_are_the_variants_own() -> None:
    """To exchange twice is to do nothing, size by size of every fault."""
    own = BENCH.singles.effects
    once = exchanging.effects(COOKTOP, BENCH.singles, LARGE)
    handed = (replace(v, effect=effect) for v, effect in zip(BENCH.singles.variants, once, strict=True))
    twice = exchanging.effects(COOKTOP, Candidates(BENCH.singles.faults, tuple(handed)), LARGE)
    assert list(twice) == own
    moved = [v for v, effect in zip(BENCH.singles.variants, once, strict=True) if effect != v.effect]
    assert {BENCH.faults[v.faults[0]].subject for v in moved} == set(LARGE)


def _glows(place: str, fault: str, exchange: tuple[str, ...]) -> float:
    at = conditions.condition(COOKTOP, COOKTOP.settings["all high"], exchange=exchange)
    number = next(i for i, one in enumerate(BENCH.faults) if one.name == fault)
    row = next(s for s, variant in enumerate(BENCH.singles.variants) if variant.faults == (number,))
    return float(BENCH.predictor.symptom(f"{place} glows", at, False)[row])


def test_a_fault_of_a_burner_goes_with_it() -> None:
    """An open burner: cold where it sits, whichever place that is."""
    assert [_glows(place, "left front burner: open", ()) > 0.5 for place in PLACES] == [False, True]
    assert [_glows(place, "left front burner: open", LARGE) > 0.5 for place in PLACES] == [True, False]


@pytest.mark.parametrize(
    "fault", ["left front receptacle: near contact burnt", "left front switch: line 1 open",
              "joint left front switch.H1: off", "left front switch: line 2 open"],
)  # fmt: skip
def test_a_fault_of_what_it_plugs_into_stays(fault: str) -> None:
    """Receptacle, switch and joint: the place stays cold with the other burner in it."""
    for exchange in ((), LARGE):
        assert [_glows(place, fault, exchange) > 0.5 for place in PLACES] == [False, True]


def test_another_pair_exchanged_moves_nothing_of_these() -> None:
    """The small burners change places: the large one that is open stays where it is."""
    assert [_glows(place, "left front burner: open", SMALL) > 0.5 for place in PLACES] == [False, True]


# ---- bad use -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "named", [("left front burner", "left rear burner"), ("left front burner",), ("left front burner",) * 2,
              ("left front switch", "right rear switch"), ("burner", "receptacle")],
)  # fmt: skip
def test_what_are_no_twins_are_not_exchanged(named: tuple[str, ...]) -> None:
    """Another size, one alone, one with itself, parts that do not plug in, parts that are not there."""
    with pytest.raises(WrongUse) as refused:
        conditions.condition(COOKTOP, exchange=named)
    assert refused.value.remedy


def test_a_machine_without_twins_says_so() -> None:
    """Instead of a list of nothing."""
    with pytest.raises(WrongUse, match="has no twins"):
        twins.known(loading.load("water-heater"), ("upper element", "lower element"))


def test_the_order_in_which_twins_are_named_is_the_files() -> None:
    """So that one exchange is one condition."""
    one, other = (conditions.condition(COOKTOP, exchange=pair) for pair in (LARGE, LARGE[::-1]))
    assert one == other
    assert one.own == conditions.condition(COOKTOP)
