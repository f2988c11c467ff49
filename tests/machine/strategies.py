"""What the tests of the machine room draw: names, trees, broken texts. Knows the shape of YAML, not the grammar."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

KEYS = [
    *("format", "machine", "kind", "supply", "system", "meets", "controls", "positions", "temperatures", "parts"),
    *("type", "in", "price", "replace", "fails", "wires", "symptoms", "bays", "behind", "open", "close", "seen"),
    *("settings", "frame", "like", "without", "chart", "motor", "control", "ohms", "at", "opens", "closes", "title"),
    *("meter", "red", "black", "value", "set", "lift", "isolated", "running", "heat from", "at least"),
]
SECTIONS = ["machine", "kind", "supply", "controls", "temperatures", "parts", "wires", "symptoms", "bays", "seen",
            "settings", "frame", "like", "without", "format", "currency", "about"]  # fmt: skip
WORDS = [
    *("", "halfsplit machine 1", "vented-dryer", "none", "self", "momentary", "outside", "heater", "timer", "yes", "~"),
    *("120 V, plug", "20 ohm ± 5 %", "1e999 ohm", "nan", "inf ohm", "-5 min", "1e308 USD", "NaN °C", "90 °C", "5 min"),
    *("BK  a.1  b.2", "GNYE  a.1  a.1", "a.1", "L1", "$ohms", ".", "*", "0x10", "1_000", "12:30", "off", "OL"),
    *("9" * 400 + " ohm", "٣ ohm", "1 ohm ± nan", "\u0000", "a" * 3000, "link fuse", "frame", "belt", "lamp"),
]

scalars = st.one_of(st.sampled_from(WORDS), st.text(max_size=12))
"""Texts that stand where something else belongs."""

trees: st.SearchStrategy[Any] = st.recursive(
    scalars,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.one_of(st.sampled_from(KEYS), scalars), inner, max_size=5)
    ),
    max_leaves=25,
)
"""Trees of texts, lists and mappings with the grammar's own keys in the wrong places."""

names = st.text(st.characters(categories=["Ll", "Lu", "Nd"]), min_size=1, max_size=8)
"""Plain names."""
