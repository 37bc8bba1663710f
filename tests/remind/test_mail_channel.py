"""E-mail by real mail servers: taken, refused, out of order, and by who can't be trusted."""

from __future__ import annotations

import email
import socket
import ssl
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from email import policy
from email.message import EmailMessage
from pathlib import Path
from typing import Any, cast

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword
from hypothesis import given, settings
from hypothesis import strategies as st
from lines import LINK, MESSAGE, raw_server, reset

from curing.model.reminders import Answer, Kind, Message, Outcome
from curing.remind.channels import open_channels
from curing.remind.channels.connecting import Limits
from curing.remind.channels.mail import MailChannel
from curing.sources.reminder_settings import Reminders

QUICK = Limits(connect=1, whole=1)
USUAL = Limits(connect=2, whole=5)
TO = "wil@example.org"


class Sink:
    """Keeps what it is given; answers as it is told to."""

    def __init__(self, **answers: str) -> None:
        self.kept: list[tuple[str, list[str], bytes]] = []
        self.answers = answers
        self.safe: list[bool] = []

    async def handle_MAIL(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        if "mail" in self.answers:
            return self.answers["mail"]
        envelope.mail_from = address
        return "250 OK"

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        if "rcpt" in self.answers:
            return self.answers["rcpt"]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        self.kept.append((envelope.mail_from, envelope.rcpt_tos, envelope.content))
        self.safe.append(session.ssl is not None)
        return self.answers.get("data", "250 taken")


def _knows(server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> AuthResult:
    right = data == LoginPassword(b"walls", b"s3cret-word")
    return AuthResult(success=right, handled=right)


@contextmanager
def sink_at(sink: Sink, keys: tuple[Path, Path] | None = None, login: bool = False, **more: Any) -> Iterator[int]:
    if keys:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(*keys)
        more |= {"tls_context": context, "require_starttls": True}
    if login:
        more |= {"authenticator": _knows, "auth_required": True}
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    controller = Controller(sink, hostname="localhost", port=port, **more)
    controller.start()
    try:
        yield port
    finally:
        controller.stop()


def channel(port: int, tmp_path: Path | None = None, limits: Limits = USUAL, **more: Any) -> MailChannel:
    told = {"kind": "email", "host": "localhost", "port": port, "security": "none", "from": "Walls <walls@example.org>"}
    if "user" in more:
        assert tmp_path is not None
        (tmp_path / "password").write_text(f"{more.pop('password', 's3cret-word')}\n")
        more["password_file"] = str(tmp_path / "password")
    found = open_channels(Reminders.model_validate({"channels": {"email": told | more}}), limits)
    return cast(MailChannel, found["email"])


def read(raw: bytes) -> EmailMessage:
    return cast(EmailMessage, email.message_from_bytes(raw, policy=policy.default))


def test_a_message_arrives_with_all_that_mail_programs_want() -> None:
    sink = Sink()
    with sink_at(sink) as port:
        first, again = (channel(port).send(TO, MESSAGE) for _ in range(2))
    assert (first.outcome, first.own_fault, again.outcome) == (Outcome.ACCEPTED, False, Outcome.ACCEPTED)
    (sender, people, raw), (_, _, second) = sink.kept
    mail = read(raw)
    assert (sender, people) == ("walls@example.org", [TO])
    assert mail["From"] == "Walls <walls@example.org>"
    assert mail["To"] == TO
    assert mail["Subject"] == MESSAGE.subject
    assert mail["Auto-Submitted"] == "auto-generated"
    assert mail["Date"].datetime.tzinfo is not None
    assert mail.get_content_type() == "multipart/alternative"
    assert [part.get_content_type() for part in mail.iter_parts()] == ["text/plain", "text/html"]
    plain, rich = (part.get_content().replace("\r\n", "\n") for part in mail.iter_parts())
    assert (plain, rich.strip()) == (MESSAGE.text, MESSAGE.html)
    # What is tried again is the same message: mail programs that know the id show it once.
    assert mail["Message-ID"] == read(second)["Message-ID"] == f"<{MESSAGE.key}@example.org>"
    assert max(len(line) for line in raw.splitlines()) < 998


def test_over_starttls_with_a_login(tmp_path: Path, keys: tuple[Path, Path]) -> None:
    sink = Sink()
    with sink_at(sink, keys, login=True) as port:
        sent = channel(port, tmp_path, security="starttls", ca_file=str(keys[0]), user="walls").send(TO, MESSAGE)
    assert (sent.outcome, sink.safe) == (Outcome.ACCEPTED, [True])


def test_over_tls_from_the_first_byte(keys: tuple[Path, Path]) -> None:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(*keys)

    def talk(line: socket.socket) -> None:
        smtp_talk(context.wrap_socket(line, server_side=True))

    with raw_server(talk) as port:
        sent = channel(port, security="tls", ca_file=str(keys[0])).send(TO, MESSAGE)
    assert sent.outcome is Outcome.ACCEPTED


def test_a_wrong_password_is_our_own_fault_and_is_not_repeated(tmp_path: Path, keys: tuple[Path, Path]) -> None:
    sink = Sink()
    with sink_at(sink, keys, login=True) as port:
        wrong = channel(port, tmp_path, security="starttls", ca_file=str(keys[0]), user="walls", password="Guess-77")
        answer = wrong.send(TO, MESSAGE)
    assert (answer.outcome, answer.own_fault, sink.kept) == (Outcome.LATER, True, [])
    assert "535" in answer.said
    assert "password" in answer.said
    assert "Guess-77" not in answer.said + repr(wrong)


def test_a_login_that_is_asked_for(keys: tuple[Path, Path]) -> None:
    with sink_at(Sink(), keys, login=True) as port:
        answer = channel(port, security="starttls", ca_file=str(keys[0])).send(TO, MESSAGE)
    assert (answer.outcome, answer.own_fault) == (Outcome.LATER, True)
    assert "530" in answer.said


def test_a_login_that_is_not_offered(tmp_path: Path) -> None:
    with sink_at(Sink()) as port:
        answer = channel(port, tmp_path, user="walls").send(TO, MESSAGE)
    assert (answer.outcome, answer.own_fault) == (Outcome.LATER, True)


@pytest.mark.parametrize("which", ["unknown authority", "other host"])
def test_a_certificate_that_is_not_to_be_trusted(
    which: str, keys: tuple[Path, Path], other_keys: tuple[Path, Path]
) -> None:
    sink = Sink()
    with sink_at(sink, keys if which == "unknown authority" else other_keys) as port:
        more = {} if which == "unknown authority" else {"ca_file": str(other_keys[0])}
        answer = channel(port, security="starttls", **more).send(TO, MESSAGE)
    assert (answer.outcome, answer.own_fault, sink.kept) == (Outcome.LATER, True, [])
    assert "certificate" in answer.said


def test_nothing_is_sent_in_clear_where_starttls_is_not_offered() -> None:
    sink = Sink()
    with sink_at(sink) as port:
        answer = channel(port, security="starttls").send(TO, MESSAGE)
    assert (answer.outcome, answer.own_fault, sink.kept) == (Outcome.LATER, True, [])
    assert "STARTTLS" in answer.said


def test_nobody_listens_and_nobody_of_that_name() -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    nobody = channel(port).send(TO, MESSAGE)
    unknown = channel(25, host="mail.invalid", security="tls").send(TO, MESSAGE)
    assert [(a.outcome, a.own_fault) for a in (nobody, unknown)] == [(Outcome.LATER, True)] * 2
    assert "refused" in nobody.said
    assert "mail.invalid" in unknown.said


@pytest.mark.parametrize(
    ("at", "said", "outcome", "own"),
    [
        ("mail", "451 4.3.0 later", Outcome.LATER, False),
        ("mail", "550 5.7.1 not this sender", Outcome.NEVER, True),
        ("rcpt", "421 4.3.2 closing", Outcome.LATER, False),
        ("rcpt", f"451 4.7.1 <{TO}> greylisted", Outcome.LATER, False),
        ("rcpt", f"550 5.1.1 <{TO.upper()}>: no such user", Outcome.NEVER, False),
        ("rcpt", "552 mailbox full", Outcome.NEVER, False),
        ("rcpt", "251 will forward", Outcome.ACCEPTED, False),
        ("data", "451 disk full", Outcome.LATER, False),
        ("data", f"554 spam: {LINK}", Outcome.NEVER, False),
    ],
)
def test_what_a_server_says_decides(at: str, said: str, outcome: Outcome, own: bool) -> None:
    with sink_at(Sink(**{at: said})) as port:
        answer = channel(port).send(TO, MESSAGE) if outcome is not Outcome.ACCEPTED else forwarded(port)
    assert (answer.outcome, answer.own_fault, answer.after) == (outcome, own, None)
    assert said[:3] in answer.said or outcome is Outcome.ACCEPTED
    assert TO.lower() not in answer.said.lower()
    assert LINK not in answer.said
    assert len(answer.said) <= 200


def forwarded(_: int) -> Answer:
    """Return the answer of a server that forwards: the sink would forget the address."""
    with raw_server(lambda line: smtp_talk(line, rcpt=b"251 will forward\r\n")) as port:
        return channel(port).send(TO, MESSAGE)


def smtp_talk(
    line: socket.socket,
    greeting: bytes = b"220 hello\r\n",
    ehlo: bytes = b"250 hello\r\n",
    rcpt: bytes = b"250 ok\r\n",
    after: Callable[[socket.socket], None] | None = None,
    stop_at: str = "",
    starttls: bytes = b"220 go on\r\n",
    kept: list[bytes] | None = None,
) -> None:
    """Talk as a mail server, till the end or till one word."""
    line.sendall(greeting)
    source = line.makefile("rb")
    while words := source.readline():
        command = (words.split() or [b""])[0].decode("latin-1").upper()
        if kept is not None:
            kept.append(words)
        if command == stop_at:
            return
        if command == "DATA":
            line.sendall(b"354 go on\r\n")
            while (text := source.readline()) not in (b".\r\n", b""):
                if kept is not None:
                    kept.append(text)
            if after:
                after(line)
                return
        if command == "QUIT":
            return
        line.sendall({"EHLO": ehlo, "RCPT": rcpt, "STARTTLS": starttls}.get(command, b"250 ok\r\n"))


def waits(line: socket.socket) -> None:
    time.sleep(3)


def greets_then_resets(line: socket.socket) -> None:
    line.sendall(b"220 hello\r\n")
    line.recv(100)
    reset(line)


def drips(line: socket.socket) -> None:
    for _ in range(30):
        line.sendall(b"2")
        time.sleep(0.1)


@pytest.mark.parametrize(
    ("talk", "outcome"),
    [
        (waits, Outcome.LATER),
        (drips, Outcome.LATER),
        (lambda line: smtp_talk(line, greeting=b"421 busy\r\n"), Outcome.LATER),
        (greets_then_resets, Outcome.LATER),
        (lambda line: smtp_talk(line, stop_at="RCPT"), Outcome.LATER),
        (lambda line: smtp_talk(line, stop_at="DATA"), Outcome.LATER),
        (lambda line: smtp_talk(line, after=reset), Outcome.UNKNOWN),
        (lambda line: smtp_talk(line, after=waits), Outcome.UNKNOWN),
        (lambda line: smtp_talk(line, after=drips), Outcome.UNKNOWN),
        (lambda line: smtp_talk(line, after=lambda at: at.sendall(b"no mail server\r\n")), Outcome.UNKNOWN),
    ],
    ids=["hangs", "drips", "421", "reset", "ends at RCPT", "ends at DATA", "ends after", "hangs after", "drips after",
         "nonsense after"],
)  # fmt: skip
def test_what_is_not_known_is_not_called_refused(talk: Callable[[socket.socket], None], outcome: Outcome) -> None:
    begun = time.monotonic()
    with raw_server(talk) as port:
        answer = channel(port, limits=QUICK).send(TO, MESSAGE)
    assert (answer.outcome, answer.own_fault) == (outcome, False)
    assert time.monotonic() - begun < 2.5


@pytest.mark.parametrize("how", ["454", "no TLS behind it", "ends"])
def test_starttls_that_fails_never_goes_on_in_clear(how: str) -> None:
    kept: list[bytes] = []

    def talk(line: socket.socket) -> None:
        stop = "STARTTLS" if how == "ends" else ""
        reply = b"454 not now\r\n" if how == "454" else b"220 go on\r\nnothing but words\r\n"
        smtp_talk(line, ehlo=b"250-hello\r\n250 STARTTLS\r\n", starttls=reply, stop_at=stop, kept=kept)

    with raw_server(talk) as port:
        answer = channel(port, security="starttls", limits=QUICK).send(TO, MESSAGE)
    assert answer.outcome is Outcome.LATER
    assert answer.own_fault is (how != "454")
    assert not [words for words in kept if words.upper().startswith((b"MAIL", b"AUTH"))]


def test_a_server_that_talks_without_end_costs_no_memory() -> None:
    def talk(line: socket.socket) -> None:
        line.sendall(b"220 hello\r\n")
        while True:
            line.sendall(b"250-and more\r\n" * 5000)

    with raw_server(talk) as port:
        begun = time.monotonic()
        answer = channel(port, limits=Limits(1, 5)).send(TO, MESSAGE)
    assert answer.outcome is Outcome.LATER
    assert time.monotonic() - begun < 2


def test_one_message_has_one_recipient() -> None:
    kept: list[bytes] = []
    with raw_server(lambda line: smtp_talk(line, kept=kept)) as port:
        assert channel(port).send(TO, MESSAGE).outcome is Outcome.ACCEPTED
        assert channel(port).send("wil@example.org, mia@example.org", MESSAGE).outcome is Outcome.NEVER
    assert [words for words in kept if words.startswith(b"RCPT")] == [b"RCPT TO:<wil@example.org>\r\n"]


@pytest.mark.parametrize(
    "to",
    ["", "wil", "wil@", "@example.org", "wil@example.org,mia@example.org", "wil@example.org\r\nRCPT TO:<x@example.org>",
     "Wil <wil@example.org>", "wil@exa mple.org", "wil@example", "w" * 65 + "@example.org", "wíl@example.org",
     "wil@example.org>\nDATA", "wil..m@example.org", "wil@-example.org", "wil@10.0.0.1", "wil@[10.0.0.1]", "a@b@c.org"],
)  # fmt: skip
def test_what_is_no_address_is_told_and_never_sent(to: str) -> None:
    one = channel(1)
    assert one.fault(to)
    assert one.send(to, MESSAGE).outcome is Outcome.NEVER


def test_addresses_that_are_right() -> None:
    one = channel(1)
    assert [one.fault(to) for to in ("wil@example.org", "w.m+walls@lehm.example", "wil@büro.example", "me@localhost")] \
        == [""] * 4  # fmt: skip


def test_hostile_names_add_no_header_and_end_no_message() -> None:
    name = "Wall\r\nBcc: thief@example.org\r\n\r\n.\r\nMAIL FROM:<x@y.example>" + "x" * 10_000
    hostile = Message("k\r\nX: y", Kind.EVE, name, name, f"a\r\n.\r\nQUIT\r\n\n.\n.x {name}", f"<p>\n.\n{name}</p>")
    sink = Sink()
    with sink_at(sink) as port:
        assert channel(port).send(TO, hostile).outcome is Outcome.ACCEPTED
    ((_, people, raw),) = sink.kept
    mail = read(raw)
    assert people == [TO]
    assert mail["Bcc"] is None
    assert len(mail["Subject"]) <= 200
    assert "\n.\nQUIT" in next(iter(mail.iter_parts())).get_content().replace("\r\n", "\n")


@settings(max_examples=60)
@given(subject=st.text(max_size=300), text=st.text(max_size=300), key=st.text(max_size=30))
def test_any_text_gives_the_same_headers_and_two_parts(subject: str, text: str, key: str) -> None:
    raw = channel(1)._written(TO, Message(key, Kind.TASK, subject, "s", text, f"<p>{text}</p>"))
    names = read(raw).keys()
    assert names == ["From", "To", "Subject", "Date", "Message-ID", "Auto-Submitted", "MIME-Version", "Content-Type"]
    assert [part.get_content_type() for part in read(raw).iter_parts()] == ["text/plain", "text/html"]
    assert raw.isascii()
    assert b"\r" not in raw.replace(b"\r\n", b"")
