"""A wall: what holds it, what is to do there, what was done; holds, tests, notes and rain are said here."""

from __future__ import annotations

from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from curing.model.quantities import clip
from curing.model.record_data import TRIALS
from curing.publish.layers import layers
from curing.publish.page_today import day_page
from curing.publish.page_wall import wall_page
from curing.publish.page_weather import wall_weather
from curing.publish.record_parts import FaceRecord
from curing.publish.terminal_faces import Faces
from curing.publish.terminal_names import Names
from curing.serve.call import Call, Desk
from curing.serve.forms import Form, FormError
from curing.serve.times import when
from curing.serve.today_pages import kept
from curing.sources.log_line import Line
from curing.workflow.face_record import face_record
from curing.workflow.hold_needs import tests_asked
from curing.workflow.record_view import Seen, seen_of


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    return [
        Route("/s/{token}/walls", desk.shows(_walls)),
        Route("/s/{token}/wall/{wall}", desk.shows(_wall)),
        Route("/s/{token}/hold", desk.takes(_hold, lead=True), methods=["POST"]),
        Route("/s/{token}/test", desk.takes(_test), methods=["POST"]),
        Route("/s/{token}/note", desk.takes(_note), methods=["POST"]),
        Route("/s/{token}/rain", desk.takes(_rain), methods=["POST"]),
    ]


def _walls(call: Call) -> Response:
    plan = call.sight.plan
    if plan is None:
        return call.page("no_plan.html")
    names = Names(plan, call.words, call.now)
    rows = list(Faces(plan, names, call.sight.evidence.done.keys()).rows())
    return call.page(
        "walls.html", rows=rows, names=names, layers=layers(plan, call.sight.evidence.done.keys()), here="walls"
    )


def known_wall(call: Call) -> str:
    """Return the id of the wall that a page is about, by what it is called today, or was."""
    asked = call.request.path_params["wall"]
    roots = call.sight.roots
    if asked in roots.walls:
        return str(asked)
    if asked in roots.walls_now:  # an event of before it was renamed
        return roots.walls_now[asked]
    walls = ", ".join(list(roots.walls)[:12])
    raise FormError(f'wall "{clip(asked)}": no wall of this job; its walls are {walls}', status=404)


def _wall(call: Call) -> Response:
    return show_wall(call, known_wall(call))


def show_wall(call: Call, wall: str, status: int = 200, **more: object) -> Response:
    """Return the page of a wall."""
    sight, plan = call.sight, call.sight.plan
    if plan is None or all(face.wall != wall for face in plan.faces):
        return call.page("no_plan.html")
    seen = seen_of(sight.job, call.now, plan, sight.said)
    records = _records(seen, wall)
    root = sight.roots.walls[wall]
    entries = [one for one in sight.said.record if one.wall == root]
    corrected = [one.key for one, _ in seen.standing.corrected]
    view = wall_page(
        plan,
        sight.evidence,
        records,
        entries,
        sight.called,
        corrected,
        call.words,
        call.now,
        wall=wall,
        person=call.root,
        decides=call.decides,
        asks=tests_asked(sight, wall, call.now),
    )
    day = day_page(plan, sight.evidence, call.words, call.now, person=call.person.id, decides=call.decides)
    today = [item for part in day.parts for item in part.items if item.wall == wall]
    sky = call.visitor.served.weather.at_wall(sight, wall, call.words, call.now)
    weather = wall_weather(sky, call.words) if sky is not None else None
    at = call.now.astimezone(call.zone).isoformat()
    values = {"weather": weather, "view": view, "today": today, "at": at, "trials": TRIALS}
    return call.page("wall.html", status, here="walls", **values, **more)


def _records(seen: Seen, wall: str) -> list[FaceRecord]:
    """Return the curing records of the wall's faces: what was read is in each of them."""
    faces = [face for face, one, _ in seen.job.faces() if one.id == wall]
    return [face_record(seen, face) for face in faces]


def _hold(call: Call, form: Form) -> Response:
    hold, what = form.one("hold"), form.one("what")
    if what not in ("met", "refused"):
        raise FormError(f'"{clip(what)}": a hold is met or refused', field="what")
    note = form.text("note", 1000)
    at = when(form, call.now, call.zone)
    logged = call.job.log(Line(what, (hold,)), call.person.id, at, form.key(), call.now, note)
    return kept(call, form, list(logged.entries), hold)


def _test(call: Call, form: Form) -> Response:
    face = form.one("face")
    at, key = when(form, call.now, call.zone), form.key()
    lines = []
    for test in TRIALS:
        result = form.maybe(test)
        if result is None:
            continue
        if test == "water-drop" and (seconds := form.maybe("seconds")):
            result = seconds
        lines.append(Line("test", (face, test, result)))
    if not lines:
        raise FormError("no test is answered; choose passed or failed for those that were made", field="hollows",
                        status=422)  # fmt: skip
    made = [entry for one in call.job.entries_of(lines, call.person.id, at, key, call.now) for entry in one]
    logged = call.job.tell(made, call.now)
    return kept(call, form, list(logged.entries), f"tests-{face}")


def _note(call: Call, form: Form) -> Response:
    face, text = form.one("face"), form.text("text", 2000)
    if not text:
        raise FormError("note: nothing is written; write what is to be known", field="text", status=422)
    at = when(form, call.now, call.zone)
    logged = call.job.log(Line("note", (face, text)), call.person.id, at, form.key(), call.now)
    return kept(call, form, list(logged.entries), "history")


def _rain(call: Call, form: Form) -> Response:
    at = when(form, call.now, call.zone)
    logged = call.job.log(Line("rain", (form.one("face"),)), call.person.id, at, form.key(), call.now)
    return kept(call, form, list(logged.entries), "history")
