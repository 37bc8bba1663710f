"""Judge any plan against its job, however the plan was made.

The check knows nothing of how dates are found: it works out from the job what
must hold and looks whether it does. A planner and its check that share a
mistake would both have to make it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import timedelta

from curing.model.job import Job
from curing.model.plan import Plan
from curing.planning.check_covers import check_covers
from curing.planning.check_days import check_days
from curing.planning.check_form import check_form
from curing.planning.check_holds import check_holds
from curing.planning.check_order import check_order
from curing.planning.check_people import check_people
from curing.planning.check_rounds import check_rounds
from curing.planning.check_view import Fault, View
from curing.planning.check_visits import check_visits
from curing.planning.check_weather import check_weather

__all__ = ["Fault", "check"]


def check(job: Job, plan: Plan, kept: Iterable[str] = ()) -> list[Fault]:
    """Return everything in a plan that breaks a rule, sorted; nothing for a sound plan.

    Parameters
    ----------
    job
        The job as it is planned: what it records as done and met are facts.
    plan
        The plan; it need not be in any order or even make sense.
    kept
        Coats that keep their day against a rule, because who decides said so: their waits are not judged.
        A hold is: no decision opens one.

    Notes
    -----
    Done coats are facts and judged only for having stayed what they are.
    Bookings pinned to today or tomorrow may break working days and hours,
    which may have changed since people were told; nothing else. A booking at
    fault in its form (an unknown name, an instant without zone) is told for
    that alone and left out of the rest.
    """
    if plan.as_of.utcoffset() != timedelta(0):
        text = f"is as of {plan.as_of.isoformat()}, which is not in UTC; write instants in UTC"
        return [Fault("plan.instant", "plan", text)]
    faults, malformed = check_form(View(job, plan))
    return sorted({*faults, *_judge(View(job, plan, malformed, frozenset(kept)))})


def _judge(view: View) -> Iterator[Fault]:
    yield from check_order(view)
    yield from check_days(view)
    yield from check_people(view)
    yield from check_visits(view)
    yield from check_holds(view)
    yield from check_rounds(view)
    yield from check_covers(view)
    yield from check_weather(view)
