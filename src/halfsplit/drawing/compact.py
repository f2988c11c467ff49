"""Rungs pushed together across the flow: each as near to those before it as the room on shared ranks and gaps allows.

Used down the page, where labels make some rungs much wider than others; rungs that meet end to start move as
one, so that they stay in line. The order of rungs that share a rank never changes, so no crossing arises.
May know: plan, cells, fixtures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from halfsplit.drawing import cells, fixtures, graph
from halfsplit.drawing.cells import Cell, Room, Style, Way
from halfsplit.drawing.plan import Plan
from halfsplit.drawing.sheet import Sheet

_WIRE = 9.0
"""Room on either side of a wire, px."""

Zones = dict[int, Room]
"""Room over and under a rung by zone: 2 r is rank r, 2 g + 1 is the gap after rank g."""


def _larger(one: Room, two: Room) -> Room:
    return Room(over=max(one.over, two.over), under=max(one.under, two.under))


def _zones(plan: Plan, sheet: Sheet, found: Mapping[int, Cell], gap: Mapping[int, int], style: Style) -> list[Zones]:
    way = style.way
    frames = fixtures.bus_frames(plan, sheet)
    nets = {net.name: net for net in sheet.nets}
    last = max(plan.rank[rung.nodes[-1]] + rung.bus for rung in plan.rungs) if plan.rungs else 0
    wire = Room(over=_WIRE - style.closer, under=_WIRE - style.closer)
    made = []
    for number, rung in enumerate(plan.rungs):
        start = 2 * plan.rank[rung.nodes[0]]
        stop = 2 * (plan.rank[rung.nodes[-1]] + rung.bus)
        zones: Zones = dict.fromkeys(range(start, stop + 1), wire)
        for i in rung.links:
            zones[2 * gap[i] + 1] = _larger(wire, cells.room(found[i], style))
        for place, frame in frames.get(number, ()):
            zones[start + max(0, 2 * place - 1)] = fixtures.frame_room(sheet, frame, way)
        for node in plan.inline & set(rung.nodes):
            beyond = [start - 1] if node == rung.nodes[0] else range(stop + 1, 2 * last + 2)
            zones |= dict.fromkeys(beyond, fixtures.inline_room(fixtures.head(sheet, nets[node], way is Way.DOWN)))
        if not rung.links and not rung.bus:
            need = fixtures.head_room(fixtures.head(sheet, nets[rung.nodes[0]], way is Way.ACROSS))
            zones = dict.fromkeys((start - 1, start, start + 1), need)
        made.append(zones)
    return made


def _box_zones(plan: Plan, sheet: Sheet, way: Way, zones: Sequence[Zones]) -> None:
    for index, box in enumerate(sheet.boxes):
        node = graph.box_node(box.part)
        on = sorted(fixtures.crosses(plan.rungs, node), key=lambda n: plan.rows[n])
        if on:
            size, zone = fixtures.box_size(sheet, index, way), 2 * plan.rank[node]
            zones[on[0]][zone] = _larger(zones[on[0]][zone], Room(over=size.over))
            zones[on[-1]][zone] = _larger(zones[on[-1]][zone], Room(under=size.under))


def _teams(plan: Plan) -> list[list[int]]:
    """Rungs of one row that meet at a net, in teams, from the first row to the last."""
    teams: list[list[int]] = []
    for number in sorted(range(len(plan.rungs)), key=lambda n: (plan.rows[n], n)):
        ends = {plan.rungs[number].nodes[0], plan.rungs[number].nodes[-1]}
        mates = [t for t in teams if plan.rows[t[0]] == plan.rows[number] and _meets(plan, t, ends)]
        team = [number, *(n for t in mates for n in t)]
        teams = [t for t in teams if t not in mates] + [team]
    return sorted(teams, key=lambda t: (plan.rows[t[0]], min(t)))


def _meets(plan: Plan, team: Sequence[int], ends: set[str]) -> bool:
    return any(ends & {plan.rungs[n].nodes[0], plan.rungs[n].nodes[-1]} for n in team)


def positions(
    plan: Plan, sheet: Sheet, found: Mapping[int, Cell], gap: Mapping[int, int], style: Style
) -> tuple[tuple[float, ...], float]:
    """Place across the flow of every rung, and the whole width."""
    zones = _zones(plan, sheet, found, gap, style)
    _box_zones(plan, sheet, style.way, zones)
    edge: dict[int, float] = {}
    place = [0.0] * len(plan.rungs)
    for team in _teams(plan):
        at = max(edge.get(zone, 0.0) + room.over for n in team for zone, room in zones[n].items())
        for n in team:
            place[n] = round(at, 2)
            for zone, room in zones[n].items():
                edge[zone] = max(edge.get(zone, 0.0), place[n] + room.under)
    return tuple(place), max(edge.values(), default=0.0)
