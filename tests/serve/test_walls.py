"""Walls, readings, holds and tests over HTTP, as the lead and the crew meet them."""

from __future__ import annotations

import re

import pytest
from freezegun import freeze_time
from serving import Site, at, words

from curing.model.record import RecordKind
from curing.serve.planner import plan_once
from curing.sources.log_line import read_line

DRY = {f"{side}-{band}": value for side in ("out", "in") for band, value in
       {"low": "19.5", "middle": "18", "top": "17", "mid": "19"}.items()}  # fmt: skip


@pytest.fixture
def metered(site: Site) -> Site:
    """The job with a meter, found true within 2 points by a dried sample."""
    job = site.job.job_file
    text = job.read_text()
    meter = "meters:\n  - { id: probe, name: Straw probe, least: 6 %, most: 40 %, basis: wet }\n\n"
    job.write_text(text.replace("# Who lays coats together.", f"{meter}# Who lays coats together.", 1))
    assert site.job.reread()
    assert not site.job.sight().trouble
    site.job.log(
        read_line("test", ["meter=probe", "read=11.5", "dried=11"]), "wil", at("24 06:30"), "k" * 16, at("24 07:00")
    )
    return site


def test_the_wall_says_what_holds_it_and_what_lifts_that(site: Site) -> None:
    page = site.text("tijn", "wall/7")
    assert "Held: 7 out base" in page
    assert "Outside: not read in the last 7 days." in page
    assert "never a date" in page
    assert "Only the lead or the architect opens it." in page
    assert "Met: open it" not in page
    assert "Met: open it" in site.text("wil", "wall/7")


def test_without_a_meter_in_the_job_file_the_page_says_so(site: Site) -> None:
    assert "No meter is in the job file yet" in site.text("wil", "reading/7")


def test_dry_readings_and_a_word_open_the_panel_and_the_plan_follows(metered: Site) -> None:
    site = metered
    early = site.post("wil", "hold", {"hold": "7.panel-dry", "what": "met"})
    assert early.status_code == 409
    assert "no reading of the last 7 days" in words(early.text)
    assert site.post("noor", "reading/7", {**DRY, "depth": "100 mm", "meter": "probe"}).status_code == 303
    readings = [one for one in site.job.sight().said.record if one.kind is RecordKind.READING]
    assert len(readings) == 8
    page = site.text("wil", "wall/7")
    assert "Outside: wettest 19.5 %; 20 % or less passes." in page
    assert site.post("wil", "hold", {"hold": "7.panel-dry", "what": "met"}).status_code == 303
    assert "Held: 7 out base" not in site.text("wil", "wall/7")
    assert not plan_once(site.job.job_file, site.job.state).problems
    hold = next(one for one in site.job.sight().plan.holds if one.id == "7.panel-dry")
    assert (str(hold.met), str(hold.lapses)) == ("2027-05-24", "2027-05-31")  # 7 days from its oldest reading
    # Its base is booked for June, so it is read once more before that, and the page says so.
    assert "Read again before 7 out base: what was read counts to Mon 31 May" in site.text("wil", "wall/7")


def test_a_hold_is_opened_by_the_lead_and_nobody_else(site: Site) -> None:
    for person in ("noor", "saar"):
        assert site.post(person, "hold", {"hold": "7.panel-dry", "what": "met"}).status_code == 403
    assert not site.job.sight().said.record


def test_a_reading_out_of_the_meters_range_keeps_what_was_typed_and_names_the_field(metered: Site) -> None:
    page = metered.post("noor", "reading/7", {"out-low": "23.5", "in-low": "62", "meter": "probe"})
    assert page.status_code == 422
    assert 'value="23.5"' in page.text
    assert 'value="62"' in page.text
    field = page.text[page.text.index('id="in-low"') :]
    assert 'aria-invalid="true"' in field[:300]
    assert "outside what meter" in words(field[:900])
    assert not [one for one in metered.job.sight().said.record if one.kind is RecordKind.READING]


def test_what_is_no_number_or_nothing_is_told(metered: Site) -> None:
    assert "is no" in words(metered.post("noor", "reading/7", {"out-low": "wet", "meter": "probe"}).text)
    assert "No figure is written" in words(metered.post("noor", "reading/7", {"meter": "probe"}).text)


def test_a_reading_far_below_the_last_is_asked_about_once(metered: Site) -> None:
    site = metered
    site.post("noor", "reading/7", {"out-low": "33", "meter": "probe"})
    with freeze_time("2027-05-25 05:10:00", real_asyncio=True):
        asked = site.post("noor", "reading/7", {"out-low": "19", "meter": "probe"})
        assert asked.status_code == 422
        assert "14 points below" in words(asked.text)
        assert site.post("noor", "reading/7", {"out-low": "19", "meter": "probe", "twice": "1"}).status_code == 303


def test_a_weight_is_kept_in_the_units_of_the_reader(site: Site) -> None:
    assert site.post("noor", "weigh/7", {"weight": "12,8", "of": "block"}).status_code == 303
    site.client.cookies.set("units", "us")
    assert site.post("noor", "weigh/7", {"weight": "28.2", "of": "block"}).status_code == 303
    kilos = [one.data["weight"] for one in site.job.sight().said.record]
    assert kilos[0] == pytest.approx(12.8)
    assert kilos[1] == pytest.approx(12.79, abs=0.01)  # 28.2 lb x 0.45359237 kg/lb (NIST SP 811)


def test_tests_are_kept_together_and_a_failed_one_is_told(site: Site) -> None:
    page = site.get("wil", "wall/4")
    assert page.status_code == 200
    sent = site.post("noor", "test", {"face": "4-out", "hollows": "passed", "dusting": "failed"})
    assert sent.status_code == 303
    said = [(one.data["test"], one.data["passed"]) for one in site.job.sight().said.record]
    assert said == [("hollows", True), ("dusting", False)]
    assert site.post("noor", "test", {"face": "4-out"}).status_code == 422


def test_a_note_and_rain_stand_in_the_walls_history_and_are_taken_back(site: Site) -> None:
    site.post("tijn", "note", {"face": "3-out", "text": "The <b>mesh</b> is loose at the post."})
    site.post("tijn", "rain", {"face": "3-out"})
    page = site.get("tijn", "wall/3").text
    assert "&lt;b&gt;mesh&lt;/b&gt;" in page
    assert "<b>mesh</b>" not in page
    key = site.job.sight().said.record[0].key
    site.post("tijn", "undo", {"entry": key, "why": "wrong wall", "page": "wall/3"})
    assert "taken back" in site.text("tijn", "wall/3")


def test_all_walls_stand_in_walking_order(site: Site) -> None:
    page = site.get("wil", "walls").text
    order = re.findall(r'<li class="wall[^"]*" id="([^"]+)"', page)
    assert order == ["1-out", "2-out", "2-in", "3-out", "4-out", "5-out", "5-in", "6-out", "6-in", "7-out"]


def test_a_wall_that_is_not_there_is_told(site: Site) -> None:
    answer = site.get("wil", "wall/99")
    assert answer.status_code == 404
    assert "no wall of this job" in words(answer.text)
