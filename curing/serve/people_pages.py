"""People and their links, and who has which round: for who decides."""

from __future__ import annotations

from datetime import date

from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from curing.errors import RecordError, UsageError
from curing.model.links import Link, digest
from curing.model.people import Person, Role
from curing.model.quantities import clip
from curing.publish.event_title import plain
from curing.publish.page_people import PersonRow, person_row, person_rows
from curing.publish.page_rounds import DAYS, RoundPages
from curing.publish.qr import qr
from curing.publish.record_text import day_text, days_text
from curing.serve.call import Call, Desk
from curing.serve.forms import Form, FormError
from curing.serve.served import decides, only_reads
from curing.workflow.handing_over import (
    Signed,
    give_rounds,
    give_signed,
    handovers,
    high_faces,
    signed_by,
    turns_now,
)
from curing.workflow.page_answers import Who

SLOTS = ("early", "midday", "late")


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/people", desk.shows(_people)),
        Route("/s/{token}/people/give-rounds", desk.takes(_give_rounds, lead=True), methods=["POST"]),
        Route("/s/{token}/people/give-signed", desk.takes(_give_signed, lead=True), methods=["POST"]),
        Route("/s/{token}/people/{person}", desk.shows(_link)),
        Route("/s/{token}/people/{person}/give", desk.takes(_give, lead=True), methods=["POST"]),
        Route("/s/{token}/people/{person}/renew", desk.shows(_ask_renew)),
        Route("/s/{token}/people/{person}/renew", desk.takes(_renew, lead=True), methods=["POST"]),
        Route("/s/{token}/people/{person}/withdraw", desk.shows(_ask_withdraw)),
        Route("/s/{token}/people/{person}/withdraw", desk.takes(_withdraw, lead=True), methods=["POST"]),
    ]


def _only_deciders(call: Call) -> None:
    if not call.decides:
        raise FormError("only the lead or the architect sees this page; ask one of them", status=403)


def round_pages(call: Call) -> RoundPages | None:
    """Return what makes the rounds of the next days ready for a page; None before the first plan."""
    plan, planned = call.sight.plan, call.visitor.served.planned_at
    if plan is None:
        return None
    last = max(plan.as_of, planned) if planned is not None else plan.as_of
    people = call.sight.job.file.people
    return RoundPages(plan, call.words, call.now, people, turns_now(call.sight), high_faces(call.sight), last)


def last_day_shown(pages: RoundPages) -> str:
    """Return the last day of which rounds are shown."""
    return pages.words.day(date.fromordinal(pages.today.toordinal() + DAYS - 1))


# ------------------------------------------------------------------------------------ all people


def _people(call: Call) -> Response:
    _only_deciders(call)
    call.job.read_links()
    sight, pages = call.sight, round_pages(call)
    days = pages.days() if pages is not None else []
    return call.page(
        "people.html",
        rows=person_rows(sight.job.file.people, _links(call), call.words, call.now, call.zone, call.person.id),
        days=days,
        nobody=[row for day in days for row in day.rounds if row.nobody],
        titles={row.id: day.title for day in days for row in day.rounds},
        last=last_day_shown(pages) if pages is not None else "",
        misting=pages.others(pages.today, pages.today, ()) if pages is not None else (),
        today=pages.today.isoformat() if pages is not None else "",
        signed=[_signed(call, one) for one in handovers(sight) if one.data.last >= _today(call)],
    )


def _today(call: Call) -> date:
    return call.now.astimezone(call.zone).date()


def _links(call: Call) -> dict[str, Link]:
    """Return id of a person today → the newest link."""
    return {call.sight.roots.person_now(root): link for root, link in call.job.links().items()}


def _signed(call: Call, one: Signed) -> dict[str, object]:
    year = _today(call).year
    name = call.sight.called.person(one.entry.by)
    return {
        "key": one.entry.key,
        "given": one.given,
        "text": call.words.say(
            "people.signed.one", name=name, days=days_text(one.data.first, one.data.last, call.words, year)
        ),
        "more": call.words.say(
            "people.signed.more",
            person=call.sight.called.person(one.data.walked_with),
            walked=day_text(one.data.walked, call.words, year),
            signed=plain(one.data.signed),
        ),
    }


# ------------------------------------------------------------------------------------ one link


def _named(call: Call) -> Person:
    id_ = call.request.path_params["person"]
    person = next((one for one in call.sight.job.file.people if one.id == id_), None)
    if person is None:
        raise FormError(f'"{clip(id_)}": nobody of this job has that id; look at the page People', status=404)
    return person


