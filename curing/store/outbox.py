"""The rows of the outbox: added once, claimed by one, changed only where they still stand as they were seen."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from pathlib import Path
from typing import Any

from sqlalchemy import (
    ColumnElement,
    Connection,
    Select,
    delete,
    func,
    or_,
    select,
    tuple_,
    update,
)
from sqlalchemy import (
    Row as Found,
)
from sqlalchemy.dialects.sqlite import insert as insert_or

from curing.model.reminders import Kind, Occasion, Outbox, Row, RowState
from curing.store import schema
from curing.store.faults import fault
from curing.store.heads import Heads, heads
from curing.store.plans import canonical

LEASE = timedelta(seconds=60)
"""Who claims a row has it for so long; a channel answers within half of it."""
LOOKED = "reminders.looked"
"""Key of the last look in the table ``state``."""
LATELY = timedelta(hours=24)
TRIAL_USE = timedelta(hours=1)

_o = schema.outbox.c
_PLAIN = tuple(column.name for column in schema.outbox.c if column.name not in ("lease", "owner"))


@dataclass(frozen=True, slots=True)
class Fresh:
    """A row to be added.

    Parameters
    ----------
    made
        When it was found.
    adds_up
        Whether the whole numbers of its values are added to those of a row that waits under the same key; else
        the row that is there stays as it is.
    """

    occasion: Occasion
    channel: str
    made: datetime
    state: RowState = RowState.WAITING
    answer: str = ""
    adds_up: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """A change of one row; nothing where somebody else changed or claimed the row since it was seen.

    Parameters
    ----------
    row
        As it was seen.
    state
        What it becomes; None: it is taken out.
    answer
        What was said last; None: as it was.
    next
        When it is tried next; None: as it was.
    occasion
        What it says from now on; None: as it was.
    answered
        Whether its last try has an end that is known.
    sure
        Whether it holds whoever has claimed the row meanwhile: what was taken by a channel is sent.
    then
        Rows that are added with it, and only with it.
    """

    row: Row
    state: RowState | None
    answer: str | None = None
    next: datetime | None = None
    occasion: Occasion | None = None
    text: str = ""
    answered: bool = True
    sure: bool = False
    then: tuple[Fresh, ...] = ()


class Begun(StrEnum):
    """Whether a try was begun."""

    YES = "yes"
    CHANGED = "changed"
    """Plan, record or decisions are not those that were looked at."""
    LOST = "lost"
    """Somebody else has a row meanwhile, or it waits no more."""
    MANY = "many"
    """The person had as many messages this hour as anybody gets."""


def _free(now: datetime) -> ColumnElement[bool]:
    # A lease that reaches much further than any lease was given by a clock that went back since. Not one that reaches
    # a little further: ``now`` was read before the state was waited for, and somebody may have claimed meanwhile.
    return or_(_o.lease.is_(None), _o.lease <= now, _o.lease > now + 2 * LEASE)


def looked(connection: Connection, database: Path) -> datetime | None:
    """Return when somebody last looked for what falls due."""
    text = connection.scalar(select(schema.state.c.value).where(schema.state.c.key == LOOKED))
    try:
        return None if text is None else schema.UtcText().process_result_value(text, None)
    except ValueError:
        raise fault(database, f'state: its "{LOOKED}" is damaged ({str(text)[:40]!a}); put back a backup') from None


def _look(connection: Connection, now: datetime) -> None:
    text = schema.UtcText().process_bind_param(now, None)
    new = insert_or(schema.state).values(key=LOOKED, value=text)
    connection.execute(new.on_conflict_do_update(index_elements=["key"], set_={"value": text}))


def rows(connection: Connection, database: Path, query: Select[Any] | None = None) -> list[Row]:
    """Return rows, by due and number."""
    query = select(schema.outbox) if query is None else query
    with _readable(database):
        return [_row(found) for found in connection.execute(query.order_by(_o.due, _o.id))]


def open_rows(connection: Connection, database: Path, since: datetime) -> list[Row]:
    """Return all rows that wait, and all that fell due since an instant."""
    return rows(connection, database, select(schema.outbox).where(or_(_o.state == RowState.WAITING, _o.due >= since)))


def rows_since(connection: Connection, database: Path, since: datetime) -> list[Row]:
    """Return all rows that wait, fell due since an instant, or were answered since."""
    wanted = or_(_o.state == RowState.WAITING, _o.due >= since, _o.answered >= since)
    return rows(connection, database, select(schema.outbox).where(wanted))


def channels_of(connection: Connection, listed: Sequence[Row]) -> dict[tuple[str, str], set[str]]:
    """Return (key, person) → the channels that have a row of it."""
    found: dict[tuple[str, str], set[str]] = {(row.key, row.person): set() for row in listed}
    for key, person in found:
        there = select(_o.channel).where(_o.key == key, _o.person == person)
        found[key, person].update(connection.scalars(there))
    return found


@contextmanager
def _readable(database: Path) -> Iterator[None]:
    """Turn a time, kind or text that no version wrote into a StateError."""
    try:
        yield
    except (TypeError, ValueError) as error:
        raise fault(
            database,
            f"outbox: one of its rows is damaged, or of a newer curing ({ascii(str(error))[1:60]}); reminders wait "
            "until every row can be read; put back a backup, or install the newer curing",
        ) from None


def _row(found: Found[Any]) -> Row:
    said: dict[str, Any] = {name: found._mapping[name] for name in _PLAIN}
    said["values"] = json.loads(said["values"])
    said["about"], said["faces"] = tuple(json.loads(said["about"])), tuple(json.loads(said["faces"]))
    said["kind"], said["state"] = Kind(said["kind"]), RowState(said["state"])
    return Row(**said)


def _written(occasion: Occasion) -> dict[str, Any]:
    return {
        "due": occasion.due,
        "until": occasion.until,
        "intent": occasion.intent,
        "about": json.dumps(list(occasion.about)),
        "faces": json.dumps(list(occasion.faces)),
        "values": canonical(dict(occasion.values)).decode("ascii"),
        "step": occasion.step,
    }


def _add(connection: Connection, fresh: Fresh) -> None:
    occasion = fresh.occasion
    new = insert_or(schema.outbox).values(
        key=occasion.key,
        kind=str(occasion.kind),
        person=occasion.person,
        channel=fresh.channel,
        state=str(fresh.state),
        made=fresh.made,
        next=occasion.due,
        tries=0,
        again=0,
        answer=fresh.answer,
        answered=None if fresh.state is RowState.WAITING else fresh.made,
        text="",
        **_written(occasion),
    )
    added = connection.execute(new.on_conflict_do_nothing()).rowcount
    if not added and fresh.adds_up:
        _add_up(connection, fresh)


def _add_up(connection: Connection, fresh: Fresh) -> None:
    same = (_o.key == fresh.occasion.key, _o.person == fresh.occasion.person, _o.channel == fresh.channel)
    there = connection.scalar(select(_o["values"]).where(*same, _o.tries == 0))
    if there is None:
        return
    values: dict[str, Any] = json.loads(there)
    for name, more in fresh.occasion.values.items():
        if type(more) is int:
            values[name] = int(values.get(name, 0)) + more
    connection.execute(update(schema.outbox).where(*same).values({"values": canonical(values).decode("ascii")}))


def keep(
    connection: Connection,
    steps: Sequence[Step],
    fresh: Sequence[Fresh],
    now: datetime,
    *,
    owner: str = "",
    look: bool = False,
) -> int:
    """Change and add rows, and note the look; return how many of the changes held."""
    held = 0
    for one in fresh:
        _add(connection, one)
    for step in steps:
        if _take(connection, step, now, owner):
            held += 1
            for one in step.then:
                _add(connection, one)
    if look:
        _look(connection, now)
    return held


def _take(connection: Connection, step: Step, now: datetime, owner: str) -> bool:
    row = step.row
    same = [_o.id == row.id, _o.key == row.key, _o.channel == row.channel, _o.state == str(row.state)]
    if not step.sure:
        same += [_o.tries == row.tries, or_(_o.owner == owner, _free(now))]
    if step.state is None:
        return bool(connection.execute(delete(schema.outbox).where(*same)).rowcount)
    values: dict[str, Any] = {"state": str(step.state), "lease": None, "owner": None}
    if step.occasion is not None:
        values |= _written(step.occasion)
    if step.next is not None:
        values["next"] = step.next
    if step.answer is not None:
        values["answer"] = step.answer
    if step.text:
        values["text"] = step.text
    if step.answered:
        values["answered"] = max(now, row.begun or now)  # an answer comes after its question, whatever the clock did
    return bool(connection.execute(update(schema.outbox).where(*same).values(values)).rowcount)


def claim(
    connection: Connection, database: Path, owner: str, channel: str, now: datetime, but: Sequence[int] = ()
) -> list[Row]:
    """Claim the rows that go out next as one message: one person, kind and channel, tried together before or never.

    Inside a writer's transaction, so that no two claim the same.
    """
    due = (_o.channel == channel, _o.state == str(RowState.WAITING), _o.next <= now, _free(now), _o.id.not_in(but))
    tried = func.coalesce(_o.begun, "")
    first = select(_o.person, _o.kind, tried).where(*due).order_by(_o.due, _o.id).limit(1)
    ids = select(_o.id).where(*due, tuple_(_o.person, _o.kind, tried).in_(first))
    claimed = (
        update(schema.outbox).where(_o.id.in_(ids)).values(lease=now + LEASE, owner=owner).returning(*schema.outbox.c)
    )
    with _readable(database):
        found = [_row(one) for one in connection.execute(claimed)]
    return sorted(found, key=lambda row: (row.due, row.id))


def begin(
    connection: Connection,
    listed: Sequence[Row],
    owner: str,
    now: datetime,
    *,
    seen: Heads | None,
    most: tuple[int, frozenset[Kind]] | None = None,
) -> tuple[Begun, list[Row]]:
    """Begin a try of rows that were claimed, all or none of them.

    Parameters
    ----------
    seen
        The heads that were looked at; None: whatever they are.
    most
        How many messages the person may have had this hour, and the kinds that don't count; None: any number.
    """
    ids = [row.id for row in listed]
    if seen is not None and heads(connection) != seen:
        return Begun.CHANGED, []
    if most is not None and _had(connection, listed[0].person, now, most[1]) >= most[0]:
        return Begun.MANY, []
    mine = (_o.id.in_(ids), _o.owner == owner, _o.state == str(RowState.WAITING))
    there = {one.id: one for one in connection.execute(select(_o.id, _o.tries).where(*mine))}
    if any(row.id not in there or there[row.id].tries != row.tries for row in listed):
        return Begun.LOST, []
    begun = [
        replace(row, tries=row.tries + 1, begun=now, again=row.again + (1 if end_unknown(row) else 0)) for row in listed
    ]
    for row in begun:
        values = {"tries": row.tries, "begun": now, "again": row.again, "lease": now + LEASE}
        connection.execute(update(schema.outbox).where(_o.id == row.id).values(values))
    return Begun.YES, begun


def end_unknown(row: Row) -> bool:
    """Tell whether a row's last try began and nobody knows how it ended."""
    return row.begun is not None and (row.answered is None or row.answered < row.begun)


