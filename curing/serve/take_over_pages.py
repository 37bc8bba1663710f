"""Rounds taken over by somebody who is not of the crew: read, walked once together, signed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from curing.errors import CuringError
from curing.model.people import Role
from curing.model.record_data import KIT, Handover
from curing.publish.event_text import caution
from curing.publish.event_title import plain
from curing.publish.record_text import days_text
from curing.publish.terminal_names import Names
from curing.serve.call import Call, Desk
from curing.serve.forms import Form, FormError
from curing.serve.served import only_reads
from curing.workflow.handing_over import (
    handover_entry,
    handovers,
    of_a_crew,
    reached,
    takes_over,
)
from curing.workflow.page_answers import Who

CAUTIONS = ("lime", "sockets", "height", "cloth")
"""Whole, wherever somebody mists alone."""
TYPED = ("walked", "walked_with", "first", "last", "signed")


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/take-over", desk.shows(_shown)),
        Route("/s/{token}/take-over", desk.takes(_sign), methods=["POST"]),
    ]


def _shown(call: Call) -> Response:
    return _page(call)


def _page(
    call: Call, status: int = 200, errors: Sequence[str] = (), typed: Mapping[str, str] | None = None,
    ticked: Sequence[str] = (),
) -> Response:  # fmt: skip
    sight, today = call.sight, call.now.astimezone(call.zone).date()
    people = sight.job.file.people
    near, high = reached(sight, call.person)
    names = Names(sight.plan, call.words, call.now) if sight.plan is not None else None
    face = names.face if names is not None else lambda one: one
    return call.page(
        "take_over.html",
        status,
        may=takes_over(sight, call.person),
        crew=of_a_crew(sight, call.person.id),
        mists=Role.MISTS in call.person.roles,
        near=", ".join(face(one) for one in near),
        high=[(face(one.face), call.words.figure(one.height, "length_m")) for one in high],
        limit=call.words.figure(min((one.limit for one in high), default=3.0), "length_m"),
        leads=", ".join(plain(one.name) for one in people if Role.LEAD in one.roles),
        cautions=[caution(call.words, key) for key in CAUTIONS] + [call.words.say("caution.last")],
        kit=KIT,
        with_whom=[(one.id, plain(one.name)) for one in people if one.id != call.person.id and not only_reads(one)],
        signed=[_signed(call, one.entry.key, one.data, given=one.given) for one in handovers(sight)
                if one.entry.by == call.root and one.data.last >= today],
        errors=errors,
        typed=dict.fromkeys(TYPED, "") | {"walked": today.isoformat()} | dict(typed or {}),
        ticked=ticked,
        today=today.isoformat(),
    )  # fmt: skip


def _signed(call: Call, key: str, data: Handover, *, given: bool) -> dict[str, object]:
    year = call.now.astimezone(call.zone).year
    days = days_text(data.first, data.last, call.words, year)
    text = call.words.say("take_over.signed.given" if given else "take_over.signed.waits", days=days)
    return {"text": text, "key": key if not given else ""}


def _sign(call: Call, form: Form) -> Response:
    who = Who(call.root, call.now, call.now, form.key())
    try:
        if call.job.knows(who.key) is None and of_a_crew(call.sight, call.person.id):
            raise FormError(call.words.say("take_over.crew"), status=403)
        with_whom = form.one("walked_with")
        data = Handover(
            first=form.day("first"),
            last=form.day("last"),
            walked=form.day("walked"),
            walked_with=call.sight.roots.people.get(with_whom, with_whom),
            signed=_name(form),
            kit=tuple(one for one in KIT if one in form.every("kit")),
        )
        call.job.tell([handover_entry(who, data)], call.now)
    except CuringError as error:
        status = error.status if isinstance(error, FormError) else 422
        typed = {name: form.fields[name][0] for name in TYPED if form.fields.get(name)}
        texts = [problem.text for problem in error.problems]
        return _page(call, 422 if status == 400 else status, texts, typed, form.every("kit"))
    return call.back("take-over#signed")


def _name(form: Form) -> str:
    name = form.text("signed", 80)
    if not name:
        raise FormError("signed: no name is typed; type your own name, in full", field="signed", status=422)
    return name
