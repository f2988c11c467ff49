"""Steps as partitions of the candidates: the bits that tens of thousands of them tell about the repair, at once.

Knows arrays only. K runs over steps, S over candidates. Most of what steps show is the same over and over: a fault that
opens a circuit is shown together with the same others by a thousand readings. So each set of candidates that a step
shows by one code is kept once, and so is each way in which a step parts the candidates of one repair; a step only says
which of them are its own. A dryer's 16,000 different steps have 69,000 codes, of which 16,000 are different sets.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from halfsplit.evidence.likelihood import Array, Index
from halfsplit.evidence.outcome import Codes, entropy_term, sums

BATCH = 2000
"""Steps that are prepared for scoring at once."""


@dataclass(frozen=True, eq=False)
class Partition:
    """Steps ready to be scored again and again as the posterior moves. Made by ``partition``.

    ``kept`` (N,): steps that part the candidates differently, by the first of each; ``place`` (K,): for every step
    its place among them. ``repair_of`` (S,) numbers the repairs.

    Codes: all but the usual one of each step. ``code`` (C,) numbers their sets of candidates, ``code_step`` (C,) says
    of which step, ascending. A set's candidates stand in ``member`` from ``set_start`` on.

    Splits: a repair's candidates parted by a step. ``split`` (P,) numbers them, ``split_step`` (P,) says of which step,
    ascending. ``split_repair``: of which repair each is; its parts begin at ``split_start``, and a part's candidates
    stand in ``part_member`` from ``part_start`` on.
    """

    kept: Index
    place: Index
    repair_of: Index
    code: Index
    code_step: Index
    member: Index
    set_start: Index
    split: Index
    split_step: Index
    split_repair: Index
    split_start: Index
    part_member: Index
    part_start: Index

    def score(self, probability: Array) -> Array:
        """Bits about the repair that each step would give, for all the steps that were handed in, (K,).

        ``probability`` (S,) in any scale.
        """
        return self.score_kept(probability)[self.place]

    def score_kept(self, probability: Array) -> Array:
        """The same for the distinct steps only, in the order of ``kept``.

        With X the outcome and R the repair, I(X; R) = H(X) - H(X | R) (Shannon 1948); H(X | R) is the sum over the
        step's splits of -p log p of each part, less that of the repair as a whole.
        """
        p, count = probability / probability.sum(), len(self.kept)
        member, split, first_split = self._ready
        shown = _masses(p, member, self.set_start)
        usual = 1.0 - sums(self.code_step, shown[self.code], count)
        h_outcome = sums(self.code_step, entropy_term(shown)[self.code], count)
        h_outcome += entropy_term(np.maximum(usual, 0.0))
        whole = entropy_term(sums(self.repair_of, p, 0))
        parts = entropy_term(_masses(p, self.part_member, self.part_start))
        unsure = (np.add.reduceat(parts, self.split_start) if len(parts) else parts) - whole[self.split_repair]
        if len(split):
            h_outcome[self.split_step[first_split]] -= np.add.reduceat(unsure[split], first_split)
        return np.asarray(np.maximum(h_outcome, 0.0))

    @cached_property
    def _ready(self) -> tuple[Index, Index, Index]:
        """``member`` and ``split`` as wide as numpy takes them: narrower, they would be widened at every score. And the
        first split of each step that has any."""
        first_split = np.flatnonzero(np.diff(self.split_step, prepend=-1))
        return self.member.astype(np.intp), self.split.astype(np.intp), first_split

    def first(self, count: int) -> Partition:
        """The first of the steps that were handed in, to be scored by themselves.

        >>> import numpy as np
        >>> both = partition(np.array([[0, 0, 1, 1], [0, 1, 0, 0]], dtype=np.int8), np.array([0, 1, 2, 2]))
        >>> both.first(1).score(np.ones(4))
        array([1.])
        """
        steps = int(self.place[:count].max(initial=-1)) + 1
        codes, splits = (int(np.searchsorted(at, steps)) for at in (self.code_step, self.split_step))
        sets = int(self.code[:codes].max(initial=-1)) + 1  # numbered as they appear
        members = int(self.set_start[sets]) if sets < len(self.set_start) else len(self.member)
        return replace(
            self,
            kept=self.kept[:steps],
            place=self.place[:count],
            code=self.code[:codes],
            code_step=self.code_step[:codes],
            member=self.member[:members],
            set_start=self.set_start[:sets],
            split=self.split[:splits],
            split_step=self.split_step[:splits],
        )


def _masses(p: Array, member: Index, start: Index) -> Array:
    """The probability of each set of candidates."""
    each: Array = p[member]
    return np.asarray(np.add.reduceat(each, start)) if len(start) else each


def partition(codes: Codes, repair_of: Index) -> Partition:
    """The steps of these codes (K, S) made ready for scoring; ``repair_of`` (S,) numbers the repairs.

    >>> import numpy as np
    >>> steps = partition(np.array([[0, 0, 1, 1], [0, 1, 0, 0]], dtype=np.int8), np.array([0, 1, 2, 2]))
    >>> steps.score(np.ones(4)).round(3)
    array([1.   , 0.811])
    """
    kept, place = distinct(codes)
    made: Iterable[Index] = (kept, place, repair_of, *_sets(codes[kept]), *_splits(codes[kept], repair_of))
    return Partition(*map(_small, made))


def _small(numbers: Index) -> Index:
    """Numbers that fit in 32 bits: half as much to keep and to read back."""
    return np.asarray(numbers, np.int32)


# ---- what is different ------------------------------------------------------------------------------------


def distinct(codes: Codes) -> tuple[Index, Index]:
    """Steps that part the candidates differently: the first index of each, and for every step its place there.

    Codes are replaced by the first candidate that has them, so that only the partition matters.

    >>> import numpy as np
    >>> distinct(np.array([[0, 1, 1], [5, 2, 2], [3, 3, 3]], dtype=np.int8))
    (array([0, 2]), array([0, 0, 1]))
    """
    batches = (codes[start : start + BATCH] for start in range(0, len(codes), BATCH))
    return _numbered(labels.tobytes() for batch in batches for labels in _by_appearance(batch))


def _numbered(things: Iterable[Hashable]) -> tuple[Index, Index]:
    """The first index of each different thing, ascending, and for every one its place there."""
    places: dict[Hashable, int] = {}
    kept: list[int] = []
    place: list[int] = []
    for index, thing in enumerate(things):
        number = places.setdefault(thing, len(kept))
        if number == len(kept):
            kept.append(index)
        place.append(number)
    return np.array(kept, np.intp), np.array(place, np.intp)


def _by_appearance(codes: Codes) -> NDArray[np.int16]:
    """For each candidate the first one of the same code, (K, S): one label for one partition."""
    k, s = codes.shape
    at, rows = codes.view(np.uint8), np.arange(k)[:, None]
    first = np.zeros((k, 256), dtype=np.int16)
    backwards = np.ascontiguousarray(np.broadcast_to(np.arange(s, dtype=np.int16)[::-1], (k, s)))
    first[rows, np.ascontiguousarray(at[:, ::-1])] = backwards  # of equal places the last one written stays
    return first[rows, at]


def _sets(codes: Codes) -> tuple[Index, Index, Index, Index]:
    """The number of each code's set of candidates, and its step; the candidates of the sets, and where each begins."""
    step, candidate = np.nonzero(codes != _usual(codes)[:, None])
    key = step * 256 + codes.view(np.uint8)[step, candidate]
    order = np.argsort(key, kind="stable")
    begins, candidate = _starts(key[order]), candidate[order].astype(np.int32)
    sets = np.split(candidate, begins[1:]) if len(begins) else []
    firsts, number = _numbered(one.tobytes() for one in sets)
    return number, step[order][begins], *_one_after_another([sets[k] for k in firsts])


