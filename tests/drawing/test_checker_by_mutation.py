"""The checker is itself checked: every defect planted in a good picture must be found."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from xml.etree import ElementTree

import pytest

from halfsplit.drawing import check, wiring
from halfsplit.drawing.sheet import Sheet
from tests.depth import some
from tests.drawing import netlists, samples

Change = Callable[[], None]
ElementTree.register_namespace("", "http://www.w3.org/2000/svg")


def _by_class(root: ElementTree.Element, name: str) -> list[tuple[ElementTree.Element, ElementTree.Element]]:
    """Nodes of a class with their parents."""
    return [(p, node) for p in root.iter() for node in list(p) if name in node.get("class", "").split()]


def _copy(root: ElementTree.Element) -> ElementTree.Element:
    return ElementTree.fromstring(ElementTree.tostring(root))


def _dropped(root: ElementTree.Element, name: str) -> Iterator[ElementTree.Element]:
    """The picture without one node of a class, for each."""
    for number in range(len(_by_class(root, name))):
        changed = _copy(root)
        parent, node = _by_class(changed, name)[number]
        parent.remove(node)
        yield changed


def _swapped(root: ElementTree.Element, sheet: Sheet) -> Iterator[ElementTree.Element]:
    """The picture with the names of two terminals of different nets exchanged, for neighbours in the file."""
    net_of = sheet.net_of()
    for number in range(len(_by_class(root, "terminal")) - 1):
        changed = _copy(root)
        one, two = (node for _, node in _by_class(changed, "terminal")[number : number + 2])
        names = one.get("data-terminal", ""), two.get("data-terminal", "")
        if net_of[names[0]] != net_of[names[1]]:
            one.set("data-terminal", names[1])
            two.set("data-terminal", names[0])
            yield changed


def _shifted(root: ElementTree.Element) -> Iterator[ElementTree.Element]:
    """The picture with the end of one wire moved by 4 px along it, for each wire."""
    for number, (_, wire) in enumerate(_by_class(root, "wire")):
        changed = _copy(root)
        (x, y), (u, v) = check._points(wire.get("d", ""))
        end = f"H{u + 4}" if y == v else f"V{v + 4}"
        _by_class(changed, "wire")[number][1].set("d", f"M{x} {y}{end}")
        yield changed


def _slanted(root: ElementTree.Element) -> Iterator[ElementTree.Element]:
    """The picture with one wire made a little slanted, for each wire."""
    for number, (_, wire) in enumerate(_by_class(root, "wire")):
        changed = _copy(root)
        (x, y), (u, v) = check._points(wire.get("d", ""))
        _by_class(changed, "wire")[number][1].set("d", f"M{x} {y}L{u + 3} {v + 3}")
        yield changed


def _moved(root: ElementTree.Element, name: str, by: float) -> Iterator[ElementTree.Element]:
    """The picture with one chip moved off its wire, for each."""
    for number in range(len(_by_class(root, name))):
        changed = _copy(root)
        for rect in _by_class(changed, name)[number][1].iter():
            for axis in ("x", "y"):
                rect.set(axis, str(float(rect.get(axis, "0")) + by))
        yield changed


def _planted(root: ElementTree.Element, sheet: Sheet) -> dict[str, list[ElementTree.Element]]:
    return {
        "wire dropped": list(_dropped(root, "wire")),
        "dot dropped": list(_dropped(root, "dot")),
        "symbol dropped": list(_dropped(root, "symbol")),
        "terminals swapped": list(_swapped(root, sheet)),
        "wire end shifted": list(_shifted(root)),
        "wire slanted": list(_slanted(root)),
        "chip off its wire": list(_moved(root, "wire-chip", 11.0)),
    }


def _sheets() -> dict[str, Sheet]:
    return {
        "dryer": samples.dryer(),
        "refrigerator": samples.refrigerator(),
        "random": netlists.netlist(4, most=16)[0],
    }


@pytest.mark.parametrize("name", ["dryer", "refrigerator", "random"])
def test_every_planted_defect_is_found(name: str) -> None:
    """Each dropped wire, dot or symbol, swapped terminal, shifted or slanted wire, moved chip gives a finding."""
    sheet = _sheets()[name]
    picture = wiring.across(sheet).svg
    assert check.findings(picture, sheet) == []
    root = ElementTree.fromstring(picture)
    for what, planted in _planted(root, sheet).items():
        assert planted, what
        changed = some(planted, 5)
        texts = (ElementTree.tostring(mutant, encoding="unicode") for mutant in changed)
        missed = [number for number, text in enumerate(texts) if not check.findings(text, sheet)]
        assert not missed, f"{what}: {len(missed)} of {len(changed)} not found, the first is {missed[0]}"
