"""What is sent, to whom and when: by what falls due, the rows that are there, and what channels answer."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from sending import (
    BROKE,
    BUSY,
    DAY,
    HOUR,
    JOB,
    MINUTE,
    NOON,
    OK,
    REFUSED,
    SECOND,
    Court,
    Recorder,
    at,
    compose,
    occasion,
)

from curing.model.reminders import Answer, Kind, Outcome, RowState
from curing.remind.trial import send_test

WAITING, SENT, DEAD, DROPPED = RowState.WAITING, RowState.SENT, RowState.DEAD, RowState.DROPPED
FOLDED, NOWHERE = RowState.FOLDED, RowState.NOWHERE


@pytest.fixture
def court(tmp_path: Path) -> Iterator[Court]:
    made = Court(tmp_path)
    yield made
    made.close()


# -- once, and to the right one --------------------------------------------------------------


def test_each_is_told_once_what_is_due_and_no_more(court: Court) -> None:
    court.list = [occasion("early"), occasion("early", "bo"), occasion("late", due=NOON + HOUR)]
    for minutes in range(0, 50, 10):
        court.wake(NOON + minutes * MINUTE)
    assert sorted(court.email.took) == [("bo", "early"), ("ida", "early")]
    court.wake(NOON + HOUR)
    assert court.email.took[2:] == [("ida", "late")]
    assert court.push.took == []


def test_what_is_due_together_of_one_kind_is_one_message(court: Court) -> None:
    court.list = [occasion("a"), occasion("b"), occasion("c", kind=Kind.HOLD), occasion("d", "bo")]
    court.wake()
    assert sorted(court.email.took) == [("bo", "d"), ("ida", "a b"), ("ida", "c")]


def test_a_restart_changes_nothing(court: Court) -> None:
    court.list = [occasion("a"), occasion("b", due=NOON + 10 * MINUTE)]
    court.wake()
    again = court.another()
    court.wake(NOON + MINUTE, sender=again)
    court.wake(NOON + 10 * MINUTE, sender=again)
    court.wake(NOON + 11 * MINUTE)
    assert court.email.texts == ["a", "b"]


def test_who_has_no_channel_is_told_nothing_and_that_is_said(court: Court) -> None:
    court.list = [occasion("a", "near")]
    court.wake()
    assert court.states() == {("a", ""): (NOWHERE, "this person has no channel that is set up")}
    assert court.store.outbox_figures(court.now).nowhere == 1


def test_who_gets_a_channel_is_told_what_is_still_of_use(court: Court) -> None:
    court.list = [occasion("a", "near")]
    court.wake()
    text = court.file.read_text().replace("07:00-21:00 } }", "07:00-21:00 }, tell: { push: near-phone } }")
    court.file.write_text(text)
    court.wake(NOON + MINUTE)
    court.wake(NOON + 2 * MINUTE)
    assert court.push.took == [("near-phone", "a")]
    assert court.store.outbox_figures(court.now).nowhere == 0


# -- not needed any more ---------------------------------------------------------------------


def test_what_was_ticked_meanwhile_is_not_told(court: Court) -> None:
    court.email.answers = {"ida": [BUSY, OK]}
    court.list = [occasion("a")]
    court.wake()
    court.tick("a")
    court.wake(NOON + 5 * MINUTE)
    assert court.email.took == []
    assert court.states()["a", "email"] == (DROPPED, "not needed any more")


def test_ticked_between_claim_and_send_it_is_not_told(court: Court) -> None:
    court.list = [occasion("a"), occasion("b", "bo")]
    claimed = court.store.claim_rows

    def claim_then_tick(*said):
        rows = claimed(*said)
        if any(row.key == "a" for row in rows) and any(one.key == "a" for one in court.list):
            court.tick("a")
            court.sender._found = None
        return rows

    court.store.claim_rows = claim_then_tick
    court.wake()
    assert court.email.took == [("bo", "b")]
    assert court.state("a") is DROPPED


def test_moved_between_claim_and_send_it_is_told_at_the_new_time(court: Court) -> None:
    court.list = [occasion("a")]
    claimed, moved = court.store.claim_rows, []

    def claim_then_move(*said):
        rows = claimed(*said)
        if rows and not moved:
            moved.append(court.put_off("a", NOON + 2 * HOUR))
            court.sender._found = None
        return rows

    court.store.claim_rows = claim_then_move
    court.wake()
    assert (court.email.took, court.state("a")) == ([], WAITING)
    (row,) = court.rows()
    assert (row.due, row.next, row.tries) == (NOON + 2 * HOUR, NOON + 2 * HOUR, 0)
    court.wake(NOON + 2 * HOUR - SECOND)
    assert court.email.took == []
    court.wake(NOON + 2 * HOUR)
    assert court.email.texts == ["a"]


def test_a_record_that_grows_all_the_time_holds_no_reminder_up(court: Court) -> None:
    court.list = [occasion("a")]
    claimed, number = court.store.claim_rows, iter(range(1000))

    def claim_while_people_write(*said):
        rows = claimed(*said)
        court.note(f"n{next(number)}")
        return rows

    court.store.claim_rows = claim_while_people_write
    court.wake()
    assert court.email.texts == ["a"]


def test_a_tick_taken_back_is_asked_for_again(court: Court) -> None:
    court.list = [occasion("a", due=NOON)]
    court.email.answers = {"ida": [BUSY, OK]}
    court.wake()
    court.tick("a")
    court.wake(NOON + MINUTE)
    assert court.state("a") is DROPPED
    court.list = [occasion("a", due=NOON)]
    court.wake(NOON + 5 * MINUTE)
    court.wake(NOON + 6 * MINUTE)
    assert court.email.texts == ["a"]


# -- answers ---------------------------------------------------------------------------------


def test_not_now_is_tried_again_after_30_s_1_2_4_8_15_min_as_long_as_it_is_of_use(court: Court) -> None:
    """Bo has one channel."""
    court.email.answers = {"bo": [BUSY]}
    court.list = [occasion("a", "bo", until=NOON + 2 * HOUR)]
    tried = []
    for seconds in range(0, 2 * 3600 + 60, 10):
        before = len(court.email.sent)
        court.wake(NOON + seconds * SECOND)
        tried += [seconds] * (len(court.email.sent) - before)
    assert tried == [0, 30, 90, 210, 450, 930, 1830, 2730, 3630, 4530, 5430, 6330]
    state, answer = court.states()["a", "email"]
    assert state is DEAD
    assert "451 busy" in answer
    assert court.store.outbox_figures(court.now).dead == 1


def test_a_round_is_tried_ten_minutes_on_one_channel_and_then_on_the_next(court: Court) -> None:
    court.email.answers = {"ida": [BUSY]}
    court.list = [occasion("a"), occasion("h", kind=Kind.HOLD)]
    for seconds in range(0, 700, 10):
        court.wake(NOON + seconds * SECOND)
    # after 0, 30, 90, 210 and 450 s the next try would be after 930 s, later than ten minutes
    assert court.push.took == [("ida-phone", "a")]
    assert court.state("a") is DEAD
    assert court.state("h") is WAITING
    assert "on email, now on push" in court.states()["a", "email"][1]
    assert court.store.outbox_figures(court.now).dead == 0  # the other channel told it


def test_refused_for_good_goes_to_the_next_channel_at_once(court: Court) -> None:
    court.email.answers = {"ida": [REFUSED], "bo": [REFUSED]}
    court.list = [occasion("a"), occasion("a", "bo")]
    court.wake()
    assert court.push.took == [("ida-phone", "a")]
    court.wake(NOON + HOUR)
    assert len(court.email.sent) == 2
    assert court.states()["a", "email"][0] is DEAD
    assert court.store.outbox_figures(court.now).dead == 1  # Bo, who has no other


def test_an_address_that_is_none_is_not_tried(tmp_path: Path) -> None:
    court = Court(tmp_path, text=JOB.replace("tell: { email: bo }", "tell: { email: nowhere }"))
    court.list = [occasion("a", "bo")]
    court.wake()
    assert court.email.sent == []
    assert court.states()["a", "email"] == (DEAD, "is no address; write one; not tried again on email")
    court.close()


@pytest.mark.parametrize(("after", "second"), [(5 * SECOND, 30), (200 * SECOND, 200)])
def test_a_longer_wait_that_is_asked_for_counts(court: Court, after, second: int) -> None:
    court.email.answers = {"bo": [Answer(Outcome.LATER, "429", after), OK]}
    court.list = [occasion("a", "bo")]
    court.wake()
    court.wake(NOON + (second - 1) * SECOND)
    assert court.email.took == []
    court.wake(NOON + second * SECOND)
    assert court.email.texts == ["a"]


def test_a_wait_longer_than_patience_goes_to_the_next_channel_at_once(court: Court) -> None:
    court.email.answers = {"ida": [Answer(Outcome.LATER, "429", HOUR)]}
    court.list = [occasion("a")]
    court.wake()
    assert court.push.texts == ["a"]


def test_no_answer_is_tried_again_and_said(court: Court) -> None:
    court.email.answers = {"bo": [BROKE, OK]}
    court.list = [occasion("a", "bo")]
    court.wake()
    (row,) = court.rows()
    assert (row.state, row.again, row.answered) == (WAITING, 0, None)
    assert "may have been taken" in row.answer
    court.wake(NOON + 30 * SECOND)
    (row,) = court.rows()
    assert (row.state, row.tries, row.again) == (SENT, 2, 1)
    assert row.answer == "taken; may have come 2 times"


def test_a_repeat_has_the_key_of_the_first_try(court: Court) -> None:
    court.email.answers = {"bo": [BROKE, OK], "ida": [BUSY, OK]}
    court.list = [occasion("a", "bo"), occasion("b", "bo"), occasion("a")]
    court.wake()
    court.list.append(occasion("c", "bo", due=NOON + 20 * SECOND))
    court.wake(NOON + 30 * SECOND)
    keys = {}
    for to, message, _, _ in court.email.sent:
        keys.setdefault((to, message.text), set()).add(message.key)
    assert {name: len(found) for name, found in keys.items()} == {("bo", "a b"): 1, ("bo", "c"): 1, ("ida", "a"): 1}
    (one,) = keys["bo", "a b"]
    assert one.replace("-", "").isalnum()


def test_a_channel_at_fault_is_left_alone_for_five_minutes_by_everybody(court: Court) -> None:
    wrong = Answer(Outcome.NEVER, "535 wrong password", own_fault=True)
    court.email.answers = {"ida": [wrong], "bo": [OK]}
    court.list = [occasion("a"), occasion("z", "bo", due=NOON + MINUTE)]
    court.wake()
    assert court.push.texts == ["a"]
    court.list.append(occasion("b", due=NOON + MINUTE))
    for seconds in range(60, 300, 10):
        court.wake(NOON + seconds * SECOND)
    assert len(court.email.sent) == 1
    assert court.push.texts == ["a", "b"]
    assert court.states()["z", "email"][0] is WAITING
    court.wake(NOON + 5 * MINUTE)
    assert court.email.took == [("bo", "z")]


def test_what_waits_on_a_channel_that_turns_out_at_fault_goes_to_the_next_at_once(court: Court) -> None:
    wrong = Answer(Outcome.LATER, "certificate expired", own_fault=True)
    court.email.answers = {"ida": [BUSY, wrong]}
    court.list = [occasion("h", kind=Kind.HOLD), occasion("r", due=NOON + 20 * SECOND)]
    court.wake()
    court.wake(NOON + 20 * SECOND)
    court.wake(NOON + 21 * SECOND)
    assert sorted(court.push.texts) == ["h", "r"]


# -- channels that come and go ---------------------------------------------------------------


@pytest.mark.parametrize(("tell", "where"), [("{ push: ida-phone }", "push"), ("{ fax: ida }", "")])
def test_a_channel_taken_away_while_something_waits(court: Court, tell: str, where: str) -> None:
    court.email.answers = {"ida": [BUSY]}
    court.list = [occasion("h", kind=Kind.HOLD)]
    court.wake()
    court.file.write_text(court.file.read_text().replace("{ email: ida, push: ida-phone }", tell))
    court.wake(NOON + 10 * SECOND)
    court.wake(NOON + MINUTE)
    assert court.states()["h", "email"] == (DROPPED, "email is not set up for this person any more")
    assert court.state("h", where) is (SENT if where else NOWHERE)
    assert len(court.email.sent) == 1


def test_an_address_is_that_of_today(court: Court) -> None:
    court.email.answers = {"bo": [BUSY]}
    court.list = [occasion("a", "bo")]
    court.wake()
    court.file.write_text(court.file.read_text().replace("{ email: bo }", "{ email: bo-new }"))
    court.wake(NOON + 30 * SECOND)
    assert court.email.took == [("bo-new", "a")]


# -- trials ----------------------------------------------------------------------------------


def test_a_trial_goes_out_on_each_channel(court: Court) -> None:
    court.wake()
    key = court.store.add_trial("ida", NOON)
    assert court.store.add_trial("ida", NOON + SECOND) == key
    court.store.add_trial("near", NOON)
    court.push.answers = {"ida-phone": [REFUSED]}
    court.wake(NOON + SECOND)
    court.wake(NOON + 11 * SECOND)
    assert court.email.took == [("ida", key)]
    states = {(row.person, row.channel): row.state for row in court.rows()}
    assert states == {("ida", "email"): SENT, ("ida", "push"): DEAD, ("near", ""): NOWHERE}


def test_a_trial_at_once_tells_what_each_channel_said(court: Court) -> None:
    court.push.answers = {"ida-phone": [REFUSED]}
    sight = court.job.sight()
    (ida,) = [one for one in sight.job.file.people if one.id == "ida"]
    assert send_test(sight, ida, court.channels, compose) == [("email", OK), ("push", REFUSED)]
    assert court.rows() == []


# -- late ------------------------------------------------------------------------------------


def test_three_days_asleep(court: Court) -> None:
    """What is still of use is told, what is over in one message each, and a restart tells nothing twice."""
    court.list = [occasion("before")]
    court.wake()
    start = at("2027-05-25 05:00")
    for day in range(1, 4):
        for person in ("ida", "bo"):
            for hour in (0, 7, 12):
                due = start + day * DAY + hour * HOUR
                court.list.append(occasion(f"r{day}-{hour}", person, due))
            court.list.append(
                occasion(f"h{day}", person, start + day * DAY, until=start + (day + 7) * DAY, kind=Kind.HOLD)
            )
    court.list.append(occasion("r3-12", "near", start + 3 * DAY + 12 * HOUR))
    now = at("2027-05-28 17:30")  # 19:30 in Amsterdam: only the walk of 17:00 is of use
    court.email.sent.clear()
    court.wake(now)
    court.wake(now + MINUTE, sender=court.another())
    told = Counter(court.email.took)
    assert told == {
        ("ida", "r3-12"): 1,
        ("bo", "r3-12"): 1,
        ("ida", "h1 h2 h3"): 1,
        ("bo", "h1 h2 h3"): 1,
        ("ida", "away: r1-0 r1-7 r1-12 r2-0 r2-7 r2-12 r3-0 r3-7"): 1,
        ("bo", "away: r1-0 r1-7 r1-12 r2-0 r2-7 r2-12 r3-0 r3-7"): 1,
    }
    (away,) = [message for to, message, _, _ in court.email.sent if to == "ida" and message.kind is Kind.AWAY]
    assert away.facts == {"number": 8, "since": "2027-05-25 12:00", "until": "2027-05-28 19:30"}
    assert court.state("r1-0") is FOLDED


@pytest.mark.parametrize(("kind", "away"), [(Kind.MISSED, False), (Kind.UNSEEN, False), (Kind.SUMMARY, True)])
def test_what_is_asked_about_now_is_not_counted_among_what_is_over(court: Court, kind: Kind, away: bool) -> None:
    """A round whose reminder and whose time went by while nobody was there has no tick: one message."""
    court.wake()
    walk = replace(occasion("walk", due=NOON + HOUR, until=NOON + 2 * HOUR), about=("a", "b"))
    asked = replace(occasion("asked", due=NOON + 3 * HOUR, kind=kind), about=("a", "b", "c"))
    court.list = [walk, asked]
    court.wake(NOON + 4 * HOUR)
    assert sorted(court.email.texts) == ["asked", "away: walk"][: 1 + away]
    assert court.state("walk") is FOLDED, "the page shows it"
    # Of somebody else's round, or of one more that was left out, the one who is told hears as before.
    court.email.sent.clear()
    court.list += [
        replace(occasion("other", due=NOON + 5 * HOUR, until=NOON + 6 * HOUR), about=("d",)),
        replace(occasion("told bo", "bo", due=NOON + 5 * HOUR, kind=kind), about=("d",)),
    ]
    court.wake(NOON + 7 * HOUR)
    assert sorted(court.email.texts) == ["away: other", "told bo"]


def test_a_first_look_tells_nothing_that_is_over(court: Court) -> None:
    court.list = [occasion("over", due=NOON - 5 * HOUR), occasion("useful", due=NOON - HOUR)]
    court.wake()
    assert court.email.texts == ["useful"]
    court.wake(NOON + MINUTE)
    assert court.email.texts == ["useful"]


def test_asleep_into_the_night_nothing_rings_before_morning_but_what_must(court: Court) -> None:
    court.wake()
    court.list = [
        occasion("evening", due=at("2027-05-25 16:00"), until=at("2027-05-26 12:00"), kind=Kind.SUMMARY),
        occasion("over", due=at("2027-05-25 16:00"), until=at("2027-05-25 18:00")),
        occasion("night", due=at("2027-05-25 21:00"), rings=True),
    ]
    court.wake(at("2027-05-25 22:30"))  # 00:30 in Amsterdam; quiet until 06:00 = 04:00 UTC
    assert court.email.texts == ["night"]
    court.wake(at("2027-05-26 03:59"))
    assert court.email.texts == ["night"]
    court.wake(at("2027-05-26 04:00"))
    assert sorted(court.email.texts) == ["away: over", "evening", "night"]


def test_asleep_into_the_night_what_is_of_no_use_by_morning_does_not_ring_but_is_told_in_the_morning(
    court: Court,
) -> None:
    """The evening's summary ends at midnight: a server that comes back at half past eleven rings nobody for it."""
    court.wake()
    court.list = [occasion("eve", due=at("2027-05-25 16:30"), until=at("2027-05-25 22:00"), kind=Kind.EVE)]
    for minutes in (0, 1, 20):  # 23:30 in Amsterdam
        court.wake(at("2027-05-25 21:30") + minutes * MINUTE)
    assert court.email.texts == []
    court.wake(at("2027-05-26 04:00"))
    assert court.email.texts == ["away: eve"]


