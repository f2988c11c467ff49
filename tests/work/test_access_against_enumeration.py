"""Opening and putting together, judged by trying every set of bays."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from halfsplit import errors
from halfsplit.work.access import OUTSIDE, Access, Bay, Fastener

DRYER = [
    Bay("console", opening=5, closing=5, fasteners=(Fastener(2, "T20"),)),
    Bay("top", opening=3, closing=3, fasteners=(Fastener(2, "PH2"),)),
    Bay("front", "top", 6, 8, (Fastener(4, "T20"),), ("door switch plug", "ground screw"), people=2),
    Bay("drum", "front", 4, 7, caution="sharp edges"),
]


def drawn(seed: int) -> tuple[Access, list[str]]:
    """A random machine of seven bays with nine places, each reached through up to three of them."""
    random = np.random.default_rng(seed)
    names = [f"bay {number}" for number in range(7)]
    behind = [OUTSIDE, *(str(random.choice([OUTSIDE, *names[:number]])) for number in range(1, 7))]
    minutes = random.integers(0, 9, (2, 7)).tolist()
    bays = [Bay(*one) for one in zip(names, behind, *minutes, strict=True)]
    places = {f"place {number}": random.choice(names, random.integers(1, 4)).tolist() for number in range(9)}
    return Access(bays, places), [str(place) for place in random.choice(sorted(places), 4)]


@pytest.mark.parametrize("seed", range(60))
def test_the_cheapest_openings(seed: int) -> None:
    """No set of bays that reaches the places is cheaper, whatever is open already."""
    access, places = drawn(seed)
    opened = {"bay 0"} if seed % 2 else set()
    best = min(
        sum(access.bays[name].opening + access.bays[name].closing for name in set(tried) - opened)
        for size in range(8)
        for tried in itertools.combinations(access.bays, size)
        if _reaches(access, set(tried) | opened, places)
    )
    assert access.minutes(places, opened) == best
    names = [bay.name for bay in access.to_open(places, opened)]
    assert _reaches(access, set(names) | opened, places)
    for place, name in enumerate(names):
        assert set(access.fronts[name]) <= opened | set(names[: place + 1])


def _reaches(access: Access, opened: set[str], places: list[str]) -> bool:
    ways = [[set(access.fronts[bay]) for bay in access.places[place]] for place in places]
    return all(any(way <= opened for way in of_place) for of_place in ways)


@pytest.mark.parametrize("seed", range(20))
def test_putting_together_closes_nothing_over_an_open_bay(seed: int) -> None:
    """A bay is closed only after every bay behind it; each is closed once and every fastener is counted."""
    access, _ = drawn(seed)
    opened = [bay.name for bay in access.to_open(list(access.bays))]
    closed = [bay.name for bay in access.put_together(opened).bays]
    assert sorted(closed) == sorted(opened)
    for place, name in enumerate(closed):
        assert not any(name in access.fronts[later] for later in closed[place + 1 :])


def test_putting_together_a_dryer() -> None:
    """The last opened comes first; fasteners add up; what came off is named; two people where one bay needs them."""
    access = Access(DRYER)
    list_ = access.put_together(["console", "top", "front", "drum"])
    assert [bay.name for bay in list_.bays] == ["drum", "front", "top", "console"]
    assert [str(fastener) for fastener in list_.fasteners] == ["2 x PH2", "6 x T20"]
    assert list_.reconnect == ("door switch plug", "ground screw")
    assert (list_.minutes, list_.people) == (23, 2)


def test_what_is_open_is_free_and_closing_is_priced_once() -> None:
    """Two places behind one front cost it once; with the front open only the rest is paid."""
    access = Access(DRYER)
    assert access.minutes(["front", "drum"]) == 3 + 3 + 6 + 8 + 4 + 7
    assert access.minutes(["drum"], ["top", "front"]) == 11
    assert access.minutes([OUTSIDE]) == 0


def test_a_photograph_before_something_comes_off() -> None:
    """Only bays with something to reconnect ask for a photograph."""
    assert [bay.name for bay in DRYER if bay.photograph] == ["front"]


def test_every_mistake_is_named_at_once() -> None:
    """A circle, an unknown front, a doubled name, negative minutes and a lost place in one message."""
    bays = [Bay("a", "b"), Bay("b", "a"), Bay("c", "cellar"), Bay("d", opening=-1), Bay("e"), Bay("e")]
    with pytest.raises(errors.WrongUse) as raised:
        Access(bays, {"pump": ["attic"]})
    for word in ("'a' is behind itself", "'cellar'", "'d' has negative", "'e' is there 2 times", "'pump'"):
        assert word in str(raised.value)


def test_an_unknown_place_is_answered_with_the_nearest() -> None:
    """The message names the place that was probably meant."""
    with pytest.raises(errors.WrongUse, match="Did you mean 'front'"):
        Access(DRYER).to_open(["frond"])
