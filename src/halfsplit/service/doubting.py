"""A reading that does not fit, told of as soon as it was typed: what a good machine shows there, and that it is read
again.

Knows what was believed before and after a finding; takes nothing back itself.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.predict.predictor import Predictor
from halfsplit.service import expecting, naming

APART = 3.5
"""So many standard deviations from what any known cause shows, a reading fits none of them."""


def sentences(before: Weighed, after: Weighed, new: tuple[f.Finding, ...]) -> Iterator[str]:
    """What is said of findings that were just typed: of each reading that fits nothing, and where what the file does
    not say has become likeliest, of the one that fits worst."""
    odd = [one for one in new if isinstance(one, f.Reading) and fits_nothing(after.predictor, one)]
    yield from (_again(after.predictor, one, FITS_NOTHING, one is new[-1]) for one in odd)
    if odd or not is_unsaid(after) or is_unsaid(before):
        return
    worst = to_take_again(after)
    if isinstance(worst, f.Reading) and worst in new:
        yield _again(after.predictor, worst, MISFITS, worst is new[-1])
    elif worst is not None:
        label = naming.told(after.predictor.machine, worst.label)
        yield f"Likeliest is now {naming.UNSAID}. What fits worst: {label}. {LOOK}"


FITS_NOTHING = "fits nothing that the file knows"
MISFITS = "does not fit what was found before"
LOOK = "Take that again, if you can."


def to_take_again(weighed: Weighed) -> f.Finding | None:
    """The finding that fits worst; None where there is none, and where something of the house tripped: a short may
    stand behind it, and nobody is told to have it once more."""
    worst = weighed.worst_fit()
    tripped = isinstance(worst, f.Perceived) and worst.there and weighed.predictor.machine.house_trips(worst.what)
    return None if tripped else worst


def is_unsaid(weighed: Weighed) -> bool:
    """Whether something that the file does not say is likelier than each of what it does."""
    return bool(weighed.findings) and weighed.unsaid > weighed.in_file * max(weighed.by_group, default=0.0)


def fits_nothing(predictor: Predictor, found: f.Reading) -> bool:
    """Whether no cause that was weighed would show such a reading."""
    if found.beeps is not None or found.spans:
        return False
    shown = predictor.reading(found.probe, found.condition)
    if found.value is None:
        return not bool((shown.over > 0.01).any())
    x = np.arcsinh(found.value / shown.scale)
    digit = np.arcsinh((found.value + found.step / 2) / shown.scale) - x
    return bool(((np.abs(x - shown.mean) > APART * shown.deviation + digit) | (shown.over > 0.99)).all())


def _again(predictor: Predictor, found: f.Reading, why: str, is_last: bool) -> str:
    good = expecting.when_good(predictor, found.probe, found.condition)
    undo = "Type undo to take it anew." if is_last else "Type undo until it is gone, to take it anew."
    return f"{found.shown} {why} ({good}): read it again? {undo}"
