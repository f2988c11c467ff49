"""A file of findings played again as the guide leads: at each repair in it what was found before becomes the prior of
what is left, and what the repair cures is good.

The one way from findings to what counts of them now, for whatever reads a file (`diagnose`, `visit`). Without a repair
all findings count, on the machine as it was. Knows the guided diagnosis and how it goes on after a repair; advises
nothing.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import replace

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.plan.score import Adviser
from halfsplit.service import after_repair, refusing
from halfsplit.service.guiding import Guided
from halfsplit.service.leaving import WHATEVER, Limits

Findings = Sequence[f.Finding]


def replayed(asked: Adviser, findings: Findings, refused: Iterable[object] = (), limits: Limits = WHATEVER) -> Guided:
    """The diagnosis where these findings have led it, its bench and adviser renewed at each repair in turn; its
    `findings` are those that count since the last.

    `asked`: the adviser of the machine before any repair; `refused`: what cannot be done here, beside what the findings
    say of that (`f.Cannot`), which none of `findings` is then; `limits`: when the work
    ends though it could go on. A repair that the machine does not know is a finding like others.
    """
    counted, said = refusing.parted(asked.bench.machine, findings)
    guided = Guided(asked, (), frozenset(refused) | said, limits=limits)
    for tried, found in _parted(counted, asked.bench.repairs):
        guided = _after(guided, tried, found) if tried else guided.told(*found)
    return guided


def _parted(findings: Findings, known: Container[str]) -> Iterator[tuple[list[f.Tried], Findings]]:
    """The findings in parts, each but the first begun by repairs that were made in one go: with nothing found between
    them, cured alike."""
    tried: list[f.Tried] = []
    found: list[f.Finding] = []
    for x in findings:
        if not isinstance(x, f.Tried) or x.repair not in known:
            found.append(x)
        elif tried and not found and (x.cured, x.well) == (tried[0].cured, tried[0].well):
            tried.append(x)
        else:
            yield tried, found
            tried, found = [x], []
    yield tried, found


def _after(guided: Guided, tried: Sequence[f.Tried], found: Findings) -> Guided:
    """On after these repairs, with all that was found until the next: first what their proof run has shown. Water
    stands on the floor until it is seen to be gone, as in the guide, or the repair has cured and all is well, which it
    is not where something is told to be wrong since."""
    first, ran = tried[0], tried[0].cured is not None
    shown, since = _proved(found, ran)
    if first.cured and well.unlike_the_healthy(guided.bench.predictor, found):
        tried = [replace(one, well=False) for one in tried]
    wet = () if first.proved else after_repair.left_wet(guided, found, ran)
    return after_repair.told_so(guided, tried, (*shown, *wet)).told(*since)


def _proved(found: Findings, ran: bool) -> tuple[Findings, Findings]:
    """What a proof run has shown, until the machine was put together and in use (`ran`), or its power left off; and
    what was found since. Where nobody says that it was put together, all was found since."""
    closed = next(((n, x.power) for n, x in enumerate(found) if isinstance(x, f.Closed)), None)
    if closed is None or closed[1] != ran:
        return (), found
    return found[: closed[0]], found[closed[0] + 1 :]

