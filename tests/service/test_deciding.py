"""`why` at a repair tells every price that decides: of the repair, of a second trip, of a wrong one, of handing over.

Judge: the terms of `work/prices`, added up here, and the rule of `plan/worth` as the adviser applies it.
"""

from __future__ import annotations

from dataclasses import fields

import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.modes.fault import Repair
from halfsplit.plan import worth
from halfsplit.plan.score import Adviser
from halfsplit.quantity.display import duration
from halfsplit.service import advising, deciding, diagnosing, repairing
from halfsplit.service.guiding import Guided
from halfsplit.work import prices
from halfsplit.work.refusals import CannotOpen
from tests.plan.test_worth import NOT_THE_TANK, NOT_THE_VALVE
from tests.rehearse.benches import adviser
from tests.work.test_van import with_van
from tools import json_examples

ELEMENT, TANK = "replace upper element", "tank: replace the whole appliance"
COLD = f.Perceived("water gets hot", False)


def told(asked: Adviser, name: str, refused: frozenset[object] = frozenset()) -> tuple[Repair, str]:
    """The repair of this name and all that `why` says of it after the complaint of cold water."""
    repair = asked.bench.repairs[name]
    return repair, " ".join(deciding.why(Guided(asked, (COLD,), refused), [repair]))


@pytest.mark.parametrize("name", [ELEMENT, TANK])
@pytest.mark.parametrize("van", [None, (), ("upper element", "tank")], ids=["no van", "empty", "on it"])
def test_every_term_of_the_price_is_told(name: str, van: tuple[str, ...] | None) -> None:
    """Its minutes and parts, the trial, another visit; the second trip just where the part is not on the van."""
    repair, said = told(with_van("water-heater", van), name)
    price = prices.price(repair, van=van)
    assert {one.name for one in fields(price)} == {"work", "part", "proof", "again", "trip"}
    assert f"{duration(price.work)} for the repair itself" in said
    assert f"for parts are worth {duration(price.part)}" in said
    assert f"To see whether it cured counts {duration(price.proof)}" in said
    assert f"another visit would take {duration(price.again)} more" in said
    trip = f"Not on the van: {repair.subject}. A second trip takes {duration(prices.SECOND_TRIP)}."
    assert (trip in said) == (van == ())
    assert ("fetching" in said) == (van == ())


def test_where_nothing_is_said_of_a_van_that_is_told() -> None:
    """Of a repair that needs a part, which may have to be fetched all the same; not of one that needs none."""
    assert deciding.NO_VAN in told(with_van("water-heater", None), ELEMENT)[1]
    asked = adviser("water-heater")
    (name, *_) = (name for name, one in asked.bench.repairs.items() if not prices.to_fetch([one], ()))
    assert deciding.NO_VAN not in told(asked, name)[1]
    for van in ((), ("upper element",)):
        assert deciding.NO_VAN not in told(with_van("water-heater", van), ELEMENT)[1]


@pytest.mark.parametrize(
    ("found", "name"), [((COLD,), ELEMENT), (NOT_THE_VALVE, TANK), (NOT_THE_TANK, "replace drain valve")]
)
@pytest.mark.parametrize("van", [None, ()], ids=["no van", "empty"])
def test_what_a_wrong_repair_is_taken_to_cost_is_told(
    found: tuple[f.Finding, ...], name: str, van: tuple[str, ...] | None
) -> None:
    """The number by which the rule asks whether a step pays: the whole price of the likeliest, whichever is made, and
    at least the least."""
    asked = with_van("water-heater", van)
    price = prices.price(asked.bench.repairs[name], van=van)
    taken = max(price.work + price.part + price.proof + price.again + price.trip, worth.WRONG_REPAIR)
    assert asked.wasted([name]) == pytest.approx(taken)
    for made in (ELEMENT, TANK):
        said = " ".join(deciding.why(Guided(asked, found), [asked.bench.repairs[made]]))
        assert f"Whether a step pays is judged with {duration(taken)} for a wrong repair" in said
        assert f"never below {duration(worth.WRONG_REPAIR)}" in said


