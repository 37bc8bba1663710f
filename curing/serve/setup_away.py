"""Things of the job taken away, after what follows was said; and another short id for one."""

from __future__ import annotations

from collections.abc import Sequence

from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response

from curing.errors import RecordError
from curing.publish.page_setup import few, known_of, told
from curing.publish.page_setup_form import Asked
from curing.serve.call import Call
from curing.serve.forms import Form
from curing.serve.served import decides
from curing.serve.setup_asked import data_of, digest_of, id_at, known, one_line, opened, today
from curing.serve.setup_things import Thing, only_deciders, thing_of, title_of
from curing.sources.job_edit import FieldProblem
from curing.workflow.job_setup import JobSetup, save
from curing.workflow.setup_ids import fate, renaming, take_away


def done(call: Call, back: str, what: str) -> Response:
    """Take a changed job file in, ask for a plan, and go back to where the thing stands among others."""
    call.job.reread()
    call.visitor.served.want_plan_soon()
    person = call.visitor.person(call.job.sight())
    if person is None or not decides(person):  # somebody took himself away, or his own role
        return RedirectResponse(f"{call.home}/", 303)
    return call.back(f"setup/{back}?done={what}" if back else f"setup?done={what}")


# ------------------------------------------------------------------------------------ taken away


def ask_away(call: Call) -> Response:
    """Ask whether something is to be taken away, and say what follows."""
    only_deciders(call)
    setup = opened(call)
    return _away_page(call, setup, thing_of(call, setup))


def _away_page(call: Call, setup: JobSetup, thing: Thing, head: Sequence[str] = (), status: int = 200) -> Response:
    data, day = data_of(setup), today(call)
    what = fate(setup, thing.steps, day, day, known(call))
    own = thing.kind == "person" and id_at(data, thing.steps) == call.person.id
    return call.page(
        "setup_away.html",
        status,
        thing=thing,
        name=title_of(data, thing, call.words),
        fate=what,
        known=few([known_of(text) for text in what.known], call.words),
        problems=few([one.problem.text for one in what.problems], call.words),
        head=head,
        own=own,
        digest=setup.digest,
        id=id_at(data, thing.steps),
        file=setup.path.name,
    )


def take(call: Call, form: Form) -> Response:
    """Take something away, or end it."""
    setup, digest, day = opened(call), digest_of(form), today(call)
    try:
        thing = thing_of(call, setup, form.one("id") if digest != setup.digest else None)
    except (RecordError, HTTPException):
        if digest == setup.digest:
            raise
        return done(call, call.request.url.path.removeprefix(f"{call.home}/setup/").split("/")[0], "away")
    if digest != setup.digest:
        return _away_page(call, setup, thing, (call.words.say("setup.stale"),), 409)
    saved, ended = take_away(setup.path, digest, setup, thing.steps, day, day, known(call))
    if saved.problems and not saved.written:
        return _away_page(call, opened(call), thing, [one.problem.text for one in saved.problems], 422)
    return done(call, thing.back, "ended" if ended else "away")


# ------------------------------------------------------------------------------------ another id


def ask_id(call: Call) -> Response:
    """Show the short id of something, to be changed."""
    only_deciders(call)
    setup = opened(call)
    thing = thing_of(call, setup)
    return _id_page(call, setup, thing, id_at(data_of(setup), thing.steps))


def _id_page(
    call: Call,
    setup: JobSetup,
    thing: Thing,
    value: str,
    problems: Sequence[str] = (),
    head: Sequence[str] = (),
    status: int = 200,
) -> Response:
    say = call.words.say
    field = Asked("new_id", say("setup.ask.id.id"), say("setup.why.id.id"), "text", value, problems=tuple(problems))
    return call.page(
        "setup_id.html",
        status,
        thing=thing,
        title=say("setup.id.title", name=title_of(data_of(setup), thing, call.words)),
        field_of=field,
        head=head,
        digest=setup.digest,
        id=id_at(data_of(setup), thing.steps),
    )


def rename(call: Call, form: Form) -> Response:
    """Give something another short id; its record stays with it."""
    setup, digest, new = opened(call), digest_of(form), one_line(form, "new_id")
    section, number = _listed(thing := thing_of(call, setup, _id_now(call, setup, form, digest)))
    data = data_of(setup)
    if id_at(data, thing.steps) == new:
        return done(call, thing.back, "same" if digest == setup.digest else "changed")
    if digest != setup.digest:
        return _id_page(call, setup, thing, new, head=(call.words.say("setup.stale"),), status=409)
    if not new:
        return _id_page(call, setup, thing, new, (call.words.say("setup.missing"),), status=422)
    edits = renaming(data, section, number, new, known(call))
    saved = save(setup.path, digest, edits, today(call), known(call))
    if not saved.written and saved.problems:
        own = [told(one.problem.text, call.words) for one in saved.problems if _of_id(one, section)]
        rest = [one.problem.text for one in saved.problems if not _of_id(one, section)]
        return _id_page(call, setup, thing, new, own, few(rest, call.words), 422)
    return done(call, thing.back, "changed")


def _id_now(call: Call, setup: JobSetup, form: Form, digest: str) -> str | None:
    """Return by which id the thing of a form is found where the file changed: the old one, or already the new one."""
    if digest == setup.digest:
        return None
    section = call.request.url.path.removeprefix(f"{call.home}/setup/").split("/")[0]
    listed = data_of(setup).get(section)
    ids = [str(one.get("id", "")) for one in listed if isinstance(one, dict)] if isinstance(listed, list) else []
    return next((one for one in (form.one("id"), one_line(form, "new_id")) if one in ids), form.one("id"))


def _listed(thing: Thing) -> tuple[str, int]:
    section, number = thing.steps[:2]
    if not isinstance(number, int):
        raise RecordError(f"{thing.path}: has no short id")
    return str(section), number


def _of_id(one: FieldProblem, section: str) -> bool:
    return len(one.steps) == 3 and one.steps[0] == section and one.steps[2] in ("id", "was")
