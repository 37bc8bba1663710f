"""The written plan, ``plan.json``: a contract with whoever reads it, versioned and described.

Equal plans have equal bytes. Every instant at a site stands in UTC and in local time,
every reason and warning with its sentence; :func:`load` reads neither back: the instant
is the UTC one, the sentence is made from the catalogue again.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from curing.errors import FileError, Place, Problem
from curing.model.plan import PLAN_FORMAT, Change, Notice, Plan, Reason
from curing.model.quantities import clip
from curing.publish.event_text import notice, why
from curing.publish.plan_fields import form_of, records
from curing.publish.plan_values import Context
from curing.publish.words import Words
from curing.publish.zone_file import read_zone

MOST_FAULTS = 20
"""So many faults of one file are told; more would not help."""


def dump(plan: Plan, words: Words) -> dict[str, Any]:
    """Return a plan as JSON: ``format``, then the fields of :class:`~curing.model.plan.Plan`.

    Parameters
    ----------
    plan
        The plan; its zones are names of the tz database.
    words
        Makes the sentences (``text``) of reasons, warnings and questions.
    """

    def say(said: Reason | Notice) -> str:
        return why(words, said) if isinstance(said, Reason) else notice(words, said)

    zones = {site.id: site.zone for site in plan.sites}
    return {"format": PLAN_FORMAT, **form_of(Plan).write(plan, Context("UTC", zones, say))}


def text(written: Mapping[str, Any]) -> str:
    r"""Return the one text of a written plan: names sorted, one value a line, a line end at the end.

    Examples
    --------
    >>> text({"name": "Süd", "format": 1})
    '{\n "format": 1,\n "name": "Süd"\n}\n'
    """
    return json.dumps(written, ensure_ascii=False, indent=1, sort_keys=True, allow_nan=False) + "\n"


def load(written: Any, file: str = "plan.json") -> Plan:
    """Return the plan of :func:`dump`.

    Parameters
    ----------
    written
        What ``json.loads`` gave.
    file
        Name for messages.

    Raises
    ------
    FileError
        No plan, one from a newer version, or one with faults; each says where and what to do.
    """
    if not isinstance(written, dict) or "format" not in written:
        raise _fault(file, 'this is no written plan; name the plan.json that "curing plan --out" wrote')
    number = written["format"]
    if not isinstance(number, int) or isinstance(number, bool) or number < 1:
        raise _fault(file, f'format: a plan has format {PLAN_FORMAT}; write it again with "curing plan"')
    if number > PLAN_FORMAT:
        newer = f"format: {clip(str(number)) if number < 10**9 else 'this'} is newer than {PLAN_FORMAT}"
        raise _fault(file, f"{newer}, the newest that can be read; install a newer curing")
    faults: list[str] = []

    def fault(path: str, what: str) -> None:
        faults.append(f"{path}: {what}")

    plan = form_of(Plan).read({key: one for key, one in written.items() if key != "format"}, "", fault)
    if not faults:
        faults += _unknown(plan)
    if faults:
        more = [f"{len(faults) - MOST_FAULTS} more faults like these"] if len(faults) > MOST_FAULTS else []
        told = [f'{one}; write the plan again with "curing plan"' for one in [*faults[:MOST_FAULTS], *more]]
        raise FileError(Problem(Place(file), one) for one in told)
    assert isinstance(plan, Plan)
    return plan


def load_changes(written: Any, file: str = "plan.json") -> tuple[datetime, tuple[Change, ...]]:
    """Return only when a written plan was made and what moved in it: a hundredth of the work of reading all.

    Raises
    ------
    FileError
        As :func:`load`.
    """
    if not isinstance(written, dict) or written.get("format") != PLAN_FORMAT:
        plan = load(written, file)
        return plan.as_of, plan.changes
    faults: list[str] = []

    def fault(path: str, what: str) -> None:
        faults.append(f"{path}: {what}")

    form = form_of(Change)
    changes = tuple(form.read(one, f"changes[{k}]", fault) for k, one in enumerate(written.get("changes", ())))
    try:
        as_of = datetime.fromisoformat(written["as_of"])
    except (KeyError, TypeError, ValueError):
        faults.append("as_of: is no time")
    if faults:
        raise FileError(Problem(Place(file), f'{one}; write the plan again with "curing plan"') for one in faults[:1])
    return as_of, changes


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema of a written plan (draft 2020-12)."""
    form = form_of(Plan)
    body = form.body()
    things = {name: one.body() for name, one in sorted(records(form).items()) if one is not form}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A written plan of curing",
        **body,
        "properties": {"format": {"const": PLAN_FORMAT}, **body["properties"]},
        "required": ["format", *body["required"]],
        "$defs": things,
    }


def _fault(file: str, what: str) -> FileError:
    return FileError(Problem(Place(file), what))


def _unknown(plan: Plan) -> Iterator[str]:
    """Yield names that nothing in the plan explains, and zones that are not there."""
    sites = {site.id for site in plan.sites}
    zones: dict[str, bool] = {}
    for path, zone in [
        *((f"sites[{k}].zone", one.zone) for k, one in enumerate(plan.sites)),
        *((f"bookings[{k}].zone", one.zone) for k, one in enumerate(plan.bookings)),
        *((f"rounds[{k}].zone", one.zone) for k, one in enumerate(plan.rounds)),
        *((f"changes[{k}].zone", one.zone) for k, one in enumerate(plan.changes)),
    ]:
        if zone not in zones:
            zones[zone] = _is_zone(zone)
        if not zones[zone]:
            yield f'{path}: "{clip(zone)}" is not a time zone'
    faces = {face.id for face in plan.faces}
    uids = Counter(booking.uid for booking in (*plan.bookings, *plan.rounds))
    for group, bookings in (("bookings", plan.bookings), ("rounds", plan.rounds)):
        for k, booking in enumerate(bookings):
            if booking.site not in sites:
                yield f'{group}[{k}].site: "{clip(booking.site)}" is not a site of this plan'
            for face in (*booking.faces, *(visit.face for visit in booking.visits)):
                if face not in faces:
                    yield f'{group}[{k}]: "{clip(face)}" is not a face of this plan'
            if uids[booking.uid] > 1:
                yield f'{group}[{k}].uid: "{clip(booking.uid)}" stands twice'
            if booking.end < booking.start:
                yield f"{group}[{k}].end: it is before start"


def _is_zone(name: str) -> bool:
    try:
        read_zone(name)
    except ValueError:
        return False
    return True
