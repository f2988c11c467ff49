"""A wire as it is written: `BK  10 AWG 0.1 m  terminal block.L1  block fuse.1`. Fields stand two blanks apart.

Knows the text of one wire, its colours and its resistance; knows no terminals.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from halfsplit.errors import NotUnderstood
from halfsplit.machine import amounts
from halfsplit.quantity.dimension import Dimension
from halfsplit.quantity.parse import parse_quantity

__all__ = ["COLOURS", "DEFAULT_RUN", "Run", "WireLine", "awg_area", "colours", "fields", "read_line", "read_run"]

COLOURS: dict[str, str] = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue",
    "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold", "TQ": "turquoise", "SR": "silver",
}  # fmt: skip
"""The letter codes of IEC 60757. Two of them together: a wire of two colours; GNYE is protective earth."""

_OFTEN_WRITTEN = {
    "BLK": "BK", "BL": "BU or BK", "BR": "BN", "BRN": "BN", "GRN": "GN", "G": "GN", "OR": "OG", "ORN": "OG",
    "ORG": "OG", "PU": "VT", "PUR": "VT", "R": "RD", "W": "WH", "WHT": "WH", "Y": "YE", "YEL": "YE", "YL": "YE",
    "GR": "GN or GY", "GRY": "GY", "GRAY": "GY", "B": "BK or BU", "BLU": "BU", "BARE": "GNYE", "TAN": "BN",
    "PINK": "PK", "PURPLE": "VT",
}  # fmt: skip
_FIELD = re.compile(r"\S+(?: \S+)*")
_RUN = re.compile(
    r"(?:(?P<awg>\d{1,2}) ?AWG|(?P<area>\d{1,3}(?:\.\d{1,3})?) ?mm(?:2|²)) (?P<length>\S.*)", re.IGNORECASE
)


@dataclass(frozen=True)
class Run:
    """How thick and how long a wire is: mm² and metres; `gauge` is as written."""

    area: float
    length: float
    gauge: str

    @property
    def ohms(self) -> float:
        """Resistance at 20 °C of copper, 17.241 ohm mm²/km (IEC 60028).

        >>> round(read_run("12 AWG 30.48 m").ohms, 4)
        0.1588
        """
        return 17.241e-3 * self.length / self.area


@dataclass(frozen=True)
class WireLine:
    """A wire as written; `columns` are where colour, run and terminals begin in the text."""

    colours: tuple[str, ...]
    run: Run
    ends: tuple[str, str]
    columns: tuple[int, ...]


def awg_area(gauge: int) -> float:
    """Cross-section in mm² of a solid wire of an American gauge: d = 0.127 mm x 92^((36 - n)/39) (ASTM B258).

    >>> round(awg_area(10), 2)
    5.26
    """
    return math.pi / 4 * math.pow(0.127 * math.pow(92, (36 - gauge) / 39), 2)


def read_run(text: str) -> Run:
    """A gauge and a length; raises ``NotUnderstood``.

    >>> read_run("1.5 mm2 4 m")
    Run(area=1.5, length=4.0, gauge='1.5 mm2')
    """
    match = _RUN.fullmatch(text)
    if match is None:
        raise NotUnderstood(
            text, f"'{text[:40]}' is no gauge and length.", "Write it as in 10 AWG 1.5 m, or 1.5 mm2 4 m."
        )
    length = parse_quantity(match["length"], Dimension.LENGTH).value
    area = awg_area(int(match["awg"])) if match["awg"] else amounts.number(match["area"])
    if not 0.005 <= length <= 500 or not 0.01 <= area <= 500:
        raise NotUnderstood(
            text, f"No wire of a machine or a house is '{text[:40]}'.", "Look at gauge, length and units."
        )
    return Run(area, length, text[: match.start("length")].strip())


DEFAULT_RUN = read_run("16 AWG 0.8 m")
"""What a wire is where its line does not say (common practice, no source)."""


def colours(text: str) -> tuple[str, ...]:
    """The IEC 60757 codes in a text of one or two.

    >>> colours("GNYE")
    ('GN', 'YE')
    """
    found = tuple(text[i : i + 2] for i in range(0, len(text), 2))
    if 1 <= len(found) <= 2 and all(code in COLOURS for code in found):
        return found
    meant = _OFTEN_WRITTEN.get(text.upper()) or next((c for c, w in COLOURS.items() if w == text.casefold()), "")
    known = f"Known: {', '.join(COLOURS)}, GNYE; two together for two colours."
    raise NotUnderstood(text, f"'{text[:20]}' is no colour of IEC 60757.", f"Write {meant}." if meant else known)


def fields(text: str) -> list[tuple[str, int]]:
    """The fields of a line, each with where it begins.

    >>> fields("BK  a b.1  c.2")
    [('BK', 0), ('a b.1', 4), ('c.2', 11)]
    """
    return [(match.group(), match.start()) for match in _FIELD.finditer(text)]


def read_line(text: str) -> WireLine:
    """A wire from its line; raises ``NotUnderstood``.

    >>> read_line("WHRD  a.1  b.2").ends
    ('a.1', 'b.2')
    """
    found = fields(text)
    if len(found) not in (3, 4):
        remedy = "Write COLOUR  TERMINAL  TERMINAL, or COLOUR  GAUGE LENGTH  TERMINAL  TERMINAL, two blanks between."
        raise NotUnderstood(text, f"This wire has {len(found)} fields.", remedy)
    run = read_run(found[1][0]) if len(found) == 4 else DEFAULT_RUN
    ends = (found[-2][0], found[-1][0])
    return WireLine(colours(found[0][0]), run, ends, tuple(column for _, column in found))
