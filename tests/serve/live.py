"""A real ``curing serve`` process for tests: over a job of its own, at a free port, on a day of its own."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from curing.store import default_folder

MORNING = datetime(2027, 5, 24, 5, 10, tzinfo=UTC)
"""Monday 24 May 2027, 07:10 at Alder Court."""
READY = 60.0
"""[s] So long a server may take to begin, on a machine that does other things."""
FORM = {"Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "same-origin"}
SHORT = {"Accept": "application/json"}


def ahead(of: datetime = MORNING) -> int:
    """Return the offset [s] by which it is that time now."""
    return int((of - datetime.now(UTC)).total_seconds())  # noqa: TID251


@dataclass
class Answer:
    """What the server answered."""

    status: int
    headers: http.client.HTTPMessage
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    def json(self) -> Any:
        return json.loads(self.body)

    @property
    def kept(self) -> bool:
        """Whether the server said that it was kept: to a person (back to the page), or to the script."""
        if self.status == 303:
            return True
        kind = self.headers.get("content-type", "")
        return self.status == 200 and kind.startswith("application/json") and self.json()["kept"] is True


@dataclass
class Live:
    """A server that runs."""

    process: subprocess.Popen[bytes]
    job_file: Path
    offset: int
    out: list[str] = field(default_factory=list)
    err: list[str] = field(default_factory=list)
    address: str = ""
    links: dict[str, str] = field(default_factory=dict)
    """Name of a person who decides → path of the link, ``/s/TOKEN``."""
    _own: threading.local = field(default_factory=threading.local)
    _readers: list[threading.Thread] = field(default_factory=list)

    @property
    def port(self) -> int:
        return int(self.address.rpartition(":")[2])

    @property
    def state(self) -> Path:
        return default_folder(self.job_file)

    @property
    def wil(self) -> str:
        return self.links["Wil"]

    def now(self) -> datetime:
        """Return the time by the server's clock."""
        return datetime.fromtimestamp(time.time() + self.offset, UTC).replace(microsecond=0)  # noqa: TID251

    def ask(
        self,
        path: str,
        *,
        method: str = "GET",
        body: bytes | None = None,
        headers: Mapping[str, str] | None = None,
        timeout: float = 30.0,
        fresh: bool = False,
    ) -> Answer:
        """Send one request over this thread's connection, or over a new one."""
        line = None if fresh else getattr(self._own, "line", None)
        for again in (True, False):
            one = line or http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
            try:
                one.request(method, path, body, dict(headers or {}))
                got = one.getresponse()
                answer = Answer(got.status, got.msg, got.read())
            except (http.client.RemoteDisconnected, BrokenPipeError, ConnectionResetError):
                one.close()
                if line is None or not again:
                    self._own.line = None
                    raise
                line = None  # a kept connection that the server had closed meanwhile
                continue
            except BaseException:
                one.close()
                self._own.line = None
                raise
            if fresh:
                one.close()
            else:
                self._own.line = one
            return answer
        raise AssertionError

    def page(self, page: str, who: str = "Wil", **more: Any) -> Answer:
        """Open a page of somebody's link."""
        return self.ask(f"{self.links[who]}/{page}", **more)

    def send(
        self, page: str, fields: Mapping[str, Any], who: str = "Wil", *, short: bool = True, **more: Any
    ) -> Answer:
        """Send a form of somebody's link."""
        body = {"key": drawn(), "at": self.now().isoformat(), **fields}
        headers = {**FORM, **(SHORT if short else {}), **more.pop("headers", {})}
        return self.ask(
            f"{self.links[who]}/{page}",
            method="POST",
            body=urlencode(body, doseq=True).encode(),
            headers=headers,
            **more,
        )

    def log(self) -> str:
        """Return what the server wrote to its log until now."""
        return "".join(self.err)

    def stop(self, how: int = signal.SIGTERM, within: float = 15.0) -> int:
        """End it; return its exit code."""
        if self.process.poll() is None:
            self.process.send_signal(how)
        code = self.process.wait(within)
        for reader in self._readers:
            reader.join(5)
        return code

    def children(self) -> list[int]:
        """Return the processes that it began."""
        return children_of(self.process.pid)

    def planners(self) -> list[int]:
        """Return those of them that plan."""
        return [one for one in self.children() if b"multiprocessing.spawn" in Path(f"/proc/{one}/cmdline").read_bytes()]


