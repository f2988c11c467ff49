"""What the whole project promises: its house rules, measured on its own files."""

from __future__ import annotations

import ast
import importlib
import inspect
import json
import re
import statistics
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import halfsplit
from halfsplit import errors

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "src" / "halfsplit"
MODULES = sorted(PACKAGE.rglob("*.py"))
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
MOST_LINES_OF_A_FILE = 450
MOST_LINES_OF_A_FUNCTION = 60
LOCKED = re.compile(r"^([A-Za-z0-9_.-]+)==.*(?:\n    --hash=sha256:[0-9a-f]{64}(?: \\)?)+", re.MULTILINE)
ERROR_DRAWN = re.compile(r"^    ((?:\|  |   )*(?:\|- |`- )?)(\w+) +(?:(\d) |exit)", re.MULTILINE)
ELSEWHERE = re.compile(r"(?:pypi|pythonhosted|npmjs)\.org|(?<![\w.*-])/(?:work|tmp|root|home)/")


def name_of(path: Path) -> str:
    """The dotted name of a module of the package."""
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def functions(path: Path) -> Iterator[tuple[str, int]]:
    """Every function of a file with its length in lines, its docstring not counted."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            words = ast.get_docstring(node, clean=False)
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            yield f"{path.name}:{node.name}", length - (len(words.splitlines()) if words else 0)


def tracked() -> list[Path]:
    """Every text file that git keeps here."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout
    paths = [ROOT / name for name in listed.decode().split("\0") if name]
    return [path for path in paths if path.is_file() and b"\0" not in path.read_bytes()]


def test_files_are_short() -> None:
    """No file of the package is a giant."""
    lengths = {name_of(path): len(path.read_bytes().splitlines()) for path in MODULES}
    assert {name: n for name, n in lengths.items() if n > MOST_LINES_OF_A_FILE} == {}


def test_functions_are_short() -> None:
    """Half of all functions are of eight lines or fewer, nine in ten under thirty, and none is a giant."""
    lengths = dict(entry for path in MODULES for entry in functions(path))
    ordered = sorted(lengths.values())
    assert {name: n for name, n in lengths.items() if n > MOST_LINES_OF_A_FUNCTION} == {}
    assert statistics.median(ordered) <= 8
    assert ordered[int(0.9 * len(ordered))] < 30


@pytest.mark.parametrize("path", [path for path in MODULES if path.name != "__main__.py"], ids=name_of)
def test_public_names_are_listed(path: Path) -> None:
    """What a module lists as public exists, each name once (the linter sorts them); importing __main__ would run it."""
    module = importlib.import_module(name_of(path))
    public = getattr(module, "__all__", [])
    assert len(set(public)) == len(public)
    assert all(hasattr(module, name) for name in public)


def test_the_tree_of_errors_is_as_drawn() -> None:
    """Every exception stands in the drawing at the top of its file, at its depth, with its exit code."""
    drawn = ERROR_DRAWN.findall(inspect.getdoc(errors) or "")
    shown = {name: (len(branch) // 3, code or "1") for branch, name, code in drawn}
    root = errors.HalfsplitError
    classes = [one for one in vars(errors).values() if inspect.isclass(one) and issubclass(one, root)]
    assert shown == {one.__name__: (one.mro().index(root), str(one.exit_code)) for one in classes}


@pytest.mark.parametrize(("name", "exit_code", "goes_on"), [("WrongUse", 2, True), ("BadInput", 3, False)])
def test_exit_codes_are_kept(name: str, exit_code: int, goes_on: bool) -> None:
    """The exit codes that other tools lean on."""
    one = getattr(errors, name)
    assert (one.exit_code, one.can_go_on) == (exit_code, goes_on)


def test_every_layer_has_its_place() -> None:
    """The contract of layers names every module and folder of the package, and is exhaustive; that of the face names
    rooms that there are."""
    contract, face = PROJECT["tool"]["importlinter"]["contracts"]
    named = set(re.findall(r"\w+", " ".join(contract["layers"])))
    present = {path.name.removesuffix(".py") for path in PACKAGE.iterdir() if path.suffix in (".py", "")}
    assert contract["exhaustive"] is True
    assert present - {"__init__", "__pycache__"} <= named
    assert {room.removeprefix("halfsplit.") for room in face["forbidden_modules"]} <= present


def test_nothing_points_at_one_machine_or_registry() -> None:
    """No file that is kept names a package registry or a folder of one workplace."""
    found = {
        f"{path.relative_to(ROOT)}: {match.group()}"
        for path in tracked()
        for match in ELSEWHERE.finditer(path.read_text(encoding="utf-8", errors="replace"))
    }
    assert not found


@pytest.mark.parametrize(
    ("lock", "extras"), [("requirements.lock", []), ("requirements-test.lock", ["test"])], ids=["run", "test"]
)
def test_the_locks_hold_every_dependency(lock: str, extras: list[str]) -> None:
    """Each declared dependency is locked, each lock entry has hashes."""
    project = PROJECT["project"]
    wanted = [*project["dependencies"]]
    for extra in extras:
        wanted += project["optional-dependencies"][extra]
    text = (ROOT / lock).read_text(encoding="utf-8")
    entries = LOCKED.findall(text)
    names = {re.split(r"[<>=!~ \[;]", one)[0].lower().replace("_", "-") for one in wanted}
    assert names <= set(entries)
    assert len(entries) == len(re.findall(r"^[A-Za-z0-9].*==", text, re.M))


def test_start_needs_only_the_standard_library() -> None:
    """The set-up runs before anything is installed."""
    tree = ast.parse((ROOT / "start.py").read_text(encoding="utf-8"))
    imported = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    imported |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.split(".")[0] for name in imported} <= set(sys.stdlib_module_names)


def test_one_version() -> None:
    """The package, the project file and the list of changes agree on the version."""
    assert halfsplit.__version__ == PROJECT["project"]["version"]


def test_the_package_alone_loads_nothing_heavy() -> None:
    """Importing the package brings in no numerics: commands load what they need."""
    code = "import sys, json, halfsplit, halfsplit.errors; print(json.dumps(sorted(sys.modules)))"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True).stdout
    assert not {"numpy", "scipy", "pydantic", "yaml", "rich"} & set(json.loads(out))


def test_relative_links_of_documents_lead_somewhere() -> None:
    """Every relative link of every document names a file that exists."""
    broken = []
    for path in tracked():
        if path.suffix == ".md":
            for target in re.findall(r"\]\(([^)#:\s]+)[^)]*\)", path.read_text(encoding="utf-8")):
                if not (path.parent / target).exists():
                    broken.append(f"{path.relative_to(ROOT)}: {target}")
    assert not broken
