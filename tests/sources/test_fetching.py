"""One polite question: what is sent, when it is asked again, and what becomes of a service's bad days."""

from __future__ import annotations

import gzip
import threading
import time
import tracemalloc
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime

import pytest
from fault_server import FaultServer, drips, floods, hangs, says, serving
from hypothesis import given
from hypothesis import strategies as st

import curing
from curing import clock
from curing.sources import fetching, fetching_said
from curing.sources.fetching import FetchError, Kept, Limits, Status, fetch, shown

CONTACT = "office@example.org"
QUICK = Limits(connect=1.0, whole=1.2, backoff=0.02)
server = pytest.fixture(serving)


@pytest.fixture(autouse=True)
def _no_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


def ask(server: FaultServer, kept: Kept | None = None, limits: Limits = QUICK) -> fetching.Fetched:
    return fetch(f"{server.url}/v1?apikey=secret", contact=CONTACT, kept=kept, limits=limits)


def refused(server: FaultServer, limits: Limits = QUICK) -> FetchError:
    with pytest.raises(FetchError) as told:
        ask(server, limits=limits)
    text = str(told.value)
    assert text.startswith(f"{server.url}/v1: ")
    assert "secret" not in text
    assert text.endswith("nothing was taken; a forecast that came before stays in use, with its age")
    return told.value


def test_it_says_who_asks_and_gives_the_body_back(server: FaultServer) -> None:
    server.plays = [says(body=b'{"a": 1}', ETag='"v1"', Last_Modified="Mon, 03 May 2027 06:00:00 GMT")]
    found = ask(server)
    assert (found.status, found.body) == (Status.NEW, b'{"a": 1}')
    assert server.header("User-Agent") == f"curing/{curing.__version__} {CONTACT}"
    assert found.kept == Kept('"v1"', "Mon, 03 May 2027 06:00:00 GMT", None)
    assert server.header("If-None-Match") is None


@pytest.mark.parametrize("contact", ["", "  ", "mia@example.org\r\nHost: evil.example"])
def test_without_a_contact_nothing_is_asked(server: FaultServer, contact: str) -> None:
    server.plays = [says()]
    with pytest.raises(FetchError, match="no contact is set"):
        fetch(server.url, contact=contact)
    assert server.asked == []


def test_what_it_has_is_named_and_an_unchanged_answer_keeps_it(server: FaultServer) -> None:
    server.plays = [says("304 Not Modified", b"", kind="")]
    kept = Kept('"v1"', "Mon, 03 May 2027 06:00:00 GMT", clock.now() - timedelta(seconds=1))
    found = ask(server, kept)
    assert found.status is Status.UNCHANGED
    assert server.header("If-None-Match") == '"v1"'
    assert server.header("If-Modified-Since") == "Mon, 03 May 2027 06:00:00 GMT"
    assert (found.kept.etag, found.kept.last_modified) == (kept.etag, kept.last_modified)


def test_an_answer_that_has_not_expired_is_not_asked_for(server: FaultServer) -> None:
    server.plays = [says()]
    kept = Kept(expires=clock.now() + timedelta(minutes=5))
    assert ask(server, kept).status is Status.NOT_DUE
    assert server.asked == []


def test_a_clock_that_was_put_back_does_not_keep_it_from_asking(server: FaultServer) -> None:
    server.plays = [says(body=b"[1]")]
    assert ask(server, Kept(expires=clock.now() + timedelta(days=300))).body == b"[1]"


def test_unchanged_without_anything_to_compare_is_no_answer(server: FaultServer) -> None:
    server.plays = [says("304 Not Modified", b"", kind="")]
    assert "gives an answer that is not known (answer 304)" in str(refused(server))


