"""The job over weeks, and one's own calendar."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import urlsplit

from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from curing.publish.chart_build_up import build_up
from curing.publish.chart_hours import crew_hours, tending_visits
from curing.publish.qr import qr
from curing.publish.terminal_names import Names, local_day
from curing.serve.call import Call, Desk
from curing.workflow.day_facts import crew_weeks

STALE = timedelta(hours=26)
"""After that, a phone that fetched the calendar once does so no more."""


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/job", desk.shows(_job)),
        Route("/s/{token}/calendar", desk.shows(_calendar)),
    ]


def _job(call: Call) -> Response:
    plan, sight = call.sight.plan, call.sight
    if plan is None:
        return call.page("no_plan.html")
    days = [coat.last_visit or coat.day for face in plan.faces for coat in face.coats]
    weeks = crew_weeks(sight.job, min(coat.day for face in plan.faces for coat in face.coats), max(days))
    done = sight.evidence.done.keys()
    charts = [
        (
            build_up(plan, call.words, call.now, wide=wide, done=done),
            crew_hours(plan, call.words, call.now, weeks, wide=wide),
            tending_visits(plan, call.words, call.now, wide=wide),
        )
        for wide in (False, True)
    ]
    names = Names(plan, call.words, call.now)
    seasons = [face for face in plan.faces if face.season is not None and _open(call, face.id)]
    tightest = min(seasons, key=lambda face: face.season.spare if face.season else 0, default=None)
    open_ = [one for one in plan.bookings if one.kind == "coat" and one.state in ("firm", "conditional")]
    last = max((local_day(one) for one in open_), default=None)
    return call.page(
        "job.html",
        narrow=charts[0],
        wide=charts[1],
        tightest=tightest,
        face=names.face(tightest.id) if tightest else "",
        last=names.long_day(last) if last else "",
        here="job",
    )


def _open(call: Call, face: str) -> bool:
    """Tell whether the coat that the season line binds is still to be laid on a face."""
    plan = call.sight.plan
    coats = next((one.coats for one in plan.faces if one.id == face), ()) if plan is not None else ()
    return any(coat.laid is None and coat.booking not in call.sight.evidence.done for coat in coats[:-1])


def _calendar(call: Call) -> Response:
    link = call.job.links().get(call.root)
    address = f"{call.base}{call.home}/calendar.ics"
    parts = urlsplit(address)
    subscribed = f"{'webcals' if parts.scheme == 'https' else 'webcal'}://{parts.netloc}{parts.path}"
    fetched = link.fetched if link is not None else None
    local = fetched.astimezone(call.zone) if fetched is not None else None
    when = ""
    if local is not None:
        when = call.words.say("terminal.day_time", day=call.words.day(local.date()), clock=f"{local:%H:%M}")
    return call.page(
        "calendar.html",
        address=address,
        subscribed=subscribed,
        code=qr(address, call.words.say("page.calendar.title")),
        fetched=when,
        stale=fetched is not None and call.now - fetched > STALE,
        plain=parts.scheme != "https",
    )
