"""The job set up by forms, for who decides: what is there, each thing changed, added, moved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from curing.errors import FileError
from curing.publish.page_setup import LISTS, Faults, Overview, Row, at, items, name_of
from curing.publish.page_setup_next import next_steps
from curing.serve.call import Call, Desk
from curing.serve.forms import Form, FormError
from curing.serve.setup_asked import Group, data_of, digest_of, drawn, id_at, known, opened, sent, systems, today
from curing.serve.setup_away import ask_away, ask_id, done, rename, take
from curing.serve.setup_things import Thing, only_deciders, thing_of, title_of
from curing.sources.job_edit import Add, FieldProblem, Move
from curing.workflow.job_setup import JobSetup, Saved, save
from curing.workflow.new_walls import PROPOSED
from curing.workflow.setup_fields import THINGS, empty, filled, made, typed
from curing.workflow.setup_ids import new_id

DONE = ("changed", "added", "away", "ended", "moved", "same", "begun")
"""What a page may say was done just now."""


def routes(desk: Desk) -> list[BaseRoute]:
    """Return the addresses of these pages."""
    home, face = "/s/{token}/setup", "/walls/{number}/faces/{side}"
    found: list[BaseRoute] = [Route(home, desk.shows(_overview))]

    def both(path: str, show: Any, take: Any) -> None:
        found.append(Route(home + path, desk.shows(show)))
        found.append(Route(home + path, desk.takes(take, lead=True), methods=["POST"]))

    def section(name: str) -> Any:
        return lambda call: _overview(call, name)

    both("/job", _form, _change)
    for name in (*LISTS, "holds"):
        found.append(Route(f"{home}/{name}", desk.shows(section(name))))
    for name in LISTS:
        both(f"/{name}/new", _new_form, _add)
        both(f"/{name}/{{number}}", _form, _change)
        both(f"/{name}/{{number}}/away", ask_away, take)
        both(f"/{name}/{{number}}/id", ask_id, rename)
    found.append(Route(f"{home}/walls/{{number}}/move", desk.takes(_move, lead=True), methods=["POST"]))
    both("/walls/{number}/faces/new", _new_form, _add)
    both(face, _form, _change)
    both(f"{face}/away", ask_away, take)
    for level in ("", "/walls/{number}", face):
        both(f"{level}/holds/{{hold}}", _form, _change)
        both(f"{level}/holds/{{hold}}/away", ask_away, take)
    return found


# ------------------------------------------------------------------------------------ what is there


def _faults(setup: JobSetup) -> Faults:
    return [(one.steps, one.problem.text) for one in setup.problems]


def _overview(call: Call, only: str = "", status: int = 200, head: Sequence[str] = ()) -> Response:
    only_deciders(call)
    try:
        setup = opened(call)
    except FileError as error:
        return _broken(call, error)
    data = data_of(setup)
    view = Overview(data, _faults(setup), systems(setup), call.words)
    links = call.job.links()
    people = [call.sight.roots.people[one.id] for one in call.sight.job.file.people if one.id != call.person.id]
    return call.page(
        "setup.html",
        status,
        sections=view.sections(only),
        only=only,
        next=next_steps(data, call.sight.plan, call.words, sum(one not in links for one in people)),
        wrong=len(setup.problems),
        said=_said(call),
        head=head,
        digest=setup.digest,
        file=setup.path.name,
        broken=(),
    )


def _broken(call: Call, error: FileError) -> Response:
    """Tell what only an editor can mend, without the path of the file on the server."""
    lines = [
        call.words.say("setup.broken.line", line=one.place.line, text=one.text)
        if one.place and one.place.line
        else one.text
        for one in error.problems
    ]
    return call.page(
        "setup.html", 409, broken=lines, file=call.job.job_file.name, sections=(), only="", head=(), said=""
    )


def _said(call: Call) -> str:
    done = call.request.query_params.get("done", "")
    return call.words.say(f"setup.done.{done}") if done in DONE else ""


# ------------------------------------------------------------------------------------ one thing


@dataclass(frozen=True)
class _Shown:
    """A form with what stands in it and what is wrong."""

    groups: Sequence[Group]
    problems: Sequence[FieldProblem] = ()
    head: Sequence[str] = ()
    place: str = ""
    status: int = 200


def _page(call: Call, setup: JobSetup, thing: Thing, shown: _Shown) -> Response:
    data, at_hand, words = data_of(setup), systems(setup), call.words
    fields, rest = drawn(shown.groups, shown.problems, data, at_hand, words)
    view = Overview(data, _faults(setup), at_hand, words)
    steps, own = thing.steps, not thing.new
    walls = [(str(n + 1), name_of(one, words)) for n, one in items(data, "walls")]
    wall = own and len(steps) == 2 and steps[0] == "walls"
    # A wall's holds and a face's; those of the whole job have a section.
    holds: list[Row] = list(view.holds(steps, f"{thing.path}/holds")) if wall or (own and thing.kind == "face") else []
    return call.page(
        "setup_thing.html",
        shown.status,
        thing=thing,
        title=title_of(data, thing, words),
        about=_about(view, thing),
        fields=fields,
        head=[*shown.head, *rest],
        digest=setup.digest,
        id=id_at(data, steps) if own else "",
        faces=list(view.faces(int(steps[1]), at(data, steps))) if wall else [],
        holds=holds,
        walls=walls if thing.new and thing.kind == "wall" else [],
        place=shown.place or str(len(walls)),
        removable=own and thing.kind != "job" and at(data, steps) is not None,
        renamed=own and len(steps) == 2 and steps[0] in LISTS,
        said=_said(call),
        short_id=id_at(data, steps) if own else "",
        first=steps[-1:] == (0,),
        last=steps[-1:] == (len(walls) - 1,),
    )


def _about(view: Overview, thing: Thing) -> str:
    """Return what a hold asks for; nothing of other things."""
    if thing.kind != "hold":
        return ""
    rows = view.holds(thing.steps[:-2], thing.path.rpartition("/")[0])
    return next((row.title for row in rows if row.path == thing.path), "")


def _form(call: Call) -> Response:
    only_deciders(call)
    try:
        setup = opened(call)
    except FileError as error:
        return _broken(call, error)
    thing = thing_of(call, setup)
    problems = [one for one in setup.problems if one.steps[: len(thing.steps)] == thing.steps]
    group = Group(thing.kind, thing.steps, typed(setup.document, thing.steps, thing.kind))
    fields = {field.steps for field in THINGS[thing.kind]}
    inner = [one for one in problems if any(one.steps[len(thing.steps) :][: len(f)] == f for f in fields)]
    return _page(call, setup, thing, _Shown([group], inner))


def _change(call: Call, form: Form) -> Response:
    setup, digest = opened(call), digest_of(form)
    thing = thing_of(call, setup, form.maybe("id") or "" if digest != setup.digest else None)
    before = typed(setup.document, thing.steps, thing.kind)
    values = sent(form, thing.kind, before, call.words.units)
    found = filled(setup.document, thing.steps, thing.kind, values)
    if not found.edits and not found.problems:
        return done(call, thing.back, "same" if digest == setup.digest else "changed")
    if digest != setup.digest:
        return _meanwhile(call, setup, thing, before, values)
    saved = Saved(False, found.problems)
    if not found.problems:
        saved = save(setup.path, digest, found.edits, today(call), known(call))
    if saved.stale:
        setup = opened(call)
        return _meanwhile(call, setup, thing, typed(setup.document, thing.steps, thing.kind), values)
    if not saved.written and saved.problems:
        head = [call.words.say("setup.lost")] if saved.lost else []
        shown = _Shown([Group(thing.kind, thing.steps, before | values)], saved.problems, head, status=422)
        return _page(call, setup, thing, shown)
    return done(call, thing.back, "changed" if saved.written else "same")


def _meanwhile(
    call: Call, setup: JobSetup, thing: Thing, before: Mapping[str, str], values: Mapping[str, str]
) -> Response:
    """Show what stands in the file now, and beside it what was typed: nobody's change is lost unseen."""
    say = call.words.say
    texts = {
        name: say("setup.stale.typed", text=text) if text else say("setup.stale.nothing")
        for name, text in values.items()
        if text != before[name]
    }
    group = Group(thing.kind, thing.steps, before, texts)
    return _page(call, setup, thing, _Shown([group], head=(say("setup.stale"),), status=409))


