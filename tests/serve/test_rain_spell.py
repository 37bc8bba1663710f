"""A rain spell through ``curing serve``: a phone's feed, the pages and the messages follow it.

A real server each time, killed and started again with its clock put on, that asks a weather service on this machine.
Alder Court and its weather are invented. The west wall (5 out) gets its base on Tuesday 25 May 2027; then a run of
Sunday says that it rains on it in the night after, at 3 mm an hour from the west. No other coat is fresh by then and
looks west but wall 6, whose base of Monday is a day older: nothing else may move.
"""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path

import pytest
from live import Answer, Live, ahead, running, until
from serving import JOB, words
from weather_place import Rain, WeatherPlace, weather_place

from curing.workflow.planning import plan_job

pytestmark = pytest.mark.long

SUNDAY = "2027-05-23 05:00"
RAIN: Rain = (datetime(2027, 5, 25, 18, tzinfo=UTC), datetime(2027, 5, 26, 4, tzinfo=UTC), 3.0)
SETTINGS = """
weather:
  contact: office@alder-court.example
  base_url: {place}
reminders:
  channels:
    file: {{ kind: file, path: {messages} }}
"""
EVENT = re.compile(rb"BEGIN:VEVENT\r\n.*?END:VEVENT\r\n", re.S)
OTHERS = re.compile(r"[12346] out (BASE|FINISH|PAINT|TEST|LOOK)")
"""Coats and what goes with them, of the outside faces that no rain meets."""
MESSAGE = re.compile(r"(\d{4}-\d\d-\d\d \d\d:\d\d) for (\w+) by file\n    (.*)\n    (.*)\n")


def sunday(clock: str) -> datetime:
    """Return an instant of Sunday 23 May 2027, local time of the site."""
    return datetime.fromisoformat(f"2027-05-23T{clock}:00+02:00").astimezone(UTC)


def events(feed: bytes) -> dict[str, bytes]:
    """Return UID → the event's bytes, unfolded."""
    found = [one.replace(b"\r\n ", b"") for one in EVENT.findall(feed)]
    return {value(one, "UID"): one for one in found}


def value(event: bytes, name: str) -> str:
    found = re.search(rf"\r\n{name}(?:;[^:\r\n]*)?:([^\r\n]*)", event.decode())
    assert found is not None, (name, event)
    return found[1]


def settled(live: Live) -> int:
    """Wait until nothing is planned any more; return the revision."""
    quiet, one = 0, {}

    def calm() -> bool:
        nonlocal quiet, one
        one = live.ask("/healthz").json()["jobs"][0]
        quiet = quiet + 1 if one["planned"] and not one["planning"] else 0
        return quiet > 60

    try:
        until(calm, 60, "settled")
    except AssertionError:
        raise AssertionError(f"it does not settle:\n{live.log()}") from None
    return int(one["revision"])


class Court:
    """The job, its weather service, and where its messages go."""

    def __init__(self, folder: Path, place: WeatherPlace) -> None:
        self.folder, self.place, self.messages = folder, place, folder / "messages.txt"
        self.job = folder / "court.yaml"
        self.job.write_bytes(JOB.read_bytes())
        plan_job(self.job, as_of=SUNDAY)
        with socket.create_server(("127.0.0.1", 0)) as free:  # the same each time: links stand in events
            self.port = int(free.getsockname()[1])
        self.settings = folder / "settings.yaml"
        self.settings.write_text(SETTINGS.format(place=place.url, messages=self.messages))

    @contextmanager
    def at(self, clock: str) -> Iterator[tuple[Live, int]]:
        """Serve from a time of Sunday on, until it has asked for weather and planned with it; yields the revision.

        The service answers when the plan of the start is made: so the next is made because a run came in.
        """
        before = len(self.place.asked)
        self.place.free.clear()
        offset = ahead(sunday(clock))
        self.place.now = lambda: (datetime.now(UTC) + timedelta(seconds=offset)).replace(microsecond=0)  # noqa: TID251
        with running(self.job, "--settings", str(self.settings), "--port", str(self.port), offset=offset) as live:
            until(lambda: " info planned " in live.log(), 25, "the first plan")
            self.place.free.set()
            until(lambda: "weather asked" in live.log() or "weather not read" in live.log(), 60, "weather")
            assert len(self.place.asked) > before
            yield live, settled(live)
            assert "Traceback" not in live.log(), live.log()

    def told(self, person: str) -> list[str]:
        """Return what one person was told, the short texts in their order."""
        text = self.messages.read_text() if self.messages.exists() else ""
        return [short for _, who, _, short in MESSAGE.findall(text) if who == person]


