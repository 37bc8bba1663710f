"""Signed JSON to a program of one's own, judged by a verifier written after the text of RFC 9421 alone."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from lines import LINK, MESSAGE, Told, web_server

from curing import clock
from curing.errors import UsageError
from curing.model.reminders import Channel, Kind, Message, Outcome
from curing.remind.channels import open_channels
from curing.remind.channels.signing import signed
from curing.sources.reminder_settings import Reminders

SECRET = "not-a-real-secret-0123456789abcdef"


def channel(url: str, folder: Path, secret: str = SECRET) -> Channel:
    (folder / "hook.secret").write_text(secret + "\n")
    told = {"kind": "webhook", "url": url, "secret_file": str(folder / "hook.secret")}
    return open_channels(Reminders.model_validate({"channels": {"hook": told}}))["hook"]


def verified(told: Told, url: str, secret: bytes) -> dict[str, str]:
    """Return the parameters of a signature that is right: RFC 9421, sections 2.5, 3.2 and 3.3.3."""
    label, _, params = told.header("Signature-Input").partition("=")
    found = re.fullmatch(rf"{label}=:([A-Za-z0-9+/=]+):", told.header("Signature"))
    assert found
    covered = re.fullmatch(r"\(([^)]*)\)((?:;[a-z]+=(?:\"[^\"]*\"|[0-9]+))*)", params)
    assert covered
    lines = []
    for quoted in covered[1].split(" "):
        name = quoted.strip('"')
        special = {"@method": told.method, "@target-uri": url}
        lines.append(f"{quoted}: {special[name] if name in special else told.header(name).strip()}")
    base = "\n".join([*lines, f'"@signature-params": {params}']).encode()
    assert hmac.compare_digest(base64.b64decode(found[1]), hmac.digest(secret, base, hashlib.sha256))
    # RFC 9530, section 2: the digest that was signed is the one of the body that came.
    digest = base64.b64encode(hashlib.sha256(told.body).digest()).decode()
    assert told.header("Content-Digest") == f"sha-256=:{digest}:"
    names = [quoted.strip('"') for quoted in covered[1].split(" ")]
    assert names == ["@method", "@target-uri", "content-type", "content-digest", "idempotency-key"]
    return {key: value.strip('"') for key, value in re.findall(r";([a-z]+)=(\"[^\"]*\"|[0-9]+)", covered[2])}


def test_the_vector_of_the_rfc() -> None:
    """RFC 9421, section B.2.5, with the shared secret of B.1.5."""
    secret = base64.b64decode(
        "uzvJfB4u3N0Jy4T7NZ75MDVcr8zSTInedJtkgcu46YW4XByzNJjxBdtjUkdJPBtbmHhIDi6pcl8jsasjlTMtDQ=="
    )
    parts = [
        ("date", "Tue, 20 Apr 2021 02:07:55 GMT"),
        ("@authority", "example.com"),
        ("content-type", "application/json"),
    ]
    found = signed(parts, secret, "sig-b25", 1618884473, "test-shared-secret", alg=None)
    given = 'sig-b25=("date" "@authority" "content-type");created=1618884473;keyid="test-shared-secret"'
    assert found["Signature-Input"] == given
    assert found["Signature"] == "sig-b25=:pxcQw6G3AjtMBQjwo8XzkZf/bws5LelbaMk5rGIGtE8=:"


@pytest.mark.parametrize("path", ["", "/hook", "/hook?job=1&x=a%20b", "?job=1"])
def test_a_message_arrives_signed_and_whole(path: str, tmp_path: Path) -> None:
    with web_server() as told:
        sent = channel(told.url + path, tmp_path).send("wil", MESSAGE)
        reached = told.url + told.path
    assert sent.outcome is Outcome.ACCEPTED
    assert told.path == (path if path.startswith("/") else "/" + path)
    params = verified(told, reached, SECRET.encode())
    assert (params["keyid"], params["alg"]) == ("hook", "hmac-sha256")
    assert abs(int(params["created"]) - clock.now().timestamp()) < 60
    body = json.loads(told.body)
    at = datetime.fromisoformat(body.pop("sent_at"))
    assert abs(at - clock.now()) < timedelta(minutes=1)
    assert body == {
        "to": "wil",
        "kind": "round",
        "key": MESSAGE.key,
        "subject": MESSAGE.subject,
        "short": MESSAGE.short,
        "text": MESSAGE.text,
        "link": LINK,
        "facts": {"job": "alder-court", "faces": "2-out 3-out 4-in", "minutes": 45},
    }
    assert told.header("Idempotency-Key") == f'"{MESSAGE.key}"'


def test_a_changed_body_address_or_secret_is_found_out(tmp_path: Path) -> None:
    with web_server() as told:
        channel(told.url + "/hook", tmp_path).send("wil", MESSAGE)
        url = told.url + told.path
    for where, secret in ((url + "?x", SECRET), (url, SECRET + "0")):
        with pytest.raises(AssertionError):
            verified(told, where, secret.encode())
    told.body = told.body.replace(b"06:30", b"07:30")
    with pytest.raises(AssertionError):
        verified(told, url, SECRET.encode())


def test_hostile_text_stays_text(tmp_path: Path) -> None:
    name = 'x"}\r\nX-Admin: yes\r\n\ud800\0é' + "y" * 10_000
    with web_server() as told:
        sent = channel(told.url, tmp_path).send(
            name, Message('k"\r\n', Kind.EVE, name, name, name, "", facts={"n": name})
        )
    assert sent.outcome is Outcome.ACCEPTED
    assert "x-admin" not in [key.lower() for key, _ in told.headers]
    assert json.loads(told.body)["subject"].startswith('x"}\nX-Admin: yes')


def test_refusals_do_not_repeat_address_link_or_secret(tmp_path: Path) -> None:
    echo = f"unknown person wil-of-the-wall; {LINK} {SECRET}".encode()
    with web_server(410, echo) as told:
        hook = channel(told.url, tmp_path)
        answer = hook.send("wil-of-the-wall", MESSAGE)
    assert answer.outcome is Outcome.NEVER
    assert "unknown person" in answer.said
    for hidden in ("wil-of-the-wall", "Zk3vX9qLr8TtWm2a", SECRET):
        assert hidden not in answer.said + repr(hook)


def test_a_secret_too_short_to_sign_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match='channel "hook": the secret has 5 signs; 16 or more') as told:
        channel("https://hook.example.org/", tmp_path, "abcde")
    assert "abcde" not in str(told.value)


def test_an_empty_address(tmp_path: Path) -> None:
    assert channel("https://hook.example.org/", tmp_path).fault(" ")
    assert not channel("https://hook.example.org/", tmp_path).fault("wil")
