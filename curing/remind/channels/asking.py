"""One HTTP request over a line of its own, with a short answer; no redirect is followed.

``http.client`` on a line that was opened here, because only so it is known whether a request had gone out when
something broke, and so that no proxy or password is picked up from the environment.
"""

from __future__ import annotations

import http.client
import ssl
from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from curing import clock
from curing.model.reminders import Answer, Outcome
from curing.remind.channels.answers import Verdict, answer, http_verdict, not_reached, retry_after
from curing.remind.channels.connecting import Deadline, Limits, NotReached, kept_safe, reach, trusting

MOST_BODY = 64 * 1024
"""[bytes] Of an answer that are read."""


@dataclass(frozen=True, slots=True)
class Request:
    """What is asked."""

    method: str
    url: str
    headers: Mapping[str, str] = field(default_factory=dict, repr=False)
    body: bytes | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class Reply:
    """What was answered.

    Parameters
    ----------
    whole
        Whether the body came to its end, or to the most that is read.
    """

    status: int
    wait: str | None
    body: str
    whole: bool


class Broken(Exception):
    """The line broke, or was cut, after the request had gone out: it may have been taken."""


class NoHttp(NotReached):
    """What answers there does not speak HTTP."""


def ask(request: Request, context: ssl.SSLContext | None, limits: Limits) -> Reply:
    """Ask, and return the reply.

    Parameters
    ----------
    context
        What certificates are trusted; None only for ``http://``.

    Raises
    ------
    NotReached
        Nothing went out, or nobody there speaks HTTP.
    Broken
        It is not known whether it was taken.
    """
    parts = urlsplit(request.url)
    host, safe = parts.hostname or "", parts.scheme == "https"
    port = parts.port or (443 if safe else 80)
    target = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    with Deadline(limits.whole) as deadline:
        line = reach(host, port, deadline, limits)
        if safe:
            line = kept_safe(line, host, context or trusting(None))
        talk = http.client.HTTPConnection(host, port)
        talk.sock = line
        headers = {"Host": parts.netloc, "User-Agent": "curing", **request.headers, "Connection": "close"}
        try:
            return _said(talk, request.method, target, headers, request.body, deadline)
        finally:
            talk.close()
            line.close()


def _said(
    talk: http.client.HTTPConnection,
    method: str,
    target: str,
    headers: Mapping[str, str],
    body: bytes | None,
    deadline: Deadline,
) -> Reply:
    try:
        talk.request(method, target, body, headers)
    except (BrokenPipeError, ConnectionResetError):
        pass  # it may have answered early, because it does not want to read all of it
    except OSError as error:
        raise Broken(_why(error, deadline)) from None
    except (ValueError, http.client.HTTPException):
        raise NotReached("the request has signs that can't be sent; check url and headers") from None
    try:
        response = talk.getresponse()
    except http.client.RemoteDisconnected as error:
        raise Broken(_why(error, deadline)) from None
    except http.client.HTTPException as error:
        if deadline.passed or (isinstance(error, http.client.BadStatusLine) and str(error).startswith("HTTP/")):
            raise Broken(_why(error, deadline)) from None
        raise NoHttp("what answers there does not speak HTTP; check the port of the url") from None
    except (OSError, ValueError) as error:
        raise Broken(_why(error, deadline)) from None
    found, whole = b"", False
    try:
        while not whole and len(found) < MOST_BODY:
            part = response.read1(MOST_BODY - len(found))
            found, whole = found + part, not part
        # An end before the length that was told is no error to http.client.
        whole = not deadline.passed and (len(found) >= MOST_BODY or not response.length)
    except (OSError, ValueError, http.client.HTTPException):
        whole = False
    return Reply(response.status, response.headers.get("Retry-After"), found.decode("utf-8", "replace"), whole)


def _why(error: Exception, deadline: Deadline) -> str:
    slow = deadline.passed or isinstance(error, TimeoutError)
    return "no answer in time; it may have been taken" if slow else "the line broke before the answer"


def asked(
    request: Request,
    context: ssl.SSLContext | None,
    limits: Limits,
    hidden: tuple[str, ...] = (),
    *,
    accepted: str | None = None,
    refused: str | None = None,
) -> Answer:
    """Ask, and return what the reply means; never raises for what another machine does.

    Parameters
    ----------
    hidden
        What the answer may not repeat.
    accepted, refused
        What must, and must not, stand in the body of a reply that says yes.
    """
    try:
        reply = ask(request, context, limits)
    except NotReached as fault:
        return not_reached(str(fault))
    except Broken as fault:
        return Answer(Outcome.UNKNOWN, str(fault))
    verdict = http_verdict(reply.status)
    if verdict.outcome is Outcome.ACCEPTED:
        if refused is not None and refused in reply.body:
            verdict = Verdict(Outcome.NEVER, False, "it says yes and means no")
        elif accepted is not None and accepted not in reply.body:
            if not reply.whole:
                return Answer(Outcome.UNKNOWN, "the line broke within the answer; it may have been taken")
            verdict = Verdict(Outcome.NEVER, False, f'its answer lacks "{accepted}"')
        elif refused is not None and not reply.whole:
            return Answer(Outcome.UNKNOWN, "the line broke within the answer; it may have been taken")
        else:
            return Answer(Outcome.ACCEPTED, f"{reply.status} {verdict.words}")
    return answer(verdict, reply.status, reply.body, hidden, retry_after(reply.wait, clock.now()))
