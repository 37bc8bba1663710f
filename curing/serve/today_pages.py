"""The day at the walls: seen, ticked, taken back."""

from __future__ import annotations

from datetime import date, datetime

from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from curing.errors import UsageError
from curing.model.plan import Plan
from curing.model.quantities import clip
from curing.model.record import RecordEntry
from curing.planning.worktime import zone_of
from curing.publish.building_plan import Spot, building_plan
from curing.publish.event_title import plain
from curing.publish.page_day import Day
from curing.publish.page_today import day_page
from curing.publish.page_weather import Line as WeatherLine
from curing.publish.page_weather import weather_lines
from curing.publish.record_text import about_text, entry_text
from curing.serve.call import UNITS_COOKIE, Call, Desk, short, wants_json
from curing.serve.forms import Form, FormError
from curing.serve.served import only_reads
from curing.serve.times import when
from curing.workflow.day_facts import sunlit
from curing.workflow.page_answers import (
    AlreadySaid,
    Who,
    answer_round,
    answer_visit,
    cover_entry,
    look_entry,
    withdrawal,
    work_entry,
)

YEAR = 365 * 86400
"""[s] A phone remembers the units of its reader so long."""


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/", desk.shows(_home, client=True)),
        Route("/s/{token}/today", desk.shows(_today)),
        Route("/s/{token}/day/{day}", desk.shows(_day)),
        Route("/s/{token}/tick", desk.takes(_tick, quick=True), methods=["POST"]),
        Route("/s/{token}/round", desk.takes(_round, quick=True), methods=["POST"]),
        Route("/s/{token}/work", desk.takes(_work, quick=True), methods=["POST"]),
        Route("/s/{token}/undo", desk.takes(_undo), methods=["POST"]),
        Route("/s/{token}/units", desk.takes(_units, client=True), methods=["POST"]),
    ]


def _home(call: Call) -> Response:
    return RedirectResponse(call.to("client" if only_reads(call.person) else "today"), 303)


def _today(call: Call) -> Response:
    return _page(call, None)


def _day(call: Call) -> Response:
    text = call.request.path_params["day"]
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise UsageError(f'"{clip(text)}": is no day; a day is written 2027-05-24') from None
    if not 2000 <= day.year < 2200:
        raise UsageError(f'"{clip(text)}": lies outside of what a plan holds')
    return _page(call, day)


def _weather(call: Call) -> tuple[WeatherLine, ...]:
    view = call.visitor.served.weather.at_sites(call.sight, call.words, call.now)
    return weather_lines(view, call.words) if view is not None else ()


def _page(call: Call, day: date | None, status: int = 200, **more: object) -> Response:
    plan = call.sight.plan
    if plan is None:
        return call.page("no_plan.html")
    view = day_page(
        plan, call.sight.evidence, call.words, call.now, person=call.person.id, decides=call.decides, day=day
    )
    today = call.now.astimezone(call.zone).date()
    return call.page(
        "today.html",
        status,
        view=view,
        here="today",
        building=_building(call, plan, view) if today == view.day else "",
        is_today=view.day == today,
        weather=_weather(call) if today == view.day else (),
        at=call.now.astimezone(call.zone).isoformat(),
        **more,
    )


def _building(call: Call, plan: Plan, view: Day) -> str:
    """Return the plan of the building: what is done, next and held at its walls, and the sunlit side."""
    spots: dict[str, Spot] = {one.wall: Spot.HELD for one in view.waiting}
    spots |= {item.wall: Spot.DUE for part in view.parts for item in part.items if item.state in ("todo", "missed")}
    there = {item.wall for part in view.parts for item in part.items}
    spots |= {wall: Spot.DONE for wall in there if wall not in spots or spots[wall] is Spot.HELD}
    spots |= {item.wall: Spot.NEXT for part in view.parts for item in part.items if item.state == "next"}
    drawn = building_plan(plan, call.words, spots=spots, sunlit=sunlit(call.sight.job, call.now))
    return drawn or ""


def _who(call: Call, form: Form) -> Who:
    return Who(call.root, when(form, call.now, call.zone), call.now, form.key())


