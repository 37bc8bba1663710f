"""A gateway told by HTTP: what its answers mean, servers that misbehave, and text that tries to break out."""

from __future__ import annotations

import json
import socket
import time
import tracemalloc
from collections.abc import Callable
from datetime import timedelta
from email.utils import format_datetime
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, unquote, urlsplit

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lines import LINK, MESSAGE, raw_server, read_request, reset, web_server

from curing import clock
from curing.model.reminders import Channel, Kind, Message, Outcome
from curing.remind.channels import ask_alive, open_channels
from curing.remind.channels.answers import retry_after
from curing.remind.channels.connecting import Limits
from curing.remind.channels.filling import in_header, in_json, in_url, values_of
from curing.sources.reminder_settings import Reminders

TO = "+31 6 5550 1234"
QUICK = Limits(connect=1, whole=1)
USUAL = Limits(connect=2, whole=5)


def channel(url: str, limits: Limits = USUAL, **more: Any) -> Channel:
    told = {"kind": "http", "url": url, **({"body": "{short} {link}"} if not more.keys() & {"json", "form"} else {})}
    told |= {key: str(value) if isinstance(value, Path) else value for key, value in more.items()}
    return open_channels(Reminders.model_validate({"channels": {"push": told}}), limits)["push"]


@pytest.mark.parametrize(
    ("status", "outcome", "own"),
    [
        (200, Outcome.ACCEPTED, False),
        (202, Outcome.ACCEPTED, False),
        (204, Outcome.ACCEPTED, False),
        (301, Outcome.NEVER, True),
        (302, Outcome.NEVER, True),
        (307, Outcome.NEVER, True),
        (308, Outcome.NEVER, True),
        (400, Outcome.NEVER, False),
        (401, Outcome.NEVER, True),
        (403, Outcome.NEVER, True),
        (404, Outcome.NEVER, False),
        (405, Outcome.NEVER, False),
        (407, Outcome.NEVER, True),
        (408, Outcome.LATER, False),
        (410, Outcome.NEVER, False),
        (413, Outcome.NEVER, False),
        (422, Outcome.NEVER, False),
        (425, Outcome.LATER, False),
        (429, Outcome.LATER, False),
        (500, Outcome.LATER, False),
        (502, Outcome.LATER, False),
        (503, Outcome.LATER, False),
    ],
)
def test_a_status_decides_and_no_redirect_is_followed(status: int, outcome: Outcome, own: bool) -> None:
    with web_server() as other, web_server(status, b"sorry", {"Location": other.url}) as told:
        answer = channel(told.url).send(TO, MESSAGE)
    assert (answer.outcome, answer.own_fault, answer.after) == (outcome, own, None)
    assert str(status) in answer.said
    assert (told.asked, other.asked) == (1, 0)


@pytest.mark.parametrize("status", [429, 503])
def test_how_long_it_asks_to_wait_in_both_forms(status: int) -> None:
    with web_server(status, headers={"Retry-After": "7"}) as told:
        assert channel(told.url).send(TO, MESSAGE).after == timedelta(seconds=7)
    at = format_datetime(clock.now() + timedelta(minutes=10), usegmt=True)
    with web_server(status, headers={"Retry-After": at}) as told:
        after = channel(told.url).send(TO, MESSAGE).after
    assert after is not None
    assert timedelta(seconds=590) <= after <= timedelta(seconds=600)


@pytest.mark.parametrize("nonsense", ["", "soon", "-5", "1.5", "7 s", "Tue, 99 Foo 2027 06:05:00 GMT", "1e9", "٣"])
def test_nonsense_to_wait_for_is_as_if_nothing_was_said(nonsense: str) -> None:
    assert retry_after(nonsense, clock.now()) is None


