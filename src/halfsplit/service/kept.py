"""What was worked out once and is kept in the user's cache folder: machines as read, tables as compiled.

The name of a kept thing is a hash of what it was made from, the version, and when the package's own files last
changed. A kept file that cannot be read, or any trouble with the folder, counts as nothing kept. Only plain classes
named by the caller are read back: nothing in a kept file can run.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import sys
import tempfile
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from halfsplit import __version__

PACKAGE = Path(__file__).resolve().parents[1]
SUFFIX = ".kept"
MOST_BYTES = 400_000_000
"""So much is kept; the oldest goes."""
BUILTINS: Mapping[tuple[str, str], Any] = {
    ("builtins", "frozenset"): frozenset,
    ("builtins", "set"): set,
    ("builtins", "complex"): complex,
}


def folder() -> Path | None:
    """Where things are kept; None where HALFSPLIT_CACHE is set to nothing, or no home is known."""
    named = os.environ.get("HALFSPLIT_CACHE")
    if named is not None:
        return Path(named) if named else None
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
        return Path(base) / "halfsplit" / "cache" if base else None
    base = os.environ.get("XDG_CACHE_HOME")
    with contextlib.suppress(RuntimeError):
        return (Path(base) if base else Path.home() / ".cache") / "halfsplit"
    return None


@lru_cache(maxsize=1)
def _stamp() -> bytes:
    """A hash of the version, the interpreter, and the names, sizes and times of the package's own files."""
    digest = hashlib.sha256(f"{__version__}\0{sys.version}\0".encode())
    for where, _, names in sorted(os.walk(PACKAGE)):
        for name in sorted(names):
            if name.endswith((".py", ".yaml")):
                stat = os.stat(os.path.join(where, name))
                digest.update(f"{name}\0{stat.st_size}\0{stat.st_mtime_ns}\0".encode())
    return digest.digest()


def key(*parts: str) -> str:
    """The name under which something made from these texts is kept."""
    digest = hashlib.sha256(_stamp())
    for part in parts:
        digest.update(part.encode("utf-8", "surrogatepass") + b"\0")
    return digest.hexdigest()


class _Plain(pickle.Unpickler):
    """Reads back the classes it was given and nothing else."""

    def __init__(self, file: Any, classes: Mapping[tuple[str, str], Any]) -> None:
        super().__init__(file)
        self.classes = classes

    def find_class(self, module: str, name: str) -> Any:
        known = {**BUILTINS, **self.classes}
        if (module, name) not in known:
            raise pickle.UnpicklingError(f"{module}.{name} is not kept here")
        return known[module, name]


def named(*classes: type) -> dict[tuple[str, str], Any]:
    """Classes by module and name, as `get` wants them."""
    return {(one.__module__, one.__qualname__): one for one in classes}


def arrays() -> dict[tuple[str, str], Any]:
    """What arrays of plain numbers are read back with."""
    import numpy as np

    makers: list[Any] = [np.zeros(1).__reduce__()[0], np.zeros(1).__reduce_ex__(5)[0], np.ndarray, np.dtype]
    return {(one.__module__, one.__name__): one for one in makers}


def get(name: str, classes: Mapping[tuple[str, str], Any]) -> Any:
    """What is kept under a name, or None."""
    base = folder()
    if base is None:
        return None
    try:
        with (base / (name + SUFFIX)).open("rb") as file:
            return _Plain(file, classes).load()
    except Exception:  # whatever is wrong with a kept file, the thing itself can be made anew
        return None


def put(name: str, thing: object) -> None:
    """Keeps a thing, if that can be done: written beside and renamed, so that nobody reads half a file."""
    base = folder()
    if base is None:
        return
    with contextlib.suppress(OSError, pickle.PicklingError, TypeError, AttributeError):
        base.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, beside = tempfile.mkstemp(dir=base)
        with os.fdopen(handle, "wb") as file:
            pickle.dump(thing, file, protocol=pickle.HIGHEST_PROTOCOL)
        os.replace(beside, base / (name + SUFFIX))
        _make_room(base)


def _make_room(base: Path) -> None:
    """Removes the oldest, so that what is left is not larger than MOST_BYTES."""
    total = 0
    for file in sorted(base.glob("*" + SUFFIX), key=lambda file: -file.stat().st_mtime_ns):
        total += file.stat().st_size
        if total > MOST_BYTES:
            file.unlink()
