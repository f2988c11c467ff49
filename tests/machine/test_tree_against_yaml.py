"""The tree against the YAML library's own loader: the same texts, lists and mappings; and its places are true."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import BadInput
from halfsplit.machine import library, tree
from tests.machine import strategies

plain_trees = st.recursive(
    strategies.names,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(strategies.names, inner, max_size=4)),
    max_leaves=20,
)


@given(plain_trees, st.booleans())
def test_tree_is_what_was_written(data: Any, flow: bool) -> None:
    """What the library writes is read back, in block and in flow style."""
    text = yaml.safe_dump(data, default_flow_style=flow, allow_unicode=True)
    assert tree.plain(tree.compose(text, "x")) == data


@pytest.mark.parametrize("name", library.names())
def test_library_file_reads_as_the_base_loader_reads_it(name: str) -> None:
    """Every library file has the texts that a loader without any types reads."""
    text = library.text(name)
    assert tree.plain(tree.compose(text, name)) == yaml.load(text, Loader=yaml.BaseLoader)


@pytest.mark.parametrize(
    "word", ["off", "NO", "yes", "12:30", "010", "1e3", "null", "~", "0x1f", "1_000", "2024-01-01"]
)
def test_word_stays_a_word(word: str) -> None:
    """Nothing turns into a truth value, a number, a time or nothing."""
    assert tree.plain(tree.compose(f"a: {word}\n{word}: b", "x")) == {"a": word, word: "b"}


@pytest.mark.parametrize("name", library.names())
def test_every_place_is_true(name: str) -> None:
    """At the line and column of each unquoted text stands its beginning; at that of a key, the key."""
    lines = library.text(name).split("\n")

    def look(node: tree.Node) -> None:
        if isinstance(node.value, dict):
            for key, spot in node.keys.items():
                assert lines[spot.line - 1][spot.column - 1 :].lstrip("\"'").startswith(key)
                look(node.value[key])
        elif isinstance(node.value, list):
            for item in node.value:
                look(item)
        else:
            here = lines[node.spot.line - 1][node.spot.column - 1 :]
            assert here[:1] in "\"'>|" or here.startswith(node.value)

    look(tree.compose(library.text(name), name))


def test_all_doubled_keys_and_references_are_reported_together() -> None:
    """One pass names every doubled key and every reference."""
    with pytest.raises(BadInput) as caught:
        tree.compose("a: 1\nb: &x 2\na: 3\nc: *x\nb: 4\n", "f")
    assert [(p.line, p.column) for p in caught.value.problems] == [(2, 4), (3, 1), (4, 4), (5, 1)]


def test_missing_thing_is_placed_at_what_is_there() -> None:
    """A path that leads nowhere points at the nearest thing that is there."""
    root = tree.compose("parts:\n  fan:\n    type: motor\n", "f")
    assert tree.locate(root, ("parts", "fan", "in")) == tree.Spot("f", 2, 3)
    assert tree.locate(root, ("bays", "x")) == tree.Spot("f", 1, 1)


@pytest.mark.parametrize(("text", "at"), [("a: 1\n\tb: 2\n", (2, 1)), ("a:\n  - x: 1\n  -\ty: 2\n", (3, 4))])
def test_a_tab_is_called_a_tab(text: str, at: tuple[int, int]) -> None:
    """In words of a person who types, at its place."""
    with pytest.raises(BadInput) as raised:
        tree.compose(text, "x")
    (problem,) = raised.value.problems
    assert problem.message == "This is no YAML: a tab."
    assert problem.remedy == "Use blanks."
    assert (problem.line, problem.column) == at