def test_a_proxy_that_hangs_is_left_in_time(server: FaultServer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HTTP_PROXY", server.url)
    monkeypatch.setenv("http_proxy", server.url)
    server.plays = [drips(b"HTTP/1.1 200 OK\r\nContent-Type: application/json\r\n\r\n")]
    begun = time.monotonic()
    with pytest.raises(FetchError, match="no whole answer"):
        fetch("http://weather.invalid/v1", contact=CONTACT, limits=QUICK)
    assert time.monotonic() - begun < 2.5
    assert server.asked[0].startswith("GET http://weather.invalid/v1 ")
    assert not [one for one in threading.enumerate() if one.name == "curing-fetch"]


def test_no_tls_where_it_must_be_is_told_and_not_tried_again(server: FaultServer) -> None:
    server.plays = [says()]
    with pytest.raises(FetchError, match=r"no safe line to 127.0.0.1"):
        fetch(server.url.replace("http://", "https://"), contact=CONTACT, limits=QUICK)
    assert len(server.asked) == 1


def test_expiry_is_counted_from_the_servers_own_clock(server: FaultServer) -> None:
    """MET Norway's own pair: 30 min 22 s between Date and Expires, years ago by our clock."""
    server.plays = [says(Date="Mon, 20 Jul 2020 11:44:31 GMT", Expires="Mon, 20 Jul 2020 12:14:53 GMT")]
    found = ask(server)
    assert found.kept.expires == found.at + timedelta(minutes=30, seconds=22)


@pytest.mark.parametrize(
    ("heads", "span"),
    [
        ({"Cache_Control": "public, max-age=600", "Age": "100"}, timedelta(seconds=500)),
        ({"Cache_Control": "max-age=99999999"}, timedelta(hours=24)),
        ({"Cache_Control": "no-cache", "Expires": "Mon, 20 Jul 2099 12:14:53 GMT"}, None),
        ({"Expires": "0"}, None),
        ({"Expires": "Mon, 20 Jul 2020 12:14:53 GMT"}, None),
    ],
)
def test_how_long_an_answer_stays_fresh(server: FaultServer, heads: dict[str, str], span: timedelta | None) -> None:
    server.plays = [says(**heads)]
    found = ask(server)
    assert found.kept.expires == (None if span is None else found.at + span)


def test_a_packed_answer_is_unpacked_and_its_size_counted_unpacked(server: FaultServer) -> None:
    server.plays = [says(body=gzip.compress(b'{"a": 2}'), Content_Encoding="gzip")]
    assert ask(server).body == b'{"a": 2}'
    server.plays = [says(body=gzip.compress(b" " * 20_000_000), Content_Encoding="gzip")]
    assert "more than 5 MB" in str(refused(server))


@pytest.mark.parametrize(
    "play",
    [
        hangs,
        drips(b"HTTP/1.1 200 OK\r\nX-Slow: "),
        drips(b"HTTP/1.1 200 OK\r\nContent-Type: application/json\r\n\r\n{"),
    ],
)
def test_a_service_that_hangs_or_drips_is_left_in_time(server: FaultServer, play: object) -> None:
    server.plays = [play]
    begun = time.monotonic()
    assert "no whole answer within 1.2 s" in str(refused(server))
    assert time.monotonic() - begun < 2.5


def test_200_mb_are_not_read(server: FaultServer) -> None:
    server.plays = [floods]
    tracemalloc.start()
    fault = refused(server, Limits(whole=10))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "more than 5 MB" in str(fault)
    assert most < 30_000_000
    server.plays = [says(body=b"[", length=200_000_000)]
    assert "answers with 200.0 MB; at most 5 MB are read" in str(refused(server))
    assert len(server.asked) == 2


@pytest.mark.parametrize("kind", ["text/html; charset=utf-8", "text/plain", ""])
def test_200_with_a_web_page_is_no_forecast(server: FaultServer, kind: str) -> None:
    server.plays = [says(body=b"<html>All is well</html>", kind=kind)]
    assert "not with JSON" in str(refused(server))
    assert len(server.asked) == 1


@pytest.mark.parametrize(
    ("status", "said"),
    [
        ("400 Bad Request", "does not understand"),
        ("403 Forbidden", "does not let this program in; check contact"),
        ("404 Not Found", "has nothing for this place"),
        ("418 Teapot", "an answer that is not known"),
        ("204 No Content", "an answer that is not known"),
    ],
)
def test_a_refusal_is_told_and_not_asked_again(server: FaultServer, status: str, said: str) -> None:
    server.plays = [says(status, b'{"title": "InvalidPoint", "detail": "No data for 1,2"}', "application/problem+json")]
    fault = refused(server)
    assert said in str(fault)
    assert fault.status == int(status[:3])
    assert len(server.asked) == 1
    if status[:3] != "204":
        assert 'No data for 1,2"' in str(fault)


@pytest.mark.parametrize("status", ["500 Oops", "502 Bad Gateway", "503 Later", "504 Slow", "429 Too Many"])
def test_it_is_asked_three_times_more_where_that_may_help(server: FaultServer, status: str) -> None:
    server.plays = [says(status)]
    assert refused(server).status == int(status[:3])
    assert len(server.asked) == 4


def test_the_second_answer_counts(server: FaultServer) -> None:
    server.plays = [says("503 Later"), says(body=b'{"a": 3}')]
    assert ask(server).body == b'{"a": 3}'


def test_too_many_waits_as_long_as_it_is_told(server: FaultServer) -> None:
    server.plays = [says("429 Too Many", Retry_After="1"), says(body=b"[1]")]
    begun = time.monotonic()
    assert ask(server, limits=Limits(whole=5, backoff=0.02)).body == b"[1]"
    assert time.monotonic() - begun >= 1.0


@pytest.mark.parametrize("form", ["seconds", "date"])
def test_a_wait_longer_than_there_is_time_is_told_and_not_slept(server: FaultServer, form: str) -> None:
    at = clock.now() + timedelta(hours=1)
    server.plays = [says("429 Too Many", Retry_After="3600" if form == "seconds" else format_datetime(at, usegmt=True))]
    begun = time.monotonic()
    fault = refused(server)
    assert time.monotonic() - begun < 1
    assert fault.again is not None
    assert abs(fault.again - at) < timedelta(seconds=3)
    assert len(server.asked) == 1
    assert f"it asks to wait until {fault.again:%Y-%m-%d %H:%M} UTC" in str(fault)


def test_a_body_that_is_cut_off_is_no_body(server: FaultServer) -> None:
    server.plays = [says(body=b'{"a": [1, 2', length=4000)]
    assert "the line broke before the whole answer was there" in str(refused(server))
    assert len(server.asked) == 4


def test_a_line_that_breaks_at_once_and_one_where_nobody_listens(server: FaultServer) -> None:
    server.plays = [lambda line, _: line.close()]
    assert "the line broke" in str(refused(server))
    server.ends()
    time.sleep(0.05)
    assert "nobody listens" in str(refused(server)) or "the line broke" in str(refused(server))


def test_no_redirect_to_another_host(server: FaultServer) -> None:
    other = FaultServer()
    other.plays = [says(body=b'{"evil": 1}')]
    try:
        server.plays = [says("302 Found", b"", Location=f"{other.url}/x")]
        assert "another host, which is not followed" in str(refused(server))
        assert other.asked == []
    finally:
        other.ends()
    server.asked.clear()
    server.plays = [says("301 Moved", b"", Location="/v2"), says(body=b'{"v": 2}')]
    assert ask(server).body == b'{"v": 2}'
    server.plays = [says("301 Moved", b"", Location="/v1?a"), says("301 Moved", b"", Location="/v1?b")]
    server.asked.clear()
    server.plays *= 10
    assert "in a circle" in str(refused(server))


def test_an_address_given_up_is_told(server: FaultServer) -> None:
    server.plays = [says("203 Non-Authoritative Information", b'{"a": 1}')]
    found = ask(server)
    assert found.body == b'{"a": 1}'
    assert "will be given up" in found.notes[0]


@pytest.mark.parametrize(
    "url", ["ftp://weather.example.org/x", "https://", "weather.example.org", "http://[::1", "https://a b/"]
)
def test_an_address_that_is_none(url: str) -> None:
    with pytest.raises(FetchError):
        fetch(url, contact=CONTACT, limits=QUICK)


def test_an_unknown_host_is_told_in_time() -> None:
    with pytest.raises(FetchError):
        fetch("https://no-such-host.invalid/x", contact=CONTACT, limits=QUICK)


def test_it_is_waited_for_by_nobody_in_a_netrc(server: FaultServer, tmp_path, monkeypatch: pytest.MonkeyPatch) -> None:
    netrc = tmp_path / "netrc"
    netrc.write_text("machine 127.0.0.1 login mia password secret\n")
    monkeypatch.setenv("NETRC", str(netrc))
    server.plays = [says()]
    ask(server)
    assert server.header("Authorization") is None


def test_a_key_is_never_shown() -> None:
    assert shown("https://w.example.org/v1?apikey=1#x") == "https://w.example.org/v1"


@given(st.text(max_size=40), st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1)))
def test_no_header_of_a_service_makes_a_traceback(text: str, now: datetime) -> None:
    at = now.replace(tzinfo=UTC)
    fetching_said.wait_asked(text, at)
    fetching_said.fresh_until({"Expires": text, "Date": text[:9], "Cache-Control": text, "Age": text}, at)
    fetching_said.reason_in(text.encode("utf-8", "surrogatepass"))
