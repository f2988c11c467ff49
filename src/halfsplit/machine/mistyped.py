"""Keys that the grammar does not know, and the known ones that they were meant for.

Such a key is then read as what it was meant for, so that it hides nothing else that is wrong. Knows the tree and the
shape of pydantic's errors; knows nothing of what a machine is.
"""

from __future__ import annotations

import difflib
from typing import Any

from pydantic import BaseModel, ValidationError

from halfsplit.machine import tree

__all__ = ["found", "known", "of_detail", "read_as_meant"]


def found(error: ValidationError, root: tree.Node, grammar: type[BaseModel]) -> dict[tree.Path, str]:
    """The keys that are not known, by their paths: each with the one that was meant, "" where none looks like it."""
    wrong = [(detail["type"], of_detail(detail)) for detail in error.errors(include_url=False)]
    meant: dict[tree.Path, str] = {}
    for kind, path in wrong:
        around = path[:-1]
        near = _nearest(path, _written(root, around) - set(known(grammar, around))) if kind == "missing" else ""
        if near:
            meant.setdefault((*around, near), str(path[-1]))
    for kind, path in wrong:
        if kind == "extra_forbidden" and path not in meant:
            around = path[:-1]
            taken = _written(root, around) | {key for other, key in meant.items() if other[:-1] == around}
            meant[path] = _nearest(path, set(known(grammar, around)) - taken)
    return meant


def of_detail(detail: Any) -> tree.Path:
    """The path of one error of a model; that of a key as of what stands under it."""
    path: tree.Path = tuple(detail["loc"])
    return path[:-1] if path[-1:] == ("[key]",) and detail["type"] != "extra_forbidden" else path


def read_as_meant(root: tree.Node, meant: dict[tree.Path, str]) -> None:
    """Puts what stands under each of the keys under the one that was meant; leaves it out where there is none."""
    for path, key in meant.items():
        around = tree.reach(root, path[:-1])
        assert around is not None
        assert isinstance(around.value, dict)
        value, spot = around.value.pop(str(path[-1])), around.keys.pop(str(path[-1]))
        if key:
            around.value[key], around.keys[key] = value, spot


def known(grammar: type[BaseModel], path: tree.Path) -> list[str]:
    """The keys that a model knows at a path: follows fields, and the models inside lists and mappings."""
    model: type[BaseModel] | None = grammar
    for step in path:
        if model is None:
            return []
        field = next((f for n, f in model.model_fields.items() if (f.alias or n) == step), None)
        if field is not None:
            model = _model_in(field.annotation) or (model if _holds_names(field.annotation) else None)
    return [field.alias or name for name, field in model.model_fields.items()] if model else []


def _written(root: tree.Node, path: tree.Path) -> set[str]:
    """The keys that stand at a path."""
    node = tree.reach(root, path)
    return set(node.value) if node is not None and isinstance(node.value, dict) else set()


def _nearest(path: tree.Path, keys: set[str]) -> str:
    """The one that looks most like the last of a path; "" where none does."""
    by_fold = {key.casefold(): key for key in sorted(keys)}
    near = difflib.get_close_matches(str(path[-1]).casefold(), by_fold, n=1)
    return by_fold[near[0]] if near else ""


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
