"""Everybody of a job with what they do, and how their link stands: made, fetched by a calendar, withdrawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from curing.model.links import Link
from curing.model.people import Person
from curing.publish.event_title import plain
from curing.publish.words import Words

STALE = timedelta(hours=26)
"""A calendar that fetches once a day may be late by two hours; longer ago it shows old dates."""


@dataclass(frozen=True, slots=True)
class PersonRow:
    """One person.

    Parameters
    ----------
    link
        ``none``, ``open`` or ``withdrawn``.
    generation
        Which link it is, counted from 1; 0: none was ever given.
    made
        When it was made or withdrawn, in a sentence.
    calendar
        ``never``, ``stale``, ``fresh``; empty where no link opens anything.
    fetched
        The same in a sentence.
    """

    id: str
    name: str
    roles: str
    link: str
    generation: int
    made: str
    calendar: str
    fetched: str
    own: bool


def person_rows(
    people: Sequence[Person], links: Mapping[str, Link], words: Words, now: datetime, zone: ZoneInfo, own: str
) -> list[PersonRow]:
    """Return everybody, in the order of the job file.

    Parameters
    ----------
    links
        Id of a person → the newest link.
    own
        Id of the reader.
    """
    return [person_row(one, links.get(one.id), words, now, zone, own=one.id == own) for one in people]


def person_row(
    person: Person, link: Link | None, words: Words, now: datetime, zone: ZoneInfo, *, own: bool
) -> PersonRow:
    """Return one person with the state of the link."""
    roles = ", ".join(words.say(f"people.role.{role}") for role in person.roles) or words.say("people.role.none")
    state, made, calendar, fetched = "none", words.say("people.link.none"), "", ""
    if link is not None and link.revoked is not None:
        state, made = "withdrawn", words.say("people.link.withdrawn", when=_when(link.revoked, words, now, zone))
    elif link is not None:
        state, made = "open", words.say("people.link.made", when=_when(link.made, words, now, zone))
        calendar = "never" if link.fetched is None else "stale" if now - link.fetched > STALE else "fresh"
        when = _when(link.fetched, words, now, zone) if link.fetched is not None else ""
        hours = int((now - link.fetched).total_seconds() // 3600) if link.fetched is not None else 0
        fetched = words.say(f"people.fetched.{calendar}", when=when, hours=hours)
    generation = link.generation if link is not None else 0
    return PersonRow(person.id, plain(person.name), roles, state, generation, made, calendar, fetched, own)


def _when(at: datetime, words: Words, now: datetime, zone: ZoneInfo) -> str:
    """Return ``today 06:52``, or the day and the time."""
    here = at.astimezone(zone)
    if here.date() == now.astimezone(zone).date():
        return words.say("people.today", clock=f"{here:%H:%M}")
    return words.say("terminal.day_time", day=words.day(here.date()), clock=f"{here:%H:%M}")
