"""The season line of a job from its sites' stations: invented years whose frosts were laid by hand.

Year k of 25 (2002 to 2026) has its last frost k days after 1 April and its first k days after 1 October, one hour at
05 UTC each, 10 °C else. Five years of 25 are one in five: frost by 5 October, so 28 days from 8 September; frost on 21
April or later.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from court import WORDS, about, at, coat, day, face, job_file, wall
from jobs import read

from curing.model.job import Job
from curing.model.times import MONTHS
from curing.model.weather import Weather, of
from curing.planning.season_station import frost_limit, standard_offset, station_season, with_season
from curing.publish import plan_json
from curing.publish.terminal_names import Names
from curing.publish.terminal_season import season_block
from curing.workflow.planning import next_plan

FIRST = datetime(2002, 1, 1, tzinfo=UTC)
SEASON = {"finish_by": "2027-09-22", "resumes": "2028-04-27"}
NOW = at(6, 1)


def years(count: int = 25, end: datetime | None = None, south: bool = False, humidity: float = 60.0) -> Weather:
    last = end or datetime(2002 + count, 1, 1, tzinfo=UTC)
    hours = (last - FIRST) // timedelta(hours=1)
    air = np.full(hours, 20.0)
    for k in range(count):
        for month in (4, 10):
            spring = month == (10 if south else 4)
            at_hour = datetime(2002 + k + (0 if spring or not south else 1), month, 1, 5, tzinfo=UTC) + timedelta(
                days=k
            )
            place = (at_hour - FIRST) // timedelta(hours=1)
            if place < hours:
                air[place] = -1.0
    return of({"temperature": air, "humidity": np.full(hours, humidity)}, FIRST, hours, "station")


def job_of(season: dict[str, Any] | None = SEASON, sites: int = 1, **site: Any) -> Job:
    data = job_file(wall("1", face(start="2027-08-30"), dry="2027-05-28"), **({"season": season} if season else {}))
    data["sites"][0] |= site
    if sites == 2:
        data["sites"].append({**data["sites"][0], "id": "yard", "name": "Yard"})
        data["walls"][0]["site"] = "court"
    return read(data, NOW)


def seasoned(job: Job, *told: Weather, now: datetime = NOW) -> Job:
    found = [station_season(site, one, now) for site, one in zip(job.file.sites, told, strict=False)]
    return with_season(job, found, now.date())


def test_the_years_give_the_line_in_place_of_the_date_and_where_it_is_from() -> None:
    job = seasoned(job_of(), years())
    line, source = job.file.season, job.season_source
    assert line is not None
    assert source is not None
    assert (line.finish_by, line.resumes) == (date(2027, 9, 8), date(2028, 4, 21))
    assert (source.site, source.years, source.line, source.was) == (
        "Alder Court", 25, date(2027, 9, 8), date(2027, 9, 22),
    )  # fmt: skip
    assert source.earliest is not None
    assert source.latest is not None
    assert date(2027, 9, 3) < source.earliest < line.finish_by < source.latest < date(2027, 9, 14)


def test_with_years_and_no_date_there_is_a_line_all_the_same() -> None:
    job = seasoned(job_of(None), years())
    assert job.file.season is not None
    assert job.file.season.finish_by == date(2027, 9, 8)
    assert job.season_source is not None
    assert job.season_source.was is None


def test_panels_dry_by_the_years_too() -> None:
    # 20 degrees and 60 %: the air at which the factor is 1.
    job = seasoned(job_of({**SEASON, "drying": {"jun": 0.5}}), years())
    assert job.file.season is not None
    assert job.file.season.drying == dict.fromkeys(MONTHS, 1.0)


def test_without_humidity_the_drying_of_the_file_holds() -> None:
    told = years()
    dry = replace(told, humidity=np.full(len(told), np.nan))
    job = seasoned(job_of({**SEASON, "drying": {"jun": 0.5}}), dry)
    assert job.file.season is not None
    assert job.file.season.drying == {"jun": 0.5}
    assert job.file.season.finish_by == date(2027, 9, 8)


def test_too_few_years_leave_the_date_and_say_so() -> None:
    job = seasoned(job_of(), years(19))
    assert job.file.season is not None
    assert job.file.season.finish_by == date(2027, 9, 22)
    plan, _ = next_plan(job, None, NOW, WORDS)
    (told,) = [one for one in plan.warnings if one.rule == "season.years"]
    said = WORDS.notice(told)
    assert said == ("Alder Court: 19 whole seasons of its station, 20 make a season line; the job file's date holds")
    none = seasoned(job_of(None), years(3))
    assert none.file.season is None
    (told,) = [one for one in next_plan(none, None, NOW, WORDS)[0].warnings if one.rule == "season.years"]
    assert WORDS.notice(told).endswith("3 whole seasons of its station, 20 make a season line; there is none")


def test_a_table_that_grows_moves_nothing_until_mid_winter_is_over() -> None:
    short = seasoned(job_of(), years(end=datetime(2027, 1, 1, tzinfo=UTC)))
    longer = seasoned(job_of(), years(30, end=datetime(2027, 5, 30, tzinfo=UTC)))
    assert longer.file.season == short.file.season
    assert longer.season_source == short.season_source
    # And a plan of an earlier day knows no more than was known then.
    early = seasoned(job_of(), years(), now=at(6, 1) - timedelta(days=6 * 365))
    assert early.season_source is not None
    assert [one.years for one in early.season_source.none] == [19]


def test_the_line_is_that_of_the_season_of_the_day() -> None:
    for now, line in ((at(4, 1), 2026), (at(4, 21), 2027), (at(9, 30), 2027), (at(12, 1), 2027)):
        told = seasoned(job_of(), years(), now=now).file.season
        assert told is not None
        assert told.finish_by == date(line, 9, 8), now


def test_south_of_the_equator() -> None:
    place = {"latitude": -41.3, "longitude": 174.8, "time_zone": "Pacific/Auckland"}
    job = seasoned(job_of(None, **place), years(26, south=True), now=datetime(2027, 12, 1, tzinfo=UTC))
    line = job.file.season
    assert line is not None
    assert line.resumes is not None
    assert (line.finish_by.month, line.resumes.month) == (3, 10)
    assert line.finish_by.year == line.resumes.year == 2028


def test_of_two_sites_the_earliest_line_and_the_latest_spring_hold() -> None:
    cold = years()
    later = replace(cold, start=cold.start + timedelta(days=10))  # every frost ten days later
    job = seasoned(job_of(sites=2), cold, later)
    line, source = job.file.season, job.season_source
    assert line is not None
    assert line.resumes is not None
    assert source is not None
    assert line.finish_by == date(2027, 9, 8)
    assert line.resumes >= date(2028, 4, 29)
    assert source.site == "Alder Court"


@pytest.mark.parametrize(("file", "line"), [("2027-09-01", date(2027, 9, 1)), ("2027-09-22", date(2027, 9, 8))])
def test_a_site_without_years_keeps_the_date_of_the_file_beside_them(file: str, line: date) -> None:
    job = seasoned(job_of({"finish_by": file, "resumes": "2028-05-05"}, sites=2), years())
    told = job.file.season
    assert told is not None
    assert (told.finish_by, told.resumes) == (line, date(2028, 5, 5))


def test_the_plan_keeps_the_line_and_says_where_it_is_from() -> None:
    job = seasoned(job_of(), years())
    plan, _ = next_plan(job, None, NOW, WORDS)
    # Base from Mon 30 August would have its finish after 8 September: it waits for spring.
    assert day(coat(plan, "1-out.base")) >= date(2028, 4, 21)
    season = about(plan, "1-out").season
    assert season is not None
    assert (season.line, season.years) == (date(2027, 9, 8), 25)
    assert season.earliest is not None
    assert season.latest is not None
    block = " ".join(season_block(plan, Names(plan, WORDS, NOW)))
    assert "Season line Wed 8 Sep: too late" in block
    assert "25 seasons of the site's own station" in block
    (told,) = [one for one in plan.warnings if one.rule == "season.years"]
    assert WORDS.notice(told) == (
        "season line Wed 8 Sep from 25 seasons of Alder Court's own station; the job file's Wed 22 Sep is not used"
    )
    assert plan_json.load(plan_json.dump(plan, WORDS)) == plan
    again, news = next_plan(job, plan, NOW, WORDS)
    assert not news
    assert again.faces == plan.faces


def test_without_a_station_a_plan_is_written_as_before_and_an_old_one_is_read() -> None:
    plan, _ = next_plan(job_of(), None, NOW, WORDS)
    written = plan_json.dump(plan, WORDS)
    season = written["faces"][0]["season"]
    assert set(season) == {"line", "finish", "base_by", "fill_by", "fill_by_late", "spare", "factors"}
    assert plan_json.load(written) == plan
    assert with_season(job_of(), [], NOW.date()) == job_of()


def test_a_place_without_frost_has_no_line_of_its_own() -> None:
    told = years()
    warm = replace(told, temperature=np.full(len(told), 20.0))
    job = seasoned(job_of(), warm)
    assert job.file.season is not None
    assert job.file.season.finish_by == date(2027, 9, 22)
    assert job.season_source is not None
    assert [one.why for one in job.season_source.none] == ["always"]


def test_the_frost_limit_is_that_of_the_coat_systems() -> None:
    assert frost_limit(job_of().systems.values()) == 0.0
    assert frost_limit([]) == 0.0
    told = station_season(job_of().file.sites[0], years(), NOW, frost=-1.0)
    assert told.seasons.first_frost.without == 25


def test_days_of_a_station_have_no_summer_time() -> None:
    assert [standard_offset(one) for one in ("Europe/London", "Australia/Hobart", "America/St_Johns")] == [0, 10, -4]


def test_an_empty_table_tells_nothing() -> None:
    none = station_season(job_of().file.sites[0], years(1, end=datetime(2002, 1, 2, tzinfo=UTC)), NOW)
    assert none.seasons.years == ()
    future = station_season(job_of().file.sites[0], years(), datetime(2001, 6, 1, tzinfo=UTC))
    assert future.seasons.years == ()
