"""Machines by name or file, read once: what has been read is kept in the user's cache folder.

Reading a file takes a few tenths of a second, most of it the import of the grammar; a kept machine a few
thousandths. The key is a hash of the file's text, the version, and when the package's own files last changed. A kept
file that does not hold a machine, or any trouble with the folder, counts as nothing kept. A file that is `like`
another is not kept, since that other one may change.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import sys
import tempfile
from pathlib import Path
from typing import Any

from halfsplit import __version__
from halfsplit.machine import library, model

PACKAGE = Path(__file__).resolve().parents[1]
MOST_KEPT = 40
PLAIN = frozenset({("builtins", "frozenset"), ("builtins", "complex"), ("builtins", "set")})


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
    place = _place(name, text)
    kept = _kept(place) if place else None
    if kept is not None:
        return kept
    machine = _read(text, name, path)
    if place:
        _keep(place, machine)
    return machine


def _read(text: str, name: str, path: Path | None) -> model.Machine:
    from halfsplit.machine import loading

    return loading.read_sheet(text, name, path).machine


def folder() -> Path | None:
    """Where machines are kept; None where HALFSPLIT_CACHE is set to nothing."""
    named = os.environ.get("HALFSPLIT_CACHE")
    if named is not None:
        return Path(named) if named else None
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
        return Path(base) / "halfsplit" / "cache" if base else None
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "halfsplit"


def _place(name: str, text: str) -> Path | None:
    """The file in which this machine would be kept; None where it is not to be kept."""
    if "like:" in text and name not in library.names():
        return None
    try:
        base = folder()
        return base / f"{_key(name, text)}.machine" if base else None
    except (OSError, RuntimeError):  # no home folder
        return None


def _key(name: str, text: str) -> str:
    digest = hashlib.sha256(f"{__version__}\0{sys.version}\0{name}\0".encode())
    digest.update(text.encode("utf-8", "surrogatepass"))
    for file in sorted([*(PACKAGE / "machine").rglob("*.*"), *(PACKAGE / "machines").glob("*.yaml")]):
        stat = file.stat()
        if file.suffix != ".pyc":
            digest.update(f"{file.name}\0{stat.st_size}\0{stat.st_mtime_ns}\0".encode())
    return digest.hexdigest()


class _OnlyMachines(pickle.Unpickler):
    """Reads back the frozen classes of the model and nothing that could run."""

    def find_class(self, module: str, name: str) -> Any:
        if module == model.__name__ and isinstance(getattr(model, name, None), type):
            return getattr(model, name)
        if (module, name) in PLAIN:
            return super().find_class(module, name)
        raise pickle.UnpicklingError(f"{module}.{name} is not part of a machine")


def _kept(place: Path) -> model.Machine | None:
    try:
        with place.open("rb") as file:
            found = _OnlyMachines(file).load()
    except Exception:  # whatever is wrong with a kept file, the machine itself can still be read
        return None
    return found if isinstance(found, model.Machine) else None


def _keep(place: Path, machine: model.Machine) -> None:
    """Writes beside and renames, so that nobody reads half a file."""
    with contextlib.suppress(OSError, pickle.PicklingError, TypeError, AttributeError):
        place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, beside = tempfile.mkstemp(dir=place.parent)
        with os.fdopen(handle, "wb") as file:
            pickle.dump(machine, file, protocol=pickle.HIGHEST_PROTOCOL)
        os.replace(beside, place)
        for old in sorted(place.parent.glob("*.machine"), key=lambda file: -file.stat().st_mtime_ns)[MOST_KEPT:]:
            old.unlink()
