"""``curing reminders``: what went out and how it was answered, what comes, and whether a channel works."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Annotated

import typer

from curing.cli.options import AsOf, JobFile, State
from curing.cli.printing import say_bytes, say_page
from curing.errors import UsageError
from curing.model.people import Person
from curing.model.quantities import clip, parse
from curing.model.reminders import Outcome
from curing.publish.event_title import plain
from curing.publish.reminders_json import reminders_json
from curing.publish.terminal import job_name
from curing.publish.terminal_reminders import next_page, reminders_page, trial_page
from curing.publish.words import Words
from curing.remind.channels import open_channels
from curing.remind.scene import Scenes
from curing.remind.trial import send_test
from curing.sources.reminder_settings import Reminders
from curing.sources.settings import Settings, read_settings
from curing.workflow.open_job import OpenJob
from curing.workflow.reminders_seen import see_reminders

MOST_AHEAD = 14 * 24.0
"""[h] What comes is told for no longer: walks further ahead still move."""


def reminders(
    job: JobFile,
    ahead: Annotated[
        str | None,
        typer.Option(
            "--next", metavar="SPAN", help='What would go out in "3 d", "12 h", "90 min".', show_default=False
        ),
    ] = None,
    send_to: Annotated[
        str | None,
        typer.Option(
            "--send-test",
            metavar="PERSON",
            help="Try out every channel of somebody (id), at once.",
            show_default=False,
        ),
    ] = None,
    settings: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Settings file with the channels, as for curing serve.", show_default=False),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print it as JSON and nothing else.")] = False,
    state: State = None,
    as_of: AsOf = None,
) -> None:
    """Print the reminders of the last 24 hours: to whom, by which channel, taken when, ticked when."""
    span = _span(ahead)
    if send_to is not None:
        if ahead is not None or json or as_of is not None:
            raise UsageError("--send-test: sends now and prints the answers; leave out --next, --json and --as-of")
        _try_out(job, state, settings, send_to)
        return
    told = read_settings(settings).reminders if settings is not None else None
    channels = None if settings is None else tuple(told.channels) if told is not None else ()
    times = {"evening": told.evening, "morning": told.morning} if told is not None else {}
    seen = see_reminders(job, state=state, as_of=as_of, ahead=span, channels=channels, **times)
    if json:
        say_bytes(reminders_json(seen).encode())
    elif ahead is not None:
        say_page(next_page(seen, " ".join(ahead.split())))
    else:
        say_page(reminders_page(seen, job_name(str(job))))


def _span(text: str | None) -> timedelta:
    """Return a length of time as a person writes it; nothing for None."""
    if text is None:
        return timedelta(0)
    try:
        return timedelta(hours=parse(text, "duration_h", high=MOST_AHEAD))
    except ValueError as error:
        raise UsageError(f"--next: {error}") from None


def _try_out(job_file: Path, state: Path | None, settings: Path | None, who: str) -> None:
    if settings is None:
        raise UsageError("--send-test: the channels stand in the settings file; add --settings FILE")
    told: Settings = read_settings(settings)
    given = told.reminders or Reminders.model_validate({})
    channels = open_channels(given)
    with OpenJob(job_file, state) as job:
        sight = job.sight()
        person = _named(sight.job.file.people, who)
        words = Words(sight.job.file.units)
        scenes = Scenes(job, told.checked_address(), evening=given.evening, morning=given.morning)
        if not person.tell:
            raise UsageError(
                f'--send-test: "{person.id}" has no address to be told by; add one to the person in the job file, '
                "tell: {email: NAME@EXAMPLE.ORG}"
            )
        answers = send_test(sight, person, channels, scenes.compose)
    missing = [name for name in person.tell if name not in channels]
    say_page(trial_page(plain(sight.job.file.name), plain(person.name), answers, missing, words))
    if missing or any(answer.outcome is not Outcome.ACCEPTED for _, answer in answers):
        raise typer.Exit(1)


def _named(people: tuple[Person, ...], who: str) -> Person:
    found = next((one for one in people if one.id == who), None)
    if found is None:
        named = ", ".join(one.id for one in people)
        raise UsageError(f'--send-test: "{clip(who)}": nobody of this job has that id; use one of {named}')
    return found
