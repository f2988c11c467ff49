"""Machines by name or file. What has been read is kept: importing the grammar costs more than reading a kept one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from halfsplit.machine import library, model
from halfsplit.service import kept

CLASSES = kept.named(
    *(one for one in vars(model).values() if isinstance(one, type) and one.__module__ == model.__name__)
)


def machines() -> dict[str, Any]:
    """What the library holds: name, title and kind of each machine."""
    held = [load(name) for name in library.names()]
    return {"machines": [{"name": m.name, "title": m.title, "kind": m.kind} for m in held]}


def load(name_or_path: str) -> model.Machine:
    """The machine of a file or of the library. Raises ``BadInput`` (all problems) or ``WrongUse``.

    >>> load("vented-dryer").kind
    'tumble dryer'
    """
    name, text, path = library.find(name_or_path)
    key = _key(name, text)
    found = kept.get(key, CLASSES) if key else None
    if isinstance(found, model.Machine):
        return found
    machine = _read(text, name, path)
    if key:
        kept.put(key, machine)
    return machine


def key(name_or_path: str) -> str:
    """Under which name things made from this machine are kept; "" where they are not."""
    name, text, _ = library.find(name_or_path)
    return _key(name, text)


def _key(name: str, text: str) -> str:
    """A file that is `like` another has none, since that other one may change; the library's are in the stamp."""
    return "" if "like:" in text and name not in library.names() else kept.key("machine", name, text)


def _read(text: str, name: str, path: Path | None) -> model.Machine:
    from halfsplit.machine import loading

    return loading.read_sheet(text, name, path).machine
