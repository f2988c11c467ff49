"""Plants mistakes that a tired transcriber makes in a good machine file, each with the lines it may be blamed on.

Knows the text of a file and its tree, not the rules: what is found is judged by the tests.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from halfsplit.machine import tree, wiring


@dataclass(frozen=True)
class Planted:
    """A file with one mistake: the lines at which it may be reported, and what its message matches."""

    text: str
    lines: frozenset[int]
    says: str
    what: str


@dataclass(frozen=True)
class Sheet:
    """A good file, as lines and as a tree."""

    lines: tuple[str, ...]
    root: tree.Node

    @classmethod
    def of(cls, text: str) -> Sheet:
        """A file from its text."""
        return cls(tuple(text.split("\n")), tree.compose(text, "good"))

    def with_line(self, number: int, *lines: str) -> str:
        """The text with other lines in the place of one."""
        return "\n".join([*self.lines[: number - 1], *lines, *self.lines[number:]])

    def sub(self, number: int, old: str, new: str, says: str, also: tuple[int, ...] = ()) -> Planted:
        """One replacement in one line."""
        line = self.lines[number - 1]
        assert old in line, (old, line)
        text = self.with_line(number, line.replace(old, new, 1))
        return Planted(text, frozenset({number, *also}), says, f"line {number}: {old!r} to {new!r}")

    def entries(self, section: str) -> dict[str, tree.Node]:
        """The entries of a section by name."""
        node = tree.reach(self.root, (section,))
        return node.value if node is not None and isinstance(node.value, dict) else {}

    def items(self, section: str) -> list[tree.Node]:
        """The items of a list."""
        node = tree.reach(self.root, (section,))
        return node.value if node is not None and isinstance(node.value, list) else []

    def wires(self) -> list[tuple[int, str, tuple[str, str]]]:
        """Line number, text and ends of every wire."""
        found = []
        for node in self.items("wires"):
            assert isinstance(node.value, str)
            fields = [field for field, _ in wiring.fields(node.value)]
            found.append((node.spot.line, node.value, (fields[-2], fields[-1])))
        return found

    def part_line(self, part: str) -> int:
        """The line on which a part begins."""
        node = tree.reach(self.root, ("parts",))
        assert node is not None
        return node.keys[part].line

    def values(self, pattern: str, sections: tuple[str, ...] = ("parts",)) -> Iterator[tuple[tree.Path, int, str]]:
        """Path, line and text of every text in the sections that matches."""
        for section in sections:
            node = tree.reach(self.root, (section,))
            if node is not None:
                for path, leaf in _leaves(node, (section,)):
                    if re.fullmatch(pattern, str(leaf.value)):
                        yield path, leaf.spot.line, str(leaf.value)


def _leaves(node: tree.Node, path: tree.Path) -> Iterator[tuple[tree.Path, tree.Node]]:
    if isinstance(node.value, str):
        yield path, node
    elif isinstance(node.value, list):
        for index, item in enumerate(node.value):
            yield from _leaves(item, (*path, index))
    else:
        for key, item in node.value.items():
            yield from _leaves(item, (*path, key))


Plant = Callable[[Sheet], Iterator[Planted]]


def terminal_misspelled(sheet: Sheet) -> Iterator[Planted]:
    """A letter slips in a terminal of a wire."""
    for line, _, ends in sheet.wires():
        for end in ends:
            yield sheet.sub(line, end, end + "x", "has no terminal")


def part_misspelled(sheet: Sheet) -> Iterator[Planted]:
    """A letter slips in a part of a wire."""
    for line, _, ends in sheet.wires():
        for end in ends:
            yield sheet.sub(line, end, "x" + end, "There is no part")


def wire_left_out(sheet: Sheet) -> Iterator[Planted]:
    """A wire is overlooked, and one of its ends has no other."""
    used = [end for _, _, ends in sheet.wires() for end in ends]
    used += [text for _, _, text in sheet.values(r"[^.]+\.[^.]+", ("supply", "parts"))]
    for line, _, ends in sheet.wires():
        loose = [end for end in ends if used.count(end) == 1]
        if loose:
            text = sheet.with_line(line)
            shifted = [sheet.part_line(end.split(".")[0]) for end in loose]
            yield Planted(text, frozenset(n - (n > line) for n in shifted), "No wire goes to", f"line {line} left out")


def wire_written_twice(sheet: Sheet) -> Iterator[Planted]:
    """A wire is written twice, the second time the other way round."""
    for line, text, (first, second) in sheet.wires():
        row = sheet.lines[line - 1]
        again = row.replace(text, f"{text.split('  ')[0]}  {second}  {first}")
        yield Planted(sheet.with_line(line, row, again), frozenset({line + 1}), "joined already", f"line {line} twice")


def wire_to_itself(sheet: Sheet) -> Iterator[Planted]:
    """The second terminal is copied from the first."""
    for line, _, (first, second) in sheet.wires():
        row = sheet.lines[line - 1]
        at = row.rindex(second)
        text = sheet.with_line(line, row[:at] + first + row[at + len(second) :])
        yield Planted(text, frozenset({line}), "to itself", f"line {line} to itself")


def colour_of_the_sheet(sheet: Sheet) -> Iterator[Planted]:
    """A colour is taken over as the maker's sheet writes it."""
    for line, text, _ in sheet.wires():
        colour = text.split()[0]
        yield sheet.sub(line, f"- {colour}", f"- {colour[0]}X", "no colour of IEC 60757")


