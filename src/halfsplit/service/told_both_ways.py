"""What one person told both ways of one setting, nothing done in between: a slip of the pen, or what comes and goes.

Both are weighed, so that it is said and not refused. Knows findings; weighs nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from halfsplit.evidence import finding as f
from halfsplit.operate.condition import Condition

BOTH = "{what}: told yes and no by the {by}{setting}. Both are weighed; leave out what was mistaken."


def sentences(found: Iterable[f.Finding]) -> Iterator[str]:
    """A sentence for each symptom that was told both ways, once.

    >>> list(sentences([f.Perceived("drum turns", True), f.Perceived("drum turns", False)]))
    ['drum turns: told yes and no by the owner, of no stated setting. Both are weighed; leave out what was mistaken.']
    >>> no, mended, yes = f.Perceived("turns", False), f.Tried("replace belt", True), f.Perceived("turns", True)
    >>> list(sentences([no, mended, yes]))
    []
    """
    told: dict[tuple[str, str, Condition | None], set[bool]] = {}
    for one in found:
        if isinstance(one, f.Tried | f.Closed):
            told.clear()
        elif isinstance(one, f.Perceived):
            said = told.setdefault((one.what, one.by, one.condition), set())
            if said == {not one.there}:
                setting = " in the same setting" if one.condition else ", of no stated setting"
                yield BOTH.format(what=one.what, by=one.by, setting=setting)
            said.add(one.there)