@pytest.mark.parametrize(
    "days",
    [("2027-03-27 22:00", "2027-03-28 08:00"), ("2027-10-30 22:00", "2027-10-31 08:00")],
    ids=["spring", "autumn"],
)
def test_both_changes_of_the_clock(court: Court, days: tuple[str, str]) -> None:
    """Something every half hour of UTC through the night: each once, at its own time."""
    first, last = at(days[0]), at(days[1])
    court.wake(first - MINUTE)
    due = [first + n * 30 * MINUTE for n in range(int((last - first) / (30 * MINUTE)))]
    court.list = [occasion(f"{one:%H:%M}", "bo", one, rings=True) for one in due]
    now, told = first - MINUTE, []
    while now < last:
        before = len(court.email.texts)
        court.wake(now)
        told += [(text, f"{now:%H:%M}") for text in court.email.texts[before:]]
        now += 5 * MINUTE
    assert [text for text, _ in told] == [f"{one:%H:%M}" for one in due]
    assert all((at(f"2027-01-01 {when}") - at(f"2027-01-01 {text}")) <= 5 * MINUTE for text, when in told)


def test_a_clock_set_back_two_hours_repeats_and_loses_nothing(court: Court) -> None:
    court.list = [occasion("a"), occasion("b", due=NOON + HOUR), occasion("c", due=NOON + 3 * HOUR)]
    court.wake()
    court.wake(NOON + 2 * HOUR)  # the clock was wrong
    court.list.append(occasion("d", due=NOON + 30 * MINUTE))
    for minutes in range(0, 200, 10):
        court.wake(NOON + minutes * MINUTE)
    assert court.email.texts == ["a", "b", "d", "c"]


