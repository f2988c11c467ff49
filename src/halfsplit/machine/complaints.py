"""Gathers problems by their path in a file, and turns those of the grammar's models into plain sentences.

Knows the tree and the shape of pydantic's errors; knows nothing of what a machine is.
"""

from __future__ import annotations

import difflib
from typing import Any

from pydantic import BaseModel, ValidationError

from halfsplit.errors import BadInput, Problem, WrongUse, did_you_mean
from halfsplit.machine import tree

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

    def of_grammar(self, error: ValidationError, grammar: type[BaseModel]) -> list[tree.Path]:
        """Notes every error of a model as a sentence; the paths at which they lie."""
        paths = []
        for detail in error.errors(include_url=False):
            path = tuple(step for step in detail["loc"] if step != "[key]")
            message, remedy = _sentence(detail, path, grammar)
            instead = self._instead(path, grammar) if detail["type"] == "missing" else ""
            if instead:
                self.add((*path[:-1], instead), f"'{instead}' is not known here.", f"Is '{path[-1]}' meant?")
            else:
                self.add(path, message, remedy)
            paths.append(path)
        return paths

    def _instead(self, path: tree.Path, grammar: type[BaseModel]) -> str:
        """The key that was written where this one is missing: one that is not known and looks like it."""
        around = tree.reach(self.root, path[:-1])
        written = set(around.value) if around is not None and isinstance(around.value, dict) else set()
        near = difflib.get_close_matches(str(path[-1]), written - set(_known(grammar, path[:-1])), n=1)
        return near[0] if near else ""


def _sentence(detail: Any, path: tree.Path, grammar: type[BaseModel]) -> tuple[str, str]:
    kind, name = detail["type"], _called(path)
    if kind == "unfit":
        return f"{name}: {detail['ctx']['sentence']}", detail["ctx"]["remedy"]
    if kind == "missing":
        return f"{name} is missing.", "Add it."
    if kind == "extra_forbidden":
        return f"{name} is not known here.", did_you_mean(str(path[-1])[:60], _known(grammar, path[:-1]))
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


def _known(grammar: type[BaseModel], path: tree.Path) -> list[str]:
    """The keys that a model knows at a path: follows fields, and the models inside lists and mappings."""
    model: type[BaseModel] | None = grammar
    for step in path:
        if model is None:
            return []
        field = next((f for n, f in model.model_fields.items() if (f.alias or n) == step), None)
        if field is not None:
            model = _model_in(field.annotation) or (model if _holds_names(field.annotation) else None)
    return [field.alias or name for name, field in model.model_fields.items()] if model else []


def _holds_names(annotation: Any) -> bool:
    return bool(getattr(annotation, "__args__", ()))


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        found = _model_in(inner)
        if found is not None:
            return found
    return None