def earth_colour(sheet: Sheet) -> Iterator[Planted]:
    """A wire that carries current is written down as green and yellow."""
    for line, text, _ in sheet.wires():
        yield sheet.sub(line, f"- {text.split()[0]}", "- GNYE", "this wire is none")


def length_without_point(sheet: Sheet) -> Iterator[Planted]:
    """A point is lost in a length."""
    for line, text, _ in sheet.wires():
        if match := re.search(r"\b([1-9])\.(\d) m\b", text):
            yield sheet.sub(line, match.group(), f"{match[1]}{match[2]} m", "is too long")


def unit_left_out(sheet: Sheet) -> Iterator[Planted]:
    """A unit is left out."""
    for _, line, text in sheet.values(r"[\d.]+ (ohm|kohm|W|V|A|°C|USD|min).*"):
        number, unit = text.split()[:2]
        yield sheet.sub(line, text, text.replace(f"{number} {unit}", number, 1), "has no unit|in more than one way")


def wrong_unit(sheet: Sheet) -> Iterator[Planted]:
    """A unit of another dimension is written."""
    for _, line, text in sheet.values(r"[\d.]+ (ohm|kohm|W|V|A)\b.*"):
        unit = text.split()[1]
        yield sheet.sub(line, text, text.replace(unit, "Hz", 1), "is no unit of a")


def temperatures_swapped(sheet: Sheet) -> Iterator[Planted]:
    """What opens a switch and what closes it are swapped."""
    for part in sheet.entries("parts"):
        opens, closes = (tree.reach(sheet.root, ("parts", part, key)) for key in ("opens", "closes"))
        if opens is None or closes is None or opens.spot.line != closes.spot.line:
            continue
        row = sheet.lines[opens.spot.line - 1]
        swapped = row.replace("opens:", "@:").replace("closes:", "opens:").replace("@:", "closes:")
        lines = frozenset({opens.spot.line})
        yield Planted(sheet.with_line(opens.spot.line, swapped), lines, "comes back at", f"{part} swapped")


def position_misspelled(sheet: Sheet) -> Iterator[Planted]:
    """A position of a chart is misspelled."""
    for path, line, text in sheet.values(r"[a-z ]+"):
        if len(path) == 5 and path[2] == "chart":
            row = sheet.lines[line - 1]
            yield sheet.sub(line, row[row.index("[") :].split("]")[0], "[" + text + "x", "has no position")


def chart_line_emptied(sheet: Sheet) -> Iterator[Planted]:
    """The marks of a line of a chart are overlooked."""
    for line, row in _chart_rows(sheet):
        yield sheet.sub(line, row[row.index("[") :], "[]", "closed in no position")


