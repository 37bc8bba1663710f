"""A tick with signal: taken at once, and the page goes on to the next wall."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from asking_phone import expect
from axe import serious
from stub import ANNA, Running, Stub, now

pytestmark = pytest.mark.browser


def test_a_tick_is_taken_and_the_next_wall_has_the_focus(phone: Any, service: Running, stub: Stub) -> None:
    phone.goto(service.url())
    phone.click("#form-1 button[value=misted]")
    expect(phone.locator("#done-1")).to_contain_text("Wall 1: misted")
    expect(phone.locator("#wall-2")).to_be_focused()
    expect(phone.locator("#said")).to_have_text("Sent.")
    expect(phone.locator("#kept")).to_be_hidden()
    assert [one["visit"] for one in stub.of("misted")] == ["1"]
    assert len(stub.posts) == 1


def test_the_page_stays_where_it_was(phone: Any, service: Running) -> None:
    phone.set_viewport_size({"width": 360, "height": 200})
    phone.goto(service.url())
    phone.locator("#form-3 button[value=damp]").scroll_into_view_if_needed()
    before = phone.evaluate("pageYOffset")
    assert before > 0
    phone.click("#form-3 button[value=damp]")
    expect(phone.locator("#done-3")).to_have_count(1)
    # The next wall, above, is brought into view and no further.
    expect(phone.locator("#wall-1")).to_be_focused()
    box = phone.locator("#wall-1").bounding_box()
    assert box is not None
    assert -1 <= box["y"] <= 200


def test_the_answer_pressed_is_the_answer_sent(phone: Any, service: Running, stub: Stub) -> None:
    phone.goto(service.url())
    phone.select_option("#form-2 select", "30")
    phone.click("#form-2 button[value=damp]")
    expect(phone.locator("#done-2")).to_contain_text("damp")
    (taken,) = stub.taken.values()
    assert taken["ago"] == "30"
    early = now() - timedelta(minutes=30)
    assert abs(datetime.fromisoformat(taken["when"]) - early) < timedelta(seconds=20)


def test_two_presses_are_one_tick(phone: Any, service: Running, stub: Stub) -> None:
    phone.goto(service.url())
    phone.dblclick("#form-1 button[value=misted]")
    expect(phone.locator("#done-1")).to_have_count(1)
    assert len(stub.taken) == 1


def test_a_press_while_the_page_is_being_drawn_again_is_not_lost(phone: Any, service: Running, stub: Stub) -> None:
    phone.goto(service.url())
    stub.page_delay = 1
    phone.evaluate(
        """() => {
          const press = (wall) => document.querySelector(`#form-${wall} button[value=misted]`).click();
          const look = setInterval(() => {
            if (!sessionStorage.getItem("curing-back")) return; // set as the page asks for itself again
            clearInterval(look);
            press(2);
          }, 5);
          press(1);
        }"""
    )
    expect(phone.locator("#done-1")).to_have_count(1)
    expect(phone.locator("#done-2")).to_have_count(1)
    assert [one["visit"] for one in stub.taken.values()] == ["1", "2"]


def test_what_is_being_filled_in_is_not_swept_away(phone: Any, service: Running, stub: Stub) -> None:
    phone.goto(service.url())
    let_go = stub.hold_answers()
    phone.click("#form-2 button[value=misted]")
    phone.fill("#form-3 input[name=clock]", "06:40")
    let_go()
    expect(phone.locator("#form-2 .held")).to_have_text("Sent")
    expect(phone.locator("#form-3 input[name=clock]")).to_have_value("06:40")


def test_without_script_forms_are_posted_plainly(new_context: Callable[..., Any], service: Running, stub: Stub) -> None:
    phone = new_context(java_script_enabled=False).new_page()
    phone.goto(service.url())
    assert phone.locator("#no-script").is_visible()
    assert phone.locator("[data-copy]").is_hidden()
    phone.click("#form-1 button[value=misted]")
    assert phone.url == service.url()
    assert "Wall 1: misted" in phone.inner_text("#done-1")
    assert len(stub.taken) == 1


def test_with_script_what_needs_it_is_there(phone: Any, service: Running) -> None:
    phone.goto(service.url())
    expect(phone.locator("#no-script")).to_be_hidden()
    expect(phone.locator("[data-copy]")).to_be_visible()
    expect(phone.locator("#copy")).to_be_hidden()


def test_a_link_is_copied(new_context: Callable[..., Any], service: Running) -> None:
    context = new_context(permissions=["clipboard-read", "clipboard-write"])
    phone = context.new_page()
    phone.goto(service.url())
    phone.click("[data-copy]")
    expect(phone.locator("#said")).to_have_text("Copied.")
    assert phone.evaluate("navigator.clipboard.readText()") == "https://example.invalid/feed"


def test_the_focus_goes_to_what_is_wrong(phone: Any, service: Running) -> None:
    def with_error(route: Any) -> None:
        answer = route.fetch()
        route.fulfill(response=answer, body=answer.text().replace("<h1>", '<p class="error" id="wrong">No.</p><h1>'))

    phone.context.route("**/today", with_error)
    phone.goto(service.url())
    expect(phone.locator("#wrong")).to_be_focused()


def test_the_parts_of_the_list_are_readable_by_all(phone: Any, service: Running, faults: Any) -> None:
    faults.allow_no_signal()
    phone.goto(service.url(ANNA))
    phone.context.set_offline(True)
    phone.click("#form-1 button[value=misted]")
    expect(phone.locator("#kept")).to_be_visible()
    assert serious(phone) == []
