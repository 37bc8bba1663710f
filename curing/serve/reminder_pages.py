"""Reminders for who decides: what went out and how it was answered, what comes, who is not reached; channels tried."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from curing.model.quantities import clip
from curing.publish.page_reminders import reminders_view
from curing.serve.call import Call, Desk
from curing.serve.forms import Form, FormError
from curing.workflow.reminders import told_people
from curing.workflow.reminders_seen import LATELY, seen_of_job


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/reminders", desk.shows(_reminders)),
        Route("/s/{token}/reminders/try", desk.takes(_try, lead=True), methods=["POST"]),
    ]


def _reminders(call: Call) -> Response:
    if not call.decides:
        raise FormError("only the lead or the architect sees this page; ask one of them", status=403)
    beside = call.visitor.served.beside
    seen = (
        seen_of_job(call.job, call.sight, call.words, call.now, LATELY)
        if beside is None
        else seen_of_job(
            call.job, call.sight, call.words, call.now, LATELY,
            channels=beside.channels, evening=beside.evening, morning=beside.morning,
        )
    )  # fmt: skip
    return call.page("reminders.html", view=reminders_view(seen), reminders_stand="")  # the page says it itself


def _try(call: Call, form: Form) -> Response:
    """Ask the sender to try out the channels of somebody; sent twice within a minute it is the same."""
    form.key()
    id_ = form.one("person")
    person = next((one for one in told_people(call.sight.job.file.people) if one.id == id_), None)
    if person is None:
        raise FormError(f'"{clip(id_)}": nobody of this job who is told anything has that id; open the page anew')
    if not person.tell:
        raise FormError(call.words.say("remind.page.reach.none", name=person.name))
    call.job.store.add_trial(call.sight.roots.people[person.id], call.now)
    return call.back(f"reminders#p-{person.id}")
