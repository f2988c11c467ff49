"""Machines by name or file. What has been read is kept: importing the grammar costs more than reading a kept one."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from halfsplit.machine import library, model, primitives
from halfsplit.machine.handwork import Handwork
from halfsplit.service import kept

CLASSES = kept.named(
    Handwork,
    *(
        one
        for module in (model, primitives)
        for one in vars(module).values()
        if isinstance(one, type) and one.__module__ == module.__name__
    ),
)


def machines() -> dict[str, Any]:
    """What the library holds: name, title and kind of each machine."""
    held = [load(name) for name in library.names()]
    return {"machines": [{"name": m.name, "title": m.title, "kind": m.kind} for m in held]}


def load(name_or_path: str, pace: str = "") -> model.Machine:
    """The machine of a file or of the library. Raises ``BadInput`` (all problems) or ``WrongUse``.

    pace: a pace file, by which its minutes are scaled, and which may say what is on the van ("": the file's own
    minutes, and nothing of a van).

    >>> load("vented-dryer").kind
    'tumble dryer'
    """
    machine = _as_written(name_or_path)
    if not pace:
        return machine
    from halfsplit.work import pace as work
    from halfsplit.work import pace_file

    text = library.read(Path(pace))
    shop = pace_file.read(text, pace)
    if shop.van and not _called(machine).issuperset(shop.van):
        pace_file.read(text, pace, carried([machine]))  # refused where a name is no machine's
    return work.paced(machine, shop)


def carried(machines: Iterable[model.Machine]) -> frozenset[str]:
    """What a van may be said to carry: parts of these machines and of the library's, and every type of part."""
    from halfsplit.machine import part_types

    known = [*machines, *map(_as_written, library.names())]
    return frozenset(part_types.table()).union(*map(_called, known))


def _called(machine: model.Machine) -> frozenset[str]:
    return frozenset(name for part in machine.parts.values() for name in (part.name, part.title) if name)


def _as_written(name_or_path: str) -> model.Machine:
    name, text, path = library.find(name_or_path)
    kept_as = _key(name, text, path)
    found = kept.get(kept_as, CLASSES)
    if isinstance(found, model.Machine):
        return found
    machine = _read(text, name, path)
    kept.put(kept_as, machine)
    return machine


def key(name_or_path: str) -> str:
    """Under which name things made from this machine are kept."""
    return _key(*library.find(name_or_path))


def _key(name: str, text: str, path: Path | None) -> str:
    """Of the file's text; a file that may be `like` another also of the folder in which that one would lie."""
    beside = sorted(path.parent.glob("*.yaml")) if path and "like" in text else []
    stats = [f"{file.name} {file.stat().st_size} {file.stat().st_mtime_ns}" for file in beside if file.is_file()]
    return kept.key("machine", name, text, *stats)


def _read(text: str, name: str, path: Path | None) -> model.Machine:
    from halfsplit.machine import loading

    return loading.read_sheet(text, name, path).machine
