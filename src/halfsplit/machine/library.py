"""The machines that come with the package, by name. Knows where they lie, not what they say."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from pathlib import Path

from halfsplit.errors import BadInput, Problem, WrongUse, did_you_mean

__all__ = ["find", "names", "read", "text"]

_SUFFIX = ".yaml"


@lru_cache(maxsize=1)
def names() -> tuple[str, ...]:
    """The names of the library's machines, sorted."""
    files = resources.files("halfsplit").joinpath("machines").iterdir()
    return tuple(sorted(f.name.removesuffix(_SUFFIX) for f in files if f.name.endswith(_SUFFIX)))


def text(name: str) -> str:
    """The file of a machine of the library; ``WrongUse`` where there is none."""
    if name not in names():
        raise WrongUse(f"There is no machine '{name[:60]}' in the library.", did_you_mean(name, names()))
    return resources.files("halfsplit").joinpath("machines", name + _SUFFIX).read_text("utf-8")


def find(name_or_path: str) -> tuple[str, str, Path | None]:
    """Name, text and (outside the library) the path of a machine given by its name or by its file.

    >>> find("vented-dryer")[0]
    'vented-dryer'
    """
    if name_or_path in names():
        return name_or_path, text(name_or_path), None
    path = Path(name_or_path)
    if "\0" not in name_or_path and (path.suffix or path.parent != Path() or path.exists()):
        return path.name.removesuffix(_SUFFIX), read(path), path
    return name_or_path, text(name_or_path), None


def read(path: Path) -> str:
    """The text of a file; ``BadInput`` where it cannot be read or is no UTF-8."""
    try:
        raw = path.read_bytes()
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        reason = getattr(error, "strerror", None) or "no file can have this name"
        raise BadInput([Problem(str(path), 0, 0, f"The file cannot be read: {reason}.", "Look at its name.")]) from None
    return decode(raw, str(path))


def decode(raw: bytes, file: str) -> str:
    """Bytes as text; ``BadInput`` with the place of the first byte that is no UTF-8."""
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = raw[: error.start]
        line, column = before.count(b"\n") + 1, error.start - before.rfind(b"\n")
        message = "This is no UTF-8 text."
        raise BadInput([Problem(file, line, column, message, "Save the file as UTF-8.")]) from None
