"""A coat off its day by weather, asked about and answered on the page Moved. Forecasts are invented."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path

import pytest
from freezegun import freeze_time
from invented_sky import write_sky
from planned import planned
from serving import Site, words

from curing import clock
from curing.model.plan import Booking, Notice, State
from curing.planning.worktime import local, zone_of
from curing.workflow.weather_kept import keep_file

COAT = "3-out.base"
WIND = {"wind_from_direction": 84.0}
HOUR = timedelta(hours=1)


def booking(site: Site, coat: str = COAT) -> Booking:
    plan = site.job.sight().plan
    assert plan is not None
    return next(one for one in plan.bookings if one.id == coat)


def day(one: Booking) -> str:
    return local(zone_of(one.zone), one.start)[0].isoformat()


def rained(site: Site, folder: Path, made: datetime, *, hours: int = 24) -> None:
    """Keep a forecast with rain on every side of the house from Tuesday noon on, and plan under it."""
    wet = (datetime(2027, 5, 25, 10, tzinfo=UTC), datetime(2027, 5, 25, 10, tzinfo=UTC) + hours * HOUR, 4.0)
    keep_file(site.job.store, site.job.job, write_sky(folder / "sky.json", made, rain=(wet,), **WIND), clock.now())
    planned(site)


def forms(page: str) -> list[dict[str, str]]:
    """Return the forms that decide about a coat: names and values of their fields and of their button."""
    found = []
    for form in re.findall(r"<form [^>]*/decide[^>]*>(.*?)</form>", page, flags=re.S):
        fields = dict(re.findall(r'<(?:input|button) [^>]*name="([^"]*)"[^>]*? value="([^"]*)"', form))
        found.append({name: unescape(value) for name, value in fields.items()})
    return [one for one in found if one.get("coat") == COAT]


@pytest.fixture
def off(site: Site, tmp_path: Path) -> Site:
    rained(site, tmp_path, datetime(2027, 5, 24, 5, tzinfo=UTC))
    assert booking(site).state is State.OFF
    return site


def test_the_page_says_why_it_is_off_and_nobody_sees_it_on_its_day(off: Site) -> None:
    page = off.text("wil", "moved")
    proposed = booking(off)
    spoken = f"{proposed.start.astimezone(zone_of(proposed.zone)):%a %-d} May"
    assert "3 out base is off Tue 25 May: rain on it Tue 25 May 12:00 to Wed 26 May 11:00" in page
    assert f"{spoken} is proposed" in page
    assert f"Take {spoken}" in page
    assert "Keep Tue 25 May against the forecast" in page
    assert "Take" not in off.text("noor", "moved"), "only who decides is asked"
    assert proposed.uid not in off.job.sight().plan.events


@pytest.mark.parametrize("answer", ["proposed", "another", "old"])
def test_each_answer_is_taken_and_holds_against_the_same_forecast(off: Site, tmp_path: Path, answer: str) -> None:
    first, other, old = forms(off.get("wil", "moved").text)
    form = {"proposed": first, "another": other, "old": old}[answer]
    form = {name: value for name, value in form.items() if name != "key"}
    if answer == "another":
        form["day"] = "2027-05-27"
    wished = form["day"]
    assert wished == {"proposed": day(booking(off)), "another": "2027-05-27", "old": "2027-05-25"}[answer]
    if answer != "proposed":
        assert "why" not in form
        assert off.post("wil", "decide", form).status_code in (400, 409), "a reason is asked for"
        form["why"] = "sheets hang over the scaffold"
    assert off.post("noor", "decide", form).status_code == 403
    assert off.post("wil", "decide", form).status_code == 303
    for later in (1, 13):  # the plan after the word, and one under a newer forecast that says the same
        with freeze_time(datetime(2027, 5, 24, 5, 10) + later * HOUR, real_asyncio=True):
            rained(off, tmp_path, datetime(2027, 5, 24, 5, tzinfo=UTC) + later * HOUR)
            assert (booking(off).state, day(booking(off))) == (State.FIRM, wished)
            assert "3 out base is off" not in off.text("wil", "moved").partition("Revision")[0]
            plan = off.job.sight().plan
            assert plan is not None
            assert booking(off).uid in plan.events


def test_a_day_that_is_proposed_may_be_left_with_a_word(site: Site) -> None:
    """What only is proposed stands: keeping it is a decision to keep, not to move."""
    values = {"coat": COAT, "on": "2027-05-25", "day": "2027-05-28", "against": "weather"}
    site.job.planned((), (Notice("base.rain_after", "weather_proposed", values, ("3-out",)),))
    page = site.get("wil", "moved").text
    assert "Fri 28 May is proposed; without a word it stands" in words(page)
    first, _, kept = forms(page)
    assert (first["what"], first["day"]) == ("move", "2027-05-28")
    assert kept["what"] == "keep"
    kept = {name: value for name, value in kept.items() if name != "key"} | {"why": "the eaves are wide"}
    assert site.post("wil", "decide", kept).status_code == 303
    planned(site)
    assert day(booking(site)) == "2027-05-25"
    assert booking(site).reason.key == "kept"
    assert site.job.sight().questions == ()
