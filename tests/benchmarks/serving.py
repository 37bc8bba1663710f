"""``python -m tests.benchmarks.serving``: served pages and feeds under load, the known answer beside each figure.

A real server over an invented job; the load comes from this process (asyncio on loopback) and, where it is
there, from wrk. Both share the machine's cores with the server. The peer of the feeds is a bare Starlette
application with the same server settings, in the same run. Rates and latencies depend on the machine and are no
test: this ends non-zero only where an answer is wrong.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import importlib.metadata
import json
import os
import platform
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from curing import clock
from curing.serve.app import Options
from curing.serve.running import Place, decider_links, run
from curing.serve.served import House
from curing.workflow.open_job import OpenJob
from curing.workflow.planning import plan_job
from tests.benchmarks.cases import plain

PACKAGES = ("curing", "starlette", "uvicorn", "uvloop", "httptools", "SQLAlchemy", "Jinja2")
EXAMPLE = Path(__file__).parents[2] / "examples" / "alder-court-under-way.yaml"
MONDAY = datetime(2027, 5, 24, 5, 10, tzinfo=UTC)
TICKS_A_SECOND = 50 * 100 / 60
"""A hundred times fifty people who tick within one minute."""
UNLIMITED = (1e12, 1e12)


# --- the servers --------------------------------------------------------------------


def main() -> int:
    words = argparse.ArgumentParser(prog="python -m tests.benchmarks.serving", description=__doc__)
    words.add_argument("--minutes", type=float, default=20, help="of load for the memory (default: %(default)s)")
    words.add_argument("--seconds", type=float, default=20, help="of ticking (default: %(default)s)")
    words.add_argument("--json", type=Path, metavar="FILE")
    words.add_argument("--serve", nargs=2, metavar=("JOB", "KIND"), help=argparse.SUPPRESS)
    given = words.parse_args()
    if given.serve:
        return _serve(*given.serve)
    versions = {name: importlib.metadata.version(name) for name in PACKAGES}
    print(f"Python {platform.python_version()}, {len(os.sched_getaffinity(0))} cores · {versions}")
    rows: list[Row] = []
    for row in measure(given.minutes, given.seconds):
        print(row.line(), flush=True)
        rows.append(row)
    if given.json:
        found = {"versions": versions, "results": [row.__dict__ for row in rows]}
        given.json.write_text(json.dumps(found, indent=1) + "\n")
    return 0 if all(row.right for row in rows) else 1


def _serve(job: str, kind: str) -> int:
    """Run one server in this process, without limits per link: the load comes from a few."""
    if kind == "bare":
        import uvicorn
        from starlette.applications import Starlette
        from starlette.requests import Request
        from starlette.responses import Response
        from starlette.routing import Route

        body = Path(job).read_bytes()

        async def answer(request: Request) -> Response:
            if request.headers.get("if-none-match"):
                return Response(status_code=304, headers={"etag": '"x"'})
            return Response(body, media_type="text/calendar", headers={"etag": '"x"'})

        class Told(uvicorn.Server):
            async def startup(self, sockets: object = None) -> None:
                await super().startup()
                port = self.servers[0].sockets[0].getsockname()[1]
                print(f"Ready at http://127.0.0.1:{port}", flush=True)

        Told(uvicorn.Config(Starlette(routes=[Route("/{rest:path}", answer)]), port=0, log_level="error")).run()
        return 0

    def opened(house: House, address: str) -> None:
        print(f"Ready at {address}", flush=True)
        for _, _, token in decider_links(house):
            print(f"link {token}", flush=True)

    options = Options(page_limit=UNLIMITED, feed_limit=UNLIMITED)
    run([(Path(job), None)], Place(port=0), options, opened)
    return 0


@dataclass
class Server:
    """A running server."""

    address: str
    links: list[str]
    process: subprocess.Popen[str]
    began: float
    port: int = field(init=False)

    def __post_init__(self) -> None:
        self.port = int(self.address.rpartition(":")[2])

    def memory(self) -> float:
        """Return the memory of the server and its planning process [MB]."""
        pids = [self.process.pid, *_children(self.process.pid)]
        return sum(_resident(pid) for pid in pids)

    def own_memory(self) -> float:
        return _resident(self.process.pid)


def _children(pid: int) -> list[int]:
    found = subprocess.run(["pgrep", "-P", str(pid)], capture_output=True, text=True, check=False).stdout
    return [int(one) for one in found.split()]


def _resident(pid: int) -> float:
    with contextlib.suppress(OSError):
        text = Path(f"/proc/{pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", text)[1]) / 1024  # type: ignore[index]
    return 0.0


@contextlib.contextmanager
def serving(job: Path, kind: str = "curing", now: datetime | None = None) -> Iterator[Server]:
    if now is not None:
        os.environ[clock.OFFSET_VARIABLE] = "0"
        os.environ[clock.OFFSET_VARIABLE] = str(int((now - clock.now()).total_seconds()))
    began = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.benchmarks.serving", "--serve", str(job), kind],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert process.stdout is not None
    address, links = "", []
    for line in process.stdout:
        if line.startswith("Ready at "):
            address = line.split()[-1].replace("localhost", "127.0.0.1")
            if kind == "bare":
                break
        if line.startswith("link "):
            links.append(line.split()[1])
            if len(links) == 1:
                break
    try:
        yield Server(address, links, process, began)
    finally:
        process.terminate()
        process.wait(30)


# --- the load ------------------------------------------------------------------------


@dataclass
class Row:
    """One figure with the answer that must be right."""

    name: str
    figure: str
    budget: str
    answer: str
    right: bool

    def line(self) -> str:
        return f"{self.name:<44} {self.figure:<34} {self.budget:<16} {self.answer}{'' if self.right else '  WRONG'}"


class Line:
    """One kept-alive HTTP connection."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.reader: asyncio.StreamReader
        self.writer: asyncio.StreamWriter

    async def open(self) -> Line:
        self.reader, self.writer = await asyncio.open_connection("127.0.0.1", self.port)
        return self

    async def ask(self, head: bytes, body: bytes = b"") -> tuple[int, bytes]:
        self.writer.write(head + body)
        answer = await self.reader.readuntil(b"\r\n\r\n")
        status = int(answer[9:12])
        length = re.search(rb"content-length: (\d+)", answer, re.I)
        return status, await self.reader.readexactly(int(length[1])) if length and status != 304 else b""

    def close(self) -> None:
        self.writer.close()


