"""The true time of the work counts, whatever the phone's clock says and however long the tick waited."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from asking_phone import expect_done, expect_kept, open_as_kept, open_kept, press
from stub import ZONE, Running, Stub, now

pytestmark = pytest.mark.browser
# A clock that is off by as much as `curingOff` says, in ms, and runs on.
SETTABLE_CLOCK = """{
  const True = Date;
  self.curingOff = self.curingOff || 0;
  self.Date = class extends True {
    constructor(...given) { if (given.length) super(...given); else super(True.now() + self.curingOff); }
    static now() { return True.now() + self.curingOff; }
  };
}"""
HOUR = 3600_000


@pytest.fixture
def settable(new_context: Callable[..., Any], faults: Any) -> Any:
    """Return a page of a phone whose clock can be set."""
    faults.allow_no_signal()
    context = new_context()
    context.add_init_script(SETTABLE_CLOCK)
    return context.new_page()


def set_off(page: Any, hours: float) -> None:
    """Set the phone's clock off, in the page and in the worker."""
    page.evaluate(f"self.curingOff = {hours} * {HOUR}")
    for worker in page.context.service_workers:
        worker.evaluate("self.curingOff === undefined && " + SETTABLE_CLOCK.replace("{", "(() => {", 1) + ")()")
        worker.evaluate(f"self.curingOff = {hours} * {HOUR}")


def when(stub: Stub, wall: str = "1") -> datetime:
    """Return when the service takes the work at a wall to have been done."""
    (taken,) = [one for one in stub.taken.values() if one["visit"] == wall]
    return datetime.fromisoformat(taken["when"])


def about(one: datetime, other: datetime) -> bool:
    return abs(one - other) < timedelta(seconds=30)


def shown(page: Any, of: str = "#clock") -> str:
    text: str = page.inner_text(of)
    return text.split()[-1]


def site_time(moment: datetime, form: str = "%H:%M") -> set[str]:
    """Return the time at the site, and the minute before, for a clock that is read a moment later."""
    return {(moment - timedelta(minutes=back)).astimezone(ZONE).strftime(form) for back in (0, 1)}


def test_the_clock_runs_in_the_zone_of_the_site(phone: Any, service: Running) -> None:
    phone.clock.install(time=now())
    phone.goto(service.url())
    opened = now()
    phone.clock.run_for(5 * 60_000)
    assert shown(phone) in site_time(opened + timedelta(minutes=5))
    assert shown(phone, "#form-1 button[value=misted]") == shown(phone)
    assert phone.inner_text("#form-1 button[value=misted] b") == "Done"


def test_the_clock_may_have_twelve_hours(phone: Any, service: Running, stub: Stub) -> None:
    def american(route: Any) -> None:
        answer = route.fetch()
        text = answer.text().replace('lang="en-GB"', 'lang="en-US" data-hours="12"')
        route.fulfill(response=answer, body=text)

    phone.context.route("**/today", american)
    phone.goto(service.url())
    expected = {time.lstrip("0") for time in site_time(now(), "%I:%M %p")}
    text = phone.inner_text("#form-1 button[value=misted]").replace("\u202f", " ").removeprefix("Done ")
    assert text in expected


@pytest.mark.parametrize("hours", [-7, 5])
def test_a_clock_hours_off(new_context: Callable[..., Any], service: Running, stub: Stub, hours: int) -> None:
    context = new_context()
    context.add_init_script(f"self.curingOff = {hours} * {HOUR}")
    context.add_init_script(SETTABLE_CLOCK)
    phone = context.new_page()
    phone.goto(service.url())
    assert abs(phone.evaluate("Date.now()") / 1000 - now().timestamp() - hours * 3600) < 30
    assert shown(phone) in site_time(now())
    press(phone, "1")
    expect_done(phone, "1")
    assert about(when(stub), now())


def test_a_page_drawn_a_while_ago_by_the_service_s_clock_runs_on_from_there(
    phone: Any, service: Running, stub: Stub
) -> None:
    stub.drawn_ago = timedelta(hours=3)  # the service's own day, as in a trial: its clock counts
    phone.goto(service.url())
    assert shown(phone) in site_time(now() - timedelta(hours=3))


