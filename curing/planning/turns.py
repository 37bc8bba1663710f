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
    decided = False
    for turn in turns:
        if not turn.instead:
            found, decided = {turn.person: turn}, True
        elif not decided or turn.instead in found:
            found.pop(turn.instead, None)
            found.pop(turn.person, None)
            found[turn.person] = turn
    return tuple(found.values())
