"""Real calendar programs, each asked what it makes of a calendar.

Every function takes the bytes of a calendar (or the address of a feed) and
returns what one program shows for it. All times are aware, in UTC. A program
that is not installed makes :func:`needs` skip the test, saying what to install.

What the programs judge:

* libical reads the whole grammar and knows which properties RFC 5545 demands;
* ical.js and libical take their zones from the file's VTIMEZONE alone;
* Thunderbird is a real subscriber: it fetches, converts and stores alarms;
* khal and vdirsyncer stand for the readers of people who keep local copies.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import json
import os
import shlex
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TypedDict

import icalendar
import pytest
import recurring_ical_events
from local_feed import Feed, served
from thunderbird import Stored, instant, rings, thunderbird_calendars, thunderbird_events

__all__ = [
    "Feed",
    "Listed",
    "Shown",
    "Stored",
    "icaljs_events",
    "icaljs_utc",
    "khal_events",
    "libical_problems",
    "libical_utc",
    "needs",
    "recurring_events",
    "served",
    "thunderbird_calendars",
    "thunderbird_events",
    "vdirsyncer_items",
]

HERE = Path(__file__).parent
CACHE = Path(os.environ.get("CURING_INTEROP_CACHE", HERE.parents[1] / "build" / "interop"))
"""Where compiled programs and ical.js lie; git ignores it."""

ICAL_JS = CACHE / "node_modules" / "ical.js" / "dist" / "ical.js"

TIME_LIMIT = 120
"""No program may take longer than this over one question [s]."""


class Shown(TypedDict):
    """An event as ical.js or recurring-ical-events reads it; ``alarms`` are instants."""

    uid: str
    summary: str
    start_utc: datetime
    end_utc: datetime
    alarms: list[datetime]


class Listed(TypedDict):
    """An event as khal lists it: it tells that there is an alarm, not when."""

    uid: str
    title: str
    start_utc: datetime
    end_utc: datetime
    has_alarm: bool
    status: str


def _libical_is_there() -> bool:
    if not (shutil.which("gcc") and shutil.which("pkg-config")):
        return False
    return subprocess.run(["pkg-config", "--exists", "libical"], check=False).returncode == 0


_INSTALLED: dict[str, tuple[Callable[[], object], str]] = {
    "libical": (_libical_is_there, "the Debian packages gcc, pkg-config and libical-dev"),
    "khal": (lambda: shutil.which("khal"), "the Debian package khal"),
    "vdirsyncer": (lambda: shutil.which("vdirsyncer"), "the Debian package vdirsyncer"),
    "thunderbird": (lambda: shutil.which("thunderbird"), "the Debian package thunderbird"),
    "ical.js": (
        lambda: shutil.which("node") and ICAL_JS.exists(),
        "node, and with npm the dependencies of tests/interop/package.json into build/interop",
    ),
}


def needs(program: str) -> pytest.MarkDecorator:
    """Skip a test where a program is absent, saying what to install.

    Not in CI: what .ci/run should have installed must not go unasked in silence.
    """
    is_there, what = _INSTALLED[program]
    may_be_absent = os.environ.get("CI") != "true"
    reason = f"{program} is not here; it needs {what}"
    return pytest.mark.skipif(may_be_absent and not is_there(), reason=reason)


# --- libical ---------------------------------------------------------------


@functools.cache
def _compiled(name: str) -> Path:
    """Compile one of the C programs beside this file, once for each version of its text."""
    source = HERE / f"{name}.c"
    binary = CACHE / f"{name}-{hashlib.sha256(source.read_bytes()).hexdigest()[:12]}"
    if not binary.exists():
        CACHE.mkdir(parents=True, exist_ok=True)
        flags = shlex.split(_output(["pkg-config", "--cflags", "--libs", "libical"]))
        # Two test workers may compile at once: each builds its own, the last one stays.
        unfinished = binary.with_suffix(f".{os.getpid()}")
        _output(["gcc", "-Wall", "-Werror", "-O1", "-o", str(unfinished), str(source), *flags])
        unfinished.replace(binary)
    return binary


def libical_problems(ics: bytes) -> list[str]:
    """Return what libical's parser and its icalrestriction_check find wrong; empty when nothing."""
    with _in_file(ics) as file:
        lines = _output([str(_compiled("check_rules")), str(file)]).splitlines()
    return list(dict.fromkeys(lines))


def libical_utc(ics: bytes, local_times: list[tuple[str, datetime]]) -> list[datetime]:
    """Convert local times of zones into UTC by the VTIMEZONE components of a calendar, in libical."""
    with _in_file(ics) as file, _in_file(_questions(local_times)) as times:
        answer = _output([str(_compiled("to_utc")), str(file), str(times)])
    return [instant(int(seconds)) for seconds in answer.split()]


# --- ical.js ---------------------------------------------------------------


def icaljs_events(ics: bytes) -> list[Shown]:
    """Return the events as ical.js reads them, by the file's own VTIMEZONE components."""
    with _in_file(ics) as file:
        answer = _output(["node", str(HERE / "read_calendar.mjs"), str(ICAL_JS), "events", str(file)])
    return [
        {
            "uid": event["uid"],
            "summary": event["summary"],
            "start_utc": instant(event["start"]),
            "end_utc": instant(event["end"]),
            "alarms": [instant(alarm) for alarm in event["alarms"]],
        }
        for event in json.loads(answer)
    ]


