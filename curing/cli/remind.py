"""``curing remind``: reminders alone, without pages."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterable
from contextlib import ExitStack
from pathlib import Path
from typing import Annotated, Literal

import typer

from curing.cli.options import State
from curing.cli.printing import say_page
from curing.errors import UsageError
from curing.publish.event_title import plain
from curing.publish.terminal_layout import wrap
from curing.publish.words import Words
from curing.remind.channels import loose_files
from curing.remind.service import Service
from curing.serve.logs import begin_logging
from curing.sources.settings import read_settings
from curing.workflow.open_job import OpenJob

EPILOG = "Plans are made by curing serve or curing plan. Stop it with Ctrl-C; nothing is lost or sent twice by that."


def remind(
    settings: Annotated[Path, typer.Option(metavar="FILE", help="Settings file with the channels.")],
    jobs: Annotated[list[Path] | None, typer.Argument(metavar="JOB", help="Job files.", show_default=False)] = None,
    address: Annotated[
        str | None, typer.Option(metavar="URL", help="Address of the pages, for the links in messages.")
    ] = None,
    state: State = None,
    log: Annotated[
        Literal["text", "json"] | None, typer.Option(metavar="FORM", help="Form of the log: text or json.  [text]")
    ] = None,
) -> None:
    """Remind the people of a job until stopped, where no pages are served."""
    told = read_settings(settings)
    if address is not None:
        told = told.model_copy(update={"address": address})
    if told.reminders is None or not told.reminders.channels:
        raise UsageError(
            f'{settings}: reminders: names no channel, so nobody can be reached; add "reminders:" with "channels:" '
            "(examples/service/serve.yaml shows how)"
        )
    listed = [*(jobs or told.jobs)]
    if not listed:
        raise UsageError("no job is named; give the job file, or jobs: in the settings")
    if state is not None and len(listed) > 1:
        raise UsageError("--state: names one folder, but several jobs are reminded; leave it out")
    for sentence in loose_files(told.reminders):
        print("\n".join(wrap(sentence)), file=sys.stderr)
    begin_logging(log or told.log)
    words, ended = Words(), threading.Event()
    with ExitStack() as stack:
        service = Service(told.reminders)
        opened = [stack.enter_context(OpenJob(one, state)) for one in listed]
        for one in opened:
            service.add(one, told.checked_address())
        for sign in (signal.SIGTERM, signal.SIGINT):
            signal.signal(sign, lambda number, frame: ended.set())
        stack.enter_context(service)
        names = ", ".join(service.channels)
        say_page(
            [
                *wrap(words.count("remind.alone", len(opened), channels=names)),
                *(wrap(words.say("remind.no_address")) if not told.checked_address() else ()),
                *not_set_up(service, opened, words),
            ]
        )
        ended.wait()


def not_set_up(service: Service, jobs: Iterable[OpenJob], words: Words) -> list[str]:
    """Return, one line a person, which channels of the job files are not in the settings."""
    lines: list[str] = []
    for job in jobs:
        for person, names in service.not_set_up(job):
            said = {"name": plain(person.name), "channels": ", ".join(names)}
            lines += wrap(words.count("remind.not_set_up", len(names), **said))
    return lines
