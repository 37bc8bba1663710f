"""Rows of the outbox: once each, claimed by one, changed only as they were seen."""

from __future__ import annotations

import sqlite3
import threading
from datetime import UTC, datetime, timedelta
from multiprocessing.connection import Connection
from pathlib import Path

import pytest
from state_places import UID
from state_processes import start

from curing.errors import StateError
from curing.model.record import RecordEntry, RecordKind
from curing.model.reminders import Kind, Occasion, Outbox, Row, RowState
from curing.store import Begun, Fresh, Heads, Step, Store, faults, open_state

NOON = datetime(2027, 5, 25, 10, 0, tzinfo=UTC)
SECOND, MINUTE, HOUR, DAY = timedelta(seconds=1), timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
EVER = datetime(2000, 1, 1, tzinfo=UTC)


def told(key: str, person: str = "mia", due: datetime = NOON, kind: Kind = Kind.ROUND, **more: object) -> Occasion:
    return Occasion(key, kind, person, due, due + 3 * HOUR, "2027-05-25 12:00", **more)  # type: ignore[arg-type]


def add(store: Store, *listed: Occasion, channel: str = "email", state: RowState = RowState.WAITING) -> None:
    store.keep_rows([], [Fresh(one, channel, NOON, state) for one in listed], NOON)


def one(store: Store) -> Row:
    (row,) = store.rows_since(EVER)
    return row


def test_a_row_comes_back_as_it_was_added(store: Store) -> None:
    values = {
        "zone": "Europe/Amsterdam",
        "minutes": 35,
        "share": 0.5,
        "lead": True,
        "hold": None,
        "text": "naïve “walk”",
    }
    add(store, told("a", about=("r1", "r2"), faces=("3-out", "n-2-in"), values=values, step=2))
    row = one(store)
    assert (row.about, row.faces, row.values, row.step) == (("r1", "r2"), ("3-out", "n-2-in"), values, 2)
    assert (row.kind, row.state, row.due, row.next, row.made) == (Kind.ROUND, RowState.WAITING, NOON, NOON, NOON)
    assert (row.tries, row.begun, row.again, row.answer, row.answered, row.text) == (0, None, 0, "", None, "")


def test_the_same_key_person_and_channel_is_one_row(store: Store) -> None:
    add(store, told("a"), told("a"), told("a", "noor"))
    add(store, told("a", due=NOON + HOUR))
    add(store, told("a"), channel="push")
    rows = [(row.key, row.person, row.channel) for row in store.rows_since(EVER)]
    assert sorted(rows) == [("a", "mia", "email"), ("a", "mia", "push"), ("a", "noor", "email")]
    assert {row.due for row in store.rows_since(EVER)} == {NOON}