def icaljs_utc(ics: bytes, local_times: list[tuple[str, datetime]]) -> list[datetime]:
    """Convert local times of zones into UTC by the VTIMEZONE components of a calendar, in ical.js."""
    script = str(HERE / "read_calendar.mjs")
    with _in_file(ics) as file, _in_file(_questions(local_times)) as times:
        answer = _output(["node", script, str(ICAL_JS), "utc", str(file), str(times)])
    return [instant(int(seconds)) for seconds in answer.split()]


# --- khal ------------------------------------------------------------------

_KHAL_CONFIG = """\
[calendars]
[[crew]]
path = {folder}/crew
type = calendar
[locale]
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%dT%H:%M
longdatetimeformat = %Y-%m-%dT%H:%M
default_timezone = UTC
local_timezone = UTC
[sqlite]
path = {folder}/khal.db
[default]
default_calendar = crew
"""


def khal_events(ics: bytes, start: date, days: int) -> list[Listed]:
    """Import the calendar into an empty khal and return what it lists from a UTC day on."""
    fields = ("uid", "title", "start-long", "end-long", "alarm-symbol", "status")
    # Control characters part fields and events: no text of a calendar holds them.
    line = "\x1e" + "\x1f".join(f"{{{field}}}" for field in fields)
    with tempfile.TemporaryDirectory() as name, _in_file(ics) as file:
        folder = Path(name)
        (folder / "crew").mkdir()
        (folder / "config").write_text(_KHAL_CONFIG.format(folder=folder))
        khal = ["khal", "-c", str(folder / "config")]
        _output([*khal, "import", "--batch", "-a", "crew", str(file)], home=folder)
        when = [start.isoformat(), f"{days}d"]
        answer = _output([*khal, "list", "--once", "--day-format", "", "--format", line, *when], home=folder)
    events = [record.rstrip("\n").split("\x1f") for record in answer.split("\x1e")[1:]]
    return [
        {
            "uid": uid,
            "title": title,
            "start_utc": datetime.fromisoformat(begin).replace(tzinfo=UTC),
            "end_utc": datetime.fromisoformat(end).replace(tzinfo=UTC),
            "has_alarm": bool(alarm.strip()),
            "status": status.strip(),
        }
        for uid, title, begin, end, alarm, status in events
    ]


# --- vdirsyncer ------------------------------------------------------------

_VDIRSYNCER_CONFIG = """\
[general]
status_path = "{folder}/status/"
[pair feed]
a = "there"
b = "here"
collections = null
[storage there]
type = "http"
url = "{url}"
[storage here]
type = "filesystem"
path = "{folder}/items/"
fileext = ".ics"
"""


def vdirsyncer_items(url: str) -> list[str]:
    """Subscribe with vdirsyncer and return the calendar text of each item it keeps.

    It gives every item of a web feed a UID of its own: look at other properties.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "items").mkdir()
        (folder / "config").write_text(_VDIRSYNCER_CONFIG.format(folder=folder, url=url))
        for command in ("discover", "sync"):
            _output(["vdirsyncer", "-c", str(folder / "config"), command], home=folder)
        return [item.read_bytes().decode("utf-8") for item in sorted((folder / "items").glob("*.ics"))]


# --- recurring-ical-events -----------------------------------------------------


def recurring_events(ics: bytes, start: datetime, end: datetime) -> list[Shown]:
    """Return the events between two instants as recurring-ical-events unfolds them."""
    calendar = icalendar.Calendar.from_ical(ics)
    return [
        {
            "uid": str(event["UID"]),
            "summary": str(event["SUMMARY"]),
            "start_utc": event.start.astimezone(UTC),
            "end_utc": event.end.astimezone(UTC),
            "alarms": [
                rings(alarm, event.start.astimezone(UTC), event.end.astimezone(UTC)) for alarm in event.walk("VALARM")
            ],
        }
        for event in recurring_ical_events.of(calendar).between(start, end)
    ]


# --- shared ------------------------------------------------------------------


def _output(command: list[str], home: Path | None = None) -> str:
    """Run a program that must succeed, and return what it prints."""
    environment = {**os.environ, "LC_ALL": "C.UTF-8", **({"HOME": str(home)} if home else {})}
    done = subprocess.run(
        command,
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=TIME_LIMIT,
        check=False,
    )
    if done.returncode:
        message = done.stderr.decode("utf-8", "replace")
        raise RuntimeError(f"{shlex.join(command)} ended with {done.returncode}:\n{message}")
    return done.stdout.decode("utf-8")


@contextlib.contextmanager
def _in_file(content: bytes) -> Iterator[Path]:
    with tempfile.NamedTemporaryFile(suffix=".ics") as file:
        file.write(content)
        file.flush()
        yield Path(file.name)


def _questions(local_times: list[tuple[str, datetime]]) -> bytes:
    return "".join(f"{zone} {local:%Y%m%dT%H%M%S}\n" for zone, local in local_times).encode()