def feed(live: Live, **more: str) -> Answer:
    return live.page("calendar.ics", headers=more)


def form_of(page: str, coat: str, button: str) -> dict[str, str]:
    """Return the fields of the form about a coat whose button has a value, as a browser sends them."""
    for form in re.findall(r"<form\b.*?</form>", page, re.S):
        fields = {unescape(name): unescape(said) for name, said in re.findall(r'name="([^"]+)" value="([^"]*)"', form)}
        if fields.get("coat") == coat and f'value="{button}"' in form:
            return fields
    raise AssertionError(f"no form about {coat}: {words(page)}")


@pytest.fixture(scope="module")
def court(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Court]:
    with weather_place() as place:
        yield Court(tmp_path_factory.mktemp("court"), place)


def test_feed_page_and_messages_follow_a_rain_spell(court: Court) -> None:
    place = court.place
    with court.at("05:40") as (live, _):  # kind weather
        kind = events(feed(live).body)
        (uid,) = [uid for uid, one in kind.items() if value(one, "SUMMARY").startswith("5 out BASE")]
        assert value(kind[uid], "DTSTART") == "20270525T110000"
        assert value(kind[uid], "STATUS") == "CONFIRMED"
        assert "weather_off" not in live.page("moved").text
        assert place.asked[0]["user-agent"].endswith("office@alder-court.example")

    place.rain = RAIN
    with court.at("11:40") as (live, _):  # two days before, one run alone moves nothing
        watched = events(feed(live).body)
        assert value(watched[uid], "DTSTART") == "20270525T110000"
        assert value(watched[uid], "STATUS") == "CONFIRMED"
        told_before = court.told("wil")

    with court.at("17:40") as (live, revision):  # two in a row
        wet = events(feed(live).body)
        assert uid not in wet
        others = {one for one, said in watched.items() if OTHERS.match(value(said, "SUMMARY"))}
        assert len(others) > 4
        assert {one for one in others if wet.get(one) != watched[one]} == set(), "no other outside face is touched"
        page = live.page("moved").text
        assert "5 out base is off Tue 25 May: rain on it Tue 25 May 20:00 to Wed 26 May 06:00" in words(page)
        fields = form_of(page, "5-out.base", "move")
        proposed = fields["day"]
        assert "2027-05-27" <= proposed < "2027-06-07"
        until(lambda: any("5 out" in one for one in court.told("wil")[len(told_before) :]), 60, "the lead is asked")
        asked = [one for one in court.told("wil")[len(told_before) :] if "5 out" in one]
        assert len(asked) == 1
        assert "ain on it" in asked[0], asked
        assert f"{int(proposed[-2:])} May" in asked[0], asked

        # the lead takes what is proposed, by the form of the page
        assert live.send("decide", {**fields, "what": "move"}, short=False).status == 303
        until(lambda: uid in events(feed(live).body), 40, "a new day")
        assert settled(live) == revision + 1
        accepted = feed(live)
        taken = events(accepted.body)
        assert value(taken[uid], "DTSTART")[:8] == proposed.replace("-", "")
        assert int(value(taken[uid], "SEQUENCE")) > int(value(watched[uid], "SEQUENCE"))
        assert value(taken[uid], "LAST-MODIFIED") > value(watched[uid], "LAST-MODIFIED")
        assert {one for one in others if taken[one] != watched[one]} == set()
        assert "5 out base is off" not in words(live.page("moved").text)
        until_told(live)

    with court.at("20:40") as (live, after):  # a third run says the same: nothing at all
        assert after == revision + 1
        assert feed(live).body == accepted.body
        assert feed(live, **{"If-None-Match": accepted.headers["etag"]}).status == 304
        assert re.search(r"weather asked .*how=new", live.log())
        assert len(re.findall(r" info planned ", live.log())) <= 2, "one at the start, one for the run"
        quiet = court.told("wil")

    place.down = True
    with court.at("22:10") as (live, last):  # the service says nothing: its weather is told with its age
        assert last == after
        assert feed(live).body == accepted.body
        for page in ("today", "wall/5"):
            said = words(live.page(page).text)
            assert "The last try to read the weather, Sun 23 May 22:1" in said
            assert re.search(r"Weather of Sun 23 May 20:4\d, (\d\d min|[12] h) old", said), said[:1500]
        assert not [one for one in court.told("wil")[len(quiet) :] if "5 out" in one]


def until_told(live: Live) -> None:
    """Wait for one look of the sender after the answer, so that what it would say is there."""

    def looked() -> object:
        return live.ask("/healthz").json()["jobs"][0]["reminders"].get("looked")

    before = looked()
    until(lambda: looked() != before, 60, "a look")
