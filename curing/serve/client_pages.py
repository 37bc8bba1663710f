"""What a client reads: how far each wall is, and the record of each face. Nothing here changes anything."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from curing.errors import UsageError
from curing.model.people import Role
from curing.model.quantities import clip
from curing.planning.evidence import digests
from curing.publish.page_client import client_page
from curing.publish.page_client_record import client_record
from curing.serve.call import Call, Desk
from curing.serve.forms import FormError
from curing.workflow.client_facts import client_facts
from curing.workflow.face_record import face_record
from curing.workflow.record_view import seen_of

DIGEST = 16
"""Signs of the checksum that stand on paper."""


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/client", desk.shows(_client, client=True)),
        Route("/s/{token}/client/{face}", desk.shows(_record, client=True)),
    ]


def _only_for_clients(call: Call) -> None:
    if not call.decides and Role.CLIENT not in call.person.roles:
        raise FormError("this page is for the client, the architect and the lead", status=403)


def _client(call: Call) -> Response:
    _only_for_clients(call)
    plan = call.sight.plan
    if plan is None:
        return call.page("client_none.html")
    facts = client_facts(call.sight, plan, call.now)
    view = client_page(plan, call.sight.evidence, facts, call.words, call.now)
    recorded = {call.sight.roots.face_now(entry.face) for entry in call.sight.said.record if entry.face is not None}
    return call.page("client.html", view=view, recorded=recorded)


def _record(call: Call) -> Response:
    _only_for_clients(call)
    sight, asked = call.sight, call.request.path_params["face"]
    if asked not in [face for face, _, _ in sight.job.faces()]:
        raise UsageError(f'"{clip(asked)}": no face of this job; go back to all walls')
    record = face_record(seen_of(sight.job, call.now, sight.plan, sight.said), asked)
    digest = digests(sight.said.record, sight.said.decisions).get("record", "")[:DIGEST]
    view = client_record(record, sight.job.file.people, call.words, digest)
    return call.page("client_record.html", view=view)
