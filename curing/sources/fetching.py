"""One polite question over the web: what is asked of a weather service, and what came back.

Says who asks, asks again only where that may help, never before the answer it has expires, never longer than
it may take as a whole (not even by a byte a second), and never reads more than it may.

References
----------
RFC 9110, sections 13.1 (conditional requests), 15.5.4 (403: the same request is not to be repeated); RFC 6585,
section 4 (429).
"""

from __future__ import annotations

import http.client
import re
import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from urllib.parse import urljoin, urlsplit

import requests
import urllib3
from urllib3.util.retry import Retry

import curing
from curing import clock
from curing.errors import Place, Problem, WeatherError
from curing.model.quantities import clip
from curing.sources.fetching_line import Line, adapter_on
from curing.sources.fetching_said import LONGEST, fresh_until, reason_in, sendable, wait_asked
from curing.sources.forecasts.document import MOST_BYTES

AGAIN = (429, 500, 502, 503, 504)
"""Answers after which it is asked again; 403 never."""

_REASON_BYTES = 64_000
_INSTEAD = "nothing was taken; a forecast that came before stays in use, with its age"
_WORDS = {
    400: "does not understand what was asked",
    401: "wants a key, or another one",
    403: "does not let this program in; check contact and key, it is not asked again at once",
    404: "has nothing for this place or address",
    410: "says that this address is gone",
    422: "does not understand what was asked",
    429: "is asked too often",
}


@dataclass(frozen=True, slots=True)
class Limits:
    """How long an answer may take, and how large it may be.

    Parameters
    ----------
    connect
        [s] To reach the host, each time.
    whole
        [s] For all tries and all waiting together.
    size
        [bytes] Of the body, unpacked.
    backoff
        [s] Before the second try; it doubles with each.
    tries
        How often it is asked again.
    """

    connect: float = 5.0
    whole: float = 30.0
    size: int = MOST_BYTES
    backoff: float = 1.0
    tries: int = 3


@dataclass(frozen=True, slots=True)
class Kept:
    """What is kept beside a body, to ask again politely: marks of its version, and until when it is fresh."""

    etag: str = ""
    last_modified: str = ""
    expires: datetime | None = None


class Status(StrEnum):
    """How a question ended."""

    NEW = "new"
    UNCHANGED = "unchanged"
    NOT_DUE = "not due"
    """It was not asked: what came before has not expired."""


@dataclass(frozen=True, slots=True)
class Fetched:
    """An answer.

    Attributes
    ----------
    status
        Whether there is a new body.
    body
        Empty unless it is new.
    kept
        Goes with the body, and back into :func:`fetch` at the next time.
    at
        When it was asked.
    notes
        What else was said, one sentence each.
    """

    status: Status
    body: bytes
    kept: Kept
    at: datetime
    notes: tuple[str, ...] = ()


class FetchError(WeatherError):
    """No usable answer; ``status`` is its number, if there was one, ``again`` when it may be asked again."""

    def __init__(self, where: str, text: str, *, status: int | None = None, again: datetime | None = None) -> None:
        super().__init__(Problem(Place(where), f"{text}; {_INSTEAD}"))
        self.status = status
        self.again = again


def fetch(
    url: str,
    *,
    contact: str,
    kept: Kept | None = None,
    headers: Mapping[str, str] | None = None,
    limits: Limits | None = None,
) -> Fetched:
    """Ask one address for JSON.

    Parameters
    ----------
    url
        ``https://``, or ``http://`` to this machine.
    contact
        Who can be told if this program asks amiss: an e-mail address or page; services want it.
    kept
        What was kept of the last answer from this address.
    headers
        More headers.

    Raises
    ------
    FetchError
        No answer in time, a refusal, or one that can't be used: what, where, and what is done instead.
    """
    where, now, limits = shown(url), clock.now(), limits or Limits()
    if not re.fullmatch(r"[!-~](?:[ -~]{0,198}[!-~])?", contact):
        raise FetchError(where, 'no contact is set; add "contact: office@example.org" to weather: in the settings')
    kept = kept or Kept()
    if kept.expires is not None and now < kept.expires <= now + LONGEST:  # further off: our clock was put back
        return Fetched(Status.NOT_DUE, b"", kept, now)
    asked = {"User-Agent": f"curing/{curing.__version__} {contact}", "Accept": "application/json, application/geo+json"}
    asked |= {"If-None-Match": kept.etag} if kept.etag else {}
    asked |= {"If-Modified-Since": kept.last_modified} if kept.last_modified else {}
    asking = _Asking(url, where, {**asked, **(headers or {})}, kept, now, limits)
    # Finding a host knows no time-out; so it is done by another thread, which is not waited for any longer.
    worker = threading.Thread(target=asking.run, daemon=True, name="curing-fetch")
    worker.start()
    worker.join(limits.whole)
    late = worker.is_alive()
    asking.line.cut()
    worker.join(1.0)  # it ends as soon as its lines are cut; only the search for a host can't be ended
    if late:  # whatever it comes to now: a line that was cut looks like the end of an answer
        raise FetchError(where, f"no whole answer within {limits.whole:g} s")
    if asking.answer is None:
        raise asking.fault or FetchError(where, "no answer")
    return asking.answer


