"""A repair whose part is not on the van costs a second trip wherever it is priced; nothing else changes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from halfsplit.errors import BadInput, WrongUse
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import loading
from halfsplit.modes.fault import Repair
from halfsplit.plan import ahead, score, visit, worth
from halfsplit.rehearse import compare, trials
from halfsplit.rehearse.play import Choice, Played, as_advised, parts_in_vain
from halfsplit.service import machines, pacing
from halfsplit.work import pace_file, prices, refusals
from halfsplit.work.pace import Factor, Pace, on_van, paced
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser

HEAD = "format: halfsplit pace 1\n"
COLD = f.Perceived("water gets hot", False, None, "owner")
Van = tuple[str, ...] | None


@cache
def with_van(name: str, van: Van) -> score.Adviser:
    """The adviser of a machine whose shop has these parts on the van; its table is that of the machine without."""
    usual = adviser(name)
    return score.Adviser(Bench(paced(usual.bench.machine, Pace({}, van=van))), usual.table)


def believed(one: score.Adviser) -> Weighed:
    """After the complaint of a cold tank."""
    return one.bench.weigh([COLD], with_pairs=False)


# ---- the price ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_each_repair_that_brings_a_part_costs_just_one_trip_more(name: str) -> None:
    """Of every repair of a machine, with an empty van, a full one, and none; what brings no part never takes one."""
    for repair in adviser(name).bench.repairs.values():
        usual = prices.price(repair).minutes
        of_wires = repair.subject.startswith(("wire ", "joint "))
        brings = repair.by == "repairer" and "replace" in repair.name and not of_wires
        more = prices.price(repair, van=[]).minutes - usual
        assert more == pytest.approx(prices.SECOND_TRIP if brings else 0.0), repair
        assert prices.price(repair, van=[repair.subject]) == prices.price(repair)


def test_one_trip_fetches_all() -> None:
    """Two parts, one of them or none on the van."""
    pair = [Repair(f"replace {name}", name, 10.0, 15.0, ()) for name in ("fuse", "belt")]
    trips = [prices.price_together(pair, van=van).trip for van in (None, ["fuse", "belt"], ["fuse"], [])]
    assert trips == [0.0, 0.0, prices.SECOND_TRIP, prices.SECOND_TRIP]
    assert prices.to_fetch(pair, ["fuse"]) == ("belt",)


def test_a_part_bought_in_vain_was_fetched_in_vain() -> None:
    """In rehearsals."""
    fuse = Repair("replace fuse", "fuse", 5.0, 15.0, ())
    assert parts_in_vain([fuse], set(), van=[]) == {"fuse": 10.0 + prices.SECOND_TRIP}
    assert parts_in_vain([fuse], set(), van=["fuse"]) == parts_in_vain([fuse], set()) == {"fuse": 10.0}


# ---- who plans ---------------------------------------------------------------------------------------------


def test_the_arrays_of_the_plan_hold_the_trip() -> None:
    """Of every set of repairs: with what one needs not on the van a trip more, handing over as before."""
    usual, empty = (ahead.Ahead(with_van("water-heater", van)).view(believed(with_van("water-heater", van)), JobState())
                    for van in (None, ()))  # fmt: skip
    known = with_van("water-heater", ()).bench.repairs
    assert usual.repairs == empty.repairs
    more = [prices.SECOND_TRIP if prices.to_fetch([known[n] for n in names], ()) else 0.0 for names in usual.repairs]
    assert (empty.problem.repair_price - usual.problem.repair_price).tolist() == pytest.approx(more)
    assert max(more) > 0 == more[-1]


def test_with_all_on_the_van_nothing_changes() -> None:
    """To the last bit: the arrays, the steps advised, their bits and minutes, and whether they pay."""
    everything = tuple(adviser("water-heater").bench.machine.parts)
    usual, full = (with_van("water-heater", van) for van in (None, everything))
    state = JobState()
    views = [ahead.Ahead(one).view(believed(one), state).problem for one in (usual, full)]
    assert views[0].repair_price.tolist() == views[1].repair_price.tolist()
    advised = [one.next_steps(believed(one), state, 5) for one in (usual, full)]
    assert advised[0] == advised[1]
    paying = [[one.pays(believed(one), step) for step in advised[0]] for one in (usual, full)]
    assert paying[0] == paying[1]


def test_without_a_word_of_a_van_the_machine_is_as_before() -> None:
    """The same machine, field by field."""
    heater = adviser("water-heater").bench.machine
    assert paced(heater, Pace({})) == heater
    assert heater.van is None
    assert paced(heater, Pace({}, van=())).van == frozenset()


SLOW = {"bays": Factor(3.0), "changing": Factor(3.0)}
SEED = 1
"""A job that stands below what is sure, for the condenser fan, where no step pays any more."""


def played(van: Van) -> Played:
    """One job of a shop that opens and isolates slowly; the owner is out."""
    cold = paced(loading.load("refrigerator"), Pace(SLOW, van=van))
    one = score.Adviser(Bench(cold), adviser("refrigerator").table)
    advised = as_advised(one)

    def choose(found: Weighed, state: JobState) -> Choice | None:
        return advised(found, replace(state, refused=state.refused | {refusals.NoOwner()}))

    return compare.Following(trials.Rehearsal(one, trials.Asked(cold, seed=SEED)), choose).trial(SEED)


def test_more_is_found_out_before_a_needless_trip() -> None:
    """The likeliest part is not on the van: two steps more, which make it sure. With it there, as if nothing were
    said."""
    usual, empty, aboard = (played(van) for van in (None, (), ("condenser fan",)))
    assert aboard == usual
    assert usual.claimed < worth.SURE
    assert empty.findings[: len(usual.findings)] == usual.findings
    assert (empty.steps, empty.repairs) == (usual.steps + 2, ("replace condenser fan",))
    assert empty.claimed > worth.SURE


def test_before_a_visit_what_is_on_the_van_is_neither_carried_nor_saved_again() -> None:
    """It covers what it covers; the rest is as on an empty van, which is what is taken where nothing is said."""
    none, empty, some = (with_van("water-heater", van) for van in (None, (), ("upper element",)))
    loads = [visit.van(one.bench.machine, believed(one)) for one in (none, empty, some)]
    assert loads[0] == loads[1]
    parts = {part.name: part for part in loads[2].parts}
    assert parts["upper element"].aboard
    assert (parts["upper element"].saving, parts["upper element"].trip) == (0.0, 0.0)
    others = [part for part in loads[0].parts if part.name != "upper element"]
    assert [part for part in loads[2].parts if not part.aboard] == others
    assert loads[2].covered == pytest.approx(loads[0].covered)
    lost = [visit.unsure_load(believed(one)) for one in (none, some)]
    assert lost[0] - lost[1] == pytest.approx(prices.CARRYING)  # likely enough that it would be carried


# ---- names -------------------------------------------------------------------------------------------------


def test_a_parts_own_name_means_it_alone_and_a_type_all_of_that_type() -> None:
    """On the dryer a thermal fuse is a part, and the type of two; its title names the cut-off."""
    dryer = loading.load("vented-dryer")
    assert on_van(dryer, ["thermal fuse"]) == {"thermal fuse"}
    assert on_van(dryer, ["one-shot cut-off"]) == {"cut-off"}
    assert on_van(dryer, ["roller"]) == {name for name, part in dryer.parts.items() if part.type == "roller"}
    assert on_van(dryer, ["upper element"]) == frozenset()


def test_a_van_is_read_as_it_was_written() -> None:
    """Names that YAML would read otherwise too; a van alone is a pace file; an empty van is not no van."""
    for van in (None, (), ("belt", "thermal fuse"), ("a, b", "[x]", "no", 'say "so"', "cut-off")):
        assert pace_file.read(pace_file.written(Pace({"bays": Factor()}, van=van), 0), "shop.yaml").van == van
    assert pace_file.read(HEAD + "van: [belt]", "shop.yaml") == Pace({}, van=("belt",))


@pytest.mark.parametrize(
    ("text", "column", "says", "remedy"),
    [
        ("van: belt", 6, "is a list", "van: [belt, thermal fuse]"),
        ("van: [[belt]]", 7, "is a name", "van: [belt, thermal fuse]"),
        ("van: [belt, thermel fuse]", 13, "a type of part 'thermel fuse'", "Did you mean 'thermal fuse'"),
        ("van: [qqqq]", 7, "'qqqq'", "is named by its type"),
    ],
)
def test_mistakes_are_told_with_place_and_remedy(
    text: str, column: int, says: str, remedy: str, tmp_path: Path
) -> None:
    """Where a machine is named, so that its parts and those of the library are known."""
    shop = tmp_path / "shop.yaml"
    shop.write_text(HEAD + text, encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        machines.load("vented-dryer", str(shop))
    (problem,) = refused.value.problems
    assert (problem.line, problem.column) == (2, column)
    assert says in problem.message
    assert remedy in problem.remedy


def test_parts_of_other_machines_may_be_on_it(tmp_path: Path) -> None:
    """One file of a shop for all its machines."""
    shop = tmp_path / "shop.yaml"
    shop.write_text(HEAD + "van: [belt, upper element, roller]", encoding="utf-8")
    assert machines.load("water-heater", str(shop)).van == frozenset({"upper element"})
    assert machines.load("vented-dryer", str(shop)).van == frozenset({"belt", "idler", "drum rollers"})


def test_learning_a_pace_takes_the_van_too() -> None:
    """In the data and the file; a name that no machine has is refused."""
    heater = loading.load("water-heater")
    found = pacing.learn([(heater, [])], van=["limit", "belt"])
    assert found["van"] == ["limit", "belt"]
    assert pace_file.read(found["file"], "x").van == ("limit", "belt")
    assert pacing.learn([(heater, [])])["van"] is None
    with pytest.raises(WrongUse, match="'limt'"):
        pacing.learn([(heater, [])], van=["limt"])
