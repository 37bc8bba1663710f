"""Which reminders fall due: a pure function of job, plan, record and a span of time.

Every kind of reminder is worked out from what the plan says today and what was recorded; nothing is remembered
between two looks. Keys are made of roots and days, so that the same thing has the same key whenever it is worked
out, and nobody is told twice. Local times are those of the sites; see :mod:`curing.planning.worktime`.
"""

from __future__ import annotations

from datetime import datetime

from curing.model.reminders import Occasion
from curing.planning import (
    reminding_changed,
    reminding_days,
    reminding_holds,
    reminding_missed,
    reminding_rounds,
    reminding_tasks,
    reminding_weather,
)
from curing.planning.reminding_scene import Scene as Scene
from curing.planning.reminding_scene import View

KINDS = (
    reminding_rounds.rounds,
    reminding_tasks.tasks,
    reminding_missed.missed,
    reminding_missed.unseen,
    reminding_tasks.eves,
    reminding_days.cloth,
    reminding_holds.waiting,
    reminding_holds.unmet,
    reminding_holds.decide,
    reminding_weather.days_off,
    reminding_weather.covers,
    reminding_weather.heat,
    reminding_changed.changed,
    reminding_rounds.nobodys,
    reminding_days.weather,
    reminding_days.summary,
)
"""All that is told of the job's own accord. Each gives more than the span asks for, never less."""


def falls_due(scene: Scene, after: datetime, to: datetime) -> tuple[Occasion, ...]:
    """Return the occasions that fall due in a span.

    Parameters
    ----------
    after, to
        Aware; after ``after``, up to ``to`` and at it.

    Returns
    -------
    Each occasion once, by due time, then key, then person. The occasions of two spans that meet are those of both
    together. Those that are over by now (``until``) are among them.

    Raises
    ------
    ValueError
        An instant without a time zone.

    Examples
    --------
    See :mod:`tests.planning.test_reminding_kinds`, where each kind is made once.
    """
    for name, at in (("after", after), ("to", to)):
        if at.utcoffset() is None:
            raise ValueError(f"falls_due, {name}: {at} has no time zone; give UTC")
    if to <= after:
        return ()
    view = View(scene, after, to)
    found = {(one.key, one.person): one for kind in KINDS for one in kind(view) if after < one.due <= to}
    return tuple(sorted(found.values(), key=lambda one: (one.due, one.key, one.person)))