def chart_mark_doubled(sheet: Sheet) -> Iterator[Planted]:
    """A mark of a chart is written twice."""
    for line, row in _chart_rows(sheet):
        first = row[row.index("[") + 1 :].split(",")[0].rstrip("]")
        yield sheet.sub(line, "[" + first, f"[{first}, {first}", "twice")


def chart_line_full(sheet: Sheet) -> Iterator[Planted]:
    """A line of a chart is marked everywhere."""
    for part, entry in sheet.entries("parts").items():
        control = tree.reach(entry, ("control",))
        chart = tree.reach(entry, ("chart",))
        positions = tree.reach(sheet.root, ("controls", str(control.value) if control else part, "positions"))
        if chart is None or positions is None or not isinstance(chart.value, dict):
            continue
        every = "[" + ", ".join(str(node.value) for node in positions.value if isinstance(node, tree.Node)) + "]"
        for node in chart.value.values():
            row = sheet.lines[node.spot.line - 1]
            yield sheet.sub(node.spot.line, row[row.index("[") :], every, "in every position")


def _chart_rows(sheet: Sheet) -> Iterator[tuple[int, str]]:
    for part, entry in sheet.entries("parts").items():
        chart = tree.reach(entry, ("chart",))
        if chart is not None and isinstance(chart.value, dict):
            for key in chart.value:
                line = chart.keys[key].line
                assert part
                yield line, sheet.lines[line - 1]


def name_misspelled(key: str, says: str) -> Plant:
    """A name under a key of the parts is misspelled."""

    def plant(sheet: Sheet) -> Iterator[Planted]:
        for part, entry in sheet.entries("parts").items():
            node = tree.reach(entry, (key,))
            if node is not None and isinstance(node.value, str) and node.value != "none":
                also = (sheet.part_line(part),)
                yield sheet.sub(node.spot.line, f"{key}: {node.value}", f"{key}: {node.value}q", says, also)

    return plant


def key_misspelled(sheet: Sheet) -> Iterator[Planted]:
    """A key of a part is misspelled."""
    for entry in sheet.entries("parts").values():
        for key, spot in entry.keys.items():
            row = sheet.lines[spot.line - 1]
            changed = row[: spot.column - 1] + row[spot.column - 1 :].replace(f"{key}:", f"{key}q:", 1)
            yield Planted(sheet.with_line(spot.line, changed), frozenset({spot.line}), f"{key}q'", f"{key} of {spot}")


def key_left_out(sheet: Sheet) -> Iterator[Planted]:
    """The bay of a part is left out."""
    for part, entry in sheet.entries("parts").items():
        node = tree.reach(entry, ("in",))
        if node is not None and node.spot.line == sheet.part_line(part):
            yield sheet.sub(node.spot.line, f", in: {node.value}", "", "'in' is missing")


def written_twice(section: str) -> Plant:
    """An entry is written a second time."""

    def plant(sheet: Sheet) -> Iterator[Planted]:
        section_node = tree.reach(sheet.root, (section,))
        for name, node in sheet.entries(section).items():
            assert section_node is not None
            line = section_node.keys[name].line
            if node.spot.line == line:
                row = sheet.lines[line - 1]
                yield Planted(sheet.with_line(line, row, row), frozenset({line + 1}), "is written twice", name)

    return plant


def bays_in_a_ring(sheet: Sheet) -> Iterator[Planted]:
    """A bay is said to lie behind one that lies behind it."""
    for name, entry in sheet.entries("bays").items():
        behind = tree.reach(entry, ("behind",))
        assert behind is not None
        yield sheet.sub(behind.spot.line, f"behind: {behind.value}", f"behind: {name}", "cannot be reached")


def bay_unknown(sheet: Sheet) -> Iterator[Planted]:
    """A bay lies behind one that is not there."""
    for entry in sheet.entries("bays").values():
        behind = tree.reach(entry, ("behind",))
        assert behind is not None
        yield sheet.sub(behind.spot.line, f"behind: {behind.value}", f"behind: {behind.value}q", "There is no bay")


