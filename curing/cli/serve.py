"""``curing serve``: pages and calendars over HTTP for the people of a job."""

from __future__ import annotations

import os
import sys
from io import StringIO
from pathlib import Path
from typing import Annotated, Literal

import segno
import typer

from curing import clock
from curing.cli.options import State
from curing.cli.printing import say_page
from curing.cli.remind import not_set_up
from curing.errors import UsageError
from curing.publish.terminal_layout import wrap
from curing.publish.words import Words
from curing.remind.channels import loose_files
from curing.remind.service import Service
from curing.serve.app import Options
from curing.serve.logs import begin_logging
from curing.serve.running import Place, decider_links, run
from curing.serve.served import Beside, House
from curing.serve.start_pages import Starts
from curing.sources.settings import Settings, read_settings
from curing.workflow.demo import FOLDER, MESSAGES, demo_job, demo_reminders

EPILOG = "Stop it with Ctrl-C. What was answered to a phone is kept, however it is stopped."


def serve(
    jobs: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="JOB", help="Job files; one that is not there yet is begun by the page.", show_default=False
        ),
    ] = None,
    host: Annotated[
        str | None,
        typer.Option(metavar="HOST", help="Address to listen at; 0.0.0.0 for phones in the same network.  [127.0.0.1]"),
    ] = None,
    port: Annotated[int | None, typer.Option(metavar="PORT", help="Port to listen at.  [8000]")] = None,
    address: Annotated[
        str | None, typer.Option(metavar="URL", help="Address by which phones reach it, behind a proxy.")
    ] = None,
    tls_cert: Annotated[Path | None, typer.Option(metavar="FILE", help="Certificate chain (PEM), for https.")] = None,
    tls_key: Annotated[Path | None, typer.Option(metavar="FILE", help="Its key (PEM).")] = None,
    http_port: Annotated[
        int | None, typer.Option(metavar="PORT", help="Port that sends plain http on to https.")
    ] = None,
    state: State = None,
    settings: Annotated[Path | None, typer.Option(metavar="FILE", help="Settings file with all of these.")] = None,
    log: Annotated[
        Literal["text", "json"] | None, typer.Option(metavar="FORM", help="Form of the log: text or json.  [text]")
    ] = None,
    demo: Annotated[bool, typer.Option("--demo", help=f"Serve an invented site, in the folder {FOLDER}.")] = False,
    at: Annotated[
        str | None, typer.Option("--at", metavar="TIME", help='Put the demo\'s clock on, to "2027-05-25 10:31".')
    ] = None,
) -> None:
    """Serve pages to tick off and calendars to subscribe to."""
    told = read_settings(settings) if settings is not None else Settings()
    given = {
        "host": host, "port": port, "address": address, "tls_cert": tls_cert, "tls_key": tls_key,
        "http_port": http_port, "log": log,
    }  # fmt: skip
    told = told.model_copy(update={name: value for name, value in given.items() if value is not None})
    listed = [*(jobs or []), *(told.jobs if not jobs else ())]
    words = Words()
    if demo:
        if listed:
            raise UsageError("--demo: serves its own invented job; leave the job file out")
        job, ahead = demo_job(Path(FOLDER), _progress, at)
        listed = [job]
        os.environ[clock.OFFSET_VARIABLE] = str(int(ahead.total_seconds()))
    elif at is not None:
        raise UsageError("--at: puts on the clock of the demo only; a job of your own has the clock of this machine")
    if not listed:
        raise UsageError("no job is named; give the job file, or try it out: curing serve --demo")
    if state is not None and len(listed) > 1:
        raise UsageError("--state: names one folder, but several jobs are served; leave it out")
    reminders = told.reminders
    if demo and reminders is None:
        reminders = demo_reminders(Path(FOLDER))
    service = Service(reminders) if reminders is not None and reminders.channels else None
    for sentence in loose_files(reminders) if reminders is not None else ():
        print("\n".join(wrap(sentence)), file=sys.stderr)
    options = Options(address=told.checked_address(), secure=told.tls_cert is not None, demo=demo)
    place = Place(told.host, told.port, told.tls_cert, told.tls_key, told.http_port)
    begin_logging(told.log)

    def opened(house: House, at: str) -> None:
        if service is not None:
            told_at = service.evening, service.morning
            house.beside(Beside(frozenset(service.channels), *told_at, lambda job: service.add(job, at), service.stop))
            service.__enter__()
        if told.weather is not None and not demo:
            house.watch_weather(told.weather)
        say_page(_opened(house, at, words, demo=demo))
        if service is not None and not demo:  # the invented people of the demo are told by its file alone
            say_page(not_set_up(service, (served.job for served in house.jobs), words))

    def begun(starts: Starts, at: str) -> None:
        for job, path in starts.links():
            say_page([*wrap(words.say("serve.start", file=job)), f"  {at}{path}"])

    run([(job, state) for job in listed], place, options, opened, begun)


def _progress(done: int, of: int) -> None:
    if sys.stderr.isatty():
        end = "\n" if done == of else ""
        print(f"\rmaking the invented month, morning {done} of {of}", end=end, file=sys.stderr, flush=True)


def _opened(house: House, at: str, words: Words, *, demo: bool) -> list[str]:
    """Return what is told when everything is ready: the links of those who decide."""
    lines = [words.say("serve.ready", address=at)]
    if demo:
        lines += wrap(words.say("serve.demo"))
        lines += wrap(words.say("serve.demo_reminders", file=f"{FOLDER}/{MESSAGES}"))
    links = decider_links(house)
    for job, person, token in links:
        lines.append(words.say("serve.link", job=job, name=person.name))
        lines.append(f"  {at}/s/{token}/")
    if links and sys.stdout.isatty() and not at.startswith("http://localhost"):
        lines += _drawn(f"{at}/s/{links[0][2]}/")
    if house.jobs:
        lines += wrap(words.say("serve.people"))
    if not at.startswith("https://"):
        lines += wrap(words.say("serve.no_tls"))
    return lines


def _drawn(link: str) -> list[str]:
    """Return a link as a QR code of a terminal, for a phone held before it."""
    out = StringIO()
    segno.make(link, error="l").terminal(out, compact=True, border=2)
    return out.getvalue().splitlines()
