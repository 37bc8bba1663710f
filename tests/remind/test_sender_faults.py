"""A state that is full or locked, a text or channel that breaks, a clock of the machine that jumps, and stopping."""

from __future__ import annotations

import logging
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, tzinfo
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from apscheduler.executors import base as executor
from apscheduler.schedulers import base
from apscheduler.triggers import interval
from sending import BUSY, HOUR, MINUTE, NOON, OK, SECOND, Court, Recorder, occasion
from sqlalchemy import event

from curing.model.reminders import Answer, Kind, Outbox, Outcome, RowState
from curing.remind import sender as sender_module
from curing.remind.alive import Alive, goes_well
from curing.remind.waking import Reminding
from curing.store import faults

WAITING, SENT, DEAD = RowState.WAITING, RowState.SENT, RowState.DEAD


@pytest.fixture
def court(tmp_path: Path) -> Iterator[Court]:
    made = Court(tmp_path)
    yield made
    made.close()


def until(true: Callable[[], bool], seconds: float = 8.0) -> bool:
    end = time.monotonic() + seconds
    while not true() and time.monotonic() < end:
        time.sleep(0.01)
    return true()


# -- the state -------------------------------------------------------------------------------


def full(court: Court, yes: bool) -> None:
    """Let the database of a court grow no more, or again, as on a full disk."""
    with sqlite3.connect(court.store.database) as raw:
        (pages,) = raw.execute("PRAGMA page_count").fetchone()
    court.store._engine.dispose()
    limit = pages if yes else 1_000_000
    court.limit[0] = limit


@pytest.fixture
def small(court: Court) -> Court:
    court.limit = [1_000_000]
    event.listen(
        court.store._engine,
        "connect",
        lambda raw, _: raw.execute(f"PRAGMA max_page_count = {court.limit[0]}").fetchall(),
    )
    court.store._engine.dispose()
    return court


def test_a_disk_that_is_full_when_the_answer_comes_repeats_nothing(small: Court) -> None:
    """What was sent is kept in memory until the state takes it, also beyond the time a claim lasts."""
    court = small
    long = Answer(Outcome.ACCEPTED, "taken")
    court.email.answers = {"ida": [long]}
    court.list = [occasion("a")]
    kept = court.store.keep_rows

    def refuse_marks(steps, fresh, now, **more):
        if any(step.state is SENT for step in steps):
            raise faults.fault(court.store.database, "state: the disk is full, nothing was changed; free some space; x")
        return kept(steps, fresh, now, **more)

    court.store.keep_rows = refuse_marks
    assert court.wake()
    for minutes in range(1, 6):
        assert not court.wake(NOON + minutes * MINUTE)
    assert court.email.texts == ["a"]
    assert court.state("a") is WAITING
    court.store.keep_rows = kept
    assert court.wake(NOON + 6 * MINUTE)
    assert (court.email.texts, court.state("a")) == (["a"], SENT)
    (row,) = court.rows()
    assert (row.again, row.text) == (0, "a")


def test_what_is_kept_in_memory_is_not_claimed_again_when_its_claim_is_over(tmp_path: Path) -> None:
    court = Court(tmp_path, threads=1)
    kept = court.store.keep_rows

    def refuse_a(steps, fresh, now, **more):
        if any(step.state is SENT and step.row.key == "a" for step in steps):
            raise faults.fault(court.store.database, "state: the disk is full, nothing was changed; free some space; x")
        return kept(steps, fresh, now, **more)

    def later() -> None:
        if court.email.sent:
            court.now = NOON + 2 * MINUTE

    court.store.keep_rows, court.email.asked = refuse_a, later
    court.list = [occasion("a"), occasion("b", "bo")]
    court.wake()
    assert court.email.texts == ["a", "b"]
    court.store.keep_rows = kept
    court.close()


def test_what_was_taken_is_sent_also_when_another_has_claimed_it_meanwhile(court: Court) -> None:
    """The machine slept while a channel had the message, and another one woke first."""
    court.email.asked = lambda: court.store.claim_rows("another", "email", NOON + 2 * MINUTE) and None
    court.list = [occasion("a")]
    court.wake()
    assert court.state("a") is SENT


def test_on_a_disk_that_is_really_full_nothing_is_sent_that_could_not_be_kept(small: Court) -> None:
    court = small
    court.wake()
    court.list = [occasion(f"{n:04}" + "x" * 900, "bo") for n in range(60)]
    full(court, True)
    assert not court.wake(NOON + SECOND)
    assert court.email.sent == []
    full(court, False)
    assert court.wake(NOON + 2 * SECOND)
    assert len(court.email.sent) == 1
    assert {row.state for row in court.rows()} == {SENT}


def test_a_state_that_is_locked_is_waited_for_and_nothing_is_lost(
    court: Court, monkeypatch: pytest.MonkeyPatch
) -> None:
    court.wake()
    court.list = [occasion("a")]
    raw = sqlite3.connect(court.store.database, isolation_level=None, check_same_thread=False)
    monkeypatch.setattr(faults, "BUSY_MS", 50)
    court.store._engine.dispose()
    raw.execute("BEGIN IMMEDIATE")
    assert not court.wake(NOON + SECOND)
    raw.execute("ROLLBACK")
    assert court.wake(NOON + 2 * SECOND)
    assert court.email.texts == ["a"]


