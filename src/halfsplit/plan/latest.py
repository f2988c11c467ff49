"""The last answer of a method, kept for the same things asked: while one step is chosen it is asked hundreds of times.

Knows nothing of steps. Things are the same where they are one object; none may change.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

Owner = TypeVar("Owner")
Asked = ParamSpec("Asked")
Made = TypeVar("Made")


def latest(method: Callable[Concatenate[Owner, Asked], Made]) -> Callable[Concatenate[Owner, Asked], Made]:
    """The method with its last answer kept, in the object that it belongs to; asked by position only.

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
    def kept(owner: Owner, /, *asked: Asked.args, **named: Asked.kwargs) -> Made:
        if named:
            return method(owner, *asked, **named)
        last: tuple[tuple[object, ...], Made] | None = owner.__dict__.get(name)
        if last is None or any(a is not b for a, b in zip(last[0], asked, strict=True)):
            last = owner.__dict__[name] = (asked, method(owner, *asked, **named))
        return last[1]

    return kept
