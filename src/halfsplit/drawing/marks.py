"""Marks of what can hurt, and the words for them.

A hatched band runs along every net that can be at mains potential, whichever leg; a dashed edge shows what is not
proven dead, so that a plain wire is never taken for safe.

May know: tracks and states. The hatch, not the colour, carries the meaning.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from halfsplit.drawing import svg
from halfsplit.drawing.sheet import State
from halfsplit.drawing.wires import Track

WORDS = {
    State.LIVE: "hatched: can be at mains potential",
    State.NOT_PROVEN: "dashed edge: not proven dead",
    State.DEAD: "plain: proven dead",
    State.UNSAID: "plain: nothing is said of the potential; treat it as live",
}


def hatch(name: str) -> str:
    """The pattern of the band, under the id ``name``."""
    stroke = svg.tag("path", class_="live-hatch", d="M-2 8L8 -2M-2 2L2 -2M4 8L8 4")
    return svg.tag("pattern", [stroke], id=name, width=6, height=6, patternUnits="userSpaceOnUse")


def _outline(track: Track) -> str:
    return "".join(svg.line(piece) for piece in track.pieces)


def _band(track: Track, state: State, pattern: str) -> list[str]:
    path = _outline(track)
    if state is State.LIVE:
        looks = [("live-rim", ""), ("live-gap", ""), ("live-band", f"url(#{pattern})")]
    else:
        looks = [("doubt-rim", ""), ("doubt-gap", "")]
    return [svg.tag("path", class_=look, d=path, stroke=paint) for look, paint in looks]


def bands(tracks: Iterable[Track], states: Mapping[str, State], pattern: str) -> list[str]:
    """Bands behind the wires, those in doubt first, so that a live one is never covered."""
    made: list[tuple[int, str]] = []
    for track in tracks:
        state = states[track.net]
        if track.pieces and state in (State.LIVE, State.NOT_PROVEN):
            group = svg.tag(
                "g", _band(track, state, pattern), class_="band", data_net=track.net, data_state=state.value
            )
            made.append((state is State.LIVE, group))
    return [group for _, group in sorted(made, key=lambda pair: pair[0])]


def legend(states: Iterable[State], current: bool) -> list[tuple[str, str]]:
    """What the marks mean, as (sample, words), only for those that are on the sheet."""
    here = set(states)
    lines = [(state.value, WORDS[state]) for state in State if state in here]
    return lines + ([("current", "thick: current flows")] if current else [])
