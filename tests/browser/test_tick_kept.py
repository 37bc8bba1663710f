"""A tick without signal: kept, shown, sent once when the signal is back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from asking_phone import expect, expect_done, expect_kept, open_as_kept, open_kept, press, until
from stub import ANNA, BEN, Resetting, Running, Stub

pytestmark = pytest.mark.browser


@pytest.fixture(autouse=True)
def cut(faults: Any) -> None:
    faults.allow_no_signal()


def test_kept_without_signal_and_sent_once_with_it(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    phone.context.set_offline(True)
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    expect(phone.locator(".kept-head")).to_have_text("No signal. 1 tick is kept.")
    expect(phone.locator("#said")).to_have_text("Kept on this phone: wall 1: misted.")
    expect(phone.locator("#form-1 .held")).to_have_text("Kept on this phone")
    expect(phone.locator("#form-1 button[value=misted]")).to_be_hidden()
    expect(phone.locator("#form-2 button[value=misted]")).to_be_focused()
    press(phone, "2", "damp")
    expect_kept(phone, "wall 1: misted", "wall 2: damp")
    expect(phone.locator(".kept-head")).to_have_text("No signal. 2 ticks are kept.")
    assert stub.posts == []
    phone.context.set_offline(False)
    expect_done(phone, "1", "2")
    expect_kept(phone)
    assert [one["what"] for one in stub.posts] == ["misted", "damp"]


def test_the_page_opens_again_without_signal(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    phone.context.set_offline(True)
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    phone.reload()
    expect_kept(phone, "wall 1: misted")
    expect(phone.locator("h1")).to_have_text("anna today")
    expect(phone.locator("#copy")).to_be_visible()
    expect(phone.locator("#form-1 .held")).to_have_text("Kept on this phone")
    press(phone, "3")
    expect_kept(phone, "wall 1: misted", "wall 3: misted")
    phone.context.set_offline(False)
    expect_done(phone, "1", "3")
    expect(phone.locator("#copy")).to_be_hidden()
    assert len(stub.posts) == 2


def test_the_service_killed_and_started_again(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    service.stop()
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    phone.reload()
    expect_kept(phone, "wall 1: misted")
    press(phone, "2")
    expect_kept(phone, "wall 1: misted", "wall 2: misted")
    service.start()
    expect_done(phone, "1", "2")  # by the timer: nothing tells the phone
    assert len(stub.taken) == len(stub.posts) == 2


def test_a_closed_browser_keeps_ticks_and_page(start_phone: Callable[..., Any], service: Running, stub: Stub) -> None:
    phone = start_phone()
    page = phone.new_page()
    open_kept(page, service.url())
    service.stop()
    press(page, "1")
    expect_kept(page, "wall 1: misted")
    phone.close()

    phone = start_phone()
    page = phone.new_page()
    page.goto(service.url())
    expect_kept(page, "wall 1: misted")
    press(page, "2")
    expect_kept(page, "wall 1: misted", "wall 2: misted")
    phone.close()

    service.start()
    page = start_phone().new_page()
    page.goto(service.url())
    expect_done(page, "1", "2")
    assert len(stub.taken) == len(stub.posts) == 2


def test_a_new_version_keeps_ticks_and_page(phone: Any, service: Running, stub: Stub) -> None:
    async def busy(request: Any, take: Any) -> Any:
        from starlette.responses import JSONResponse

        return JSONResponse({"kept": False, "text": "Busy."}, 503)

    open_kept(phone, service.url())
    stub.answer = busy
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    stub.version = "v2"
    phone.goto(service.url())
    expect(phone.locator("header")).to_contain_text("Version v2")
    expect_kept(phone, "wall 1: misted")
    until(phone, "caches.keys().then((names) => names.sort().join() === 'curing-pages-v2,curing-static-v2')")
    phone.context.set_offline(True)
    phone.reload()
    expect(phone.locator("header")).to_contain_text("Version v2")
    expect_kept(phone, "wall 1: misted")
    stub.answer = None
    phone.context.set_offline(False)
    expect_done(phone, "1")
    assert len(stub.taken) == 1


def test_a_phone_that_updates_and_loses_the_signal_has_its_old_pages(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url(page="wall/2"))
    open_kept(phone, service.url())
    stub.version = "v2"
    stub.pages_fail = True  # the new worker comes, but no page with it
    phone.evaluate("navigator.serviceWorker.getRegistration().then((registration) => registration.update())")
    until(phone, "caches.keys().then((names) => names.includes('curing-static-v2'))")
    phone.wait_for_timeout(300)
    phone.context.set_offline(True)
    phone.goto(service.url(page="wall/2"))
    expect(phone.locator("header")).to_contain_text("Version v1")
    expect(phone.locator("#copy")).to_be_visible()


def test_undo_takes_it_out(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    phone.context.set_offline(True)
    press(phone, "1")
    press(phone, "2")
    expect_kept(phone, "wall 1: misted", "wall 2: misted")
    phone.click("#kept li:nth-child(1) .kept-undo")
    expect_kept(phone, "wall 2: misted")
    expect(phone.locator("#said")).to_have_text("Taken out: wall 1: misted.")
    expect(phone.locator("#form-1 button[value=misted]")).to_be_focused()
    press(phone, "1", "damp")
    expect_kept(phone, "wall 2: misted", "wall 1: damp")
    phone.context.set_offline(False)
    expect_done(phone, "1", "2")
    assert [(one["visit"], one["what"]) for one in stub.posts] == [("2", "misted"), ("1", "damp")]


def test_undo_of_the_last_leaves_nothing_to_send(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    phone.context.set_offline(True)
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    phone.click(".kept-undo")
    expect_kept(phone)
    phone.reload()
    expect_kept(phone)
    phone.context.set_offline(False)
    phone.wait_for_timeout(1500)
    expect_done(phone)
    assert stub.posts == []


def test_after_undo_the_next_answer_is_not_taken_for_a_repeat(phone: Any, service: Running, stub: Stub) -> None:
    first = open_as_kept(phone, service.url())
    service.stop()
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    phone.click(".kept-undo")
    phone.reload()
    expect(phone.locator("#form-1 input[name=key]")).not_to_have_value(first)
    press(phone, "1", "damp")
    expect_kept(phone, "wall 1: damp")
    service.start()
    expect_done(phone, "1")
    assert [one["what"] for one in stub.taken.values()] == ["damp"]
    assert first not in stub.taken


def test_two_tabs_have_one_queue(phone: Any, service: Running, stub: Stub) -> None:
    other = phone.context.new_page()
    open_kept(phone, service.url())
    open_kept(other, service.url())
    phone.context.set_offline(True)
    press(phone, "1")
    press(other, "2")
    expect_kept(phone, "wall 1: misted", "wall 2: misted")
    expect_kept(other, "wall 1: misted", "wall 2: misted")
    expect(other.locator("#form-1 .held")).to_have_text("Kept on this phone")  # its own key, the same visit
    phone.context.set_offline(False)
    expect_done(phone, "1", "2")
    expect_done(other, "1", "2")
    assert len(stub.posts) == 2
    assert len(stub.taken) == 2


def test_two_tabs_of_one_kept_copy_count_once(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    phone.context.set_offline(True)
    phone.reload()
    other = phone.context.new_page()
    other.goto(service.url())
    key = "#form-1 input[name=key]"
    assert phone.input_value(key) == other.input_value(key)
    phone.evaluate("document.querySelector('#form-1 button').click()")
    other.evaluate("document.querySelector('#form-1 button').click()")
    expect_kept(phone, "wall 1: misted")
    expect_kept(other, "wall 1: misted")
    phone.context.set_offline(False)
    expect_done(other, "1")
    assert len(stub.taken) == 1


def test_one_key_is_kept_once(phone: Any, service: Running) -> None:
    open_kept(phone, service.url())
    phone.context.set_offline(True)
    tick = "{ key: 'k', visits: ['1'], path: '/s/x/tick', fields: [], text: '', pressed: 0, when: 0, clock: '' }"
    assert phone.evaluate(f"Promise.all([keptTicks.add({tick}), keptTicks.add({tick})])") == [True, False]
    assert phone.evaluate("keptTicks.all().then((kept) => kept.length)") == 1


def test_two_people_on_one_phone_do_not_mix(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url(ANNA))
    other = phone.context.new_page()
    open_kept(other, service.url(BEN))
    phone.context.set_offline(True)
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    expect_kept(other)
    expect(other.locator("#form-1 .held")).to_have_count(0)
    press(other, "2")
    expect_kept(other, "wall 2: misted")
    other.reload()
    expect(other.locator("h1")).to_have_text("ben- today")
    phone.close()
    phone_context = other.context
    phone_context.set_offline(False)
    expect_done(other, "1", "2")  # one page sends for both, each to its own link
    assert {one["visit"]: one["token"] for one in stub.taken.values()} == {"1": ANNA, "2": BEN}


def test_the_worker_sends_when_the_phone_wakes_it(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    service.stop()
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    scope = f"http://127.0.0.1:{service.port}/"
    session = phone.context.new_cdp_session(phone)
    found: list[str] = []
    session.on(
        "ServiceWorker.workerRegistrationUpdated",
        lambda event: found.extend(one["registrationId"] for one in event["registrations"]),
    )
    session.send("ServiceWorker.enable")
    phone.wait_for_timeout(200)
    # A page from elsewhere: no page of ours is open when the signal returns.
    phone.goto("about:blank")
    service.start()
    session.send(
        "ServiceWorker.dispatchSyncEvent",
        {"origin": scope.rstrip("/"), "registrationId": found[0], "tag": "kept", "lastChance": False},
    )
    for _ in range(100):
        if stub.taken:
            break
        phone.wait_for_timeout(50)
    assert len(stub.taken) == 1
    phone.goto(service.url())
    expect_done(phone, "1")
    expect_kept(phone)


def test_a_reset_connection(phone: Any, service: Running, stub: Stub) -> None:
    open_kept(phone, service.url())
    service.stop()
    resetting = Resetting(service.port)
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    assert resetting.resets > 0
    resetting.close()
    service.start()
    expect_done(phone, "1")
    assert len(stub.taken) == 1


def test_the_next_wall_is_unfolded(phone: Any, service: Running) -> None:
    def fold(route: Any) -> None:
        answer = route.fetch()
        text = answer.text().replace('<h2 id="wall-2">Wall 2</h2>', "<details><summary>Wall 2</summary>")
        route.fulfill(response=answer, body=text.replace('<h2 id="wall-3">', '</details><h2 id="wall-3">'))

    phone.context.route("**/today", fold)
    phone.goto(service.url())
    assert phone.locator("#form-2").is_hidden()
    phone.context.set_offline(True)
    press(phone, "1")
    expect(phone.locator("#form-2")).to_be_visible()
    expect(phone.locator("summary")).to_be_focused()


def test_all_forms_of_a_visit_are_answered_together(phone: Any, service: Running, stub: Stub) -> None:
    one = (
        '<form id="%s" method="post" action="/s/' + ANNA + '/tick" data-keep="%s"><input type="hidden" name="key" '
        'value="key-of-%s"><input type="hidden" name="at" value="2026-06-09T05:12:00Z">%s<button name="what" '
        'value="misted">%s</button></form>'
    )
    visit = '<input type="hidden" name="visit" value="%s">'
    more = (
        f"<details id='fold'><summary>Could not</summary>{one % ('why', 'no', 'why', visit % 1, 'No')}</details>"
        + one % ("damp", "damp", "damp", visit % 1, "Damp")
        + one % ("round", "all", "round", visit % 1 + visit % 2, "All done")
    )

    def with_more(route: Any) -> None:
        answer = route.fetch()
        route.fulfill(response=answer, body=answer.text().replace('<h2 id="wall-2">', more + '<h2 id="wall-2">'))

    phone.context.route("**/today", with_more)
    phone.goto(service.url())
    phone.context.set_offline(True)
    press(phone, "1")
    expect_kept(phone, "wall 1: misted")
    expect(phone.locator("form .held")).to_have_count(1)
    expect(phone.locator("#fold")).to_be_hidden()
    expect(phone.locator("#damp")).to_be_hidden()
    expect(phone.locator("#round button")).to_be_focused()  # not answered by one of its walls
    phone.click(".kept-undo")
    expect(phone.locator("#fold")).to_be_visible()
    expect(phone.locator("#damp button")).to_be_enabled()
    phone.click("#round button")
    expect_kept(phone, "all")
    expect(phone.locator("#round .held")).to_be_visible()
    for answered in ("#form-1", "#form-2", "#fold", "#damp"):
        expect(phone.locator(answered)).to_be_hidden()
    expect(phone.locator("#form-3")).to_be_visible()