def test_locked_between_claim_and_begin_it_goes_out_at_the_next_look(court: Court) -> None:
    court.list = [occasion("a")]
    begin, failed = court.store.begin_rows, []

    def locked_once(*said, **more):
        if not failed:
            failed.append(1)
            raise faults.fault(court.store.database, "state: locked; x; y")
        return begin(*said, **more)

    court.store.begin_rows = locked_once
    court.wake()
    assert court.email.texts == []
    court.wake(NOON + 10 * SECOND)
    assert court.email.texts == ["a"]
    assert court.rows()[0].again == 0


# -- what breaks -----------------------------------------------------------------------------


def test_a_message_that_can_not_be_made_holds_up_no_other_and_is_reported(court: Court, caplog) -> None:
    whole = court.sender._telling._compose

    def broken(sight, person, occasions, key, over):
        if any(one.key == "bad" for one in occasions):
            raise KeyError("secret-link-and-address")
        return whole(sight, person, occasions, key, over)

    court.sender._telling._compose = broken
    court.list = [
        occasion("bad", "bo", kind=Kind.HOLD, until=NOON + 20 * MINUTE),
        occasion("good", "bo"),
        occasion("good"),
    ]
    for minutes in range(21):
        court.wake(NOON + minutes * MINUTE)
    assert sorted(court.email.took) == [("bo", "good"), ("ida", "good")]
    state, answer = court.states()["bad", "email"]
    assert state is DEAD
    assert "no message could be made (KeyError), which is a fault of curing" in answer
    assert court.store.outbox_figures(court.now).dead == 1
    assert "KeyError in test_sender_faults.py" in " ".join(str(one.__dict__.get("broke")) for one in caplog.records)
    assert "secret-link" not in caplog.text


def test_a_channel_that_raises_may_have_sent(court: Court, caplog) -> None:
    said = []

    def breaks_once() -> None:
        if not said:
            said.append(1)
            raise RuntimeError("ida@secret.example")

    court.email.asked = breaks_once
    court.list = [occasion("a", "bo")]
    court.wake()
    court.wake(NOON + 30 * SECOND)
    (row,) = court.rows()
    assert (row.state, row.again, court.email.texts) == (SENT, 1, ["a"])
    assert "secret.example" not in caplog.text


def test_an_answer_in_letters_that_nobody_can_write_is_kept_all_the_same(court: Court) -> None:
    court.email.answers = {"bo": [Answer(Outcome.ACCEPTED, "ok \udcff" + "x" * 500)]}
    court.list = [occasion("a", "bo")]
    court.wake()
    court.wake(NOON + 2 * MINUTE)
    assert len(court.email.sent) == 1
    assert court.state("a") is SENT


def test_an_answer_whose_words_the_state_refuses_is_kept_without_them(court: Court) -> None:
    kept = court.store.keep_rows

    def refuses_words(steps, fresh, now, **more):
        if any(step.state is SENT and step.answer for step in steps):
            raise ValueError("surrogates not allowed")
        return kept(steps, fresh, now, **more)

    court.store.keep_rows = refuses_words
    court.list = [occasion("a", "bo")]
    for minutes in range(4):
        court.wake(NOON + minutes * MINUTE)
    assert (len(court.email.sent), court.state("a")) == (1, SENT)


def test_what_falls_due_can_not_be_told_and_nothing_is_dropped(court: Court) -> None:
    court.email.answers = {"bo": [BUSY, OK]}
    court.list = [occasion("a", "bo")]
    court.wake()
    finds = court.sender._falls_due

    def breaks(*_: object):
        raise ZeroDivisionError

    court.sender._falls_due = breaks
    assert not court.wake(NOON + MINUTE)
    assert court.state("a") is WAITING
    court.sender._falls_due = finds
    court.wake(NOON + 2 * MINUTE)
    assert court.email.texts == ["a"]


def test_a_job_file_with_faults_is_told_from_its_last_form(court: Court) -> None:
    court.file.write_text("curing: 1\nnonsense")
    court.list = [occasion("a")]
    court.wake()
    assert court.email.texts == ["a"]


# -- waking ----------------------------------------------------------------------------------


class Woken:
    def __init__(self, breaks: bool = False, takes: float = 0.0) -> None:
        self.times: list[float] = []
        self.breaks, self.takes, self.stopped = breaks, takes, 0

    def wake(self) -> bool:
        self.times.append(time.monotonic())
        time.sleep(self.takes)
        if self.breaks:
            raise RuntimeError("a link")
        return True

    def stop(self, seconds: float = 10.0) -> bool:
        self.stopped += 1
        return True


