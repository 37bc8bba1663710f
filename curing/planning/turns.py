"""Who takes a walk after all that was decided and passed on."""

from __future__ import annotations

from collections.abc import Iterable

from curing.model.evidence import Turn


def takers(turns: Iterable[Turn]) -> tuple[Turn, ...]:
    """Return the turns of one walk that hold, the last said last.

    A decision stands for all that was said before it. Who passes on a walk that was given to somebody else
    passes on nothing.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from curing.model.evidence import Cause
    >>> cause = Cause("k", "assign", datetime(2027, 5, 3, tzinfo=UTC), "ida")
    >>> given, passed = Turn("bo", "Bo", "", cause), Turn("ida", "Ida", "near", cause)
    >>> [one.person for one in takers([given, passed])], [one.person for one in takers([passed])]
    (['bo'], ['ida'])
    """
    found: dict[str, Turn] = {}
    for turn in holding(turns):
        if not turn.instead:
            found = {}
        found.pop(turn.instead, None)
        found.pop(turn.person, None)
        found[turn.person] = turn
    return tuple(found.values())


def holder(who: str, turns: Iterable[Turn]) -> str:
    """Return who has a walk after turns that have an effect.

    Parameters
    ----------
    who
        Id today of who had it before; empty: nobody.
    turns
        Of :func:`holding`, or the last of those.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from curing.model.evidence import Cause
    >>> cause = Cause("k", "passed-on", datetime(2027, 5, 3, tzinfo=UTC), "bo")
    >>> passed = Turn("ida", "Ida", "bo", cause)
    >>> holder("bo", [passed]), holder("near", [passed])
    ('ida', 'near')
    """
    for turn in turns:
        if turn.instead in ("", who):
            who = turn.person
    return who


def holding(turns: Iterable[Turn]) -> tuple[Turn, ...]:
    """Return the turns of one walk that have an effect, in the order in which they were said.

    Those before the last decision have none, nor has passing on what after it was somebody else's.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from curing.model.evidence import Cause
    >>> cause = Cause("k", "assign", datetime(2027, 5, 3, tzinfo=UTC), "ida")
    >>> given, passed = Turn("bo", "Bo", "", cause), Turn("ida", "Ida", "near", cause)
    >>> [one.person for one in holding([passed, given])], [one.person for one in holding([given, passed])]
    (['bo'], ['bo'])
    """
    found: list[Turn] = []
    has: set[str] | None = None  # None: whoever has it by the plan
    for turn in turns:
        if not turn.instead:
            found, has = [turn], {turn.person}
        elif has is None or turn.instead in has:
            found.append(turn)
            has = None if has is None else (has - {turn.instead}) | {turn.person}
    return tuple(found)
