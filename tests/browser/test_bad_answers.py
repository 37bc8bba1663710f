"""The service, or something between, answers badly: nothing is lost, nothing counts twice."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from asking_phone import expect, expect_done, expect_kept, open_kept, press
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response, StreamingResponse
from stub import ANNA, Running, Stub, fields

pytestmark = pytest.mark.browser
Answer = Callable[[Any, Callable[[], Response]], Awaitable[Response]]


@pytest.fixture(autouse=True)
def badly(faults: Any) -> None:
    faults.allow_no_signal()


class Badly:
    """Answers badly until told to answer well, and once at least."""

    def __init__(self, stub: Stub, bad: Callable[[Callable[[], Response]], Awaitable[Response]]) -> None:
        self.well = False
        self.bad = bad
        self.asked = 0
        stub.answer = self.answer

    async def answer(self, request: Any, take: Callable[[], Response]) -> Response:
        """Answer one POST."""
        self.asked += 1
        return take() if self.well and self.asked > 1 else await self.bad(take)


async def trouble(take: Callable[[], Response]) -> Response:
    return Response("Internal Server Error", 500)


async def trouble_after_taking(take: Callable[[], Response]) -> Response:
    take()
    return Response("Internal Server Error", 500)


async def too_many(take: Callable[[], Response]) -> Response:
    return JSONResponse({"kept": False, "text": "Too many."}, 429, {"Retry-After": "1"})


async def log_in_page(take: Callable[[], Response]) -> Response:
    return HTMLResponse("<!doctype html><title>Guest network</title><p>Accept the terms.")


async def refusing_proxy(take: Callable[[], Response]) -> Response:
    return HTMLResponse("<!doctype html><title>403</title><p>Blocked.", 403)


async def log_in_elsewhere(take: Callable[[], Response]) -> Response:
    return RedirectResponse("http://login.invalid/", 302)


async def other_json(take: Callable[[], Response]) -> Response:
    return JSONResponse({"ok": True})


async def answer_lost(take: Callable[[], Response]) -> Response:
    take()

    async def broken() -> Any:
        yield b'{"kept": tr'
        raise ConnectionResetError

    return StreamingResponse(broken(), media_type="application/json", headers={"Content-Length": "40"})


async def late(take: Callable[[], Response]) -> Response:
    taken = take()
    await asyncio.sleep(30)
    return taken


@pytest.mark.parametrize(
    "bad",
    [
        trouble,
        trouble_after_taking,
        too_many,
        log_in_page,
        refusing_proxy,
        log_in_elsewhere,
        other_json,
        answer_lost,
        late,
    ],
)
def test_it_is_kept_and_sent_later_and_counted_once(
    phone: Any, service: Running, stub: Stub, faults: Any, bad: Callable[..., Awaitable[Response]]
) -> None:
    faults.allow("another host: http://login.invalid/$")  # told by the browser, not followed
    service_badly = Badly(stub, bad)
    stub.patience = 1
    phone.goto(service.url())
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    expect(phone.locator("#said")).to_have_text("Kept on this phone: wall 1: misted.")
    service_badly.well = True
    expect_done(phone, "1", seconds=15)
    expect_kept(phone)
    assert len(stub.taken) == 1
    assert len(stub.posts) > 1
    assert len({one["key"] for one in stub.posts}) == 1


@pytest.mark.parametrize("statuses", [(400, 403, 404), (409, 413, 422), (410, 410, 410)])
def test_a_refusal_stays_with_its_reason_until_put_away(
    phone: Any, service: Running, stub: Stub, statuses: tuple[int, int, int]
) -> None:
    async def refuse(request: Any, take: Callable[[], Response]) -> Response:
        wall = int((await fields(request))["visit"])
        return JSONResponse({"kept": False, "text": f"Already done 07:0{wall} by Ben."}, statuses[wall - 1])

    stub.answer = refuse
    phone.goto(service.url())
    with phone.expect_navigation():  # the service may know more of this wall: the page comes again
        press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    expect(phone.locator(".kept-head")).to_have_text("1 tick was refused.")
    expect(phone.locator(".kept-why")).to_have_text("Already done 07:01 by Ben.")
    expect(phone.locator(".kept-undo")).to_have_count(0)
    expect(phone.locator("#said")).to_have_text("Refused: wall 1: misted. Already done 07:01 by Ben.")
    for wall in ("2", "3"):
        with phone.expect_navigation():
            press(phone, wall)
        expect(phone.locator(".kept-why")).to_have_count(int(wall))
    phone.reload()
    expect(phone.locator(".kept-why").nth(2)).to_have_text("Already done 07:03 by Ben.")
    assert len(stub.posts) == 3
    for left in (2, 1, 0):
        phone.click("#kept li:nth-child(1) .kept-away")
        expect(phone.locator(".kept-why")).to_have_count(left)
    expect_kept(phone)
    phone.reload()
    expect_kept(phone)
    assert stub.taken == {}
    expect(phone.locator("#form-1 button[value=misted]")).to_be_enabled()


def test_one_tick_in_trouble_does_not_hold_up_the_others(phone: Any, service: Running, stub: Stub) -> None:
    def break_on_wall_1(broken: bool) -> Answer:
        async def answer(request: Any, take: Callable[[], Response]) -> Response:
            form = await fields(request)
            return Response("no", 500) if broken and form["visit"] == "1" else take()

        return answer

    phone.goto(service.url())
    stub.answer = break_on_wall_1(True)
    phone.context.set_offline(True)
    for wall in ("1", "2", "3"):
        press(phone, wall)
    expect_kept(phone, "wall 1: misted", "wall 2: misted", "wall 3: misted")
    phone.context.set_offline(False)
    expect_kept(phone, "wall 1: misted")
    expect(phone.locator(".kept-head")).to_have_text("No answer. 1 tick is kept.")
    assert sorted(one["visit"] for one in stub.taken.values()) == ["2", "3"]
    stub.answer = break_on_wall_1(False)
    expect_done(phone, "1", "2", "3")


def test_a_long_retry_after_is_kept_to(phone: Any, service: Running, stub: Stub) -> None:
    async def busy(request: Any, take: Callable[[], Response]) -> Response:
        return JSONResponse({"kept": False, "text": "Busy."}, 429, {"Retry-After": "60"})

    stub.answer = busy
    phone.goto(service.url())
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    phone.wait_for_timeout(2500)  # the timer has come twice
    press(phone, "2")
    expect_kept(phone, "wall 1: misted", "wall 2: misted")
    assert len(stub.posts) == 1


def test_what_was_undone_in_flight_and_taken_all_the_same_is_shown(phone: Any, service: Running, stub: Stub) -> None:
    Badly(stub, answer_lost)
    phone.goto(service.url())
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    phone.click(".kept-undo")
    expect_kept(phone)
    phone.goto(service.url())
    expect_done(phone, "1")


def test_a_link_that_is_no_more_takes_its_pages_along(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    stub.gone.add(ANNA)
    phone.reload()
    expect(phone.locator("p")).to_have_text("This link is no more.")
    phone.wait_for_timeout(300)
    phone.context.set_offline(True)
    phone.reload()
    expect(phone.locator("h1")).to_have_text("No signal")
