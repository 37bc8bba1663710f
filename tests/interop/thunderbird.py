"""A headless Thunderbird that subscribes to a feed, and what it has stored of it."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import sqlite3
import subprocess
import tempfile
import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypedDict

import icalendar


class Stored(TypedDict):
    """An event as Thunderbird stores it; ``alarms`` are instants, ``modified`` is its LAST-MODIFIED."""

    uid: str
    title: str
    start_utc: datetime
    end_utc: datetime
    alarms: list[datetime]
    sequence: int
    modified: datetime | None


STILL = 2
"""What has not changed for so long is all that came [s]."""

Stores = dict[str, list[Stored]]
"""Events by the name of their calendar."""

_REGISTRY = "calendar.registry"
_PREFERENCES: dict[str, bool | str] = {
    "calendar.timezone.useSystemTimezone": False,
    "calendar.timezone.local": "UTC",
    # Its store can be read while it runs.
    "storage.sqlite.exclusiveLock.enabled": False,
    # A test's Thunderbird looks at the feed and nowhere else.
    "app.update.auto": False,
    "app.normandy.enabled": False,
    "browser.safebrowsing.malware.enabled": False,
    "browser.safebrowsing.phishing.enabled": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "extensions.update.enabled": False,
    "mail.provider.suppress_dialog_on_startup": True,
    "mailnews.start_page.enabled": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "services.settings.poll_interval": "2147483647",
}


def thunderbird_events(url: str, wait: float, profile: Path | None = None) -> list[Stored]:
    """Subscribe with a headless Thunderbird and return the events it has stored.

    Parameters
    ----------
    url
        Address of the feed.
    wait
        Longest time given to it [s]; with a new profile the call returns as
        soon as the stored events have stood still for a while.
    profile
        Folder kept by the caller: a second call with it is the same subscriber
        polling again (it polls as it starts), which takes the whole ``wait``.
    """
    known = profile is not None and (profile / "prefs.js").exists()
    return thunderbird_calendars({"crew": url}, wait, profile, arrived=lambda _: not known)["crew"]


def thunderbird_calendars(
    urls: Mapping[str, str],
    wait: float,
    profile: Path | None = None,
    *,
    arrived: Callable[[Stores], bool] = lambda _: True,
) -> Stores:
    """Subscribe to several feeds with one headless Thunderbird and return the events of each.

    Parameters
    ----------
    urls
        Name of each calendar and the address of its feed; with a profile that is used again, the same
        names in the same order.
    wait
        Longest time given to it [s]; it is cut short when what it stored, some events in each
        calendar, has stood still for a while and has ``arrived``.
    profile
        Folder kept by the caller, as in :func:`thunderbird_events`.
    arrived
        Tells from the stored events whether they are those of this poll, not of the last one.
    """
    ids = {name: f"9d3c6b1e-0000-4000-8000-{number:012d}" for number, name in enumerate(urls, start=1)}
    with tempfile.TemporaryDirectory() as name:
        folder = profile or Path(name) / "profile"
        folder.mkdir(parents=True, exist_ok=True)
        preferences = dict(_PREFERENCES)
        for calendar, url in urls.items():
            registered: dict[str, bool | str] = {
                "type": "ics",
                "name": calendar,
                "cache.enabled": True,
                "refreshInterval": "1",
                "uri": url,
            }
            preferences |= {f"{_REGISTRY}.{ids[calendar]}.{key}": value for key, value in registered.items()}
        lines = [f"user_pref({json.dumps(key)}, {json.dumps(value)});" for key, value in preferences.items()]
        (folder / "user.js").write_text("\n".join(lines))
        store = folder / "calendar-data" / "cache.sqlite"
        command = ["thunderbird", "--headless", "--no-remote", "--profile", str(folder)]
        running = subprocess.Popen(
            command,
            env={**os.environ, "HOME": name, "MOZ_HEADLESS": "1"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )

        def stored() -> Stores:
            return {calendar: _stored_events(store, ids[calendar]) for calendar in urls}

        try:
            _wait_until_still(store, running, wait, lambda: all((found := stored()).values()) and arrived(found))
        finally:
            _end(running)
        return stored()


def _wait_until_still(store: Path, running: subprocess.Popen[bytes], wait: float, arrived: Callable[[], bool]) -> None:
    end = time.monotonic() + wait
    seen: list[Any] = []
    since = time.monotonic()
    while time.monotonic() < end:
        if running.poll() is not None:
            raise RuntimeError(f"Thunderbird ended by itself with {running.returncode}")
        time.sleep(0.25)
        rows = _rows(store, "SELECT cal_id, id, title, event_start, event_end, last_modified FROM cal_events")
        rows += [row for table in ("alarms", "properties") for row in _rows(store, f"SELECT count(*) FROM cal_{table}")]
        if rows != seen:
            seen, since = rows, time.monotonic()
        elif time.monotonic() - since > STILL and arrived():
            return


def _end(running: subprocess.Popen[bytes]) -> None:
    for how in (signal.SIGTERM, signal.SIGKILL):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(running.pid, how)
        with contextlib.suppress(subprocess.TimeoutExpired):
            running.wait(timeout=10)
            return


def _stored_events(store: Path, calendar: str) -> list[Stored]:
    alarms: dict[str, list[icalendar.Alarm]] = {}
    for uid, text in _rows(store, "SELECT item_id, icalString FROM cal_alarms WHERE cal_id = ?", calendar):
        alarms.setdefault(uid, []).extend(icalendar.Alarm.from_ical(text, multiple=True))
    sequences: dict[str, str] = dict(
        _rows(store, "SELECT item_id, value FROM cal_properties WHERE key = 'SEQUENCE' AND cal_id = ?", calendar)
    )
    events: list[Stored] = []
    fields = "id, title, event_start, event_end, last_modified"
    for uid, title, start, end, modified in _rows(store, f"SELECT {fields} FROM cal_events WHERE cal_id = ?", calendar):
        # Thunderbird counts in microseconds.
        begin, finish = instant(start / 1e6), instant(end / 1e6)
        events.append(
            {
                "uid": uid,
                "title": title,
                "start_utc": begin,
                "end_utc": finish,
                "alarms": [rings(alarm, begin, finish) for alarm in alarms.get(uid, [])],
                "sequence": int(sequences.get(uid, 0)),
                "modified": instant(modified / 1e6) if modified else None,
            }
        )
    return sorted(events, key=lambda event: (event["start_utc"], event["uid"]))


def _rows(store: Path, query: str, *values: str) -> list[Any]:
    """Read the store of a Thunderbird that may be starting: no table yet is no rows."""
    if not store.exists():
        return []
    try:
        with contextlib.closing(sqlite3.connect(f"{store.as_uri()}?mode=ro", uri=True)) as database:
            return database.execute(query, values).fetchall()
    except sqlite3.OperationalError:
        return []


def rings(alarm: icalendar.Alarm, start: datetime, end: datetime) -> datetime:
    """Return the instant an alarm rings for an event from start to end."""
    trigger: Any = alarm["TRIGGER"]
    if isinstance(trigger.dt, datetime):
        return trigger.dt.astimezone(UTC)
    return (end if trigger.params.get("RELATED") == "END" else start) + trigger.dt


def instant(seconds: float) -> datetime:
    """Return the instant some seconds after 1970-01-01T00:00:00Z."""
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)
