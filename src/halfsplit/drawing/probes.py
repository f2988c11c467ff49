"""The meter's leads: tagged flags in the margin that say in words where each tip goes, and a line to the terminal.

The line goes around words, chips and symbols, and comes to its terminal straight or slanted, whichever touches least;
it has a pale casing, so that it is not taken for a wire. May know: the canvas, the tracks and the ways of leads.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations

from halfsplit.drawing import svg, theme
from halfsplit.drawing.canvas import Area, Canvas, Point
from halfsplit.drawing.lead_ground import STEP, TIP, TOUCH, Ground
from halfsplit.drawing.lead_way import Goal, cheapest
from halfsplit.drawing.sheet import Lead, Sheet
from halfsplit.drawing.wires import Track

ROW, TALL, EDGE = 26.0, 18.0, 2.0
BESIDE = 8.0
"""Room for a line on each side of the page, where no lead finds a way without it [px]."""


@dataclass(frozen=True, slots=True)
class Flag:
    """A lead with the point it goes to and the side of the page its flag is on."""

    lead: Lead
    point: Point
    top: bool
    turn: int

    @property
    def words(self) -> str:
        """What the flag says."""
        return f"{self.lead.colour}: {self.lead.words}"

    @property
    def width(self) -> float:
        """Width of the flag in px."""
        return theme.width("flag", self.words) + 16


def flags(sheet: Sheet, spots: Mapping[str, Sequence[Point]], middle: float) -> list[Flag]:
    """Flags of leads whose terminal, or another of its net, is drawn; at the top or the foot, whichever is nearer."""
    net_of = sheet.net_of()
    terminals = {net.name: net.terminals for net in sheet.nets}
    made: list[Flag] = []
    for lead in sheet.leads:
        near = [lead.terminal, *terminals[net_of[lead.terminal]]]
        point = next((spots[terminal][0] for terminal in near if spots.get(terminal)), None)
        if point:
            top = point[1] <= middle
            made.append(Flag(lead, point, top, sum(flag.top == top for flag in made)))
    return made


def margins(made: Iterable[Flag]) -> tuple[float, float]:
    """Room for flags at the top and at the foot."""
    rows = [flag.top for flag in made]
    return ROW * rows.count(True) + 8 * (True in rows), ROW * rows.count(False) + 8 * (False in rows)


def _corners(points: Sequence[Point]) -> list[Point]:
    kept = [points[0]]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        if (here[0] - before[0]) * (after[1] - here[1]) != (here[1] - before[1]) * (after[0] - here[0]):
            kept.append(here)
    return [*kept, points[-1]]


def _tip(end: Point, before: Point, colour: str) -> str:
    """A slender point that touches the terminal."""
    dx, dy = end[0] - before[0], end[1] - before[1]
    size = (dx * dx + dy * dy) ** 0.5 or 1.0
    ux, uy = dx / size, dy / size
    long, half = TIP
    back = (end[0] - long * ux, end[1] - long * uy)
    points = [end, (back[0] - half * uy, back[1] + half * ux), (back[0] + half * uy, back[1] - half * ux)]
    return svg.tag("path", class_=f"tip-{colour}", d=svg.line(points) + "Z")


def _spots(made: Sequence[Flag], top: float, foot: float, width: float) -> list[Point]:
    """Upper left corners: side by side over their points where the page is wide enough, else one under the other."""
    spots: dict[int, Point] = {}
    for side, y in ((True, top), (False, foot)):
        row = sorted((i for i, flag in enumerate(made) if flag.top == side), key=lambda i: made[i].point[0])
        room = width - 24 - sum(made[i].width + 10 for i in row) + 10
        if room >= 0:
            spots |= _in_a_row(made, row, y, width)
        else:
            spots |= {i: (44.0 if side is (k > 0) else 12.0, y + ROW * k) for k, i in enumerate(row)}
    return [spots[i] for i in range(len(made))]


def _in_a_row(made: Sequence[Flag], row: Sequence[int], y: float, width: float) -> dict[int, Point]:
    lefts: list[float] = []
    least = 12.0
    for i in row:
        lefts.append(max(least, made[i].point[0] - made[i].width / 2))
        least = lefts[-1] + made[i].width + 10
    most = width - 12.0
    for k in range(len(row) - 1, -1, -1):
        lefts[k] = min(lefts[k], most - made[row[k]].width)
        most = lefts[k] - 10
    return {i: (left, y) for i, left in zip(row, lefts, strict=True)}


def drawn(canvas: Canvas, made: Sequence[Flag], tracks: Sequence[Track], top: float, foot: float, width: float) -> int:
    """Draws flags from ``top`` down and from ``foot`` down, and their lines; returns how often these touch words."""
    spots = _spots(made, top, foot, width)
    for flag, (left, y) in zip(made, spots, strict=True):
        canvas.area(left, y, left + flag.width, y + TALL, f"words {flag.words}")
    page = _Page(canvas, tracks, Area(EDGE, top, width - EDGE, foot, "page"), {})
    ways = [page.ways([(made[i], spots[i]) for i in order]) for order in permutations(range(len(made)))]
    price, lines = min(ways, key=lambda found: found[0])
    for flag, points, spot in lines:
        _lead(canvas, flag, points, *spot)
    return int(min(price, 1e9) // TOUCH)


@dataclass(frozen=True, slots=True)
class _Page:
    """Where lines may run, and the grounds that were looked at so far, by goal and step."""

    canvas: Canvas
    tracks: Sequence[Track]
    within: Area
    grounds: dict[tuple[Point, float], Ground]

    def ways(self, placed: Sequence[tuple[Flag, Point]]) -> tuple[float, list[tuple[Flag, list[Point], Point]]]:
        """The lines of flags one after the other, each around those before it, and what they cost in all."""
        total = 0.0
        made: list[tuple[Flag, list[Point], Point]] = []
        for flag, spot in placed:
            price, points = self._line(flag, spot, [points for _, points, _ in made])
            total += price
            made.append((flag, points, spot))
        return total, made

    def _line(self, flag: Flag, spot: Point, leads: Sequence[Sequence[Point]]) -> tuple[float, list[Point]]:
        """A line on a wide grid, or where that touches something, the better one on a fine grid."""
        price, points = _points(flag, self._ground(flag.point, STEP).after(leads), spot, self.within)
        if price < TOUCH:
            return price, points
        fine = _points(flag, self._ground(flag.point, STEP / 2).after(leads), spot, self.within)
        return min((price, points), fine)

    def _ground(self, goal: Point, step: float) -> Ground:
        if (goal, step) not in self.grounds:
            self.grounds[goal, step] = Ground(self.canvas, self.tracks, goal, step)
        return self.grounds[goal, step]


def _points(flag: Flag, ground: Ground, spot: Point, within: Area) -> tuple[float, list[Point]]:
    """Corners of a lead from the edge of its flag to its terminal, and what that way costs."""
    left, y = spot
    edge = y + (TALL if flag.top else 0)
    low, row = ground.node((left + 10, edge + (9 if flag.top else -9)))
    high = max(low, ground.node((left + flag.width - 10, edge))[0])
    (x, y), step = ground.goal, ground.step
    columns = math.ceil((within.left - x) / step), math.floor((within.right - x) / step)
    rows = math.ceil((within.top - y) / step), math.floor((within.bottom - y) / step)
    price, nodes = cheapest(ground, Goal(row, low, high, columns, (min(row, rows[0]), max(row, rows[1]))))
    points = [ground.point(node) for node in reversed(nodes)]
    return price, _corners([(points[0][0], edge), *points])


def _lead(canvas: Canvas, flag: Flag, points: Sequence[Point], left: float, y: float) -> None:
    path = svg.line([(round(u, 2), round(v, 2)) for u, v in points])
    colour = flag.lead.colour
    pieces = [
        svg.tag("path", class_=f"casing casing-{colour}", d=path),
        svg.tag("path", class_=f"lead lead-{colour}", d=path),
        _tip(points[-1], points[-2], colour),
        svg.tag("rect", class_=f"flag-{colour}", x=left, y=y, width=flag.width, height=TALL, rx=2),
        svg.text(left + 8, y + 12.8, flag.words, class_="flag on-flag"),
    ]
    canvas.put("leads", svg.tag("g", pieces, class_="lead-mark", data_lead=colour, data_terminal=flag.lead.terminal))
