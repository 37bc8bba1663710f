"""The client's page: what it says, whom it never names, and that it changes nothing."""

from __future__ import annotations

import re

import pytest
from freezegun import freeze_time
from serving import Site, at, words

from curing.model.record import RecordEntry, RecordKind

NAMES = ("Wil", "Noor", "Tijn", "Saar", "Ines")
POSTS = (
    "tick", "undo", "round", "work", "pass-on", "take-over", "people/saar/give", "people/saar/renew",
    "people/give-rounds", "people/give-signed",
)  # fmt: skip


def named(text: str) -> list[str]:
    return [name for name in NAMES if re.search(rf"\b{name}\b", text)]


def visit(site: Site, id_: str, person: str = "noor", what: str = "misted") -> None:
    assert site.post(person, "tick", {"visit": id_, "what": what, "why": "no water"}).status_code == 303


def block(site: Site, face: str) -> str:
    page = site.get("owners", "client").text
    return words(page[page.index(f'id="{face}"') :].split("</li>")[0])


def test_the_link_of_a_client_opens_this_page_with_counts_dates_and_what_not_to_touch(site: Site) -> None:
    assert site.get("owners", "").headers["location"].endswith("/client")
    text = site.text("owners", "client")
    assert "Alder Court: your walls" in text
    assert re.search(r"\d of 7 walls have had all their days", text)
    assert "These dates move with the weather" in text
    assert "Please do not touch, hose or lean anything on" in text
    assert "Wet lime burns. Goggles and gloves." in text
    assert "This page is for reading only." in text


def test_visits_are_counted_as_they_were_answered(site: Site) -> None:
    # Nothing was ever told of visits before Monday's plan: the first two that count are Monday's.
    visit(site, "1-out.finish.2027-05-24.early")
    assert "Kept damp 1 of 1 time." in block(site, "1-out")
    with freeze_time("2027-05-24 16:00:00", real_asyncio=True):
        visit(site, "1-out.finish.2027-05-24.late", what="could-not")
    with freeze_time("2027-05-24 17:00:00", real_asyncio=True):
        assert "Kept damp 1 of 2 times." in block(site, "1-out")


def test_a_visit_missed_counts_as_not_done_but_one_just_due_does_not(site: Site) -> None:
    visit(site, "1-out.finish.2027-05-24.early")
    with freeze_time("2027-05-24 18:30:00", real_asyncio=True):
        assert "Kept damp 1 of 1 time." in block(site, "1-out")
    with freeze_time("2027-05-25 12:00:00", real_asyncio=True):
        assert "Kept damp 1 of 2 times." in block(site, "1-out")


def test_days_done_are_told_and_nothing_is_called_cured(site: Site) -> None:
    with freeze_time("2027-08-02 06:00:00", real_asyncio=True):
        text = site.text("owners", "client")
    assert "28 days done." in text
    assert not re.search(r"\bcured?s?\b", text, re.I)


def test_a_date_that_is_a_guess_looks_like_one(site: Site) -> None:
    assert re.search(r"Next: first coat of silicate paint, about \w{3} \d+ June", block(site, "1-out"))
    coat = next(one for one in site.job.sight().plan.bookings if one.task == "finish" and one.state == "firm")
    face = coat.faces[0]
    assert re.search(r"Next: .*finish coat, \w{3} \d+ May\.", block(site, face))
    assert "about" not in block(site, face)


def test_a_panel_that_dries_shows_its_wettest_last_reading_and_the_limit(site: Site) -> None:
    # Of walls 2 and 7 no hold of the panel is met in the job file.
    assert "0 of 7 walls have had all their days, 2 panels still drying." in site.text("owners", "client")
    assert "Panel still drying, not read yet. Coats start at 20 %." in block(site, "7-out")
    meter = "\nmeters:\n  - { id: probe, name: Straw probe, least: 6 %, most: 40 %, basis: wet }\n"
    with site.job.job_file.open("a", encoding="utf-8") as file:
        file.write(meter)
    site.job.reread()
    for band, value in (("low", 27.5), ("top", 22.0)):
        data = {"value": value, "basis": "wet", "band": band, "depth": 100.0, "meter": "probe"}
        entry = RecordEntry(band, at("24 07:00"), at("24 07:00"), "wil", RecordKind.READING, "7-out", data)
        site.job.enter(entry, at("24 07:10"))
    told = block(site, "7-out")
    assert "Panel still drying, 27.5 % water when last read, Mon 24 May. Coats start at 20 %." in told


def test_no_page_of_a_client_names_anybody(site: Site) -> None:
    visit(site, "1-out.finish.2027-05-24.early")
    found = {"sound": False, "found": "crack at the arris, Noor saw it with Wil"}
    entry = RecordEntry("look", at("24 07:05"), at("24 07:05"), "wil", RecordKind.INSPECTION, "1-out", found)
    site.job.enter(entry, at("24 07:10"))
    pages = ["client", *(f"client/{face}" for face, _, _ in site.job.job.faces())]
    for page in pages:
        answer = site.get("owners", page)
        assert answer.status_code == 200
        assert named(answer.text) == [], page
    record = site.text("owners", "client/1-out")
    assert "crack at the arris, (name) saw it with (name)" in record
    assert "misted 07:10" in record
    assert "Checksum of the whole record" in record


def test_a_client_sees_nothing_else_and_changes_nothing(site: Site) -> None:
    for page in ("today", "walls", "job", "moved", "people", "pass-on", "take-over", "wall/1"):
        assert site.get("owners", page).status_code in (403, 404), page
    for page in POSTS:
        answer = site.post("owners", page, {"visit": "1-out.finish.2027-05-24.early", "what": "misted"})
        assert answer.status_code == 403, page
    sight = site.job.sight()
    assert not sight.said.record
    assert not sight.said.decisions
    page = site.get("owners", "client").text
    assert re.findall(r'action="[^"]*/([a-z-]+)"', page) == ["units"], "units alone, kept in the browser"
    assert 'class="bar"' not in page


@pytest.mark.parametrize(("person", "status"), [("wil", 200), ("ines", 200), ("noor", 403), ("saar", 403)])
def test_lead_and_architect_see_the_clients_page_who_only_mists_does_not(site: Site, person: str, status: int) -> None:
    assert site.get(person, "client").status_code == status
    assert site.get(person, "client/1-out").status_code == status


def test_a_face_that_is_none_is_told_in_words(site: Site) -> None:
    answer = site.get("owners", "client/99-out")
    assert answer.status_code == 409
    assert "no face of this job" in words(answer.text)