def test_handing_over_is_priced_where_the_repair_cannot_be_reached() -> None:
    """Behind a cover that will not open: what looking ahead takes it for; nothing of it where the way is free."""
    refused = frozenset[object]({CannotOpen("upper cover")})
    asked = adviser("water-heater")
    sentence = f"handing over what cannot be reached is priced at {duration(prices.HANDING_OVER.minutes)}"
    repair, barred = told(asked, ELEMENT, refused)
    assert repairing.BARRED in repairing.work(Guided(asked, (COLD,), refused), [repair]).first
    assert sentence in barred
    assert "handing over" not in told(asked, ELEMENT)[1]


def test_at_another_trades_repair_handing_over_in_vain_has_its_price() -> None:
    """`why` at that stop, by the rule's own number."""
    asked = adviser("water-heater")
    (name, due) = next((name, one) for name, one in asked.bench.repairs.items() if one.by == "electrician")
    stop = advising.handed_over(asked, "fixed wiring", [name])
    taken = max(prices.price(due).minutes, worth.WRONG_REPAIR)
    assert f"{duration(taken)} for handing over in vain" in stop.spent
    assert stop.spent not in stop.reason


CHANGED_OVER = json_examples.FILES["changed over.yaml"]
COMMON = """\
- symptom: {what: water gets hot, value: no}
- reading: {meter: ohms, red: upper element.1, black: upper element.2, lift: [upper element.1], value: OL}
"""


def test_diagnose_tells_the_same_as_the_guide() -> None:
    """The sentences of the talk at the repair, where why is asked and a repair is due; none where a step comes first,
    and no field where nobody asks."""
    machine = adviser("water-heater").bench.machine
    found = findings_file.read(COMMON, "findings.yaml", machine)
    now = guided(COMMON)
    assert now.due
    assert diagnosing.diagnose(machine, found, why="1")["enough"]["why"] == list(deciding.why(now, now.due))
    assert diagnosing.diagnose(machine, found[:1], why="1")["enough"]["why"] == []
    assert "why" not in diagnosing.diagnose(machine, found)["enough"]


def test_a_repair_that_only_looking_ahead_makes_due_says_so() -> None:
    """Instead of a comparison with the best step one step ahead, by which that would come first."""
    now = guided(COMMON)
    assert deciding.why(now, now.due, ahead=True)[-1] == deciding.AHEAD
    assert deciding.why(now, now.due)[:-1] == deciding.why(now, now.due, ahead=True)[:-1]


def guided(text: str) -> Guided:
    """The water heater after these findings."""
    asked = adviser("water-heater")
    return Guided(asked, tuple(findings_file.read(text, "findings.yaml", asked.bench.machine)))


def test_what_only_looks_like_a_rare_repair_is_told() -> None:
    """Wires changed over within a part, by readings alone: all that stands against it is what is in no file, which is
    told wherever the repair is; no step can tell more, but it is not said to be sure. Of a common fault nothing is."""
    rare, common = guided(CHANGED_OVER), guided(COMMON)
    (repair,) = rare.due
    doubt = deciding.doubt(rare.weighed)
    assert doubt is not None
    assert doubt.startswith(f"In about {100 * rare.weighed.lookalike:.0f} of 100 something else, not in the file,")
    assert doubt in " ".join(deciding.why(rare, [repair]))
    assert rare.cures + rare.weighed.lookalike > 0.98
    assert rare.made_first[1] > worth.SURE > 0.8 > rare.cures
    enough = diagnosing.enough(rare, settled=True)
    assert enough["known"]
    assert not enough["sure"]
    assert enough["doubt"] == doubt
    assert common.is_sure
    assert deciding.doubt(common.weighed) is None