_KEYS = iter(range(10**9))
_RUN = os.urandom(6).hex()


def drawn() -> str:
    """Return a key in the form that pages draw, each one once, also over several runs on one state."""
    return f"{_RUN}{next(_KEYS):020x}"


def children_of(process: int) -> list[int]:
    """Return the processes that a process began and that still run (Linux)."""
    found = []
    for task in Path(f"/proc/{process}/task").glob("*/children"):
        found += [int(one) for one in task.read_text().split()]
    return found


def lives(process: int) -> bool:
    """Tell whether a process runs; one that is over and only waits to be asked how does not."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def until(true: Any, within: float = 20.0, what: str = "") -> None:
    """Wait until something holds."""
    end = time.monotonic() + within
    while not true():
        assert time.monotonic() < end, f"not within {within} s: {what or true}"
        time.sleep(0.05)


def command(job_file: Path, *more: str, port: int = 0) -> list[str]:
    """Return the command line of a server."""
    return [sys.executable, "-m", "curing", "serve", str(job_file), "--port", str(port), *more]


def environment(offset: int) -> dict[str, str]:
    """Return the environment of a server whose clock is so many seconds ahead."""
    return {**os.environ, "CURING_CLOCK_OFFSET_SECONDS": str(offset), "PYTHONUNBUFFERED": "1"}


def begin(job_file: Path, *more: str, offset: int | None = None, before: Sequence[str] = ()) -> Live:
    """Start a server and wait until it says that it is ready; ``before``: a command that runs it."""
    shift = ahead() if offset is None else offset
    process = subprocess.Popen(
        [*before, *command(job_file, *more)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(shift),
        start_new_session=True,
    )
    one = Live(process, job_file, shift)
    for pipe, lines in ((process.stdout, one.out), (process.stderr, one.err)):
        reader = threading.Thread(target=_read, args=(pipe, lines), daemon=True)
        reader.start()
        one._readers.append(reader)
    end = time.monotonic() + READY
    while not (told := _told("".join(one.out))):
        if process.poll() is not None or time.monotonic() > end:
            process.kill()
            raise AssertionError(f"no server: {process.poll()}\n{''.join(one.out)}\n{one.log()}")
        time.sleep(0.02)
    one.address, one.links = told
    return one


def _read(pipe: Any, lines: list[str]) -> None:
    for line in pipe:
        lines.append(line.decode(errors="replace"))


def _told(out: str) -> tuple[str, dict[str, str]] | None:
    """Return address and links, as they were printed; None until all of it is there."""
    if "\n\n" not in out and "curing serve" not in out and out.count("/s/") < 2:
        return None
    links = re.findall(r"(\S[^\n]*)\n  (https?://[^/\s]+)(/s/[A-Za-z0-9_-]{43})/\n", out)
    if len(links) < 2:
        return None
    return links[0][1], {_name(line): path for line, _, path in links}


def _name(line: str) -> str:
    return "Ines" if "Ines" in line else "Wil"


@contextmanager
def running(job_file: Path, *more: str, offset: int | None = None, before: Sequence[str] = ()) -> Iterator[Live]:
    """Serve a job until the test is over."""
    one = begin(job_file, *more, offset=offset, before=before)
    try:
        yield one
    finally:
        if one.process.poll() is None:
            one.process.kill()
            one.process.wait(10)


def raw(port: int, sent: bytes, timeout: float = 10.0) -> bytes:
    """Send bytes as they are and return all that comes back."""
    with socket.create_connection(("127.0.0.1", port), timeout) as line:
        line.sendall(sent)
        got = b""
        try:
            while part := line.recv(65536):
                got += part
        except TimeoutError:
            pass
        return got
