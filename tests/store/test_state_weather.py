"""Weather in the state: runs as they came, the newest few, hours past by the least lead. All of it is invented."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from state_places import UID

from curing.errors import StateError
from curing.model.past_hours import PastHour
from curing.store import Asking, KeptRun, Store, open_state

MORNING = datetime(2027, 5, 3, 6, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def run(at: datetime, body: bytes | None = None, site: str = "court") -> KeptRun:
    return KeptRun(site, "met-norway", at - HOUR, at, body if body is not None else f"run of {at}".encode())


def hour(at: datetime, lead: int, celsius: float) -> PastHour:
    return PastHour(at, lead, "met-norway", {"temperature": celsius})


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_state(tmp_path / "state", UID)


def test_a_run_comes_back_as_it_came(store: Store) -> None:
    body = bytes(range(256)) * 2000
    assert store.keep_run(run(MORNING, body))
    (found,) = store.runs("court")
    assert (found.body, found.source, found.issued, found.fetched) == (body, "met-norway", MORNING - HOUR, MORNING)
    assert store.runs("yard") == []


def test_the_same_answer_again_is_no_new_run(store: Store) -> None:
    assert store.keep_run(run(MORNING, b"one"))
    assert not store.keep_run(run(MORNING + HOUR, b"one"))
    assert store.keep_run(run(MORNING + 2 * HOUR, b"two"))
    assert not store.keep_run(run(MORNING, b"one")), "an old file given again"
    assert [one.body for one in store.runs("court")] == [b"two", b"one"]
    assert store.keep_run(run(MORNING, b"one", site="yard")), "each site has its own"


def test_ten_runs_of_a_site_stay_and_none_that_came_a_fortnight_before_the_newest(store: Store) -> None:
    for n in range(14):
        store.keep_run(run(MORNING + n * HOUR))
    store.keep_run(run(MORNING, site="yard"))
    assert [one.fetched for one in store.runs("court")] == [MORNING + n * HOUR for n in range(13, 3, -1)]
    later = MORNING + timedelta(days=14, hours=12, minutes=30)
    store.keep_run(run(later))
    assert [one.fetched for one in store.runs("court")] == [later, MORNING + 13 * HOUR]
    assert len(store.runs("yard")) == 1


def test_what_was_not_known_yet_is_not_told(store: Store) -> None:
    store.keep_run(run(MORNING))
    store.keep_run(run(MORNING + 6 * HOUR))
    assert [one.fetched for one in store.runs("court", until=MORNING + 5 * HOUR)] == [MORNING]
    assert store.runs("court", until=MORNING - HOUR) == []


def test_a_body_that_is_too_long_is_refused_with_its_size(store: Store) -> None:
    with pytest.raises(StateError, match=r"forecast: 5\.0 MB; at most 5 MB are kept of a run"):
        store.keep_run(run(MORNING, b"x" * 5_000_001))
    assert store.runs("court") == []


@pytest.mark.parametrize("harm", ["body = x'00'", "digest = 'another'"])
def test_a_damaged_run_is_told(store: Store, harm: str) -> None:
    store.keep_run(run(MORNING))
    store.close()
    with sqlite3.connect(store.database) as raw:
        raw.execute(f"UPDATE forecast SET {harm}")
    with pytest.raises(StateError, match="forecast: run 1 is damaged"):
        store.runs("court")


def test_an_hour_past_is_as_the_run_with_the_least_lead_told_it(store: Store) -> None:
    store.keep_hours("court", [hour(MORNING, 5, 9.0), hour(MORNING + HOUR, 6, 10.0)])
    store.keep_hours("court", [hour(MORNING, 2, 12.0), hour(MORNING + HOUR, 8, 3.0)])
    found = store.past_hours("court", MORNING)
    assert [(one.lead, one.values["temperature"]) for one in found] == [(2, 12.0), (6, 10.0)]
    assert [one.hour for one in store.past_hours("court", MORNING, MORNING + HOUR)] == [MORNING]
    assert store.past_hours("yard", MORNING) == []


def test_how_asking_stands_is_kept_and_changes_what_is_looked_at(store: Store) -> None:
    assert store.asking("court") == Asking()
    before = store.weather_head()
    store.keep_asking("court", Asking({"etag": '"a"', "expires": None}, MORNING, "no answer"))
    store.keep_asking("court", Asking({"etag": '"b"', "expires": None}, MORNING + HOUR, ""))
    assert store.asking("court") == Asking({"etag": '"b"', "expires": None}, MORNING + HOUR, "")
    between = store.weather_head()
    store.keep_run(run(MORNING))
    assert len({before, between, store.weather_head()}) == 3