def shown(url: str) -> str:
    """Return an address as it may be shown: without its query, which may hold a key.

    Examples
    --------
    >>> shown("https://weather.example.org/v1/forecast?latitude=52.1&apikey=secret")
    'https://weather.example.org/v1/forecast'
    """
    return clip(url.partition("?")[0].partition("#")[0], 200)


@dataclass
class _Asking:
    """One question, with its tries; it is run in a thread of its own."""

    url: str
    where: str
    headers: Mapping[str, str]
    kept: Kept
    now: datetime
    limits: Limits
    line: Line = field(default_factory=Line)
    answer: Fetched | None = None
    fault: BaseException | None = None

    def run(self) -> None:
        """Ask; keep an answer or a fault."""
        self._until = time.monotonic() + self.limits.whole
        try:
            with requests.Session() as session:
                for scheme in ("https://", "http://"):
                    session.mount(scheme, adapter_on(self.line))
                session.auth = _nobody
                self.answer = self._tried(session)
        except BaseException as error:  # told by the thread that waits
            self.fault = error

    def _tried(self, session: requests.Session) -> Fetched:
        """Ask until there is an answer, or no sense in asking on."""
        retry = Retry(
            total=self.limits.tries, status_forcelist=AGAIN, backoff_factor=self.limits.backoff, raise_on_status=False
        )
        while True:
            wait: float | None = None
            try:
                found = self._once(session)
                if isinstance(found, Fetched):
                    return found
                fault, wait = found
            except (requests.RequestException, urllib3.exceptions.HTTPError, http.client.HTTPException) as error:
                fault = FetchError(self.where, self._why(error))
                if _hopeless(error):
                    raise fault from None
            except (OSError, ValueError) as error:
                raise FetchError(self.where, self._why(error)) from None
            try:
                retry = retry.increment("GET", self.where, error=urllib3.exceptions.ProtocolError())
            except urllib3.exceptions.HTTPError:
                raise fault from None
            wait = max(wait or 0.0, retry.get_backoff_time() or self.limits.backoff)
            if self.line.passed.is_set() or wait >= self._until - time.monotonic():
                raise fault
            if self.line.passed.wait(wait):
                raise fault

    def _once(self, session: requests.Session) -> Fetched | tuple[FetchError, float | None]:
        """Return an answer, or what is wrong with it and how long [s] to wait before asking again.

        Raises
        ------
        FetchError
            There is no sense in asking again.
        """
        url = self.url
        for _ in range(4):
            timeout = (self.limits.connect, self.limits.whole)
            with session.get(
                url, headers=self.headers, timeout=timeout, stream=True, allow_redirects=False
            ) as response:
                if response.status_code not in (301, 302, 303, 307, 308):
                    return self._read(response)
                url = self._moved(url, response)
        raise FetchError(self.where, "is sent round in a circle by the service")

    def _moved(self, url: str, response: requests.Response) -> str:
        """Return where a redirect leads, if it stays at the host."""
        there = urljoin(url, response.headers.get("Location", ""))
        old, new = urlsplit(url), urlsplit(there)
        safer = old.scheme == "http" and new.scheme == "https"
        same = old.hostname == new.hostname and (safer or (old.scheme, old.port) == (new.scheme, new.port))
        if not same or there == url:
            what = f'sends on to "{shown(there)}", another host, which is not followed; check base_url'
            raise FetchError(self.where, what, status=response.status_code)
        return there

    def _read(self, response: requests.Response) -> Fetched | tuple[FetchError, float | None]:
        code = response.status_code
        if code == 304 and (self.kept.etag or self.kept.last_modified):
            return Fetched(Status.UNCHANGED, b"", self._to_keep(response), self.now)
        if code not in (200, 203):
            reason = reason_in(self._body(response, _REASON_BYTES, cut=True))
            said = _WORDS.get(code, "is out of order" if code >= 500 else "gives an answer that is not known")
            text = f"the service {said} (answer {code}{reason})"
            wait = wait_asked(response.headers.get("Retry-After"), clock.now())
            again = self.now + timedelta(seconds=wait) if wait is not None else None
            fault = FetchError(
                self.where,
                text + (f"; it asks to wait until {again:%Y-%m-%d %H:%M} UTC" if again else ""),
                status=code,
                again=again,
            )
            if code not in AGAIN:
                raise fault
            return fault, wait
        kind = response.headers.get("Content-Type", "").partition(";")[0].strip().lower()
        if not kind.endswith(("/json", "+json")):
            said = f'"{clip(kind)}"' if kind else "something of no kind"
            raise FetchError(self.where, f"answers with {said}, not with JSON; check base_url", status=code)
        body = self._body(response, self.limits.size)
        notes = ("The service says that this address will be given up (203); look for a newer curing.",)
        return Fetched(Status.NEW, body, self._to_keep(response), self.now, notes if code == 203 else ())

    def _body(self, response: requests.Response, most: int, *, cut: bool = False) -> bytes:
        """Return a body; one that is too large is cut, or a fault."""
        told = response.headers.get("Content-Length", "")
        if not cut and told.isdecimal() and len(told) < 16 and int(told) > most:
            raise FetchError(self.where, f"answers with {int(told) / 1e6:.1f} MB; at most {most / 1e6:g} MB are read")
        found = bytearray()
        try:
            for part in response.raw.stream(65_536, decode_content=True):
                found += part
                if len(found) > most:
                    break
        except (urllib3.exceptions.HTTPError, http.client.HTTPException, OSError, ValueError):
            if not cut:
                raise
        if len(found) > most and not cut:
            raise FetchError(self.where, f"answers with more than {most / 1e6:g} MB; at most that is read")
        return bytes(found[:most])

    def _to_keep(self, response: requests.Response) -> Kept:
        """Return what is to be kept of an answer; what a 304 leaves out stays as it was."""
        head = response.headers
        return Kept(
            sendable(head.get("ETag")) or self.kept.etag,
            sendable(head.get("Last-Modified")) or self.kept.last_modified,
            fresh_until(head, self.now),
        )

    def _why(self, error: Exception) -> str:
        """Return a fault of the line in words."""
        said = str(error).lower()
        host = _host(self.url)
        if isinstance(error, requests.exceptions.SSLError):
            return f"no safe line to {host}: its certificate is not to be trusted, or it speaks no TLS"
        if "resolve" in said or "name or service" in said:
            return f'the host "{host}" is not known; check its name and the network'
        if isinstance(error, requests.exceptions.ConnectTimeout):
            return f"{host} can't be reached within {self.limits.connect:g} s; check the network"
        if isinstance(error, requests.exceptions.Timeout):
            return f"no answer within {self.limits.whole:g} s"
        if "refused" in said:
            return f"nobody listens at {host}; check base_url"
        if _hopeless(error) or isinstance(error, ValueError):
            return "this is no address that can be asked; check base_url"
        return "the line broke before the whole answer was there"


def _host(url: str) -> str:
    try:
        return clip(urlsplit(url).hostname or "", 80)
    except ValueError:
        return ""


def _hopeless(error: Exception) -> bool:
    bad = (requests.exceptions.SSLError, requests.exceptions.InvalidURL, requests.exceptions.MissingSchema)
    return isinstance(error, (*bad, requests.exceptions.InvalidSchema, requests.exceptions.InvalidHeader))


def _nobody(request: requests.PreparedRequest) -> requests.PreparedRequest:
    """Send no password: without this one in the user's .netrc would be."""
    return request