def test_nobody_waits_longer_than_a_day_or_less_than_nothing() -> None:
    assert retry_after("9" * 9000, clock.now()) == timedelta(hours=24)
    assert retry_after("Sun, 06 Nov 2094 08:49:37 GMT", clock.now()) == timedelta(hours=24)
    # The three forms of a date that RFC 9110, section 5.6.7, names.
    for past in ("Sun, 06 Nov 1994 08:49:37 GMT", "Sunday, 06-Nov-94 08:49:37 GMT", "Sun Nov  6 08:49:37 1994"):
        assert retry_after(past, clock.now()) == timedelta(0)


@given(st.text(max_size=40))
def test_any_text_to_wait_for_is_taken(value: str) -> None:
    assert timedelta(0) <= (retry_after(value, clock.now()) or timedelta(0)) <= timedelta(hours=24)


def test_a_yes_that_means_no(tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("gw-T0ken-9f2c\n")
    body = f'{{"status": 1, "error": "no credit for 31655501234 by gw-T0ken-9f2c, {LINK}", "more": "{"x" * 999}"}}'
    with web_server(200, body.encode()) as told:
        url = told.url + "/{secret}"
        first = channel(url, refused='"error"', secret_file=secret).send(TO, MESSAGE)
        second = channel(url, accepted='"status": 0', secret_file=secret).send(TO, MESSAGE)
    with web_server(200, b'{"status": 0}') as told:
        third = channel(told.url, accepted='"status": 0', refused='"error"').send(TO, MESSAGE)
    assert [a.outcome for a in (first, second, third)] == [Outcome.NEVER, Outcome.NEVER, Outcome.ACCEPTED]
    for answer in (first, second):
        assert "no credit" in answer.said
        assert len(answer.said) <= 200
        assert not [one for one in ("5550", "T0ken", "Zk3vX9qLr8TtWm2a") if one in answer.said]


def test_what_was_sent_is_what_the_settings_say(tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("gw-T0ken-9f2c\n")
    with web_server() as told:
        headers = {"Authorization": "Bearer {secret}", "Title": "{subject}", "X-Click": "{link}"}
        sent = channel(told.url + "/up?to={to}", headers=headers, secret_file=secret)
        assert sent.send(TO, MESSAGE).outcome is Outcome.ACCEPTED
        assert (told.method, told.path) == ("POST", "/up?to=%2B31%206%205550%201234")
        assert told.header("Authorization") == "Bearer gw-T0ken-9f2c"
        assert (told.header("Title"), told.header("X-Click")) == (MESSAGE.subject, LINK)
        assert told.header("Idempotency-Key") == f'"{MESSAGE.key}"'
        assert told.header("Content-Type") == "text/plain; charset=utf-8"
        assert told.body.decode() == f"{MESSAGE.short} {LINK}"
        assert "T0ken" not in repr(sent)

        channel(told.url, form={"to": "{to}", "text": "{short} & {link}", "type": "flash"}).send(TO, MESSAGE)
        assert told.header("Content-Type") == "application/x-www-form-urlencoded"
        assert parse_qs(told.body.decode()) == {"to": [TO], "text": [f"{MESSAGE.short} & {LINK}"], "type": ["flash"]}

        nested = {"to": ["{to}"], "message": {"text": "{text}", "priority": 4, "loud": True, "none": None}}
        channel(told.url, json=nested, method="PUT").send(TO, MESSAGE)
        assert (told.method, told.header("Content-Type")) == ("PUT", "application/json")
        inner = {"text": MESSAGE.text, "priority": 4, "loud": True, "none": None}
        assert json.loads(told.body) == {"to": [TO], "message": inner}

        xml = {"Content-Type": "text/xml"}
        channel(told.url, headers=xml, body="<m>{short}</m><t>{to}</t>").send("</t><b>&", MESSAGE)
        assert told.body == b"<m>Mist 2-out, 3-out, 4-in at 06:30</m><t>&lt;/t&gt;&lt;b&gt;&amp;</t>"


def _answers(*parts: bytes, pause: float = 0.0) -> Callable[[socket.socket], None]:
    def talk(line: socket.socket) -> None:
        read_request(line)
        for part in parts:
            line.sendall(part)
            time.sleep(pause)

    return talk


def _read_then_reset(line: socket.socket) -> None:
    read_request(line)
    reset(line)


def _read_then_wait(line: socket.socket) -> None:
    read_request(line)
    time.sleep(3)


HEAD = b"HTTP/1.1 200 OK\r\nContent-Length: 40\r\n\r\n"


@pytest.mark.parametrize(
    ("talk", "outcome", "own"),
    [
        (_read_then_reset, Outcome.UNKNOWN, False),
        (_answers(), Outcome.UNKNOWN, False),
        (_read_then_wait, Outcome.UNKNOWN, False),
        (_answers(*(HEAD[n : n + 1] for n in range(40)), pause=0.1), Outcome.UNKNOWN, False),
        (_answers(HEAD, *[b"x"] * 40, pause=0.1), Outcome.UNKNOWN, False),
        (_answers(HEAD, b"half"), Outcome.UNKNOWN, False),
        (_answers(b"HTTP/1.1 2"), Outcome.UNKNOWN, False),
        (_answers(b"SSH-2.0-something\r\n"), Outcome.LATER, True),
        (_answers(b"HTTP/1.1 200 OK\r\n" + b"A: b\r\n" * 200 + b"\r\n"), Outcome.LATER, True),
        (_answers(b"HTTP/1.1 413 Too Large\r\nContent-Length: 0\r\n\r\n"), Outcome.NEVER, False),
    ],
    ids=[
        "reset",
        "ends",
        "hangs",
        "drips its head",
        "drips its body",
        "ends within",
        "half a status",
        "no HTTP",
        "200 headers",
        "413",
    ],
)
def test_servers_that_misbehave(talk: Callable[[socket.socket], None], outcome: Outcome, own: bool) -> None:
    begun = time.monotonic()
    with raw_server(talk) as port:
        answer = channel(f"http://127.0.0.1:{port}/", QUICK, accepted="queued").send(TO, MESSAGE)
    assert (answer.outcome, answer.own_fault) == (outcome, own)
    assert time.monotonic() - begun < 2


def test_200_mb_are_not_read() -> None:
    def talk(line: socket.socket) -> None:
        read_request(line)
        line.sendall(b"HTTP/1.1 500 No\r\nContent-Length: 200000000\r\n\r\n")
        for _ in range(200):
            line.sendall(b"x" * 1_000_000)

    with raw_server(talk) as port:
        one = channel(f"http://127.0.0.1:{port}/")
        tracemalloc.start()
        answer = one.send(TO, MESSAGE)
        _, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
    assert (answer.outcome, len(answer.said) <= 200) == (Outcome.LATER, True)
    assert most < 5_000_000


def test_nobody_there_no_such_host_and_no_trust(keys: tuple[Path, Path], other_keys: tuple[Path, Path]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    answers = [channel(url).send(TO, MESSAGE) for url in (f"http://127.0.0.1:{port}/", "https://gateway.invalid/")]
    with web_server(keys=keys) as told:
        answers.append(channel(told.url).send(TO, MESSAGE))
        trusted = channel(told.url, ca_file=keys[0]).send(TO, MESSAGE)
    with web_server(keys=other_keys) as elsewhere:
        answers.append(channel(elsewhere.url, ca_file=other_keys[0]).send(TO, MESSAGE))
    with raw_server(lambda line: line.sendall(b"no TLS here\r\n" * 9)) as port:
        answers.append(channel(f"https://localhost:{port}/").send(TO, MESSAGE))
    with raw_server(lambda line: time.sleep(3)) as port:
        answers.append(channel(f"https://localhost:{port}/", QUICK).send(TO, MESSAGE))
    assert [(a.outcome, a.own_fault) for a in answers] == [(Outcome.LATER, True)] * 6
    assert (told.asked, trusted.outcome, elsewhere.asked) == (1, Outcome.ACCEPTED, 0)
    assert "certificate" in answers[2].said
    assert "certificate" in answers[3].said


def test_the_environment_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    with web_server() as told:
        monkeypatch.setenv("HTTP_PROXY", "http://127.0.0.1:1")
        monkeypatch.setenv("http_proxy", "http://127.0.0.1:1")
        assert channel(told.url).send(TO, MESSAGE).outcome is Outcome.ACCEPTED


def test_alive_is_asked() -> None:
    with web_server() as told:
        assert ask_alive(f"{told.url}/ping/af91").outcome is Outcome.ACCEPTED
    assert (told.method, told.path) == ("GET", "/ping/af91")
    assert ask_alive(told.url).outcome is Outcome.LATER


@pytest.mark.parametrize("to", ["", " ", "a\r\nX: y", "a\0", "1" * 301])
def test_addresses_that_nothing_is_sent_to(to: str) -> None:
    with web_server() as told:
        one = channel(told.url)
        assert one.fault(to)
        assert one.send(to, MESSAGE).outcome is Outcome.NEVER
    assert told.asked == 0


def test_an_address_does_not_lead_to_another_folder_and_is_not_altered() -> None:
    with web_server() as told:
        assert channel(told.url + "/topics/{to}/send").fault("..")
        assert channel(told.url, headers={"X-To": "{to}"}).fault("Bürö")
        assert not channel(told.url + "/topics/{to}/{short}").fault("walls")
        channel(told.url + "/topics/{to}").send("../admin?x=1#y", MESSAGE)
    assert told.path == "/topics/..%2Fadmin%3Fx%3D1%23y"


HOSTILE = 'Wall\r\nX-Admin: yes\r\n\r\n{"a": 1}, {secret} {to} &to=thief#é–\0\x85\u2028' + "x" * 10_000


def test_hostile_names_stay_in_their_place(tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("gw-T0ken-9f2c")
    message = Message("k\r\nX: y", Kind.EVE, HOSTILE, HOSTILE, HOSTILE, "", LINK)
    with web_server() as told:
        more: dict[str, Any] = {"secret_file": secret}
        one = channel(
            told.url + "/a?t={short}&k={secret}", headers={"Title": "{subject}"}, json={"m": "{text}"}, **more
        )
        assert one.send(TO, message).outcome is Outcome.ACCEPTED
    names = [name.lower() for name, _ in told.headers]
    assert "x-admin" not in names
    assert "x" not in names
    assert set(parse_qs(urlsplit(told.path).query)) == {"t", "k"}
    assert told.header("Title").startswith('Wall X-Admin: yes {"a": 1}, {secret} {to} &to=thief#e-')
    assert json.loads(told.body).keys() == {"m"}
    assert b"T0ken" not in told.body


ANY = st.text(max_size=200)


@settings(max_examples=300)
@given(to=ANY.filter(lambda t: t.strip()), subject=ANY, short=ANY, text=ANY, key=ANY)
def test_any_text_stays_in_its_place(to: str, subject: str, short: str, text: str, key: str) -> None:
    values = values_of(to, Message(key, Kind.TASK, subject, short, text, "", LINK), "s3cret")
    marks = ("{to}", "{subject}", "{short}", "{text}", "{link}", "{key}")
    for mark in marks[1:4]:
        filled = in_header(f"a {mark} b", values)
        assert filled.isascii()
        assert filled.isprintable()
    url = in_url("https://x.example/p-{key}/q?" + "&".join(f"v{n}={mark}" for n, mark in enumerate(marks)), values)
    parts = urlsplit(url)
    assert url.isascii()
    assert (parts.netloc, parts.fragment, parts.path.count("/")) == ("x.example", "", 2)
    assert [pair.split("=")[0] for pair in parts.query.split("&")] == [f"v{n}" for n in range(6)]
    assert unquote(parts.query.split("&")[3].split("=")[1]) == values["text"]
    filled = json.loads(json.dumps(in_json({"a": [{"b": mark} for mark in marks]}, values)))
    assert filled == {"a": [{"b": values[mark[1:-1]]} for mark in marks]}
