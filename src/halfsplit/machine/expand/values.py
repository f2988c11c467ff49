"""The values of one part: what the file gives for each value of its type, read as the kind that the type says.

Knows one part's entry and its type; complains of values that are missing, unknown, or not of their kind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.machine import amounts, tree
from halfsplit.machine.expand.scope import Scope
from halfsplit.machine.part_types import PartType, ValueSpec
from halfsplit.machine.primitives import Value

__all__ = ["Given", "Resolved", "Values", "read_values"]

SELF = "self"
NONE = "none"
_NO = object()


@dataclass(frozen=True)
class Given:
    """A part as the file or the supply system gives it: its values as written, each with its path."""

    name: str
    type: str
    bay: str
    values: Mapping[str, Any]
    path: tree.Path
    paths: Mapping[str, tree.Path] = field(default_factory=dict)

    def where(self, value: str) -> tree.Path:
        """The path of a value."""
        return self.paths.get(value, (*self.path, value))


Resolved = Value | bool | str | tuple[str, ...] | tuple[tuple[float, float], ...] | dict[str, tuple[str, ...]] | None
Values = dict[str, Resolved]


def read_values(given: Given, spec: PartType, scope: Scope) -> Values | None:
    """The values of a part by name; None if any of them is wrong."""
    good = True
    for name in given.values:
        if name not in spec.values:
            remedy = did_you_mean(name, [*spec.values, "title", "price", "replace", "fails", "caution", "spare"])
            scope.complaints.add((*given.where(name),), f"A {given.type} has no value '{name[:40]}'.", remedy)
            good = False
    found: Values = {}
    for name, value in spec.values.items():
        read = _read(given, name, value, scope, found)
        if read is _NO:
            good = False
        else:
            found[name] = read
    return found if good else None


def _read(given: Given, name: str, spec: ValueSpec, scope: Scope, found: Values) -> Any:
    raw = given.values.get(name, spec.default)
    path = given.where(name)
    if raw is None:
        about = f" ({spec.about})" if spec.about else ""
        scope.complaints.add(given.path, f"'{given.name}' lacks '{name}'{about}.", f"Give it as {_example(spec)}.")
        return _NO
    try:
        return _Reader(given, name, spec, scope, found, path).read(raw)
    except WrongUse as error:
        scope.complaints.refuse(path, error, f"'{name}': ")
        return _NO


_BELOW_NOUGHT = ("°C", "K")
"""The kinds of number that may be nought or less."""
_EXAMPLES = {
    "V": "120 V", "A": "30 A", "W": "40 W", "ohm": "20 ohm ± 5 %", "F": "35 uF ± 6 %", "°C": "85 °C ± 5", "K": "10 K",
    "s": "5 s", "Hz": "60 Hz", "number": "a plain number", "yes or no": "yes or no", "chart": "{A-B: [on]}",
    "ends": "[1, 2]", "terminals": "[block.N, cabinet.metal]", "curve": "{25 °C: 10 kohm, 50 °C: 3.6 kohm}",
}  # fmt: skip


def _example(spec: ValueSpec) -> str:
    return f"`{_EXAMPLES[spec.kind]}`" if spec.kind in _EXAMPLES else f"the name of a {spec.kind}"


def _bad(message: str, remedy: str) -> WrongUse:
    return WrongUse(message, remedy)


def unknown(part: str, value: str) -> str:
    """The name of the unknown that is a value of a part: no other part's, and no element's, since no name that a file
    or a table gives holds a full stop or a dollar.

    >>> unknown("heater front", "ohms"), unknown("heater", "front ohms")
    ('heater front.$ohms', 'heater.$front ohms')
    """
    return f"{part}.${value}"


@dataclass(frozen=True)
class _Reader:
    """Reads one value by its kind; raises ``WrongUse``, or returns the token for a name already complained of."""

    given: Given
    name: str
    spec: ValueSpec
    scope: Scope
    found: Values
    path: tree.Path

    def read(self, raw: Any) -> Any:
        kind = self.spec.kind
        if kind in amounts.KINDS or kind == "number":
            value = amounts.value(self.text(raw), kind)
            if value.nominal <= 0 and kind not in _BELOW_NOUGHT and self.of_the_file:
                raise _bad("It must be above nought.", "Look at the sign and the digits.")
            return replace(value, shared=unknown(self.given.name, self.name)) if value.low != value.high else value
        return getattr(self, "read_" + kind.replace(" ", "_"))(raw)

    @property
    def of_the_file(self) -> bool:
        """Whether the file gives the value, for a part of the machine: the supply's values are looked at as such."""
        return self.name in self.given.values and not self.scope.types[self.given.type].house

    def text(self, raw: Any) -> str:
        if not isinstance(raw, str):
            raise _bad("This must be one text.", f"Give it as {_example(self.spec)}.")
        return raw

    def texts(self, raw: Any) -> tuple[str, ...]:
        items = [raw] if isinstance(raw, str) else raw
        if not isinstance(items, list | tuple) or not all(isinstance(item, str) for item in items):
            raise _bad("This must be a list of names.", f"Give it as {_example(self.spec)}.")
        return tuple(items)

    def read_yes_or_no(self, raw: Any) -> bool:
        return amounts.truth(self.text(raw))

    def read_text(self, raw: Any) -> str:
        return self.text(raw)

    def read_place(self, raw: Any) -> Any:
        return raw if self.scope.place(self.text(raw), self.path) else _NO

    def read_control(self, raw: Any) -> Any:
        name = self.given.name if self.text(raw) == SELF else self.text(raw)
        path = self.path if self.name in self.given.values else self.given.path
        return name if self.scope.control(name, path) else _NO

    def read_positions(self, raw: Any) -> Any:
        control = self.found.get("control")
        names = self.texts(raw)
        if isinstance(control, str) and not self.in_control(control, names, self.path):
            return _NO
        return names

    def in_control(self, control: str, names: tuple[str, ...], path: tree.Path) -> bool:
        listed = isinstance(getattr(tree.reach(self.scope.complaints.root, path), "value", ""), list)
        good = [self.scope.position(control, n, (*path, i) if listed else path) for i, n in enumerate(names)]
        return all(good)

    def read_chart(self, raw: Any) -> Any:
        if not isinstance(raw, dict) or not raw:
            raise _bad("This must be a chart.", "Write a line for each contact: `A-B: [positions]`.")
        chart = {key: self.texts(positions) for key, positions in raw.items()}
        good = [self.line(key, positions) for key, positions in chart.items()]
        return chart if all(good) else _NO

    def line(self, key: str, positions: tuple[str, ...]) -> bool:
        ends = [end.strip() for end in key.split("-")]
        if len(ends) != 2 or not all(ends) or ends[0] == ends[1] or "." in key or key.startswith("~"):
            remedy = "Write its two terminals with one hyphen between: `A-B`."
            self.scope.complaints.add((*self.path, key), f"'{key[:40]}' is no contact.", remedy)
            return False
        control = self.given.values.get("control", self.own_control())
        name = self.given.name if control == SELF else control
        if not isinstance(name, str) or name not in self.scope.controls:
            return True  # the control itself is complained of
        return self.in_control(name, positions, (*self.path, key))

    def own_control(self) -> Any:
        spec = self.scope.types[self.given.type].values.get("control")
        return spec.default if spec else None

    def read_ends(self, raw: Any) -> tuple[str, ...]:
        return self.two(raw)

    def two(self, raw: Any) -> tuple[str, ...]:
        names = self.texts(raw)
        if len(names) != 2 or names[0] == names[1] or not all(names):
            raise _bad("This must be two terminals.", f"Give it as {_example(self.spec)}.")
        return names

    def read_terminals(self, raw: Any) -> Any:
        return self.two(raw)  # whether they exist is looked up when all parts are known

    def read_element(self, raw: Any) -> str | None:
        return None if self.text(raw) == NONE else raw

    def read_curve(self, raw: Any) -> tuple[tuple[float, float], ...]:
        if not isinstance(raw, dict) or len(raw) < 2 or not all(isinstance(ohms, str) for ohms in raw.values()):
            raise _bad("This must be a curve.", f"Give it as {_example(self.spec)}.")
        points = sorted((amounts.value(t, "°C").nominal, amounts.value(o, "ohm").nominal) for t, o in raw.items())
        if any(ohms <= 0 for _, ohms in points) or len({t for t, _ in points}) < len(points):
            raise _bad("A curve has each temperature once, and ohms above nought.", "Look at its points.")
        return tuple(points)
