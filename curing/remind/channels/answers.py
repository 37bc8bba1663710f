"""What answers of mail servers and of HTTP servers mean, as plain tables.

References
----------
RFC 5321, section 4.2.1 (4yz: for now, 5yz: for good); RFC 4954, section 6 (530, 534, 535: logging in); RFC 9110,
sections 10.2.3 (Retry-After) and 15 (status codes); RFC 6585, section 4 (429); RFC 8470, section 5.2 (425).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from enum import StrEnum
from functools import wraps
from html import escape
from typing import Any, NamedTuple
from urllib.parse import quote, quote_plus

from curing.model.reminders import Answer, Message, Outcome

MOST_SAID = 200
"""[signs] Of an answer."""
MOST_READ = 4_000
"""[signs] Of what the other side said, out of which an answer is made."""
LONGEST_WAIT = timedelta(hours=24)


class Verdict(NamedTuple):
    """What a code means."""

    outcome: Outcome
    own_fault: bool
    words: str


_NEVER, _LATER = Outcome.NEVER, Outcome.LATER
_HTTP = {
    400: Verdict(_NEVER, False, "it does not understand the request"),
    401: Verdict(_NEVER, True, "it does not let us in; check the secret"),
    402: Verdict(_NEVER, True, "it asks to be paid; check the account there"),
    403: Verdict(_NEVER, True, "it forbids this; check the secret and the rights there"),
    404: Verdict(_NEVER, False, "this address or gateway is gone"),
    405: Verdict(_NEVER, False, "it does not take this method; check method and url"),
    407: Verdict(_NEVER, True, "something on the way asks for a password"),
    408: Verdict(_LATER, False, "it waited too long for us"),
    410: Verdict(_NEVER, False, "this address or gateway is gone"),
    413: Verdict(_NEVER, False, "the message is too long for it"),
    422: Verdict(_NEVER, False, "it can't do anything with this message"),
    425: Verdict(_LATER, False, "too early for it"),
    429: Verdict(_LATER, False, "too many messages for it"),
}


def http_verdict(status: int) -> Verdict:
    """Return what an HTTP status means.

    Examples
    --------
    >>> http_verdict(202).outcome, http_verdict(503).outcome, http_verdict(410).outcome
    (<Outcome.ACCEPTED: 'accepted'>, <Outcome.LATER: 'later'>, <Outcome.NEVER: 'never'>)
    >>> http_verdict(301)
    Verdict(outcome=<Outcome.NEVER: 'never'>, own_fault=True, words='moved; set the new address')
    """
    if status in _HTTP:
        return _HTTP[status]
    if 200 <= status < 300:
        return Verdict(Outcome.ACCEPTED, False, "taken")
    if 300 <= status < 400:
        return Verdict(_NEVER, True, "moved; set the new address")
    if 400 <= status < 500:
        return Verdict(_NEVER, False, "it refuses this message")
    if 500 <= status < 600:
        return Verdict(_LATER, False, "it has trouble of its own")
    return Verdict(Outcome.UNKNOWN, False, "no answer that has a meaning")


class Stage(StrEnum):
    """How far a talk with a mail server has come."""

    GREETING = "the greeting"
    KEEPING_SAFE = "keeping the line safe"
    LOGIN = "the login"
    SENDER = "the sender"
    ADDRESS = "the address"
    MESSAGE = "the message"
    """The message was given; only now may it have been taken."""


_LOGIN_CODES = (530, 534, 535)
_OWN_STAGES = (Stage.GREETING, Stage.KEEPING_SAFE, Stage.LOGIN)


def smtp_verdict(code: int, stage: Stage) -> Verdict:
    """Return what the code of a mail server means, by what it answers to.

    What it says before it has heard of a message is no word about the message: it is tried later, by who can be
    reached another way at once.

    Examples
    --------
    >>> smtp_verdict(250, Stage.MESSAGE).outcome, smtp_verdict(451, Stage.ADDRESS).outcome
    (<Outcome.ACCEPTED: 'accepted'>, <Outcome.LATER: 'later'>)
    >>> smtp_verdict(550, Stage.ADDRESS)[:2], smtp_verdict(550, Stage.SENDER)[:2]
    ((<Outcome.NEVER: 'never'>, False), (<Outcome.NEVER: 'never'>, True))
    >>> smtp_verdict(535, Stage.LOGIN)
    Verdict(outcome=<Outcome.LATER: 'later'>, own_fault=True, words='it does not let us in; check user and password')
    """
    if code in _LOGIN_CODES:
        return Verdict(_LATER, True, "it does not let us in; check user and password")
    if 200 <= code < 300:
        return Verdict(Outcome.ACCEPTED, False, "taken")
    if 400 <= code < 500:
        return Verdict(_LATER, stage is Stage.LOGIN, f"not now, at {stage}")
    if 500 <= code < 600 and stage in _OWN_STAGES:
        return Verdict(_LATER, True, f"refused at {stage}; check the settings of the mail server")
    if 500 <= code < 600:
        return Verdict(_NEVER, stage is Stage.SENDER, f"refused for good, at {stage}")
    return Verdict(Outcome.UNKNOWN if stage is Stage.MESSAGE else _LATER, False, f"no meaning, at {stage}")


def retry_after(value: str | None, now: datetime) -> timedelta | None:
    """Return how long a server asks to wait, by seconds or by a date; None where it says nothing that has a meaning.

    Parameters
    ----------
    value
        The header Retry-After.
    now
        Aware.

    Returns
    -------
    timedelta or None
        0 to 24 h.

    Examples
    --------
    >>> now = datetime(2027, 5, 25, 6, 0, tzinfo=UTC)
    >>> retry_after("120", now), retry_after("Tue, 25 May 2027 06:05:00 GMT", now), retry_after("soon", now)
    (datetime.timedelta(seconds=120), datetime.timedelta(seconds=300), None)
    """
    text = (value or "").strip()
    if re.fullmatch(r"[0-9]+", text):
        return min(timedelta(seconds=int(text[:10]) if len(text) <= 10 else 10**9), LONGEST_WAIT)
    if not re.match(r"[A-Z][a-z]{2,8},? ", text):
        return None
    try:
        until = parsedate_to_datetime(text)
        wait = (until if until.tzinfo else until.replace(tzinfo=UTC)) - now
    except (ValueError, TypeError, OverflowError, IndexError):
        return None
    return min(max(wait, timedelta(0)), LONGEST_WAIT)


def one_line(said: str, hidden: Iterable[str] = ()) -> str:
    """Return what the other side said on one line of at most 200 signs, without what must stay hidden.

    Parameters
    ----------
    hidden
        Addresses, links and secrets; found also in the forms in which servers repeat them.

    Examples
    --------
    >>> one_line("550 5.1.1 <MIA@example.org>:\\n no such user", ["mia@example.org"])
    '550 5.1.1 <(…)>: no such user'
    >>> one_line("no text to 31655501234", ["+31 6 5550 1234"])
    'no text to (…)'
    """
    text = " ".join("".join(c if c.isprintable() else " " for c in said[:MOST_READ].replace("\0", "")).split())
    longest = 0
    for value in sorted({one.strip() for one in hidden} - {""}, key=len, reverse=True):
        longest = max(longest, 2 * len(value))
        for pattern in _forms(value):
            text = re.sub(pattern, "(…)", text, flags=re.IGNORECASE)
    if len(said) > MOST_READ:  # the end may hold the half of something hidden
        text = text[: max(0, len(text) - longest)]
    return text if len(text) <= MOST_SAID else text[: MOST_SAID - 1] + "…"


def answer(
    verdict: Verdict, code: int | None, said: str, hidden: Iterable[str], wait: timedelta | None = None
) -> Answer:
    """Return an answer out of a verdict and what the other side said."""
    line = one_line(said, hidden)
    text = ": ".join(filter(None, (" ".join(filter(None, (str(code or ""), verdict.words))), line)))
    cut = text if len(text) <= MOST_SAID else text[: MOST_SAID - 1] + "…"
    return Answer(verdict.outcome, cut, wait if verdict.outcome is Outcome.LATER else None, verdict.own_fault)


def not_reached(said: str) -> Answer:
    """Return that nothing could be sent, because of the channel as it is set up or its server."""
    return Answer(_LATER, one_line(said), None, True)


def sure(send: Callable[[Any, str, Message], Answer]) -> Callable[[Any, str, Message], Answer]:
    """Return the sending of a channel with an answer even where this program itself is at fault."""

    @wraps(send)
    def never_raising(channel: Any, to: str, message: Message) -> Answer:
        try:
            return send(channel, to, message)
        except Exception as error:
            # It may have happened after the message was given. The error itself may hold the address: its name alone.
            return Answer(Outcome.UNKNOWN, f"a fault of this program, {type(error).__name__}; tell who makes it")

    return never_raising


def _forms(value: str) -> list[str]:
    """Return patterns for a value as it is, in an address, in JSON and HTML, as digits alone, and for its parts."""
    found = [_pattern(one) for one in dict.fromkeys((value, quote(value, safe=""), quote(value), quote_plus(value)))]
    if (marked := escape(value)) != value:
        found.append(_pattern(marked))
    digits = re.sub(r"\D", "", value)
    if len(digits) >= 6 and re.fullmatch(r"[-+0-9 ().]+", value):
        found.append(r"\+?" + r"[ ().-]{0,2}".join(digits))
    if "://" in value:  # a link without its host still opens the page
        found += [_pattern(part) for part in re.split(r"[/?#&=]", value.partition("://")[2])[1:] if len(part) >= 12]
    elif "@" in value:
        found += [_pattern(part, whole=True) for part in value.split("@")[:1] if len(part) >= 3]
    return found


def _pattern(value: str, whole: bool = False) -> str:
    signs = (r"\s+" if sign.isspace() else r"\\?/" if sign == "/" else re.escape(sign) for sign in value)
    pattern = "".join(signs)
    return rf"(?<!\w){pattern}(?!\w)" if whole or len(value) < 4 else pattern