def minutes_as_hours(sheet: Sheet) -> Iterator[Planted]:
    """Hours are written for minutes."""
    for path, line, text in sheet.values(r"\d+ min", ("parts", "symptoms", "bays")):
        number = int(text.split()[0])
        if number > 5:
            says = "takes" if number <= 24 else "no time"
            yield sheet.sub(line, f"{path[-1]}: {text}", f"{path[-1]}: {number} h", says)


def price_without_point(sheet: Sheet) -> Iterator[Planted]:
    """The point of a price is lost, twice."""
    for _, line, text in sheet.values(r"\d+ USD"):
        yield sheet.sub(line, text, text.replace(" USD", "000 USD"), "costs")


def other_currency(sheet: Sheet) -> Iterator[Planted]:
    """A price is taken over from another country."""
    for _, line, text in sheet.values(r"\d+ USD"):
        yield sheet.sub(line, text, text.replace("USD", "EUR"), "the file in USD")


def tolerance_of_hundreds(sheet: Sheet) -> Iterator[Planted]:
    """The tolerance is a hundred times too wide."""
    for _, line, text in sheet.values(r".*± ?\d+ ?%?"):
        yield sheet.sub(line, text, re.sub(r"(± ?\d+)", r"\g<1>00", text), "too wide to be meant")


def off_by_thousand(sheet: Sheet) -> Iterator[Planted]:
    """A kilo too many."""
    for _, line, text in sheet.values(r"[\d.]+ (ohm|W)\b.*"):
        yield sheet.sub(line, text, re.sub(r" (ohm|W)", r" k\1", text, count=1), r"; of a .* it is ")


def symptom_of_nothing(sheet: Sheet) -> Iterator[Planted]:
    """A name in a symptom is misspelled."""
    keys = {"running", "hums", "lit", "sounds", "heat from", "air from", "carried by", "through", "trips"}
    for path, line, text in sheet.values(r".+", ("symptoms",)):
        if path[2] in keys:
            row = sheet.lines[line - 1]
            at = row.index(f"{path[2]}:")
            changed = row[:at] + row[at:].replace(text, text + "q", 1)
            yield Planted(sheet.with_line(line, changed), frozenset({line}), "There is no", f"{path} {text}")


def setting_unknown(sheet: Sheet) -> Iterator[Planted]:
    """A position of a setting is misspelled."""
    for path, line, text in sheet.values(r".+", ("symptoms", "settings", "seen")):
        if "set" in path or path[0] == "settings":
            yield sheet.sub(line, f"{path[-1]}: {text}", f"{path[-1]}: {text}q", "has no (position|warmth)")


def control_of_setting_unknown(sheet: Sheet) -> Iterator[Planted]:
    """A control of a setting is misspelled."""
    for path, line, text in sheet.values(r".+", ("symptoms", "settings", "seen")):
        if "set" in path or path[0] == "settings":
            yield sheet.sub(line, f"{path[-1]}: {text}", f"{path[-1]}q: {text}", "There is no control")


def lead_misplaced(sheet: Sheet) -> Iterator[Planted]:
    """A lead of a reading stands where no terminal is."""
    for path, line, text in sheet.values(r".+", ("seen",)):
        if path[-1] in ("red", "black"):
            yield sheet.sub(line, f"{path[-1]}: {text}", f"{path[-1]}: {text}q", "has no terminal")


def both_leads_on_one(sheet: Sheet) -> Iterator[Planted]:
    """The black lead is copied from the red one."""
    for index, node in enumerate(sheet.items("seen")):
        red, black = (tree.reach(node, (key,)) for key in ("red", "black"))
        assert red is not None
        assert black is not None
        assert index >= 0
        yield sheet.sub(black.spot.line, f"black: {black.value}", f"black: {red.value}", "Both leads")


