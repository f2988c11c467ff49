"""The last answer of a method, kept for the same things asked: while one step is chosen it is asked hundreds of times.

Knows nothing of steps. Things are the same where they are one object, and none may change: to compare candidates by
what is in them, as functools does, would take longer than to answer.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar, TypeVarTuple

Owner = TypeVar("Owner")
Asked = TypeVarTuple("Asked")
Made = TypeVar("Made")


def latest(method: Callable[[Owner, *Asked], Made]) -> Callable[[Owner, *Asked], Made]:
    """The method with its last answer kept, in the object that it belongs to.

    >>> class Counter:
    ...     made = 0
    ...     @latest
    ...     def of(self, thing: object) -> int:
    ...         self.made += 1
    ...         return self.made
    >>> one, other, counter = [], [], Counter()
    >>> counter.of(one), counter.of(one), counter.of(other), counter.of(one)
    (1, 1, 2, 3)
    """
    name = f"_latest_{method.__name__}"

    @wraps(method)
    def kept(owner: Owner, /, *asked: *Asked) -> Made:
        things: tuple[object, ...] = asked
        last: tuple[tuple[object, ...], Made] | None = owner.__dict__.get(name)
        if last is None or any(a is not b for a, b in zip(last[0], things, strict=True)):
            last = owner.__dict__[name] = (things, method(owner, *asked))
        return last[1]

    return kept