def _splits(codes: Codes, repair_of: Index) -> tuple[Index, Index, Index, Index, Index, Index]:
    """The number of each split, and its step; the splits' repairs and where their parts begin; the candidates of the
    parts, and where each begins."""
    steps: list[Index] = []
    numbers: list[Index] = []
    repairs: list[int] = []
    parts: list[list[Index]] = []
    for repair in range(int(repair_of.max()) + 1):
        members = np.flatnonzero(repair_of == repair)
        labels = _by_appearance(np.ascontiguousarray(codes[:, members]))
        parted = np.flatnonzero(labels.any(axis=1))
        firsts, number = _numbered(map(bytes, labels[parted]))
        steps.append(parted)
        numbers.append(number + len(parts))
        repairs += [repair] * len(firsts)
        parts += [_of_one_label(members, labels[parted[k]]) for k in firsts]
    step = np.concatenate(steps)
    order = np.argsort(step, kind="stable")
    begins = np.cumsum([0, *map(len, parts)])[:-1]
    made = _one_after_another([part for each in parts for part in each])
    return np.concatenate(numbers)[order], step[order], np.array(repairs, np.intp), begins, *made


def _of_one_label(members: Index, labels: NDArray[np.int16]) -> list[Index]:
    """The members in parts of one label."""
    return [members[labels == label] for label in np.unique(labels)]


def _starts(key: Index) -> Index:
    """Where another key begins, in sorted entries (N,)."""
    new = np.ones(len(key), dtype=bool)
    new[1:] = key[1:] != key[:-1]
    return np.flatnonzero(new)


def _one_after_another(sets: Sequence[Index]) -> tuple[Index, Index]:
    """The members of all sets, and where each set begins."""
    none = np.zeros(0, np.intp)
    return np.concatenate([none, *sets]), np.cumsum([0, *map(len, sets)])[:-1]


def _usual(codes: Codes) -> Codes:
    """The commonest code of each step, (K,); a few thousand steps at a time, which takes less memory."""
    found = [np.zeros(0, np.int8)]
    for start in range(0, len(codes), BATCH):
        some = codes[start : start + BATCH].view(np.uint8)
        at = some + 256 * np.arange(len(some))[:, None]
        counts = np.bincount(at.ravel(), minlength=256 * len(some)).reshape(len(some), 256)
        found.append(counts.argmax(axis=1).astype(np.uint8).view(np.int8))
    return np.concatenate(found)