def _why(form: Form) -> str:
    """Return why it could not be done: one of the offered words, with more in own words."""
    offered, told = form.text("why", 60), form.text("why_text")
    return ", ".join(one for one in (offered if offered != "other" or not told else "", told) if one)


def _tick(call: Call, form: Form) -> Response:
    visit, what = form.one("visit"), form.one("what")
    why = _why(form) if what == "could-not" else ""
    if what == "could-not" and not why:
        raise FormError(
            "could not: why is not said; choose one of locked, no water, too cold, or write it", field="why", status=422
        )
    try:
        entry = answer_visit(call.job, _who(call, form), visit, what, why, extra=form.maybe("extra") is not None)
    except AlreadySaid as said:
        text = call.words.say("page.answer.extra", said=said.problems[0].text)
        if wants_json(call.request):
            return short(False, text, 409)
        fields = {name: values[0] for name, values in form.fields.items() if values and name not in ("key", "extra")}
        return call.page("extra.html", 409, text=text, fields=fields, anchor=visit)
    return kept(call, form, [entry], visit)


def _round(call: Call, form: Form) -> Response:
    visits = form.every("visit")
    if not visits:
        raise FormError("no wall is named; open the page anew: perhaps all have an answer", field="visit")
    made = answer_round(call.job, _who(call, form), visits)
    return kept(call, form, made, visits[0])


def _work(call: Call, form: Form) -> Response:
    who, sight, what, id_ = _who(call, form), call.sight, form.one("what"), form.one("booking")
    face = id_.partition(".")[0]
    if what in ("sound", "unsound"):
        found = form.text("found")
        if what == "unsound" and not found:
            raise FormError(
                "not sound: what was found is not said; write where the crack is, say", field="found", status=422
            )
        entry = look_entry(sight, who, face, sound=what == "sound", found=found)
    elif what in ("up", "down"):
        entry = cover_entry(sight, who, id_, up=what == "up")
    else:
        why = _why(form) if what == "could-not" else ""
        entry = work_entry(sight, who, id_, what, why)
    call.job.tell([entry], call.now)
    return kept(call, form, [entry], id_)


def _undo(call: Call, form: Form) -> Response:
    who = Who(call.root, call.now, call.now, form.key())
    entry = withdrawal(call.sight, who, form.one("entry"), form.text("why"))
    call.job.tell([entry], call.now)
    return kept(call, form, [entry], form.text("anchor", 120))


def _units(call: Call, form: Form) -> Response:
    units = form.one("units")
    if units not in ("metric", "us"):
        raise FormError(f'units: "{clip(units)}" are none; choose metric or us', field="units")
    response = _back(call, form, "")
    response.set_cookie(
        UNITS_COOKIE,
        units,
        max_age=YEAR,
        path=call.home,
        secure=call.request.url.scheme == "https",
        httponly=True,
        samesite="lax",
    )
    return response


def kept(call: Call, form: Form, made: list[RecordEntry], anchor: str) -> Response:
    """Answer that something was kept: short to the page's script, else the page it came from."""
    call.visitor.served.want_plan_soon()
    if wants_json(call.request):
        return short(True, "; ".join(said_of(call, entry) for entry in made))
    return _back(call, form, anchor)


def said_of(call: Call, entry: RecordEntry) -> str:
    """Return an entry as one sentence with its face and time: ``3 out: misted 07:12``."""
    called, words = call.sight.called, call.words
    local: datetime = entry.at.astimezone(zone_of(called.zone_of(entry)))
    about = about_text(entry, called, words)
    return words.say(
        "page.keep.said", about=about, text=plain(entry_text(entry, called, words)), clock=f"{local:%H:%M}"
    )


def _back(call: Call, form: Form, anchor: str) -> Response:
    """Send the browser back to the page of ours on which the form stood."""
    page = form.maybe("page") or "today"
    if not all(sign.isalnum() or sign in "-_/." for sign in page) or ".." in page or page.startswith("/"):
        page = "today"
    return call.back(f"{page}#{anchor}" if anchor else page)
