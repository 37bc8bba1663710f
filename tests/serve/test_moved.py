"""What moved and what is to be decided, over HTTP."""

from __future__ import annotations

from freezegun import freeze_time
from serving import Site, words

from curing.planning.worktime import local, zone_of
from curing.serve.planner import plan_once


def coat_day(site: Site, coat: str) -> str:
    one = next(b for b in site.job.sight().plan.bookings if b.id == coat)
    return local(zone_of(one.zone), one.start)[0].isoformat()


def planned(site: Site) -> None:
    made = plan_once(site.job.job_file, site.job.state)
    assert not made.problems
    site.job.planned(made.warnings, made.questions)


def test_a_coat_could_not_be_laid_moves_with_its_reason(site: Site) -> None:
    coat = next(
        b.id for b in site.job.sight().plan.bookings if b.kind == "coat" and b.state == "firm"
        and local(zone_of(b.zone), b.start)[0].isoformat() == "2027-05-24"
    )  # fmt: skip
    site.post("wil", "work", {"booking": coat, "what": "could-not", "why": "rain"})
    planned(site)
    page = site.text("noor", "moved")
    assert "rain" in page
    assert "#1" in page
    assert coat_day(site, coat) > "2027-05-24"


def test_the_lead_moves_a_coat_and_others_may_not(site: Site) -> None:
    coat = next(
        b.id for b in site.job.sight().plan.bookings if b.kind == "coat" and b.task == "base" and b.state == "firm"
    )
    before = coat_day(site, coat)
    wish = {"coat": coat, "what": "move", "day": "2027-06-10", "why": "The mixer is away."}
    assert site.post("noor", "decide", wish).status_code == 403
    assert site.post("wil", "decide", wish).status_code == 303
    planned(site)
    assert coat_day(site, coat) == "2027-06-10" != before
    assert "The mixer is away." in site.text("noor", "moved")


def test_a_day_that_can_not_be_is_told_and_nothing_is_kept(site: Site) -> None:
    coat = next(b.id for b in site.job.sight().plan.bookings if b.kind == "coat" and b.state == "firm")
    answer = site.post("wil", "decide", {"coat": coat, "what": "move", "day": "2027-06-12", "why": "x"})
    assert answer.status_code == 409
    assert "working week" in words(answer.text)
    assert not site.job.sight().said.decisions


def test_nobody_named_is_asked_and_given(site: Site) -> None:
    with freeze_time("2027-05-24 05:12:00", real_asyncio=True):
        given = {"what": "assign", "to": "saar", "day": "2027-05-26", "slot": "early"}
        assert site.post("wil", "decide", given).status_code == 303
        planned(site)
    walk = next(
        r for r in site.job.sight().plan.rounds
        if local(zone_of(r.zone), r.start)[0].isoformat() == "2027-05-26" and r.slot == "early"
    )  # fmt: skip
    assert walk.who == ("saar",)


def test_a_day_without_a_word_asks_whether_it_was_laid(site: Site) -> None:
    with freeze_time("2027-05-25 05:00:00", real_asyncio=True):
        planned(site)
        page = site.get("wil", "moved")
        assert "It was laid" in words(page.text)
        assert 'class="badge"' in page.text
        assert 'class="badge"' not in site.get("noor", "today").text
