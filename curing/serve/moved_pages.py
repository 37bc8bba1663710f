"""What moved, and what is to be decided: seen by all, decided by the lead or the architect."""

from __future__ import annotations

from datetime import timedelta

from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from curing.errors import UsageError
from curing.model.decisions import Decision, DecisionKind
from curing.model.people import Role
from curing.model.quantities import clip
from curing.planning.decision_rules import Bench
from curing.publish.page_moved import moved_page
from curing.serve.call import Call, Desk, short, wants_json
from curing.serve.forms import Form
from curing.sources.decision_line import DecisionLine
from curing.workflow.deciding import taken

BACK = timedelta(days=3)
"""So far back moves are shown."""


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/moved", desk.shows(_moved)),
        Route("/s/{token}/decide", desk.takes(_decide, lead=True), methods=["POST"]),
    ]


def _moved(call: Call) -> Response:
    sight = call.sight
    if sight.plan is None:
        return call.page("no_plan.html")
    since = call.now - BACK
    view = moved_page(
        sight.plan,
        sight.evidence,
        (sight.warnings, sight.questions),
        call.job.changes_since(since),
        dict(sight.numbers),
        call.words,
        call.now,
        since,
    )
    mists = [one for one in sight.job.file.people if Role.MISTS in one.roles]
    at = call.now.astimezone(call.zone).isoformat()
    return call.page("moved.html", view=view, mists=mists, here="moved", at=at)


def _decide(call: Call, form: Form) -> Response:
    what = form.one("what")
    if what not in ("keep", "move", "assign"):
        raise UsageError(f'"{clip(what)}": is decided nowhere; choose keep, move or assign')
    kind = DecisionKind(what)
    if kind is DecisionKind.ASSIGN:
        first = form.day("day")
        last = form.day("until") if form.maybe("until") else first
        line = DecisionLine(kind, form.one("to"), (first, last), form.maybe("slot"), form.text("why"))
    else:
        days = (form.day("day"),) * 2 if kind is DecisionKind.MOVE else None
        line = DecisionLine(kind, form.one("coat"), days, None, form.text("why"))
    return decided(call, form, line)


def decided(call: Call, form: Form, line: DecisionLine) -> Response:
    """Keep a decision of whoever opened the page, and go back to the page of what moved."""
    bench = Bench(call.sight.job, call.sight.roots, call.sight.plan, call.now)
    decision: Decision = taken(line, bench, by=call.person.id, key=form.key())
    call.job.decide(decision)
    call.visitor.served.want_plan_soon()
    if wants_json(call.request):
        return short(True, call.words.say("page.moved.kept"))
    return call.back(form.maybe("page") or "moved")