def test_a_try_put_off_by_a_clock_that_was_ahead_is_not_put_off_for_hours(court: Court) -> None:
    court.email.answers = {"bo": [BUSY, OK]}
    court.list = [occasion("a", "bo", until=NOON + 9 * HOUR)]
    court.wake(NOON + 2 * HOUR)
    court.wake(NOON)
    court.wake(NOON + 10 * SECOND)
    assert court.email.texts == ["a"]


def test_a_clock_set_ahead_two_hours_tells_what_is_over_in_one(court: Court) -> None:
    court.wake()
    court.list = [
        occasion("a", due=NOON + HOUR, until=NOON + 90 * MINUTE),
        occasion("b", due=NOON + 100 * MINUTE),
    ]
    court.wake(NOON + 2 * HOUR)
    assert sorted(court.email.texts) == ["away: a", "b"]


# -- no flood --------------------------------------------------------------------------------


def test_no_more_than_twenty_messages_an_hour_besides_those_that_a_wall_waits_for(court: Court) -> None:
    court.wake(at("2027-05-25 09:59"))
    for minute in range(50):
        due = NOON + minute * MINUTE
        court.list += [occasion(f"c{minute}", "bo", due, kind=Kind.CHANGED), occasion(f"r{minute}", "bo", due)]
    for minute in range(62):
        court.wake(NOON + minute * MINUTE)
    kinds = Counter(message.kind for _, message, _, _ in court.email.sent)
    assert kinds == {Kind.ROUND: 50, Kind.CHANGED: 20, Kind.AWAY: 1}
    (away,) = [message for _, message, _, _ in court.email.sent if message.kind is Kind.AWAY]
    assert away.facts["number"] == 30
    assert away.text == "away: " + " ".join(f"c{minute}" for minute in range(20, 50))
    state, answer = court.states()["c49", "email"]
    assert (state, answer) == (FOLDED, "more than 20 messages in an hour; told in one message with the others")


