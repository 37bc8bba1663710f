"""Weather on the pages of a served job, and asked for beside them. All forecasts are invented."""

from __future__ import annotations

import asyncio
import json
import sys
import threading
import time
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from freezegun import freeze_time
from serving import PlanHere, Site, at

sys.path.insert(0, str(Path(__file__).parents[1] / "sources"))

from forecast_documents import met, met_step

from curing import clock
from curing.remind.service import Service
from curing.serve.weather_watch import WeatherWatch
from curing.sources.reminder_settings import Reminders
from curing.sources.weather_settings import WeatherSettings
from curing.store import Asking, KeptRun
from curing.workflow.weather_kept import Asked, How, keep_file, site_key
from curing.workflow.weather_look import WeatherLook

SETTINGS = WeatherSettings(contact="office@example.org")


def body(made: datetime, *, air: float = 14.0, rain: float = 0.0) -> bytes:
    steps = [met_step(made + timedelta(hours=n), air, rain1=rain) for n in range(96)]
    document: dict[str, Any] = met(steps)
    document["properties"]["meta"]["updated_at"] = f"{made:%Y-%m-%dT%H:%M:%SZ}"
    return json.dumps(document).encode()


def kept(site: Site, made: datetime, folder: Path, **more: float) -> None:
    path = folder / "forecast.json"
    path.write_bytes(body(made, **more))
    keep_file(site.job.store, site.job.job, path, clock.now())


def key_of(site: Site) -> str:
    return site_key(site.job.job.file.sites[0])


def test_no_weather_no_word_of_it(site: Site) -> None:
    assert "weather" not in site.text("wil", "today").lower()
    assert 'id="weather"' not in site.get("wil", "wall/4").text


def test_today_has_one_line_with_its_age_and_source(site: Site, tmp_path: Path) -> None:
    kept(site, at("24 06:00"), tmp_path)
    text = site.text("wil", "today")
    assert "Weather of Mon 24 May 06:00, 70 min old: 14 °C to 14 °C" in text
    assert "Data from MET Norway (CC BY 4.0)." in text
    assert "Weather of" not in site.text("wil", "day/2027-05-25"), "another day's page has none"


def test_the_wall_has_three_days_the_coat_and_the_chart(site: Site, tmp_path: Path) -> None:
    kept(site, at("24 06:00"), tmp_path, air=3.0)
    page = site.get("wil", "wall/4").text
    text = site.text("wil", "wall/4")
    assert "Weather of Mon 24 May 06:00, 70 min old. A forecast never opens a hold." in text
    for day in ("Tue 25 May", "Wed 26 May"):
        assert f"{day} Sun" in text
    assert "Down to 3 °C" in text
    assert "(finish.air_least)" in text
    assert 'aria-label="4 out north gable: the next 72 hours' in page
    assert "style=" not in page.replace("stylesheet", "")


def test_old_weather_stands_on_every_page_with_its_age(site: Site, tmp_path: Path) -> None:
    kept(site, at("23 01:00"), tmp_path)
    for page in ("today", "wall/4"):
        text = site.text("wil", page)
        assert "30 h old" in text
        assert "Look at the sky." in text
    assert "Yes" not in site.text("wil", "wall/4").partition("Weather at this wall")[2].partition("Coming up")[0]


def test_a_try_that_failed_is_told_with_what_stays(site: Site, tmp_path: Path) -> None:
    kept(site, at("24 02:00"), tmp_path)
    site.job.store.keep_asking(key_of(site), Asking({}, at("24 07:00"), "api.example.org: no answer in 30 s"))
    for page in ("today", "wall/4"):
        text = site.text("wil", page)
        assert "The last try to read the weather, Mon 24 May 07:00, brought nothing: api.example.org: no answer" in text
        assert "5 h old" in text


def test_a_run_that_can_not_be_read_any_more_hides_no_page(site: Site) -> None:
    site.job.store.keep_run(KeptRun(key_of(site), "met-norway", None, at("24 06:00"), b"{}"))
    assert site.get("wil", "today").status_code == 200
    assert site.get("wil", "wall/4").status_code == 200


def test_who_only_reads_sees_no_weather_pages(site: Site, tmp_path: Path) -> None:
    kept(site, at("24 06:00"), tmp_path)
    client = next(one.id for one in site.job.job.file.people if set(one.roles) == {"client"})
    assert site.get(client, "wall/4").status_code == 403


# -- asked beside the pages ----------------------------------------------------------------------


