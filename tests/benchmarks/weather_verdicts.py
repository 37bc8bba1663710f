"""What a plasterer would say of rules that speak on most days, or never, over the seven recorded years.

Judgements of the trade, from memory, unverified: nobody was asked. They go with the counts of
:mod:`tests.benchmarks.weather_counts`; another climate counts anew.
"""

from __future__ import annotations

VERDICTS = {
    "sun_most": "accepted as a standing order, not as news. A south face has sun all day, so 'no lime in direct sun' "
    "always holds there: wet cloth goes up before the coat. Said once with the coat (cloth first), it stops nothing; "
    "said daily as a stop it would be noise. E and W lose the morning or the afternoon alone.",
    "air_most": "accepted. Over 30 degrees is rare at some stations; it waits for a heat spell, or a hotter place.",
    "look": "accepted. From October on little leaves a shaded face, and to look and feel before wetting is what one "
    "does; in that part of the year it should stand as the way visits are done, not as advice of the day.",
    "cold": "accepted. No water below 5 degrees: in winter that is most mornings, and the season rule should have "
    "kept the coat off the wall.",
    "sheet": "accepted in autumn where the scaffold can carry it: rain that counts is by the worst wind, so it is "
    "asked for somewhat too often.",
    "cloth": "accepted as one hanging: it stays up for two weeks and is wetted each round. Asked for on a day on which "
    "it hangs already it would be noise; where it hangs, the rule is silent.",
}
"""By rule without its coat, or by the name of advice or cover."""


def verdict_of(name: str) -> str:
    """Return what would be said of a rule.

    Examples
    --------
    >>> verdict_of("base.sun_most")[:8], verdict_of("another")
    ('accepted', 'nobody has judged it yet')
    """
    return VERDICTS.get(name.rpartition(".")[2], "nobody has judged it yet")
