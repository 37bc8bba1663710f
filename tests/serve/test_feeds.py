"""The feed of a link over HTTP: what calendar programs ask for and get."""

from __future__ import annotations

import gzip
import re

import icalendar
from freezegun import freeze_time
from serving import Site

from curing import clock
from curing.serve.planner import plan_once


def links(body: bytes) -> list[str]:
    return re.findall(r"^URL:(\S+)\r?$", body.replace(b"\r\n ", b"").decode(), re.M)


def test_a_feed_is_a_calendar_with_a_page_behind_each_event(site: Site) -> None:
    answer = site.get("noor", "calendar.ics")
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.headers["cache-control"] == "private, max-age=300"
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert "content-disposition" not in answer.headers
    events = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    found = links(answer.content)
    assert len(events) == len(found) > 20
    pages = {link.partition("#")[0] for link in found}
    assert any("/day/2027-05-" in page for page in pages)
    assert any("/wall/" in page for page in pages)
    before = site.job.store.heads()
    for page in pages:
        assert site.client.get(page.removeprefix("http://testserver")).status_code == 200, page
    assert site.job.store.heads() == before


def test_unchanged_costs_nothing_whatever_form_was_sent(site: Site) -> None:
    plain = site.get("noor", "calendar.ics", headers={"accept-encoding": "identity"})
    packed = site.get("noor", "calendar.ics", headers={"accept-encoding": "gzip"})
    assert plain.headers["etag"] != packed.headers["etag"]
    assert plain.content == packed.content
    assert gzip.compress(plain.content) != plain.content
    for tag in (
        plain.headers["etag"],
        packed.headers["etag"],
        f"W/{plain.headers['etag']}",
        '"x", ' + plain.headers["etag"],
    ):
        same = site.get("noor", "calendar.ics", headers={"if-none-match": tag})
        assert (same.status_code, same.content) == (304, b"")
        assert same.headers["etag"]
    assert site.get("noor", "calendar.ics", headers={"if-none-match": '"other"'}).status_code == 200


def test_a_tick_and_its_plan_change_the_feed_and_a_new_link_does_not_change_what_events_say(site: Site) -> None:
    before = site.get("wil", "calendar.ics")
    site.post("wil", "tick", {"visit": "1-out.finish.2027-05-24.early", "what": "could-not", "why": "no water"})
    coat = next(b.id for b in site.job.sight().plan.bookings if b.kind == "coat" and b.state == "firm")
    site.post("wil", "work", {"booking": coat, "what": "could-not", "why": "rain"})
    plan_once(site.job.job_file, site.job.state)
    site.job.sight()
    after = site.get("wil", "calendar.ics")
    assert after.headers["etag"] != before.headers["etag"]
    old = site.home("wil")
    site.job.renew_link("wil", clock.now())
    assert site.client.get(f"{old}/calendar.ics").status_code == 410
    new = site.get("wil", "calendar.ics")
    sequences = re.compile(rb"(UID|SEQUENCE|LAST-MODIFIED):([^\r]*)")
    assert sequences.findall(new.content) == sequences.findall(after.content)


def test_the_feed_moves_on_with_the_day(site: Site) -> None:
    first = site.get("wil", "calendar.ics").content
    with freeze_time("2027-06-20 05:00:00", real_asyncio=True):
        later = site.get("wil", "calendar.ics").content
    starts = [re.findall(rb"DTSTART;TZID[^:]*:(\d{8})", body) for body in (first, later)]
    assert min(starts[0]) >= b"20270517"
    assert min(starts[1]) >= b"20270613"


def test_when_it_was_fetched_is_told_on_the_calendar_page(site: Site) -> None:
    assert "No phone has fetched it yet." in site.text("noor", "calendar")
    site.client.head(f"{site.home('noor')}/calendar.ics")
    assert "No phone has fetched it yet." in site.text("noor", "calendar")
    site.get("noor", "calendar.ics")
    assert "Last fetched by a phone Mon 24 May 07:10." in site.text("noor", "calendar")
    with freeze_time("2027-05-26 05:10:00", real_asyncio=True):
        assert "more than a day ago" in site.text("noor", "calendar")


def test_a_calendar_is_only_read(site: Site) -> None:
    answer = site.client.post(f"{site.home('noor')}/calendar.ics")
    assert (answer.status_code, answer.headers["allow"]) == (405, "GET, HEAD")


def test_the_client_sees_coats_that_open_the_clients_page(site: Site) -> None:
    answer = site.get("owners", "calendar.ics")
    found = links(answer.content)
    assert len(found) > 5
    assert {link.rpartition("/")[2] for link in found} == {"client"}
    assert site.client.get(found[0].removeprefix("http://testserver")).status_code == 200
    assert b"BEGIN:VALARM" not in answer.content
