"""A phone never gets half a plan: feeds polled while the job is edited and planned again and again."""

from __future__ import annotations

import gzip
import os
import sqlite3
import threading
import time
from datetime import datetime
from pathlib import Path

import icalendar
import pytest
from live import Live, running, until
from serving import copied
from test_live_faults import edited, note, revision

from curing.model.links import token
from curing.publish import plan_json
from curing.publish.calendar import feeds
from curing.publish.page_links import page_of
from curing.publish.words import Words
from curing.store import open_state

UID = "3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35"
POLLERS = 50
PEOPLE = {"Wil": "wil", "Ines": "ines"}


def of_revisions(live: Live, now: datetime) -> dict[str, dict[bytes, int]]:
    """Return for each person: body of the feed → the revision that it belongs to, made anew from what was saved."""
    found: dict[str, dict[bytes, int]] = {name: {} for name in PEOPLE}
    secret = (live.state / "links.key").read_bytes()
    homes = {id_: f"http://127.0.0.1:{live.port}/s/{token(secret, UID, id_, 1)}/" for id_ in PEOPLE.values()}
    with open_state(live.state, UID, read_only=True) as store:
        for header in store.revisions():
            plan = plan_json.load(store.revision(header.number).plan, str(header.number))
            words = Words("us" if plan.units == "us" else "metric")
            made = feeds(plan, words, now, lambda feed, one: homes.get(feed, "http://x/") + page_of(one))
            for name, id_ in PEOPLE.items():
                found[name].setdefault(made[id_], header.number)
    return found


@pytest.mark.long
def test_every_feed_belongs_to_one_saved_revision(made: Path, tmp_path: Path) -> None:
    heard: list[tuple[str, bytes, str, bool]] = []
    faults: list[str] = []
    end = threading.Event()
    with running(copied(made, tmp_path)) as live:

        def poll(number: int) -> None:
            name, packed = ("Wil", "Ines")[number % 2], number % 3 == 0
            known = ""
            while not end.is_set():
                headers = {"Accept-Encoding": "gzip"} if packed else {}
                if number % 5 == 0 and known:
                    headers["If-None-Match"] = known
                got = live.page("calendar.ics", name, headers=headers)
                if got.status == 200:
                    body = gzip.decompress(got.body) if got.headers.get("content-encoding") == "gzip" else got.body
                    known = got.headers["etag"]
                    heard.append((name, body, known, packed))
                elif got.status not in (304, 429):
                    faults.append(f"{got.status} {got.body[:200]!r}")
                time.sleep(0.9)

        pollers = [threading.Thread(target=poll, args=(number,), daemon=True) for number in range(POLLERS)]
        for one in pollers:
            one.start()
        first, rounds = revision(live), int(os.environ.get("CURING_REPLANS", "8"))
        for number in range(rounds):
            before = revision(live)
            if number % 2:
                heads = live.send(
                    "work", {"booking": f"{number % 3 + 1}-out", "what": "unsound", "found": f"crack {number}"}
                )
                assert heads.status in (200, 409), heads.text
                assert note(live, f"turn {number}")
            edited(live, f"name: road side, bay 1{'+' * number}\n", f"name: road side, bay 1{'+' * (number + 1)}\n")
            until(lambda: revision(live) > before, 60, "a new plan")  # noqa: B023
        time.sleep(2)
        end.set()
        for one in pollers:
            one.join(20)
        assert not faults, faults[:3]
        last = revision(live)
        now = live.now()
        known = of_revisions(live, now)
        log = live.log()
    assert "Traceback" not in log
    seen: set[int] = set()
    tags: dict[str, bytes] = {}
    for name, body, tag, _ in heard:
        assert body in known[name], body[:300]
        seen.add(known[name][body])
        assert tags.setdefault(tag, body) == body
        icalendar.Calendar.from_ical(body) if len(tags) < 60 else None
    assert len({tag.removesuffix('-gz"').rstrip('"') for tag in tags}) == len(set(tags.values()))
    assert last - first >= rounds
    assert len(seen) > rounds // 2  # a slow machine polls past some
    print(f"pollers {POLLERS}, feeds {len(heard)}, revisions {last - first}, seen {len(seen)}, tags {len(tags)}")


@pytest.mark.long
def test_two_revisions_differ_only_by_what_was_saved(made: Path, tmp_path: Path) -> None:
    """The judge above could not fail if revisions had equal feeds."""
    with running(copied(made, tmp_path)) as live:
        edited(live, "name: road side, bay 1\n", "name: road side, bay 1+\n")
        before = revision(live)
        until(lambda: revision(live) > before, 60, "a new plan")
        known = of_revisions(live, live.now())
        assert len(known["Wil"]) >= 2
        with sqlite3.connect(live.state / "state.db") as raw:
            assert raw.execute("SELECT count(*) FROM revision").fetchone()[0] >= 2
