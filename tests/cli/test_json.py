"""The page of the JSON documents has every field that a command prints and no other; what the how-to shows runs."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from halfsplit.cli.app import app
from tools import json_examples, json_tables, write_json
from tools.json_tables import Held, Tables

ROOT = write_json.ROOT
DUE = "run: .venv/bin/python tools/write_json.py"
HOW_TO = (ROOT / "docs" / "how-to" / "read-the-json.md").read_text(encoding="utf-8")
LINES = re.findall(r"^halfsplit .+\\\n.+$", HOW_TO, re.MULTILINE)


@pytest.fixture(scope="module")
def held() -> Held:
    """What the documents of all examples hold."""
    return write_json.held()


def test_words_and_documents_agree(held: Held) -> None:
    """No field without words, no words without a field; what is null or left out says when, a number has its unit."""
    assert held.problems() == [], DUE


def test_the_page_is_up_to_date(held: Held) -> None:
    """Writing it again would change nothing."""
    assert write_json.PAGE.read_text(encoding="utf-8") == write_json.page(held), DUE


def test_every_command_has_a_document() -> None:
    """In the order of the commands, with an example of each, and the refusal last."""
    wanted = [*app.commands, json_examples.REFUSAL]
    assert list(json_tables.read().documents) == wanted
    assert {one.document or one.line[0] for one in json_examples.EXAMPLES} == set(wanted)


def test_every_link_of_the_page_leads_to_one_table() -> None:
    """Documents and objects have names of their own, and each object is found somewhere."""
    page = write_json.PAGE.read_text(encoding="utf-8")
    headings = [one.replace(" ", "-") for one in re.findall(r"^### (.+)$", page, re.MULTILINE)]
    assert len(headings) == len(set(headings))
    assert set(re.findall(r"\]\(#([\w-]+)\)", page)) == set(headings)
    apart = {name for name in json_tables.read().objects if name.startswith("box ")}
    missing = [one for one in page.split("\n### ")[1:] if "\nFound under " not in one]
    assert {one.partition("\n")[0] for one in missing} == {*json_tables.read().documents, *apart}


def taken(fields: dict[str, Any], *documents: dict[str, Any]) -> list[str]:
    """What is wrong with these fields of a document, and of its objects."""
    step = {"about": "", "fields": {"kind": "Which."}}
    tables = Tables({"documents": {"one": {"about": "", "fields": fields}}, "objects": {"step": step}})
    found = Held(tables)
    for document in documents:
        found.take(tables.documents["one"], document)
    return [told.removeprefix("one") for told in found.problems() if not told.startswith("step.")]


@pytest.mark.parametrize(
    ("fields", "documents", "told"),
    [
        ({"a": "Text."}, [{"a": "x", "b": 1}], ": field b has no words"),
        ({"a": "Text.", "b": "Gone."}, [{"a": "x"}], ".b: is in no document"),
        ({"a": "Text."}, [{"a": "x"}, {"a": None}], ".a: is null, and does not say when"),
        ({"a": "Text; null where none."}, [{"a": "x"}], ".a: says null, and never is"),
        ({"a": "Text; null where none."}, [{"a": None}], ".a: is null wherever it is, and says otherwise"),
        ({"a": "Text. Left out of others."}, [{"a": "x"}], ".a: says left out, and never is"),
        ({"a": "Text."}, [{"a": "x"}, {}], ".a: is left out now and then, and does not say when"),
        ({"a": "Minutes."}, [{"a": 1.5}], ".a: a number has a unit, and nothing else has"),
        ({"a": "Texts."}, [{"a": []}], ".a: is empty wherever it is"),
        ({"a": "Steps."}, [{"a": [{"kind": "x"}]}], ".a[]: does not say of which table its objects are"),
        ({"a": {"of": "step", "says": "Steps."}}, [{"a": [{"b": "x"}]}], "step: field b has no words"),
        ({"a": {"also": "text", "says": "Text; null."}}, [{"a": "x"}, {"a": None}],
         ".a: an example brings out that it is text also"),
    ],
)  # fmt: skip
def test_what_does_not_agree_is_told(fields: dict[str, Any], documents: list[dict[str, Any]], told: str) -> None:
    """Each kind of disagreement by the field that it is about."""
    assert told in taken(fields, *documents)


def test_what_agrees_is_not() -> None:
    """Names as keys, objects of a table, lists, null and left out where it says so."""
    fields: dict[str, Any] = {
        "steps": {"of": "step", "says": "The steps."},
        "set": {"by": "control", "says": "How it stands; null where nothing is set. Left out where nobody said."},
        "minutes": {"unit": "minutes", "says": "So long."},
    }
    documents: list[dict[str, Any]] = [
        {"steps": [{"kind": "look"}], "set": {"door": "shut"}, "minutes": 1},
        {"steps": [], "set": None, "minutes": 2.5},
        {"steps": [], "minutes": 0},
    ]
    assert taken(fields, *documents) == []


# ---- the how-to ------------------------------------------------------------------------------------------------


@pytest.fixture
def terminal(tmp_path: Path) -> tuple[Path, dict[str, str]]:
    """A folder with the files of the page, and an environment with `halfsplit` and `python3` as the test has them."""
    for name, body in re.findall(r"`([\w-]+\.(?:yaml|py))`:\n```\w+\n(.*?)```", HOW_TO, re.DOTALL):
        (tmp_path / name).write_text(body, encoding="utf-8")
    tools = tmp_path / "bin"
    tools.mkdir()
    for name, words in (("halfsplit", "-m halfsplit "), ("python3", "")):
        (tools / name).write_text(f'#!/bin/sh\nexec "{sys.executable}" {words}"$@"\n', encoding="utf-8")
        (tools / name).chmod(0o755)
    path = os.pathsep.join([str(tools), os.environ["PATH"]])
    source = str(ROOT / "src")
    return tmp_path, os.environ | {"PATH": path, "PYTHONPATH": source, "PYTHONIOENCODING": "utf-8"}


def ran(line: str, terminal: tuple[Path, dict[str, str]]) -> str:
    """What a line of the shell prints."""
    folder, environment = terminal
    done = subprocess.run(
        ["sh", "-c", line], cwd=folder, env=environment, capture_output=True, encoding="utf-8", check=False
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


@pytest.mark.skipif(os.name == "nt", reason="its lines are those of a POSIX shell")
def test_the_program_of_the_page_prints_what_the_page_says(terminal: tuple[Path, dict[str, str]]) -> None:
    """Word for word."""
    said = re.search(r"It prints\n```\n(.*?)```", HOW_TO, re.DOTALL)
    assert said
    assert ran("python3 next_step.py", terminal) == said[1]


@pytest.mark.skipif(os.name == "nt", reason="its lines are those of a POSIX shell")
@pytest.mark.parametrize(
    ("line", "prints"),
    [*zip(LINES, ("service: call the utility", "lower element 28.0 USD"), strict=True)],
    ids=["faults", "parts"],
)
def test_the_lines_of_the_page_run(line: str, prints: str, terminal: tuple[Path, dict[str, str]]) -> None:
    """Each takes something out of its document."""
    assert prints in ran(line, terminal)
