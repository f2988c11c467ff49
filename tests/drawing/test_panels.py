"""The pictures beside the wiring say what they were given."""

from __future__ import annotations

from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit import errors
from halfsplit.drawing import check
from halfsplit.drawing.pictures import bars, bays, chart, curve, face, wire_list
from tests.drawing import panels, samples

SVG = "{http://www.w3.org/2000/svg}"


def _nodes(text: str, name: str) -> list[ElementTree.Element]:
    return [node for node in ElementTree.fromstring(text).iter() if name in node.get("class", "").split()]


@pytest.mark.parametrize("name", panels.PANELS)
def test_words_lie_on_the_page_and_not_on_each_other(name: str) -> None:
    """No two lines of text overlap, and none leaves the page."""
    reading = check.read(panels.PANELS[name]())
    for one, two in combinations(reading.texts, 2):
        assert not one.overlaps(two, 0.2), f"{one.what} on {two.what}"
    for text in reading.texts:
        assert text.left >= 0
        assert text.right <= reading.size[0]
        assert text.bottom <= reading.size[1]


@pytest.mark.parametrize("name", panels.PANELS)
def test_the_same_picture_has_the_same_bytes(name: str) -> None:
    """Drawn twice, a picture is the same text."""
    assert panels.PANELS[name]() == panels.PANELS[name]()


@given(st.lists(st.lists(st.booleans(), min_size=5, max_size=5), min_size=1, max_size=6))
def test_a_chart_shows_every_closed_contact(states: list[list[bool]]) -> None:
    """The cells that the bars cover are those in which a contact is closed."""
    contacts = tuple(chart.Contact(f"A - {i}", "load", tuple(row)) for i, row in enumerate(states))
    text = chart.drawn(chart.Chart("Timer", ("a", "b", "c", "d", "e"), contacts))
    grid = sorted(
        {float(node.get("d", "").split()[0][1:]) for node in _nodes(text, "grid") if "V" in node.get("d", "")}
    )
    wide = grid[1] - grid[0]
    for contact in contacts:
        bars_ = [node for node in _nodes(text, "on") if node.get("data-contact") == contact.terminals]
        covered = [
            any(
                float(b.get("x", "0"))
                < grid[0] + (p + 0.5) * wide
                < float(b.get("x", "0")) + float(b.get("width", "0"))
                for b in bars_
            )
            for p in range(5)
        ]
        assert tuple(covered) == contact.closed


def test_a_chart_refuses_a_contact_without_all_states() -> None:
    """A contact that does not say a state for every position is named."""
    wrong = chart.Chart("Timer", ("off", "on"), (chart.Contact("A - B", "heat", (True,)),))
    with pytest.raises(errors.WrongUse, match="A - B"):
        chart.drawn(wrong)


def test_bars_are_as_long_as_their_shares() -> None:
    """Widths of the bars are in the proportion of the probabilities."""
    shares = (0.5, 0.25, 0.125)
    text = bars.drawn("Causes", [bars.Cause(f"cause {i}", share) for i, share in enumerate(shares)])
    widths = [float(node.get("width", "0")) for node in _nodes(text, "bar")]
    assert widths == pytest.approx([widths[0], widths[0] / 2, widths[0] / 4], rel=1e-3)


def test_bars_refuse_what_is_no_probability() -> None:
    """A share above one is refused by name."""
    with pytest.raises(errors.WrongUse, match="belt"):
        bars.drawn("Causes", [bars.Cause("belt off", 1.2)])


def test_bays_stand_under_the_bay_they_lie_behind() -> None:
    """Each bay follows the bay it lies behind, one step further in."""
    found = [bays.Bay("b", behind="a"), bays.Bay("a"), bays.Bay("c", behind="b"), bays.Bay("d")]
    assert [(depth, bay.name) for depth, bay in bays.ordered(found)] == [(0, "a"), (1, "b"), (2, "c"), (0, "d")]


def test_bays_that_cannot_be_reached_are_refused() -> None:
    """Two bays behind each other are named."""
    with pytest.raises(errors.WrongUse, match="a, b"):
        bays.drawn("Bays", [bays.Bay("a", behind="b"), bays.Bay("b", behind="a")])


def test_a_face_shows_every_pin_and_lead() -> None:
    """Every cavity is there by its name, and the leads are on theirs."""
    cavities = _nodes(panels.plug_face(), "cavity")
    assert [node.get("data-terminal") for node in cavities] == ["1", "2", "3", "4", "5", "6"]
    assert {node.get("data-terminal"): node.get("data-lead") for node in cavities if node.get("data-lead")} == {
        "1": "red",
        "3": "black",
    }


def test_a_face_without_pins_is_drawn_empty() -> None:
    """No cavity is no error."""
    assert _nodes(face.drawn(face.Face("Plug", ())), "cavity") == []


@given(st.floats(-50, 50), st.floats(0.1, 500), st.integers(2, 9))
def test_ticks_are_round_and_within_the_range(low: float, span: float, most: int) -> None:
    """Ticks lie in the range, evenly, and there are not many more than asked for."""
    found = curve.ticks(low, low + span, most)
    assert all(low - 1e-6 * span <= tick <= low + span * (1 + 1e-6) for tick in found)
    assert len(found) <= most + 1
    steps = {round((b - a) / span, 9) for a, b in pairwise(found)}
    assert len(steps) <= 1


def test_a_curve_passes_through_its_points_in_proportion() -> None:
    """Twice the value is twice as far above the axis of a curve that starts at the lowest value."""
    text = curve.drawn(curve.Course("Course", (curve.Curve("c", ((0, 0), (1, 10), (2, 20))),)))
    path = next(node.get("d", "") for node in _nodes(text, "curve") if node.get("data-curve"))
    (x0, y0), (x1, y1), (x2, y2) = (tuple(map(float, pair.split())) for pair in path[1:].split("L"))
    assert x1 - x0 == pytest.approx(x2 - x1, abs=0.02)
    assert y0 - y1 == pytest.approx(y1 - y2, abs=0.02)


def test_a_course_without_points_is_refused() -> None:
    """Nothing to draw is said in words."""
    with pytest.raises(errors.WrongUse, match="nothing"):
        curve.drawn(curve.Course("Course", ()))


def test_the_wire_list_names_every_wire_once() -> None:
    """Each wire of the sheet has its chip and both its ends in words, and nothing lies on anything."""
    sheet = samples.dryer()
    text = wire_list.drawn(sheet)
    shown = [node.get("data-wire") for node in _nodes(text, "wire-chip")]
    assert sorted(map(str, shown)) == sorted(f"{wire.start}-{wire.end}" for wire in sheet.wires)
    reading = check.read(text)
    assert not any(one.overlaps(two, 0.2) for one, two in combinations([*reading.texts, *reading.chips], 2))