def not_isolated(sheet: Sheet) -> Iterator[Planted]:
    """Ohms without isolating."""
    for node in sheet.items("seen"):
        if "isolated: yes" in sheet.lines[node.spot.line - 1] and "ohms" in sheet.lines[node.spot.line - 1]:
            yield sheet.sub(node.spot.line, "isolated: yes, ", "", "never measured")


def supply_end_forgotten(sheet: Sheet) -> Iterator[Planted]:
    """An end of the cord is forgotten."""
    meets = tree.reach(sheet.root, ("supply", "meets"))
    assert meets is not None
    assert isinstance(meets.value, dict)
    for end, node in meets.value.items():
        row = sheet.lines[node.spot.line - 1]
        changed = re.sub(rf"{end}: {re.escape(str(node.value))}(, )?", "", row)
        line = frozenset({node.spot.line})
        yield Planted(sheet.with_line(node.spot.line, changed), line, f"where {end} of the supply lands", end)


def thin_cord(sheet: Sheet) -> Iterator[Planted]:
    """Cable or cord is thinner than the breaker allows."""
    for _, line, text in sheet.values(r"\d+ AWG .*", ("supply",)):
        yield sheet.sub(line, text, re.sub(r"\d+ AWG", "20 AWG", text), "too thin")


def place_misspelled(sheet: Sheet) -> Iterator[Planted]:
    """A place under temperatures has another name than the parts use."""
    node = tree.reach(sheet.root, ("temperatures",))
    for place in sheet.entries("temperatures"):
        assert node is not None
        line = node.keys[place].line
        users = [n for n, row in enumerate(sheet.lines, 1) if re.search(rf"\bat: {place}\b", row)]
        parts = [sheet.part_line(p) for p, e in sheet.entries("parts").items() if _text(e, "at") == place]
        yield Planted(
            sheet.with_line(line, sheet.lines[line - 1].replace(f"{place}:", f"{place} q:")),
            frozenset(users + parts),
            "has no place",
            place,
        )


def _text(entry: tree.Node, key: str) -> str:
    node = tree.reach(entry, (key,))
    return str(node.value) if node is not None else ""


PLANTS: dict[str, Plant] = {
    "terminal misspelled": terminal_misspelled,
    "part misspelled": part_misspelled,
    "wire left out": wire_left_out,
    "wire written twice": wire_written_twice,
    "wire to itself": wire_to_itself,
    "colour as the maker writes it": colour_of_the_sheet,
    "earth colour on a live wire": earth_colour,
    "length without its point": length_without_point,
    "unit left out": unit_left_out,
    "unit of another dimension": wrong_unit,
    "opens and closes swapped": temperatures_swapped,
    "position misspelled": position_misspelled,
    "chart line emptied": chart_line_emptied,
    "chart line full": chart_line_full,
    "chart mark doubled": chart_mark_doubled,
    "type misspelled": name_misspelled("type", "There is no part type"),
    "bay misspelled": name_misspelled("in", "There is no bay"),
    "control misspelled": name_misspelled("control", "There is no control"),
    "place misspelled at a part": name_misspelled("at", "has no place"),
    "place misspelled": place_misspelled,
    "key misspelled": key_misspelled,
    "bay left out": key_left_out,
    "part written twice": written_twice("parts"),
    "symptom written twice": written_twice("symptoms"),
    "bay written twice": written_twice("bays"),
    "bays in a ring": bays_in_a_ring,
    "bay behind nothing": bay_unknown,
    "hours for minutes": minutes_as_hours,
    "price without its point": price_without_point,
    "price of another currency": other_currency,
    "tolerance too wide": tolerance_of_hundreds,
    "kilo too many": off_by_thousand,
    "symptom of nothing": symptom_of_nothing,
    "setting unknown": setting_unknown,
    "control of a setting unknown": control_of_setting_unknown,
    "lead misplaced": lead_misplaced,
    "both leads on one terminal": both_leads_on_one,
    "ohms without isolating": not_isolated,
    "supply end forgotten": supply_end_forgotten,
    "cord too thin": thin_cord,
}
"""Every kind of mistake."""
