"""The page of reminders for who decides: how sending stands, what reached nobody, what went out, what comes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from curing.model.reminders import Kind, RowState
from curing.publish.reminder_rows import RemindersSeen, Sending, Told
from curing.publish.reminder_said import Said
from curing.publish.reminder_text import TICKED


@dataclass(frozen=True, slots=True)
class ReminderRow:
    """One thing somebody was told, with all channels that were tried.

    Parameters
    ----------
    told
        What became of it, channel by channel, in sentences.
    answered
        When it was ticked, or that it was not; empty: nothing answers it.
    state
        ``lost``, ``waits``, ``open``, ``done`` or ``told``, for its mark.
    """

    due: str
    what: str
    text: str
    told: tuple[str, ...]
    answered: str
    state: str
    ticks: bool
    """Whether it is answered by a tick at a wall."""
    to_do: str = ""


@dataclass(frozen=True, slots=True)
class PersonReminders:
    """What one person was told, and how he or she is reached.

    Parameters
    ----------
    id
        For the form that tries the channels out; empty for who left the job.
    ways
        Channels with the ends of their addresses.
    trial
        What became of the last trial; empty: there was none lately.
    gone
        How many were not needed any more, in a sentence.
    number
        Place in the job file, from 1: the form that changes the person.
    """

    id: str
    name: str
    ways: tuple[str, ...]
    rows: tuple[ReminderRow, ...]
    trial: tuple[str, ...]
    gone: str
    number: int


@dataclass(frozen=True, slots=True)
class ComingRow:
    """One thing that will go out."""

    due: str
    who: str
    what: str
    text: str
    channel: str


@dataclass(frozen=True, slots=True)
class RemindersPage:
    """What stands on the page.

    Parameters
    ----------
    well
        Whether reminders go out.
    """

    stands: tuple[str, ...]
    well: bool
    lost: tuple[tuple[str, ReminderRow], ...]
    """Name of the person, and what did not arrive."""
    people: tuple[PersonReminders, ...]
    coming: tuple[ComingRow, ...]


def reminders_view(seen: RemindersSeen) -> RemindersPage:
    """Return what stands on the page of reminders."""
    words = seen.words
    said = Said(words, seen.now, seen.zone)
    rows = [one for one in seen.told if one.row.kind is not Kind.TRIAL]
    listed: dict[str, list[Told]] = {}
    for one in rows:
        listed.setdefault(one.person, []).append(one)
    trials = [one for one in seen.told if one.row.kind is Kind.TRIAL]
    reached = {one.id: one for one in seen.reach}
    people = []
    for id_ in dict.fromkeys([*reached, *listed]):
        reach, theirs = reached.get(id_), listed.get(id_, [])
        gone = sum(1 for one in theirs if one.row.state in (RowState.DROPPED, RowState.FOLDED))
        people.append(
            PersonReminders(
                id_ if reach is not None else "",
                reach.name if reach is not None else theirs[0].name,
                tuple(
                    words.say("remind.page.reach.one", channel=channel, address=address)
                    for channel, address in (reach.ways if reach is not None else ())
                ),
                tuple(_rows(theirs, said)),
                tuple(_trial([one for one in trials if one.person == id_], said)),
                words.count("remind.page.gone", gone) if gone else "",
                reach.number if reach is not None else 0,
            )
        )
    coming = tuple(
        ComingRow(
            said.when(one.occasion.due),
            one.name,
            words.say(f"remind.kind.{one.occasion.kind}"),
            one.text,
            words.say("remind.page.by", channel=one.channel) if one.channel else words.say("remind.page.no_channel"),
        )
        for one in seen.coming
    )
    lost = tuple((person.name, row) for person in people for row in person.rows if row.state == "lost")
    return RemindersPage(
        tuple(said.stands_of(seen)), seen.sending in (Sending.WELL, Sending.OFF), lost, tuple(people), coming
    )


def _rows(theirs: list[Told], said: Said) -> Iterator[ReminderRow]:
    """Yield what one person was told, the newest first; the channels of one thing together."""
    things: dict[str, list[Told]] = {}
    for one in theirs:
        if one.row.state not in (RowState.DROPPED, RowState.FOLDED):
            things.setdefault(one.row.key, []).append(one)
    for listed in sorted(things.values(), key=lambda group: (group[0].row.due, group[0].row.id), reverse=True):
        yield _row(listed, said)


def _row(listed: list[Told], said: Said) -> ReminderRow:
    last = listed[-1]
    told: list[str] = []
    for one in listed:
        told += _became(one, said, alone=one is last)
    return ReminderRow(
        due=said.words.say("remind.page.due", when=said.when(last.row.due)),
        what=said.words.say(f"remind.kind.{last.row.kind}"),
        text=last.text,
        told=tuple(told),
        answered=_ticked(last, said),
        state=_state(last),
        ticks=last.row.kind in TICKED,
        to_do=said.to_do(last) if last.lost else "",
    )


def _state(told: Told) -> str:
    if told.lost:
        return "lost"
    if told.row.state is RowState.WAITING:
        return "waits"
    if told.answered is None:
        return "told"
    return "done" if told.answered.whole else "open"


def _became(one: Told, said: Said, *, alone: bool) -> Iterator[str]:
    """Yield what became of a row; what was done instead is told by the row itself where it follows."""
    words, row = said.words, one.row
    if row.state is RowState.SENT:
        yield words.say("remind.page.taken", channel=row.channel, when=said.state(row))
    elif row.channel:
        yield words.say("remind.page.on", channel=row.channel, state=said.state(row))
    else:
        yield said.state(row)
    yield from said.more(one, instead=alone)


def _ticked(one: Told, said: Said) -> str:
    words, answered = said.words, one.answered
    if answered is None or (not answered.done and one.row.state is not RowState.SENT):
        return ""
    if answered.whole and answered.at is not None:
        key = "remind.page.ticked" if one.row.kind in TICKED else "remind.page.answered"
        return words.say(key, clock=said.when(answered.at), by=answered.by)
    if answered.done:
        return words.say("remind.page.ticked.of", done=answered.done, of=answered.of)
    return words.say("remind.page.ticked.none" if one.row.kind in TICKED else "remind.page.answered.none")


def _trial(trials: list[Told], said: Said) -> Iterator[str]:
    """Yield what became of the newest trial, channel by channel."""
    newest = max((one.row.made for one in trials), default=None)
    key = next((one.row.key for one in trials if one.row.made == newest), "")
    for one in trials:
        if one.row.key != key:
            continue
        when = said.when(one.row.due)
        if one.row.state is RowState.WAITING and not one.row.tries:
            yield said.words.say("remind.page.trial.waiting")
        elif one.row.state is RowState.SENT:
            yield said.words.say("remind.page.trial.taken", when=when, channel=one.row.channel, name=one.name)
        else:
            yield said.words.say("remind.page.trial", when=when, state=" ".join(_became(one, said, alone=True)))