def test_rows_and_the_last_look_stand_together_or_not_at_all(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    store.keep_rows([], [], NOON, look=True)
    bad = Fresh(told("b", values={"at": float("nan")}), "email", NOON)  # can't be written
    with pytest.raises(ValueError):
        store.keep_rows([], [Fresh(told("a"), "email", NOON), bad], NOON + HOUR, look=True)
    assert store.open_rows(EVER) == (NOON, [])
    store.keep_rows([], [], NOON - HOUR, look=True)  # a clock that went back
    assert store.open_rows(EVER) == (NOON - HOUR, [])


def test_open_rows_are_those_that_wait_and_those_of_late(store: Store) -> None:
    add(store, told("old", due=NOON - 9 * DAY), told("new"))
    add(store, told("sent", due=NOON - 9 * DAY), told("sent lately"), state=RowState.SENT)
    assert [row.key for row in store.open_rows(NOON - DAY)[1]] == ["old", "new", "sent lately"]


# -- claiming --------------------------------------------------------------------------------


def test_what_goes_out_as_one_message_is_claimed_together_the_longest_due_first(store: Store) -> None:
    add(store, told("b", "noor"), told("c", "noor", kind=Kind.HOLD), told("d", "mia", NOON - MINUTE), told("e"))
    add(store, told("f", due=NOON + SECOND), told("g", "noor"))
    add(store, told("p"), channel="push")
    claimed = []
    while (rows := store.claim_rows("me", "email", NOON)) and len(claimed) < 9:
        claimed.append("".join(row.key for row in rows))
    assert claimed == ["de", "bg", "c"]


def test_nobody_claims_what_another_has_until_its_time_is_over(store: Store) -> None:
    add(store, told("a"))
    assert len(store.claim_rows("me", "email", NOON)) == 1
    assert store.claim_rows("you", "email", NOON + 59 * SECOND) == []
    assert len(store.claim_rows("you", "email", NOON + 60 * SECOND)) == 1
    store.release_rows([one(store)], "me")  # not mine any more
    assert store.claim_rows("me", "email", NOON + 61 * SECOND) == []
    store.release_rows([one(store)], "you")
    assert len(store.claim_rows("me", "email", NOON + 61 * SECOND)) == 1


def test_what_was_begun_is_not_given_back(store: Store) -> None:
    add(store, told("a"))
    rows = store.claim_rows("me", "email", NOON)
    store.begin_rows(rows, "me", NOON, seen=None)
    store.release_rows(rows, "me")
    assert store.claim_rows("me", "email", NOON) == []


def test_a_claim_of_a_clock_that_was_ahead_does_not_last(store: Store) -> None:
    add(store, told("a"))
    store.claim_rows("me", "email", NOON + 2 * HOUR)
    assert len(store.claim_rows("you", "email", NOON)) == 1


def test_who_read_the_clock_a_little_earlier_takes_nothing_that_is_under_way(store: Store) -> None:
    """Waiting for the state takes a while: one who comes next may have read its clock before the one ahead of it."""
    add(store, told("a"))
    later = NOON + 3 * SECOND
    claimed = store.claim_rows("one", "email", later)
    _, begun = store.begin_rows(claimed, "one", later, seen=None)
    assert store.claim_rows("two", "email", NOON) == []
    moved = told("a", due=NOON - MINUTE)
    assert store.keep_rows([Step(begun[0], RowState.WAITING, occasion=moved, answered=False)], [], NOON) == 0
    assert store.claim_rows("two", "email", later + SECOND) == []


def test_some_can_be_left_alone(store: Store) -> None:
    add(store, told("a"))
    assert store.claim_rows("me", "email", NOON, [one(store).id]) == []


def test_what_was_tried_together_is_claimed_together(store: Store) -> None:
    add(store, told("a"), told("b"))
    rows = store.claim_rows("me", "email", NOON)
    _, begun = store.begin_rows(rows, "me", NOON, seen=None)
    store.keep_rows([Step(row, RowState.WAITING, "busy", NOON + 30 * SECOND) for row in begun], [], NOON, owner="me")
    add(store, told("c"))
    again = [store.claim_rows("me", "email", NOON + MINUTE) for _ in range(2)]
    assert sorted("".join(row.key for row in rows) for rows in again) == ["ab", "c"]


def test_many_who_claim_at_once_get_each_row_once(store: Store) -> None:
    add(store, *[told(f"k{n}", f"p{n}") for n in range(60)])
    got: list[str] = []

    def claim(name: str) -> None:
        while (rows := store.claim_rows(name, "email", NOON)) and len(got) < 200:
            got.extend(row.key for row in rows)

    threads = [threading.Thread(target=claim, args=(f"t{n}",)) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(got) == sorted(f"k{n}" for n in range(60))


# -- trying ----------------------------------------------------------------------------------


def test_a_try_is_begun_on_disk_before_anything_else(store: Store, folder: Path) -> None:
    add(store, told("a"))
    how, begun = store.begin_rows(store.claim_rows("me", "email", NOON), "me", NOON + SECOND, seen=Heads(0, 0, 0))
    assert how is Begun.YES
    with sqlite3.connect(folder / "state.db") as raw:
        there = raw.execute("SELECT tries, begun, again, owner FROM outbox").fetchone()
    assert there == (1, "2027-05-25T10:00:01.000000Z", 0, "me")
    assert begun == [one(store)]


def test_a_try_is_not_begun_when_something_was_recorded_since_the_look(store: Store) -> None:
    add(store, told("a"))
    heads = store.heads()
    rows = store.claim_rows("me", "email", NOON)
    store.append_record(RecordEntry("k", NOON, NOON, "mia", RecordKind.NOTE, None, {"text": "x"}))
    assert store.begin_rows(rows, "me", NOON, seen=heads) == (Begun.CHANGED, [])
    assert one(store).tries == 0
    assert store.begin_rows(rows, "me", NOON, seen=store.heads())[0] is Begun.YES


def test_a_try_is_not_begun_by_who_has_not_all_rows_any_more(store: Store) -> None:
    add(store, told("a"), told("b"))
    rows = store.claim_rows("me", "email", NOON)
    again = store.claim_rows("you", "email", NOON + MINUTE)
    assert [row.key for row in again] == ["a", "b"]
    assert store.begin_rows(rows, "me", NOON + MINUTE, seen=None) == (Begun.LOST, [])
    assert store.begin_rows(again, "you", NOON + MINUTE, seen=None)[0] is Begun.YES


def test_a_try_whose_end_nobody_knows_counts(store: Store) -> None:
    add(store, told("a"))
    now = NOON
    for tries, again in ((1, 0), (2, 1), (3, 2)):
        _, (row,) = store.begin_rows(store.claim_rows("me", "email", now), "me", now, seen=None)
        assert (row.tries, row.again) == (tries, again)
        now += 2 * MINUTE  # it died, or the line broke
    store.keep_rows([Step(row, RowState.WAITING, "451 busy", now)], [], now, owner="me")
    _, (row,) = store.begin_rows(store.claim_rows("me", "email", now), "me", now, seen=None)
    assert (row.tries, row.again) == (4, 2)


def test_an_answer_that_came_after_the_clock_went_back_is_an_answer(store: Store) -> None:
    add(store, told("a"))
    ahead = NOON + 2 * HOUR
    _, (row,) = store.begin_rows(store.claim_rows("me", "email", ahead), "me", ahead, seen=None)
    store.keep_rows([Step(row, RowState.WAITING, "451 busy", NOON)], [], NOON, owner="me")
    _, (row,) = store.begin_rows(store.claim_rows("me", "email", NOON), "me", NOON, seen=None)
    assert (row.tries, row.again) == (2, 0)


def test_no_more_than_so_many_messages_an_hour(store: Store) -> None:
    def send(key: str, now: datetime, kind: Kind = Kind.CHANGED) -> Begun:
        add(store, told(key, due=now, kind=kind), told(f"{key}'", due=now, kind=kind))
        rows = store.claim_rows("me", "email", now)
        how, begun = store.begin_rows(rows, "me", now, seen=None, most=(2, frozenset({Kind.ROUND})))
        store.keep_rows([Step(row, RowState.SENT, "250", sure=True) for row in begun], [], now, owner="me")
        store.release_rows(rows, "me")
        return how

    assert send("a", NOON) is Begun.YES  # two rows, one message
    assert send("r", NOON + MINUTE, Kind.ROUND) is Begun.YES
    assert send("b", NOON + 2 * MINUTE) is Begun.YES
    assert send("c", NOON + 3 * MINUTE) is Begun.MANY
    assert send("c2", NOON + 60 * MINUTE) is Begun.YES


# -- changing --------------------------------------------------------------------------------


def test_a_change_holds_only_where_the_row_stands_as_it_was_seen(store: Store) -> None:
    add(store, told("a"))
    seen = one(store)
    follow = Fresh(told("a"), "push", NOON)
    rows = store.claim_rows("me", "email", NOON)
    drop = Step(seen, RowState.DROPPED, "ticked", then=(follow,))
    assert store.keep_rows([drop], [], NOON) == 0  # somebody is sending it
    _, begun = store.begin_rows(rows, "me", NOON, seen=None)
    assert store.keep_rows([drop], [], NOON + 2 * MINUTE) == 0  # it was tried meanwhile
    assert [row.channel for row in store.rows_since(EVER)] == ["email"]
    assert store.keep_rows([Step(begun[0], RowState.DEAD, "550", then=(follow,))], [], NOON, owner="me") == 1
    assert sorted((row.channel, row.state) for row in store.rows_since(EVER)) == [
        ("email", RowState.DEAD),
        ("push", RowState.WAITING),
    ]


def test_what_a_channel_took_is_sent_whoever_has_it_now(store: Store) -> None:
    add(store, told("a"))
    _, begun = store.begin_rows(store.claim_rows("me", "email", NOON), "me", NOON, seen=None)
    store.claim_rows("you", "email", NOON + 2 * MINUTE)  # the machine slept
    assert store.keep_rows([Step(begun[0], RowState.SENT, "250", sure=True)], [], NOON + 2 * MINUTE, owner="me") == 1
    assert store.begin_rows(begun, "you", NOON + 2 * MINUTE, seen=None)[0] is Begun.LOST


def test_numbers_of_one_key_add_up_while_it_waits(store: Store) -> None:
    many = Fresh(told("away", kind=Kind.AWAY, values={"number": 2, "why": "many"}), "email", NOON, adds_up=True)
    store.keep_rows([], [many, many, many], NOON)
    assert one(store).values == {"number": 6, "why": "many"}


# -- figures ---------------------------------------------------------------------------------


def test_figures(store: Store) -> None:
    assert store.outbox_figures(NOON) == Outbox()
    store.keep_rows([], [], NOON - SECOND, look=True)
    add(store, told("w1", due=NOON - HOUR), told("w2"), told("ahead", due=NOON + SECOND))
    add(store, told("d1"), told("d2"), told("d3", "noor"), state=RowState.DEAD)
    add(store, told("d1"), channel="push", state=RowState.DEAD)  # one thing, twice in vain
    add(store, told("d2"), channel="push", state=RowState.SENT)  # told after all
    add(store, told("n1", "near"), channel="", state=RowState.NOWHERE)
    stood = Outbox(NOON - SECOND, waiting=2, oldest=NOON - HOUR, dead=2, nowhere=1)
    assert store.outbox_figures(NOON) == stood
    later = store.outbox_figures(NOON + DAY)
    assert (later.dead, later.nowhere) == (0, 0)


def test_old_rows_are_forgotten_and_those_that_wait_are_not(store: Store) -> None:
    add(store, told("w", due=NOON - 99 * DAY))
    add(store, told("s", due=NOON - 99 * DAY), told("t", due=NOON - 89 * DAY), state=RowState.SENT)
    assert store.forget_rows(NOON - 90 * DAY) == 1
    assert [row.key for row in store.rows_since(EVER)] == ["w", "t"]


def test_a_person_can_be_forgotten(store: Store) -> None:
    add(store, told("a"), told("b", "noor"), told("c"))
    assert store.forget_rows_of("mia") == 2
    assert [row.person for row in store.rows_since(EVER)] == ["noor"]


# -- faults ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "change", ["kind = 'parcel'", "state = 'lost'", "about = '['", "due = 'noon'", "\"values\" = 'x'"]
)
def test_a_row_that_can_not_be_read_is_named(store: Store, folder: Path, change: str) -> None:
    add(store, told("a"))
    with sqlite3.connect(folder / "state.db") as raw:
        raw.execute(f"UPDATE outbox SET {change}")
    with pytest.raises(StateError) as caught:
        store.open_rows(EVER)
    text = str(caught.value)
    assert "outbox: " in text
    assert "put back a backup" in text


def test_a_damaged_last_look_is_named(store: Store, folder: Path) -> None:
    store.keep_rows([], [], NOON, look=True)
    with sqlite3.connect(folder / "state.db") as raw:
        raw.execute("UPDATE state SET value = 'lately' WHERE key = 'reminders.looked'")
    with pytest.raises(StateError, match=r"reminders\.looked"):
        store.outbox_figures(NOON)


def test_a_lock_is_said_and_nothing_is_claimed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def hold(pipe: Connection) -> None:
        raw = sqlite3.connect(folder / "state.db", isolation_level=None)
        raw.execute("BEGIN IMMEDIATE")
        pipe.send("held")
        pipe.recv()
        raw.execute("ROLLBACK")

    monkeypatch.setattr(faults, "BUSY_MS", 100)
    with open_state(folder, UID) as store:
        add(store, told("a"))
        holder, pipe = start(hold)
        assert pipe.recv() == "held"
        with pytest.raises(StateError, match="locked by"):
            store.claim_rows("me", "email", NOON)
        pipe.send("go")
        holder.join(10)
        assert len(store.claim_rows("me", "email", NOON)) == 1


def test_each_call_is_an_instant_of_its_own_zone_only(store: Store) -> None:
    with pytest.raises(Exception, match="no time zone"):
        store.claim_rows("me", "email", datetime(2027, 5, 25, 10, 0))
