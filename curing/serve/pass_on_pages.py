"""Rounds passed on to somebody else who mists: one, a weekend, or some days."""

from __future__ import annotations

from datetime import date

from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from curing.errors import UsageError
from curing.model.people import Role
from curing.model.quantities import clip
from curing.model.record import RecordEntry
from curing.publish.record_text import entry_text, when_text
from curing.serve.call import Call, Desk
from curing.serve.forms import Form
from curing.serve.people_pages import SLOTS, last_day_shown, round_pages
from curing.workflow.handing_over import pass_on_entry, passed_on, takes_over
from curing.workflow.page_answers import Who


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/pass-on", desk.shows(_page)),
        Route("/s/{token}/pass-on", desk.takes(_pass_on), methods=["POST"]),
    ]


def _page(call: Call) -> Response:
    pages, me = round_pages(call), call.person.id
    today = call.now.astimezone(call.zone).date()
    others = tuple((one.id, one.name) for one in call.sight.job.file.people if Role.MISTS in one.roles and one.id != me)
    return call.page(
        "pass_on.html",
        mists=Role.MISTS in call.person.roles,
        days=pages.days(me) if pages is not None else [],
        weekends=pages.weekends(me) if pages is not None else [],
        last=last_day_shown(pages) if pages is not None else "",
        others=others,
        today=today.isoformat(),
        passed=[_passed(call, entry, today) for entry, _ in passed_on(call.sight, call.root, today)],
        take_over=takes_over(call.sight, call.person),
    )


def _passed(call: Call, entry: RecordEntry, today: date) -> dict[str, object]:
    """Return what was passed on, with the key by which its giver, or who decides, takes it back."""
    called, words = call.sight.called, call.words
    own = entry.by == call.root
    when = when_text(entry.at, called.zone_of(entry), words, today.year)
    text = words.say(
        "pass_on.passed.you" if own else "pass_on.passed.by",
        name=called.person(entry.by),
        when=when,
        text=entry_text(entry, called, words),
    )
    return {"text": text, "key": entry.key if own or call.decides else ""}


def _pass_on(call: Call, form: Form) -> Response:
    slot = form.maybe("slot")
    if slot is not None and slot not in SLOTS:
        raise UsageError(f'"{clip(slot)}": is no round; choose early, midday or late')
    who = Who(call.root, call.now, call.now, form.key())
    entry = pass_on_entry(call.sight, who, form.one("to"), form.day("first"), form.day("last"), slot)
    call.job.tell([entry], call.now)
    call.visitor.served.want_plan_soon()
    return call.back("pass-on#passed")