class Service_:
    """Counts who asks, and answers as told."""

    def __init__(self, how: How = How.NEW, again: datetime | None = None) -> None:
        self.how, self.again = how, again
        self.asked: list[str] = []

    def __call__(self, store: Any, site: Any, settings: WeatherSettings, now: datetime) -> Asked:
        self.asked.append(site.id)
        store.keep_asking(site_key(site), Asking({}, now, "down" if self.how is How.FAILED else ""))
        return Asked(site.id, self.how, "down" if self.how is How.FAILED else "", self.again)


@pytest.mark.parametrize(
    ("how", "again", "after"),
    [
        (How.NEW, None, 1.0),  # a coat stands within a day, so it is asked each hour
        (How.NEW, 9.0, 9.0),
        (How.SAME, None, 1.0),
        (How.NOT_DUE, 0.6, 0.6),  # nobody was asked: when what was said before has expired
        (How.FAILED, None, 1.0),
        (How.FAILED, 3.0, 3.0),
    ],
)
def test_it_is_asked_again_when_it_is_due_and_not_before(
    site: Site, how: How, again: float | None, after: float
) -> None:
    start = clock.now()
    service = Service_(how, start + timedelta(hours=again) if again is not None else None)
    watch = WeatherWatch(site.job, SETTINGS, service)
    watch.round()
    watch.round()
    assert len(service.asked) == 1
    with freeze_time(start + timedelta(hours=after, minutes=-1)):
        watch.round()
    assert len(service.asked) == 1
    with freeze_time(start + timedelta(hours=after, minutes=1)):
        watch.round()
    assert len(service.asked) == 2


def test_a_server_that_starts_again_asks_no_sooner(site: Site) -> None:
    service = Service_()
    WeatherWatch(site.job, SETTINGS, service).round()
    WeatherWatch(site.job, SETTINGS, service).round()
    assert len(service.asked) == 1
    with freeze_time(clock.now() - timedelta(days=3)):  # the clock was wrong: a try in the future holds up nobody
        WeatherWatch(site.job, SETTINGS, service).round()
    assert len(service.asked) == 2


def test_a_run_that_came_in_is_planned_once_whoever_fetched_it(site: Site, tmp_path: Path) -> None:
    planner = site.house.planner
    assert isinstance(planner, PlanHere)

    def asked(times: int, within: float) -> int:
        for _ in range(int(within / 0.05)):  # the clock stands still here
            if planner.asked >= times and not site.served.planning:
                break
            time.sleep(0.05)
        return planner.asked

    assert asked(1, 20) == 1
    kept(site, at("24 06:00"), tmp_path)  # as another process would: past the pages
    assert asked(2, 10) == 2
    kept(site, at("24 06:00"), tmp_path)  # the same again is none
    assert asked(3, 2.5) == 2


def test_a_service_that_hangs_keeps_no_page_and_no_stop_waiting(site: Site) -> None:
    hangs = threading.Event()

    def never(*_: Any) -> Asked:
        hangs.wait(20)
        return Asked("court", How.SAME)

    async def live() -> float:
        task = asyncio.create_task(WeatherWatch(site.job, SETTINGS, never).keep())
        await asyncio.sleep(0.1)
        began = time.perf_counter()
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        return time.perf_counter() - began

    try:
        assert asyncio.run(live()) < 5.0
    finally:
        hangs.set()


def test_a_fault_ends_the_watch_for_nobody(site: Site, caplog: pytest.LogCaptureFixture) -> None:
    async def live() -> bool:
        def breaks(*_: Any) -> Asked:
            raise RuntimeError("broken")

        task = asyncio.create_task(WeatherWatch(site.job, SETTINGS, breaks).keep())
        await asyncio.sleep(0.3)
        alive = not task.done()
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        return alive

    assert asyncio.run(live())
    assert "asking for weather broke" in caplog.text


# -- reminders -----------------------------------------------------------------------------------


def test_weather_is_old_for_reminders_only_where_a_service_is_asked(site: Site, tmp_path: Path) -> None:
    look = WeatherLook(site.job)
    assert look.read() is None
    kept(site, at("24 02:00"), tmp_path)
    assert look.read() is None, "from a file alone"
    site.job.store.keep_asking(key_of(site), Asking({}, at("24 06:00"), ""))
    assert look.read() == at("24 02:00")
    with freeze_time(at("24 07:00") + timedelta(days=8)):
        assert look.read() is None, "nobody has asked for a week"


def test_the_sender_is_given_it(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[Any] = []
    import curing.remind.service as module

    real = module.Scenes
    monkeypatch.setattr(module, "Scenes", lambda *a, **more: given.append(more["weather_read"]) or real(*a, **more))
    service = Service(Reminders.model_validate({}))
    service.add(site.job)
    assert given
    assert given[0]() is None