@pytest.mark.parametrize("wrong", [0, -2, 9])
def test_a_kept_copy_opened_hours_later_shows_the_true_time(
    settable: Any, service: Running, stub: Stub, wrong: int
) -> None:
    context = settable.context
    open_kept(settable, service.url())
    set_off(settable, wrong)
    open_as_kept(settable, service.url())
    context.set_offline(True)
    # Four hours go by.
    context.add_init_script(f"self.curingOff = (4 + {wrong}) * {HOUR}")
    other = context.new_page()
    other.goto(service.url())
    assert other.locator("#copy").is_visible()
    assert shown(other) in site_time(now() + timedelta(hours=4))
    press(other, "1")
    expect_kept(other, "wall 1: misted")
    assert shown(other, ".kept-time") in site_time(now() + timedelta(hours=4))
    at = other.evaluate("keptTicks.all().then((kept) => kept[0].fields.find((field) => field[0] === 'at')[1])")
    assert about(datetime.fromisoformat(at), now() + timedelta(hours=4))


def test_a_tick_that_waited_two_hours_counts_from_its_press(settable: Any, service: Running, stub: Stub) -> None:
    settable.goto(service.url())
    settable.context.set_offline(True)
    settable.evaluate(f"self.curingOff = -2 * {HOUR}")
    # The press was two hours before the sending, by the phone's clock; and so was the page.
    press(settable, "1")
    expect_kept(settable, "wall 1: misted")
    settable.evaluate("self.curingOff = 0")
    settable.evaluate(
        f"""(async () => {{
          const asked = indexedDB.open("curing");
          await new Promise((done) => {{ asked.onsuccess = done; }});
          const kept = asked.result.transaction("kept", "readwrite").objectStore("kept");
          kept.openCursor().onsuccess = (event) => {{
            const tick = event.target.result.value;
            tick.fields = tick.fields.map(([name, value]) =>
              [name, name === "at" ? new Date(Date.parse(value) - 2 * {HOUR}).toISOString() : value]);
            event.target.result.update(tick);
          }};
          await new Promise((done) => {{ kept.transaction.oncomplete = done; }});
          asked.result.close();
        }})()"""
    )
    settable.context.set_offline(False)
    expect_done(settable, "1")
    (post,) = stub.posts
    assert abs(int(post["waited"]) - 7200) < 30
    assert about(when(stub), now() - timedelta(hours=2))


@pytest.mark.parametrize("hours", [-3, 3])
def test_a_clock_set_right_while_the_tick_waits(settable: Any, service: Running, stub: Stub, hours: int) -> None:
    settable.goto(service.url())
    settable.context.set_offline(True)
    press(settable, "1")
    expect_kept(settable, "wall 1: misted")
    set_off(settable, hours)  # the network tells the phone the time as the signal returns
    settable.context.set_offline(False)
    expect_done(settable, "1")
    assert about(when(stub), now())


def test_a_clock_set_back_does_not_turn_the_page_back(settable: Any, service: Running) -> None:
    settable.goto(service.url())
    set_off(settable, -2)
    settable.evaluate("siteClock.run()")
    assert shown(settable) in site_time(now())


def test_a_reload_without_worker_from_the_browser_s_own_store(settable: Any, service: Running) -> None:
    # The same rendering comes again an hour later: what counts is when it was here first.
    bodies: list[str] = []

    def same(route: Any) -> None:
        if not bodies:
            bodies.append(route.fetch().text())
        route.fulfill(body=bodies[0], content_type="text/html")

    settable.context.route("**/today", same)
    settable.goto(service.url())
    settable.context.add_init_script(f"self.curingOff = {HOUR}")
    settable.reload()
    assert shown(settable) in site_time(now() + timedelta(hours=1))


def test_a_time_set_by_hand_is_shown_as_it_was_said(settable: Any, service: Running, stub: Stub) -> None:
    settable.goto(service.url())
    settable.context.set_offline(True)
    settable.fill("#form-1 input[name=clock]", "06:40")
    press(settable, "1")
    settable.select_option("#form-2 select", "30")
    press(settable, "2")
    expect_kept(settable, "wall 1: misted", "wall 2: misted")
    times = settable.locator(".kept-time").all_inner_texts()
    assert times[0] == "06:40"
    assert times[1].split()[-1] in site_time(now() - timedelta(minutes=30))
    settable.context.set_offline(False)
    expect_done(settable, "1", "2")
    assert [one.get("clock") for one in stub.posts] == ["06:40", ""]