def get(path: str, more: str = "") -> bytes:
    return f"GET {path} HTTP/1.1\r\nHost: bench\r\n{more}\r\n".encode()


def post(path: str, body: str) -> bytes:
    head = (
        f"POST {path} HTTP/1.1\r\nHost: bench\r\nSec-Fetch-Site: same-origin\r\nAccept: application/json\r\n"
        f"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    return (head + body).encode()


def wrk(address: str, path: str, header: str = "") -> float:
    """Return requests a second by wrk, 32 connections over 4 s."""
    command = ["wrk", "-t1", "-c32", "-d4s", *(["-H", header] if header else []), f"{address}{path}"]
    out = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    found = re.search(r"Requests/sec:\s+([\d.]+)", out)
    assert found is not None, out
    return float(found[1])


def visits(page: str) -> list[str]:
    return list(dict.fromkeys(re.findall(r'name="visit" value="([^"]+)"', page)))


async def ticking(server: Server, seconds: float, *, planning: bool) -> tuple[list[float], int, int]:
    """Tick at a steady rate whatever the answers take; return latencies [s], how many were kept, and plans made."""
    home = f"/s/{server.links[0]}"
    first = await Line(server.port).open()
    status, page = await first.ask(get(f"{home}/today"))
    if not DUE:  # later all have their answer; what comes then are extras
        DUE.extend(visits(page.decode()))
        at = re.search(r'name="at" value="([^"]+)"', page.decode())
        assert at is not None, (status, page[:300])
        AT.append(at[1].replace("+", "%2B"))
    due, when = DUE, AT[0]
    lines = [await Line(server.port).open() for _ in range(32)]
    free: asyncio.Queue[Line] = asyncio.Queue()
    for line in lines:
        free.put_nowait(line)
    times: list[float] = []
    kept = 0

    async def one(number: int) -> None:
        nonlocal kept
        line = await free.get()
        key = f"{time.time_ns():032x}"
        body = f"key={key}&visit={due[number % len(due)]}&what=misted&extra=1&at={when}"
        began = time.perf_counter()
        status, answer = await line.ask(post(f"{home}/tick", body))
        times.append(time.perf_counter() - began)
        kept += status == 200 and b'"kept": true' in answer
        free.put_nowait(line)

    stop = False
    plans = 0

    async def replan() -> None:
        nonlocal plans
        while not stop:
            process = await asyncio.create_subprocess_exec(
                sys.executable,
                "-m",
                "curing",
                "plan",
                str(JOB[0]),
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            await process.wait()
            plans += 1

    background = asyncio.create_task(replan()) if planning else None
    began, tasks = time.perf_counter(), []
    for number in range(int(seconds * TICKS_A_SECOND)):
        wait = began + number / TICKS_A_SECOND - time.perf_counter()
        if wait > 0:
            await asyncio.sleep(wait)
        tasks.append(asyncio.create_task(one(number)))
    await asyncio.gather(*tasks)
    stop = True
    if background is not None:
        await background
    for line in (first, *lines):
        line.close()
    return times, kept, plans


JOB: list[Path] = []
DUE: list[str] = []
AT: list[str] = []


def spread(times: list[float]) -> str:
    ordered = sorted(times)
    p50, p99 = statistics.median(ordered), ordered[int(len(ordered) * 0.99)]
    return f"p50 {p50 * 1000:.0f}, p99 {p99 * 1000:.0f}, max {ordered[-1] * 1000:.0f} ms"


def measure(minutes: float, seconds: float) -> Iterator[Row]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        yield from _cold(folder / "cold")
        job = folder / "court.yaml"
        job.write_bytes(EXAMPLE.read_bytes())
        plan_job(job, as_of="2027-05-24 06:00")
        JOB[:] = [job]
        with serving(job, now=MONDAY) as server:
            yield from _feeds(server, folder)
            yield from _ticks(server, job, seconds)
            yield from _memory(server, minutes)


def _cold(folder: Path) -> Iterator[Row]:
    """From the command to a page and a feed, with 50 faces and no plan yet."""
    folder.mkdir()
    made = plain(50)
    job = folder / "job.yaml"
    job.write_text(made.text)
    with serving(job, now=made.now) as server:
        ready = time.perf_counter() - server.began

        async def first(path: str, right: int) -> float:
            line = await Line(server.port).open()
            while (await line.ask(get(path)))[0] != right:
                await asyncio.sleep(0.02)
            line.close()
            return time.perf_counter() - server.began

        page = asyncio.run(first(f"/s/{server.links[0]}/today", 200))
        feed = asyncio.run(first(f"/s/{server.links[0]}/calendar.ics", 200))
        yield Row(
            "cold start, 50 faces, no plan yet",
            f"ready {ready:.2f}, page {page:.2f}, feed {feed:.2f} s",
            "",
            "page and feed answered 200",
            True,
        )


def _feeds(server: Server, folder: Path) -> Iterator[Row]:
    async def once() -> tuple[bytes, str]:
        line = await Line(server.port).open()
        line.writer.write(get(f"/s/{server.links[0]}/calendar.ics"))
        head = (await line.reader.readuntil(b"\r\n\r\n")).decode()
        body = await line.reader.readexactly(int(re.search(r"content-length: (\d+)", head)[1]))  # type: ignore[index]
        line.close()
        return body, re.search(r"etag: (\S+)", head)[1]  # type: ignore[index]

    body, tag = asyncio.run(once())
    events = body.count(b"BEGIN:VEVENT")
    path, asked = f"/s/{server.links[0]}/calendar.ics", f"If-None-Match: {tag}"
    (folder / "feed.ics").write_bytes(body)
    if not shutil.which("wrk"):
        yield Row("feeds", "not measured: wrk is not here", "", "", True)
        return
    same, changed = wrk(server.address, path, asked), wrk(server.address, path)
    with serving(folder / "feed.ics", "bare") as bare:
        peer_same, peer = wrk(bare.address, path, asked), wrk(bare.address, path)
    note = f"{events} events, {len(body) / 1000:.0f} kB"
    yield Row("feed unchanged (304)", f"{same:.0f}/s, bare Starlette {peer_same:.0f}/s", "5,000/s", note, events > 30)
    yield Row("feed changed, from cache", f"{changed:.0f}/s, bare Starlette {peer:.0f}/s", "1,500/s", note, events > 30)


def _ticks(server: Server, job: Path, seconds: float) -> Iterator[Row]:
    for planning in (False, True):
        before = _entries(job)
        times, kept, plans = asyncio.run(ticking(server, seconds, planning=planning))
        there = _entries(job) - before
        name = "ticks, 83 a second, while plans are made" if planning else "ticks, 83 a second"
        answer = f"{kept} of {len(times)} kept, {there} in the record" + (f", {plans} other plans" if planning else "")
        yield Row(name, spread(times), "p99 < 100 ms", answer, kept == len(times) == there)


def _entries(job: Path) -> int:
    with OpenJob(job) as opened:
        return opened.store.heads().record


def _memory(server: Server, minutes: float) -> Iterator[Row]:
    """Pages, feeds and ticks for some minutes, as a whole firm would, many times over."""
    home = f"/s/{server.links[0]}"
    pages = ["today", "walls", "wall/3", "wall/7", "job", "moved", "calendar", "reading/7", "calendar.ics"]
    counts: dict[int, int] = {}
    samples = [server.own_memory()]

    async def visitor(number: int, until: float) -> None:
        line = await Line(server.port).open()
        turn = number
        while time.perf_counter() < until:
            status, _ = await line.ask(get(f"{home}/{pages[turn % len(pages)]}"))
            counts[status] = counts.get(status, 0) + 1
            turn += 1
            await asyncio.sleep(0.3)
        line.close()

    async def load(until: float) -> None:
        people = [asyncio.create_task(visitor(n, until)) for n in range(6)]
        while time.perf_counter() < until:
            await ticking_once(server)
            await asyncio.sleep(2)
            samples.append(server.own_memory())
        await asyncio.gather(*people)

    asyncio.run(load(time.perf_counter() + minutes * 60))
    third = samples[len(samples) // 3]
    answer = f"{sum(counts.values())} answers, all 200: {set(counts) == {200}}"
    figure = f"{samples[0]:.0f} MB at first, {third:.0f} after a third, {samples[-1]:.0f} at the end"
    yield Row(f"memory of the server, {minutes:g} min of load", figure, "< 300 MB", answer, set(counts) == {200})


async def ticking_once(server: Server) -> None:
    await ticking(server, 0.05, planning=False)


if __name__ == "__main__":
    raise SystemExit(main())
