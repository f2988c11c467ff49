"""Readings that were taken otherwise than may have been meant: a prefix with two meanings, a tolerance that does not
count. Told to who wrote them.

Knows findings, and how what a display showed is read.
"""

from __future__ import annotations

from collections.abc import Iterable

from halfsplit.evidence import displayed
from halfsplit.evidence import finding as f


def sentences(found: Iterable[f.Finding]) -> list[str]:
    """What is to be told of how readings were read, each once.

    >>> from halfsplit.operate.condition import Condition
    >>> from halfsplit.predict.readings import Probe
    >>> one = f.Reading(Probe("ohms", "fuse.1", "fuse.2"), Condition(()), 0.005, text="5m")
    >>> sentences([one, one])
    ["'5m': 'm' was read as milli; mega is a capital M."]
    """
    return list(dict.fromkeys(
        remark
        for one in found
        if isinstance(one, f.Reading)
        for remark in displayed.remarks(one.text, one.probe.meter)
    ))  # fmt: skip