# -- side by side ----------------------------------------------------------------------------


def test_one_that_is_refused_delays_nobody(court: Court) -> None:
    court.email.answers = {"ida": [BUSY]}
    court.list = [
        occasion(f"a{n}", "ida", kind=kind) for n, kind in enumerate(Kind) if kind not in (Kind.TRIAL, Kind.AWAY)
    ]
    court.list.append(occasion("z", "bo"))
    court.wake()
    assert ("bo", "z") in court.email.took


def test_a_channel_that_hangs_delays_no_other_and_keeps_nobody_from_waking(tmp_path: Path) -> None:
    slow, quick = Recorder("email", takes=3.0), Recorder("push")
    text = JOB.replace("tell: { email: bo }", "tell: { push: bo-phone }")
    court = Court(tmp_path, channels=(slow, quick), threads=2, text=text)
    court.list = [occasion(f"a{kind}", "ida", kind=kind) for kind in (Kind.ROUND, Kind.HOLD, Kind.EVE)]
    court.list += [occasion(f"b{kind}", "bo", kind=kind) for kind in (Kind.ROUND, Kind.HOLD, Kind.EVE)]
    began = time.monotonic()
    assert court.sender.wake()
    assert time.monotonic() - began < 1.5
    while len(quick.sent) < 3 and time.monotonic() - began < 5:
        time.sleep(0.02)
    assert len(quick.sent) == 3
    assert slow.sent == []
    court.list.append(occasion("late", "bo", NOON + SECOND))
    court.now, court.sender._found = NOON + SECOND, None
    court.sender.wake()
    while len(quick.sent) < 4 and time.monotonic() - began < 5:
        time.sleep(0.02)
    assert (len(quick.sent), slow.sent) == (4, [])
    assert court.sender.stop(10)
    assert len(slow.sent) == 2  # what was under way was finished, what was not begun was not
    court.job.close()
