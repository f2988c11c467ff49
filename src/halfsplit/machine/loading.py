"""Reads a machine file: text to tree to grammar to model, and the static rules' word on it.

``load`` raises ``BadInput`` with everything that keeps the file from being read; ``examine`` returns them and
adds what the static rules find in a file that can be read. Knows the order of the steps, none of their insides.
"""

from __future__ import annotations

import contextlib
from pathlib import Path

from pydantic import ValidationError

from halfsplit.errors import BadInput, Problem, WrongUse
from halfsplit.machine import library, merging, mistyped, part_types, pruning, tree
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.expand.machine import Sheet, expand
from halfsplit.machine.format import MachineFile
from halfsplit.machine.model import Machine

__all__ = ["examine", "examine_text", "load", "load_text", "read_sheet"]


def load(name_or_path: str | Path) -> Machine:
    """The machine of a file or of the library; ``BadInput`` (all problems) or ``WrongUse`` (no such machine).

    >>> load("vented-dryer").kind
    'tumble dryer'
    """
    name, text, path = library.find(str(name_or_path))
    return read_sheet(text, name, path).machine


def load_text(text: str, name: str) -> Machine:
    """The machine of a text; `name` is what its problems call the file."""
    return read_sheet(text, name, None).machine


def examine(name_or_path: str | Path) -> tuple[Machine | None, list[Problem]]:
    """The machine, if the file can be read, and all its problems, those of the static rules included.

    Raises ``WrongUse`` only, where the library has no machine of that name.
    """
    try:
        name, text, path = library.find(str(name_or_path))
        return examine_text(text, name, path)
    except BadInput as error:
        return None, list(error.problems)


def examine_text(text: str, name: str, path: Path | None = None) -> tuple[Machine | None, list[Problem]]:
    """The same for a text."""
    from halfsplit.machine.rules import catalogue  # only a check needs the rules

    try:
        sheet, complaints = read_with_complaints(text, name, path)
    except BadInput as error:
        return None, list(error.problems)
    with contextlib.suppress(BadInput):  # so many that it stops: they are all in the complaints
        catalogue.apply(sheet, complaints)
    return sheet.machine, sorted(complaints.problems)


def read_sheet(text: str, name: str, path: Path | None = None) -> Sheet:
    """A machine with its file; raises ``BadInput``."""
    return read_with_complaints(text, name, path)[0]


def read_with_complaints(text: str, name: str, path: Path | None) -> tuple[Sheet, Complaints]:
    """The same, with its complaints, of which there are none yet: the static rules add theirs."""
    file = str(path) if path else name
    root = _with_like(tree.compose(text, file), path)
    complaints = Complaints(root)
    found, broken = _grammar(root, complaints)
    sheet = expand(name, found, part_types.table(), complaints, broken) if found is not None else None
    if sheet is None or complaints.problems:
        raise BadInput(complaints.problems)
    return sheet, complaints


def _with_like(root: tree.Node, path: Path | None) -> tree.Node:
    """The tree, merged with that of the machine it is like."""
    like = tree.reach(root, ("like",))
    if like is None:
        return root
    if not isinstance(like.value, str) or not like.value:
        raise BadInput([like.spot.problem("'like' must be the name of one machine.", "Write `like: vented-dryer`.")])
    base = tree.compose(*_other(like, path))
    if tree.reach(base, ("like",)) is not None:
        message = f"'{like.value}' is itself like another machine."
        raise BadInput([like.spot.problem(message, "Name that other one: only one level is read.")])
    if not isinstance(base.value, dict):
        raise BadInput([like.spot.problem(f"'{like.value[:60]}' is no machine file.", "Name another.")])
    return merging.merge(base, root)


def _other(like: tree.Node, path: Path | None) -> tuple[str, str]:
    """Text and file name of the machine that is named: of the library, or a file in the same folder."""
    name = str(like.value)
    beside = path.parent / f"{name}.yaml" if path and not set(name) & set("/\\\0") else None
    if name in library.names():
        return library.text(name), name
    if beside is not None and beside.is_file():
        return library.read(beside), str(beside)
    try:
        return library.text(name), name
    except WrongUse as error:
        raise BadInput([like.spot.problem(error.message, error.remedy)]) from None


def _grammar(root: tree.Node, complaints: Complaints) -> tuple[MachineFile | None, frozenset[str]]:
    """The file by the grammar; what breaks it is complained of and taken out of the tree, so that all else is read, and
    the entries among it are named as broken. None where what is left is no machine."""
    if not isinstance(root.value, dict):
        complaints.add((), "A machine file is a mapping of keys.", "Begin it with `format: halfsplit machine 1`.")
        return None, frozenset()
    broken: set[str] = set()
    while True:
        try:
            return MachineFile.model_validate(tree.plain(root)), frozenset(broken)
        except ValidationError as error:
            meant, others = complaints.of_grammar(error, MachineFile)
        mistyped.read_as_meant(root, meant)
        taken = pruning.prune(root, others)
        if taken is None:
            return None, frozenset(broken)
        broken |= taken