def test_it_looks_at_once_and_then_every_few_seconds_also_when_a_sender_breaks(caplog) -> None:
    well: list[bool] = []
    sound, broken = Woken(), Woken(breaks=True)
    with caplog.at_level(logging.CRITICAL), Reminding([broken, sound], every=0.2, after=well.append):
        assert until(lambda: len(sound.times) >= 5)
    assert sound.times[1] - sound.times[0] < 0.35
    assert len(broken.times) >= 5
    assert set(well) == {False}
    assert (sound.stopped, broken.stopped) == (1, 1)
    count = len(sound.times)
    time.sleep(0.4)
    assert len(sound.times) == count


def test_a_look_that_takes_long_is_never_taken_twice_at_once_and_none_piles_up() -> None:
    slow = Woken(takes=0.5)
    with Reminding([slow], every=0.1):
        assert until(lambda: len(slow.times) >= 4)
    gaps = [b - a for a, b in zip(slow.times, slow.times[1:], strict=False)]
    assert min(gaps) >= 0.5


def test_a_sender_added_later_is_woken(caplog) -> None:
    late = Woken()
    with Reminding(every=0.1) as reminding:
        assert until(lambda: reminding.last is True)
        reminding.add(late)
        assert until(lambda: len(late.times) >= 2)


def test_leaving_waits_for_the_look_that_is_under_way() -> None:
    slow = Woken(takes=0.4)
    with Reminding([slow], every=0.1):
        assert until(lambda: len(slow.times) == 2)
    assert time.monotonic() - slow.times[-1] >= 0.39
    time.sleep(0.3)
    assert len(slow.times) == 2


@pytest.mark.parametrize("hours", [2, -2], ids=["ahead", "back"])
def test_a_clock_of_the_machine_that_jumps_lets_nobody_sleep(hours: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The scheduler reckons by that clock; set back two hours it would sleep for two hours."""
    off = [timedelta(0)]
    machine = datetime.now  # noqa: TID251

    class Jumps(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:
            return machine(tz) + off[0]

    for module in (base, interval, executor):
        if hasattr(module, "datetime"):
            monkeypatch.setattr(module, "datetime", Jumps)
    woken = Woken()
    with Reminding([woken], every=0.2):
        assert until(lambda: len(woken.times) >= 2)
        off[0] = timedelta(hours=hours)
        before = len(woken.times)
        assert until(lambda: len(woken.times) >= before + 4, 5)


def test_stopping_finishes_what_is_under_way_and_begins_nothing(tmp_path: Path) -> None:
    court = Court(tmp_path, channels=(Recorder("email", takes=0.5),), threads=1)
    court.list = [occasion("a", "bo"), occasion("b", "ida"), occasion("c", "bo", kind=Kind.HOLD)]
    with Reminding([court.sender], every=0.1):
        assert until(lambda: any(row.tries for row in court.rows()))
    states = [row.state for row in court.rows()]
    assert states.count(SENT) == len(court.email.sent) == 1
    assert states.count(WAITING) == 2
    court.job.close()


def test_stopping_does_not_wait_for_ever(tmp_path: Path) -> None:
    court = Court(tmp_path, channels=(Recorder("email", takes=3.0),), threads=1)
    court.list = [occasion("a", "bo")]
    court.sender.wake()
    assert until(lambda: any(row.tries for row in court.rows()))
    began = time.monotonic()
    assert not court.sender.stop(0.3)
    assert time.monotonic() - began < 1
    court.sender.settled(5)
    court.job.close()


# -- the second place ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stands", "well"),
    [
        (Outbox(), True),
        (Outbox(waiting=3, oldest=NOON - 14 * MINUTE), True),
        (Outbox(waiting=1, oldest=NOON - 15 * MINUTE), False),
        (Outbox(dead=1), False),
        (Outbox(nowhere=2), True),
    ],
)
def test_what_counts_as_well(stands: Outbox, well: bool) -> None:
    assert goes_well([Outbox(), stands], NOON) is well


def test_the_second_place_is_asked_only_while_all_goes_well(caplog) -> None:
    asked: list[str] = []

    class Place(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(500)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Place)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    stands = [Outbox()]
    alive = Alive(f"http://127.0.0.1:{server.server_port}/secret-word", lambda: stands, every=0.3, now=lambda: NOON)
    alive.tell(False)
    time.sleep(0.1)
    assert asked == []
    alive.tell(True)
    assert until(lambda: len(asked) == 1)
    alive.tell(True)  # not time yet
    time.sleep(0.4)
    stands[0] = Outbox(dead=1)
    alive.tell(True)
    time.sleep(0.1)
    assert len(asked) == 1
    stands[0] = Outbox()
    alive.tell(True)
    assert until(lambda: len(asked) == 2)
    server.shutdown()
    server.server_close()
    time.sleep(0.35)
    alive.tell(True)  # nobody there
    assert until(lambda: "can't be told" in caplog.text)
    assert "secret-word" not in caplog.text


def test_rows_are_forgotten_after_90_days(court: Court) -> None:
    court.list = [occasion("a")]
    court.wake()
    court.list = []
    court.wake(NOON + 89 * 24 * HOUR)
    assert len(court.rows()) == 1
    court.wake(NOON + 91 * 24 * HOUR)
    assert court.rows() == []
    assert sender_module.KEEP.days == 90
