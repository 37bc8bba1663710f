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
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypedDict

import icalendar


class Stored(TypedDict):
    """An event as Thunderbird stores it; ``alarms`` are instants."""

    uid: str
    title: str
    start_utc: datetime
    end_utc: datetime
    alarms: list[datetime]


_SUBSCRIPTION = "calendar.registry.9d3c6b1e-0000-4000-8000-000000000001"
_PREFERENCES: dict[str, bool | str] = {
    f"{_SUBSCRIPTION}.type": "ics",
    f"{_SUBSCRIPTION}.name": "crew",
    f"{_SUBSCRIPTION}.cache.enabled": True,
    f"{_SUBSCRIPTION}.refreshInterval": "1",
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
        soon as the stored events have stood still for two seconds.
    profile
        Folder kept by the caller: a second call with it is the same subscriber
        polling again (it polls as it starts), which takes the whole ``wait``.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = profile or Path(name) / "profile"
        known = (folder / "prefs.js").exists()
        folder.mkdir(parents=True, exist_ok=True)
        preferences = {**_PREFERENCES, f"{_SUBSCRIPTION}.uri": url}
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
        try:
            _wait_until_still(store, running, wait, may_stop_early=not known)
        finally:
            _end(running)
        return _stored_events(store)


def _wait_until_still(store: Path, running: subprocess.Popen[bytes], wait: float, may_stop_early: bool) -> None:
    end = time.monotonic() + wait
    seen: list[Any] = []
    since = time.monotonic()
    while time.monotonic() < end:
        if running.poll() is not None:
            raise RuntimeError(f"Thunderbird ended by itself with {running.returncode}")
        time.sleep(0.25)
        rows = _rows(store, "SELECT id, event_start FROM cal_events ORDER BY id")
        if rows != seen:
            seen, since = rows, time.monotonic()
        elif may_stop_early and seen and time.monotonic() - since > 2:
            return


def _end(running: subprocess.Popen[bytes]) -> None:
    for how in (signal.SIGTERM, signal.SIGKILL):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(running.pid, how)
        with contextlib.suppress(subprocess.TimeoutExpired):
            running.wait(timeout=10)
            return


def _stored_events(store: Path) -> list[Stored]:
    alarms: dict[str, list[icalendar.Alarm]] = {}
    for uid, text in _rows(store, "SELECT item_id, icalString FROM cal_alarms"):
        alarms.setdefault(uid, []).extend(icalendar.Alarm.from_ical(text, multiple=True))
    events: list[Stored] = []
    for uid, title, start, end in _rows(store, "SELECT id, title, event_start, event_end FROM cal_events"):
        # Thunderbird counts in microseconds.
        begin, finish = instant(start / 1e6), instant(end / 1e6)
        rung = [rings(alarm, begin, finish) for alarm in alarms.get(uid, [])]
        events.append({"uid": uid, "title": title, "start_utc": begin, "end_utc": finish, "alarms": rung})
    return sorted(events, key=lambda event: (event["start_utc"], event["uid"]))


def _rows(store: Path, query: str) -> list[Any]:
    """Read the store of a Thunderbird that may be starting: no table yet is no rows."""
    if not store.exists():
        return []
    try:
        with contextlib.closing(sqlite3.connect(f"{store.as_uri()}?mode=ro", uri=True)) as database:
            return database.execute(query).fetchall()
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
