"""Which fault makes which other fault happen, as data: read for rehearsals, never for advice.

Knows the grammar of `machines/consequences/practice.yaml` and the faults of a machine.
"""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.errors import BadInput, Problem, did_you_mean
from halfsplit.machine import model, tree
from halfsplit.modes import listing
from halfsplit.modes.fault import Fault

KEYS = ("cause", "makes")


def read(text: str, file: str, machine: model.Machine) -> tuple[tuple[Fault, Fault], ...]:
    """The causes of a machine with what they make happen, or those of the machine that it names instead; none where the
    file does not name the machine.

    Raises BadInput with every problem, each with its line and column.
    """
    root = tree.compose(text, file)
    if not isinstance(root.value, dict):
        raise BadInput([root.spot.problem("These are no consequences by machine.", "Begin with a machine's name.")])
    node = root.value.get(machine.name)
    if node is not None and isinstance(node.value, str):
        node = root.value.get(node.value, node)
    if node is None:
        return ()
    if not isinstance(node.value, list):
        remedy = "Begin each line with '- {cause: ..., makes: ...}', or name a machine of this file that is like it."
        raise BadInput([node.spot.problem("This is no list.", remedy)])
    known = listing.by_name(machine)
    problems = [problem for one in node.value for problem in _mistakes(one, known)]
    if problems:
        raise BadInput(problems)
    return tuple((known[_text(one, "cause")], known[_text(one, "makes")]) for one in node.value)


def _mistakes(one: tree.Node, known: dict[str, Fault]) -> Iterator[Problem]:
    if not isinstance(one.value, dict) or set(one.value) != set(KEYS):
        yield one.spot.problem("A consequence has a cause and what it makes.", "Write {cause: ..., makes: ...}.")
        return
    for key, node in one.value.items():
        named = _text(one, key)
        if named not in known:
            yield node.spot.problem(f"The machine has no fault {named!r}.", did_you_mean(named, known))


def _text(one: tree.Node, key: str) -> str:
    assert isinstance(one.value, dict)
    return str(one.value[key].value)