def _had(connection: Connection, person: str, now: datetime, but: frozenset[Kind]) -> int:
    """Return how many messages a person was sent in the last hour; rows that went out together count once."""
    sent = (
        select(_o.channel, _o.kind, _o.begun)
        .where(_o.person == person, _o.state == str(RowState.SENT), _o.kind.not_in([str(kind) for kind in but]))
        .where(_o.begun > now - timedelta(hours=1), _o.begun <= now)
        .distinct()
        .subquery()
    )
    return connection.scalar(select(func.count()).select_from(sent)) or 0


def release(connection: Connection, listed: Sequence[Row], owner: str) -> None:
    """Give claimed rows back, as if nobody had claimed them; those whose try was begun meanwhile stay claimed."""
    seen = tuple_(_o.id, _o.tries).in_([(row.id, row.tries) for row in listed])
    connection.execute(update(schema.outbox).where(seen, _o.owner == owner).values(lease=None, owner=None))


def figures(connection: Connection, database: Path, now: datetime) -> Outbox:
    """Return how the outbox stands."""
    other = schema.outbox.alias("other")
    told = (
        select(other.c.id)
        .where(other.c.key == _o.key, other.c.person == _o.person)
        .where(other.c.state.in_([str(RowState.SENT), str(RowState.WAITING)]))
        .exists()
    )

    def lately(state: RowState) -> Any:
        late = select(_o.key, _o.person).where(_o.state == str(state), _o.answered > now - LATELY, ~told)
        late = late.where(_o.kind != str(Kind.TRIAL)).distinct()  # who tries a channel out sees for himself
        return select(func.count()).select_from(late.subquery()).scalar_subquery()

    late = (_o.state == str(RowState.WAITING), _o.due <= now)
    waiting, oldest = connection.execute(select(func.count(), func.min(_o.due)).where(*late)).one()
    dead, nowhere = connection.execute(select(lately(RowState.DEAD), lately(RowState.NOWHERE))).one()
    return Outbox(looked(connection, database), waiting, oldest, dead, nowhere)


def add_trial(connection: Connection, person: str, now: datetime) -> str:
    """Add a row that tries out each channel of a person; which those are, the sender finds. Return its key.

    A second one within the same minute is the same.
    """
    key = f"trial|{now:%Y-%m-%dT%H:%MZ}|{person}"
    same = (_o.key == key, _o.person == person)
    if connection.scalar(select(func.count()).where(*same)) == 0:
        occasion = Occasion(key, Kind.TRIAL, person, now, now + TRIAL_USE, f"{now:%Y-%m-%d %H:%M} UTC")
        _add(connection, Fresh(occasion, "", now))
    return key


def forget(connection: Connection, before: datetime) -> int:
    """Take out rows that were closed and fell due before an instant; return how many."""
    gone = delete(schema.outbox).where(_o.state != str(RowState.WAITING), _o.due < before)
    return connection.execute(gone).rowcount


def forget_person(connection: Connection, person: str) -> int:
    """Take out all rows of a person (root); return how many."""
    return connection.execute(delete(schema.outbox).where(_o.person == person)).rowcount
