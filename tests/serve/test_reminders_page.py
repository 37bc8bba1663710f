"""The page of reminders, its trial, the band on every page, and what whoever watches is told."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import Any

import pytest
from freezegun import freeze_time
from serving import Site, words

from curing import clock
from curing.model.reminders import Kind, Occasion, RowState
from curing.store import Fresh, Step

BAND = "Look at Today yourself."


def one(site: Site, kind: Kind, person: str, minutes: int, **more: Any) -> Occasion:
    """Return something that fell due for somebody so many minutes ago."""
    due = clock.now() - timedelta(minutes=minutes)
    root = site.job.sight().roots.people[person]
    given = {"faces": ("1-out",), "values": {"day": "2027-05-24", "slot": "early", "by": "08:10", "minutes": 20}}
    return Occasion(f"{kind}|{minutes}", kind, root, due, due + timedelta(hours=4), "2027-05-24 06:30", **given | more)


def keep(site: Site, told: Occasion, channel: str, state: RowState, said: str = "") -> None:
    """Keep a row as a sender leaves it, a minute after it was due."""
    store = site.job.store
    held = state if state is RowState.NOWHERE else RowState.WAITING
    store.keep_rows([], [Fresh(told, channel, told.due, held, said)], told.due)
    if state not in (RowState.WAITING, RowState.NOWHERE):
        last = max(store.rows_since(told.due - timedelta(days=1)), key=lambda row: row.id)
        text = "as it went out" if state is RowState.SENT else ""
        store.keep_rows([Step(last, state, said, text=text)], [], told.due + timedelta(minutes=1))


def looked(site: Site, ago: float = 12) -> None:
    """Let a sender have looked so many seconds ago, and the pages know."""
    site.job.store.keep_rows([], [], clock.now() - timedelta(seconds=ago), look=True)
    site.served.look_at_outbox()


def block(site: Site, person: str) -> str:
    page = site.get("wil", "reminders").text
    return words(page[page.index(f'id="p-{person}"') :].split("</section>")[0])


# -- the page -------------------------------------------------------------------------------


def test_it_is_for_who_decides(site: Site) -> None:
    assert site.get("wil", "reminders").status_code == 200
    assert site.get("ines", "reminders").status_code == 200
    for person in ("noor", "saar", "owners"):
        answer = site.get(person, "reminders")
        assert answer.status_code == 403, person
    assert f"{site.home('wil')}/reminders" in site.get("wil", "today").text
    assert f"{site.home('wil')}/reminders" in site.get("wil", "people").text
    assert "/reminders" not in site.get("noor", "today").text


def test_it_tells_how_the_sender_stands(site: Site) -> None:
    assert "No reminder goes out: nobody has looked" in site.text("wil", "reminders")
    looked(site)
    assert "Last looked 12 s ago. Nothing waits." in site.text("wil", "reminders")


def test_what_a_person_was_told_and_whether_it_was_ticked(site: Site) -> None:
    visit = "1-out.finish.2027-05-24.early"
    keep(site, one(site, Kind.ROUND, "wil", 40, about=(visit,)), "email", RowState.SENT, "250 queued")
    assert "round Due 06:30 as it went out Taken by email 06:31. no tick yet" in block(site, "wil")
    answer = site.post("wil", "tick", {"visit": visit, "what": "misted"})
    assert answer.status_code in (200, 303), answer.text
    assert "ticked 07:10 Wil" in block(site, "wil")


def test_what_reached_nobody_stands_first_with_what_to_do(site: Site) -> None:
    keep(site, one(site, Kind.ROUND, "noor", 40), "email", RowState.DEAD, "550 no such mailbox")
    keep(site, one(site, Kind.ROUND, "tijn", 30), "", RowState.NOWHERE, "no channel")
    looked(site)
    text = site.text("wil", "reminders")
    assert text.index("1 reminder of the last 24 hours reached nobody.") < text.index("Reached nobody")
    first = text[text.index("Reached nobody") : text.index("The last 24 hours The first")]
    assert "Noor, round Due 06:30" in first
    assert "550 no such mailbox." in first
    assert "Look at the address of Noor for email" in first
    assert "Give Tijn an address" in first


def test_told_by_another_channel_is_one_thing(site: Site) -> None:
    told = one(site, Kind.ROUND, "noor", 40)
    keep(site, told, "email", RowState.DEAD, "550 no such mailbox")
    keep(site, told, "file", RowState.SENT, "written")
    text = block(site, "noor")
    assert text.count("Due 06:30") == 1
    assert "email: given up. 550 no such mailbox. Taken by file 06:31." in text
    assert "Reached nobody" not in site.text("wil", "reminders")


def test_only_the_ends_of_addresses_are_seen(site: Site) -> None:
    page = site.get("wil", "reminders").text
    found = re.findall(r"[\w.]*@[\w.]+", page)
    assert found == []
    assert "email …ple" in block(site, "noor")


def test_who_has_no_channel_is_led_to_the_form(site: Site) -> None:
    job = site.job.job_file
    job.write_text(job.read_text().replace("    tell: { email: saar@alder-court.example, file: saar }\n", ""))
    site.job.reread()
    assert "Saar has no channel, and hears nothing." in block(site, "saar")
    page = site.get("wil", "reminders").text
    found = re.search(r'href="(/s/[^"]*/setup/people/[^"]*)"', page)
    assert found is not None
    assert 'value="Saar"' in site.client.get(found[1]).text


def test_what_comes_in_the_next_24_hours(site: Site) -> None:
    text = site.text("wil", "reminders")
    coming = text[text.index("Goes out in the next 24 hours") :]
    assert "Wil , round, by email" in coming
    assert "MIST late, walls 1 2" in coming


def test_names_and_answers_are_text(site: Site) -> None:
    job = site.job.job_file
    job.write_text(job.read_text().replace("name: Noor", "name: \"<script>alert('x')</script>\"", 1))
    site.job.reread()
    told = one(site, Kind.ROUND, "noor", 40)
    keep(site, told, "email", RowState.DEAD, '<img src="x">\u202e' + "y" * 5000)
    page = site.get("wil", "reminders").text
    assert "<script>alert" not in page
    assert '<img src="x"' not in page
    assert "\u202e" not in page
    assert "y" * 300 not in page


def test_looking_changes_nothing(site: Site) -> None:
    keep(site, one(site, Kind.ROUND, "noor", 40), "email", RowState.WAITING)
    before = site.job.store.rows_since(clock.now() - timedelta(days=9))
    site.get("wil", "reminders")
    assert site.job.store.rows_since(clock.now() - timedelta(days=9)) == before


# -- trying out -----------------------------------------------------------------------------


def trials(site: Site) -> list[tuple[str, str]]:
    rows = site.job.store.rows_since(clock.now() - timedelta(hours=1))
    return [(row.person, row.channel) for row in rows if row.kind is Kind.TRIAL]


def test_a_trial_is_asked_for_and_told_when_it_went(site: Site) -> None:
    answer = site.post("wil", "reminders/try", {"person": "noor"})
    assert answer.status_code == 303
    assert answer.headers["location"].endswith("/reminders#p-noor")
    root = site.job.sight().roots.people["noor"]
    assert trials(site) == [(root, "")]
    assert "Being tried out." in block(site, "noor")
    row = site.job.store.rows_since(clock.now() - timedelta(hours=1))[-1]
    sent = Fresh(Occasion(row.key, Kind.TRIAL, root, row.due, row.until, row.intent), "email", clock.now())
    site.job.store.keep_rows([Step(row, None, then=(sent,))], [], clock.now())
    (row,) = site.job.store.rows_since(clock.now() - timedelta(hours=1))
    site.job.store.keep_rows([Step(row, RowState.SENT, "250 queued")], [], clock.now())
    assert "Tried out 07:10: email took it. Ask Noor whether it came." in block(site, "noor")


def test_sent_twice_it_is_tried_once(site: Site) -> None:
    fields = {"person": "noor", "key": "a" * 32}
    assert [site.post("wil", "reminders/try", fields).status_code for _ in range(2)] == [303, 303]
    assert len(trials(site)) == 1


def test_a_trial_that_failed_is_no_reminder_that_was_lost(site: Site) -> None:
    keep(site, one(site, Kind.TRIAL, "noor", 4), "email", RowState.DEAD, "550 no such mailbox")
    looked(site)
    assert "Tried out 07:06: email: given up. 550 no such mailbox." in block(site, "noor")
    assert "Reached nobody" not in site.text("wil", "reminders")
    assert site.client.get("/healthz").json()["well"] is True


@pytest.mark.parametrize("person", ["nobody", "owners", "", "../wil", "x" * 5000])
def test_nobody_to_try_out(site: Site, person: str) -> None:
    answer = site.post("wil", "reminders/try", {"person": person})
    assert 400 <= answer.status_code < 500
    assert trials(site) == []


def test_a_trial_is_for_who_decides(site: Site) -> None:
    assert site.post("noor", "reminders/try", {"person": "noor"}).status_code == 403
    assert site.post("wil", "reminders/try", {"person": "noor"}, headers={}).status_code == 403  # no own form
    assert site.get("wil", "reminders/try").status_code == 405
    assert trials(site) == []


# -- the band and /healthz ------------------------------------------------------------------


def reminders_of(site: Site) -> tuple[int, dict[str, Any]]:
    answer = site.client.get("/healthz")
    return answer.status_code, answer.json()["jobs"][0]["reminders"]


def test_all_is_quiet_while_reminders_are_not_used(site: Site) -> None:
    site.served.look_at_outbox()
    assert BAND not in site.text("wil", "today")
    status, told = reminders_of(site)
    assert (status, told["state"], told["looked"]) == (200, "off", None)


def test_all_is_quiet_while_they_go_out(site: Site) -> None:
    looked(site)
    assert BAND not in site.text("wil", "today")
    status, told = reminders_of(site)
    assert (status, told["state"], told["waiting"], told["dead"]) == (200, "well", 0, 0)


def test_a_sender_that_stopped_is_on_every_page(site: Site) -> None:
    looked(site, 4 * 60)
    assert BAND not in site.text("noor", "today")
    with freeze_time("2027-05-24 05:11:30", real_asyncio=True):
        for page in ("today", "walls", "job", "moved", "people", "calendar"):
            text = site.text("wil", page)
            assert "Nobody has looked for what falls due since 07:06: no reminder goes out." in text, page
        status, told = reminders_of(site)
    assert (status, told["state"]) == (503, "stopped")


def test_the_band_names_nobody_and_leads_who_decides_to_the_page(site: Site) -> None:
    keep(site, one(site, Kind.ROUND, "noor", 40), "email", RowState.DEAD, "550 no such mailbox")
    looked(site)
    assert "1 reminder of the last 24 hours reached nobody. Look at Today yourself. Reminders" in site.text(
        "wil", "today"
    )
    text = site.text("tijn", "today")
    assert "1 reminder of the last 24 hours reached nobody. Look at Today yourself." in text
    assert "/reminders" not in site.get("tijn", "today").text
    assert BAND not in site.text("owners", "client")
    status, told = reminders_of(site)
    assert (status, told["state"], told["dead"]) == (503, "dead", 1)
    assert "noor" not in site.client.get("/healthz").text.lower()


def test_what_is_late_is_told_and_is_not_yet_a_failure(site: Site) -> None:
    keep(site, one(site, Kind.ROUND, "noor", 4), "email", RowState.WAITING)
    looked(site)
    assert BAND not in site.text("tijn", "today")
    keep(site, one(site, Kind.ROUND, "tijn", 6), "email", RowState.WAITING)
    looked(site)
    assert "2 reminders wait to go out, the oldest due since 07:04." in site.text("tijn", "today")
    status, told = reminders_of(site)
    assert (status, told["state"], told["waiting"]) == (200, "late", 2)
    assert datetime.fromisoformat(told["oldest"]) == clock.now() - timedelta(minutes=6)


def test_pages_read_no_figures(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    looked(site)
    monkeypatch.setattr(site.job.store, "outbox_figures", lambda now: pytest.fail("read by a request"))
    assert site.get("wil", "today").status_code == 200
    assert site.client.get("/healthz").status_code == 200