def _row(call: Call, person: Person) -> PersonRow:
    call.job.read_links()
    link = _links(call).get(person.id)
    return person_row(person, link, call.words, call.now, call.zone, own=person.id == call.person.id)


def _link(call: Call) -> Response:
    _only_deciders(call)
    person = _named(call)
    row, link = _row(call, person), _links(call).get(person.id)
    if link is None or link.revoked is not None:
        raise RecordError(call.words.say("people.no_link", name=row.name))
    token = call.job.token(link.person, link.generation)
    held = digest(token) == link.hash
    address = f"{call.base}/s/{token}/" if held else ""
    drawn = qr(address, call.words.say("people.show.qr")) if held else ""
    return call.page("person.html", row=row, what="show", address=address, qr=drawn, client=only_reads(person))


def _give(call: Call, form: Form) -> Response:
    person = _named(call)
    _as_drawn(call, person, form, given=True)
    call.job.give_link(call.sight.roots.people[person.id], call.now)
    return call.back(f"people/{person.id}")


def _ask_renew(call: Call) -> Response:
    _only_deciders(call)
    return call.page("person.html", row=_open_row(call), what="renew")


def _open_row(call: Call) -> PersonRow:
    row = _row(call, _named(call))
    if row.link != "open":
        raise RecordError(call.words.say("people.no_link", name=row.name))
    return row


def _renew(call: Call, form: Form) -> Response:
    person = _named(call)
    root = call.sight.roots.people[person.id]
    newest = _links(call).get(person.id)
    if newest is not None and newest.revoked is None and newest.generation == _generation(form) + 1:
        return call.back(f"people/{person.id}")  # the same form sent twice
    _as_drawn(call, person, form)
    token = call.job.renew_link(root, call.now)
    if person.id == call.person.id:
        return RedirectResponse(f"/s/{token}/people/{person.id}", 303)
    return call.back(f"people/{person.id}")


def _ask_withdraw(call: Call) -> Response:
    _only_deciders(call)
    return _withdraw_page(call, _open_row(call))


def _withdraw_page(call: Call, row: PersonRow, status: int = 200, error: str = "") -> Response:
    person = _named(call)
    mists, last = Role.MISTS in person.roles, _last_decider(call, person)
    return call.page("person.html", status, row=row, what="withdraw", last=last, mists=mists, error=error)


def _last_decider(call: Call, person: Person) -> bool:
    """Tell whether nobody but this person has a link by which anybody decides."""
    links = _links(call)
    able = {one.id for one in call.sight.job.file.people if decides(one)}
    held = {id_ for id_ in able if (link := links.get(id_)) is not None and link.revoked is None}
    return held == {person.id}


def _withdraw(call: Call, form: Form) -> Response:
    person = _named(call)
    row = _row(call, person)
    if row.link == "withdrawn" and row.generation == _generation(form):
        return call.back("people")  # the same form sent twice
    _as_drawn(call, person, form)
    if _last_decider(call, person) and form.maybe("told") is None:
        return _withdraw_page(call, row, 422, call.words.say("people.withdraw.tick"))
    call.job.revoke_link(call.sight.roots.people[person.id], call.now)
    return call.back("people")


def _generation(form: Form) -> int:
    found = form.number("generation", 0, 1_000_000)
    if found is None:
        raise FormError("the form does not say which link is meant; open the page anew", field="generation")
    return found


def _as_drawn(call: Call, person: Person, form: Form, *, given: bool = False) -> None:
    """Refuse a form drawn before the link was changed; ``given``: but the same form again is the same."""
    row, drawn = _row(call, person), _generation(form)
    if row.generation == drawn and (given or row.link == "open"):
        return
    if given and row.link == "open" and row.generation == drawn + 1:
        return
    raise RecordError(call.words.say("people.changed", name=row.name))


# ------------------------------------------------------------------------------------ rounds


def _give_rounds(call: Call, form: Form) -> Response:
    slot = form.maybe("slot")
    if slot is not None and slot not in SLOTS:
        raise UsageError(f'"{clip(slot)}": is no round; choose early, midday or late')
    who = Who(call.root, call.now, call.now, form.key())
    decision = give_rounds(call.sight, who, form.one("to"), form.day("first"), form.day("last"), slot)
    call.job.decide(decision)
    call.visitor.served.want_plan_soon()
    return call.back("people#rounds")


def _give_signed(call: Call, form: Form) -> Response:
    signed = signed_by(call.sight, form.one("entry"))
    if signed is None:
        raise RecordError(call.words.say("people.signed.gone"))
    if not signed.given:
        call.job.decide(give_signed(call.sight, Who(call.root, call.now, call.now, form.key()), signed))
        call.visitor.served.want_plan_soon()
    return call.back("people#signed")
