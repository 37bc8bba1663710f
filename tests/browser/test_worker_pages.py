"""Pages kept readable without signal, each person's for itself, and no more of them than told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from asking_phone import expect, kept_pages, open_kept, until
from stub import ANNA, BEN, Running, Stub

pytestmark = pytest.mark.browser


@pytest.fixture(autouse=True)
def badly(faults: Any) -> None:
    faults.allow_no_signal()


def test_pages_the_page_names_are_kept_in_advance(phone: Any, service: Running) -> None:
    open_kept(phone, service.url())
    until(phone, "caches.match(document.querySelector('a[data-keep-page]').href).then((copy) => Boolean(copy))")
    phone.context.set_offline(True)
    phone.click("a[data-keep-page]")
    phone.wait_for_url("**/wall/2")
    expect(phone.locator("#copy")).to_be_visible()


def test_a_page_that_is_not_kept_says_so_and_lists_what_waits(phone: Any, service: Running) -> None:
    open_kept(phone, service.url())
    phone.context.set_offline(True)
    phone.click("#form-1 button[value=misted]")
    expect(phone.locator("#kept")).to_be_visible()
    phone.goto(service.url(page="wall/3"))
    expect(phone.locator("h1")).to_have_text("No signal")
    expect(phone.locator(".kept-text")).to_have_text("wall 1: misted")
    assert f"/s/{ANNA}/wall/3" not in kept_pages(phone)


def test_a_service_that_hangs_gives_the_kept_copy_after_four_seconds(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    stub.page_delay = 6
    begun = phone.evaluate("Date.now()")
    phone.reload()
    expect(phone.locator("#copy")).to_be_visible()
    assert 3_500 < phone.evaluate("performance.timeOrigin") - begun + phone.evaluate("performance.now()") < 6_000


def test_a_slow_service_is_waited_for(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    stub.page_delay = 1.5
    phone.reload()
    expect(phone.locator("#copy")).to_be_hidden()


def test_a_service_in_trouble_gives_the_kept_copy(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    stub.pages_fail = True
    phone.reload()
    expect(phone.locator("#copy")).to_be_visible()


def test_a_wall_that_is_not_there_takes_no_other_page_along(phone: Any, service: Running) -> None:
    open_kept(phone, service.url())
    phone.goto(service.url(page="wall/9"))
    phone.goto(service.url(page="wall/2"))
    phone.wait_for_timeout(200)
    assert f"/s/{ANNA}/today" in kept_pages(phone)
    assert f"/s/{ANNA}/wall/9" not in kept_pages(phone)


def test_a_revoked_link_leaves_the_other_person_s_pages(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url(BEN))
    open_kept(phone, service.url(ANNA))
    stub.gone.add(ANNA)
    phone.goto(service.url(ANNA, "wall/2"))
    phone.goto(service.url(BEN))
    until(phone, f"caches.match('/s/{ANNA}/today').then((copy) => copy === undefined)")
    assert {path.split("/")[2] for path in kept_pages(phone)} == {BEN}


def test_a_revoked_link_is_noticed_by_a_tick_too(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    stub.gone.add(ANNA)
    let_go = stub.hold_answers()
    phone.click("#form-1 button[value=misted]")
    phone.fill("#form-3 input[name=clock]", "06:40")  # so that the page stays
    let_go()
    until(phone, f"caches.match('/s/{ANNA}/today').then((copy) => copy === undefined)")


def test_no_more_pages_than_forty(phone: Any, service: Running) -> None:
    open_kept(phone, service.url())
    phone.context.service_workers[0].evaluate(
        f"""async () => {{
          for (let n = 0; n < 45; n += 1) {{
            const answer = new Response('<html data-now="2026-06-09T05:12:00Z">', {{
              headers: {{ "Content-Type": "text/html" }} }});
            await keep(new URL("/s/{ANNA}/day/" + n, self.location.href), answer, Date.now());
          }}
        }}"""
    )
    pages = kept_pages(phone)
    assert len(pages) == 40
    assert f"/s/{ANNA}/day/44" in pages
    assert f"/s/{ANNA}/day/3" not in pages


def test_a_log_in_page_of_some_network_is_not_kept(phone: Any, service: Running) -> None:
    open_kept(phone, service.url())
    kept = phone.context.service_workers[0].evaluate(
        f"""async () => {{
          const place = new URL("/s/{ANNA}/walls", self.location.href);
          const page = {{ headers: {{ "Content-Type": "text/html" }} }};
          await keep(place, new Response("<html><p>Accept the terms.", page), Date.now());
          return Boolean(await caches.match(place.href));
        }}"""
    )
    assert kept is False


def test_the_link_itself_opens_today_without_signal(phone: Any, service: Running) -> None:
    open_kept(phone, service.url())
    phone.context.set_offline(True)
    phone.goto(service.url(page=""))
    expect(phone.locator("h1")).to_have_text("anna today")


def test_posts_of_forms_go_past_the_worker(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    phone.evaluate("document.getElementById('form-1').removeAttribute('data-keep')")
    phone.click("#form-1 button[value=misted]")
    expect(phone.locator("#done-1")).to_have_count(1)
    assert "waited" not in stub.posts[0]


@pytest.mark.parametrize(
    "broken",
    [
        "Object.defineProperty(self, 'indexedDB', { value: undefined })",
        "IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError') }",
    ],
)
def test_a_phone_that_stores_nothing_posts_plainly(
    new_context: Callable[..., Any], service: Running, stub: Stub, broken: str
) -> None:
    context = new_context()
    context.add_init_script(broken)
    phone = context.new_page()
    phone.goto(service.url())
    phone.click("#form-1 button[value=misted]")
    expect(phone.locator("#done-1")).to_have_count(1)
    assert [one["what"] for one in stub.taken.values()] == ["misted"]
    assert "waited" not in stub.posts[0]


def test_a_kept_copy_gives_way_once_the_signal_is_steady(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    service.stop()
    phone.reload()
    expect(phone.locator("#copy")).to_be_visible()
    phone.fill("#form-3 input[name=clock]", "06:40")
    service.start()
    phone.wait_for_timeout(1500)  # nothing is swept away that is being filled in
    expect(phone.locator("#form-3 input[name=clock]")).to_have_value("06:40")
    service.stop()
    phone.reload()
    expect(phone.locator("#copy")).to_be_visible()
    service.start()
    expect(phone.locator("#copy")).to_be_hidden()
