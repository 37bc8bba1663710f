"""Goods and things done ahead that a job file says are there."""

from __future__ import annotations

from collections.abc import Iterator

from curing.errors import Problem
from curing.sources.job_draft import Draft
from curing.sources.validation import unknown


def check_at_hand(draft: Draft) -> Iterator[Problem]:
    """Yield what is said to be there and no coat system of the job names."""
    known: set[str] = set()
    for system in draft.systems.values():
        known |= {one.id for one in system.goods} | {one.id for one in system.ahead}
    if not all(draft.system_of(face) for face in draft.faces):
        return
    for name in draft.head.at_hand:
        if name not in known:
            yield draft.problem(("at_hand", name), f"at_hand: {unknown('goods', name, sorted(known))}", key=True)