# ------------------------------------------------------------------------------------ a new thing


def _groups(thing: Thing, values: Mapping[str, Mapping[str, str]]) -> list[Group]:
    groups = [Group(thing.kind, thing.steps, values[thing.kind], new=True)]
    if thing.kind == "wall":
        groups.append(Group("face", (*thing.steps, "faces", 0), values["face"], new=True))
    return groups


def _drawn_new(setup: JobSetup, thing: Thing) -> dict[str, dict[str, str]]:
    """Return the fields of a thing that is not there yet, with what is likely."""
    values = {kind: empty(kind) for kind in ((thing.kind, "face") if thing.kind == "wall" else (thing.kind,))}
    if "face" in values:
        sides = [str(one.get("side")) for _, one in items(at(data_of(setup), thing.steps[:2]) or {}, "faces")]
        side = "in" if thing.kind == "face" and "out" in sides else "out"
        values["face"] |= {"side": side, "system": PROPOSED[side]}
    return values


def _new_form(call: Call) -> Response:
    only_deciders(call)
    try:
        setup = opened(call)
    except FileError as error:
        return _broken(call, error)
    thing = thing_of(call, setup)
    return _page(call, setup, thing, _Shown(_groups(thing, _drawn_new(setup, thing))))


def _add(call: Call, form: Form) -> Response:
    setup, digest = opened(call), digest_of(form)
    thing, data = thing_of(call, setup), data_of(setup)
    place = form.number("place", 0, len(list(items(data, "walls")))) if thing.kind == "wall" else None
    if place is not None:
        thing = thing.at(place)
    values = {
        kind: before | sent(form, kind, before, call.words.units) for kind, before in _drawn_new(setup, thing).items()
    }
    groups = _groups(thing, values)
    made_of = [made(group.steps, group.thing, group.values) for group in groups]
    problems = [one for _, found in made_of for one in found]
    whole: dict[str, Any] = dict(made_of[0][0])
    if thing.kind == "wall":
        whole["faces"] = [made_of[1][0]]
    if digest != setup.digest:
        if any({key: value for key, value in one.items() if key != "id"} == whole for one in _others(data, thing)):
            return done(call, thing.back, "added")  # the same form sent twice
        head = (call.words.say("setup.stale"),)
        return _page(call, setup, thing, _Shown(groups, problems, head, str(place or ""), 409))
    section = str(thing.steps[0])
    if thing.kind != "face":
        whole = {"id": new_id(data, section, str(whole.get("name", ""))), **whole}
    saved = Saved(False, tuple(problems))
    if not problems:
        saved = save(setup.path, digest, [Add(thing.steps, whole)], today(call), known(call))
    if not saved.written:
        shown = _Shown(groups, saved.problems, place="" if place is None else str(place), status=422)
        return _page(call, setup, thing, shown)
    return done(call, thing.back, "added")


def _others(data: Mapping[str, Any], thing: Thing) -> list[Mapping[str, Any]]:
    listed = at(data, thing.steps[:-1])
    return [one for one in listed if isinstance(one, Mapping)] if isinstance(listed, list) else []


# ------------------------------------------------------------------------------------ walking order


def _move(call: Call, form: Form) -> Response:
    setup, digest = opened(call), digest_of(form)
    way = form.one("way")
    if way not in ("up", "down"):
        raise FormError("way: a wall is moved up or down", field="way")
    thing = thing_of(call, setup, form.one("id"))
    place, was = int(thing.steps[1]), form.number("place", 0, 10_000)
    if was is not None and place == was + (1 if way == "down" else -1):
        return done(call, "walls", "moved")  # the same form sent twice
    if digest != setup.digest:
        return _overview(call, "walls", 409, (call.words.say("setup.stale"),))
    if not 0 <= place + (1 if way == "down" else -1) < len(list(items(data_of(setup), "walls"))):
        return done(call, "walls", "same")
    saved = save(setup.path, digest, [Move(thing.steps, up=way == "up")], today(call), known(call))
    if not saved.written:
        return _overview(call, "walls", 422, [one.problem.text for one in saved.problems])
    return done(call, "walls", "moved")
