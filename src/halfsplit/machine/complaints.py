"""Gathers problems by their path in a file, and turns those of the grammar's models into plain sentences.

Knows the tree and the shape of pydantic's errors; knows nothing of what a machine is.
"""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ValidationError

from halfsplit.errors import BadInput, Problem, WrongUse, did_you_mean
from halfsplit.machine import mistyped, tree

__all__ = ["MOST", "Complaints"]


MOST = 100
"""So many problems are told at once; a file with more is not the file that was meant."""


class Complaints:
    """All that is wrong with one file, each with its place; with more than ``MOST``, ``BadInput`` ends it."""

    def __init__(self, root: tree.Node) -> None:
        self.root = root
        self.problems: list[Problem] = []

    def add(self, path: tree.Path, message: str, remedy: str = "", shift: int = 0) -> None:
        """Notes a problem at a path; `shift` moves it right within a text that holds several fields."""
        spot = tree.locate(self.root, path)
        problem = Problem(spot.file, spot.line, spot.column + shift, message, remedy)
        if problem in self.problems:
            return
        self.problems.append(problem)
        if len(self.problems) == MOST:
            self.problems.append(self.root.spot.problem(f"There are {MOST} problems, and more.", "Mend these first."))
            raise BadInput(self.problems)

    def refuse(self, path: tree.Path, error: WrongUse, what: str = "") -> None:
        """Notes what a reader of quantities has refused."""
        self.add(path, f"{what}{error.message}", error.remedy)

    def of_grammar(
        self, error: ValidationError, grammar: type[BaseModel]
    ) -> tuple[dict[tree.Path, str], list[tree.Path]]:
        """Notes every error of a model as a sentence; the keys that are not known, each with the one that was meant
        (see ``mistyped.found``), and the paths at which the other errors lie."""
        meant = mistyped.found(error, self.root, grammar)
        for path, key in meant.items():
            remedy = did_you_mean(str(path[-1])[:60], [key] if key else mistyped.known(grammar, path[:-1]))
            self.add(path, f"{_called(path)} is not known here.", remedy)
        told = {*meant, *((*path[:-1], key) for path, key in meant.items())}
        others = []
        for detail in error.errors(include_url=False):
            path = mistyped.of_detail(detail)
            if path not in told:
                self.add(path, *_sentence(detail, path))
                others.append(path)
        return meant, others


def _sentence(detail: Any, path: tree.Path) -> tuple[str, str]:
    kind, name = detail["type"], _called(path)
    if kind == "unfit":
        return f"{name}: {detail['ctx']['sentence']}", detail["ctx"]["remedy"]
    if kind == "missing":
        return f"{name} is missing.", "Add it."
    if kind == "string_type" and isinstance(detail["input"], dict):
        return f"{name} must be a text.", "A colon and a blank make a mapping of it: put quotes round the text."
    if kind in _SHAPES:
        return f"{name} must be {_SHAPES[kind]}.", "Look at how a machine of the library writes it."
    return f"{name} is not as it should be: {detail['msg']}.", "Look at how a machine of the library writes it."


def _called(path: tree.Path) -> str:
    """What a person would call the thing at a path.

    >>> _called(("bays", "back", "cautions", 0))
    "Item 1 of 'cautions'"
    """
    if not path:
        return "The file"
    if isinstance(path[-1], int) and len(path) > 1:
        return f"Item {path[-1] + 1} of '{path[-2]}'"
    return f"'{str(path[-1])[:60]}'"


_SHAPES = {
    "string_type": "a text",
    "list_type": "a list",
    "tuple_type": "a list",
    "dict_type": "a mapping of names to entries",
    "model_type": "a mapping of names to values",
    "model_attributes_type": "a mapping of names to values",
}
