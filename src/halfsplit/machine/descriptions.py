"""What each key of the grammar is for: the text that stands under its field in the source.

Read only when the schema or the reference page is made, so that loading a file does not wait for it.
"""

from __future__ import annotations

import ast
import inspect
import textwrap

from pydantic import BaseModel

__all__ = ["descriptions"]


def descriptions(model: type[BaseModel]) -> dict[str, str]:
    """The text under each field of a model, by its key in a file.

    >>> from halfsplit.machine.format import BayEntry
    >>> descriptions(BayEntry)["behind"]
    'The bay in front of it, or `outside`.'
    """
    body = ast.parse(textwrap.dedent(inspect.getsource(model))).body[0]
    assert isinstance(body, ast.ClassDef)
    under = {_field(node): _text(after) for node, after in zip(body.body, body.body[1:], strict=False)}
    return {field.alias or name: under[name] for name, field in model.model_fields.items() if under.get(name)}


def _field(node: ast.stmt) -> str:
    return node.target.id if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name) else ""


def _text(node: ast.stmt) -> str:
    value = node.value.value if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) else ""
    return " ".join(value.split()) if isinstance(value, str) else ""
