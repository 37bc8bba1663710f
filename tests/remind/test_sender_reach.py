"""Who is told after a pause, on which channel, by whose clock; and what two senders with two clocks do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from sending import HOUR, JOB, MINUTE, NOON, OK, REFUSED, SECOND, Court, Recorder, at, compose, occasion

from curing.model.reminders import Answer, Kind, Occasion, Outcome, RowState
from curing.remind.sender import Sender

EVA = "  - { id: eva, name: Eva, roles: [mists], hours: { mon-sun: 07:00-21:00 }, tell: { email: eva } }\n"
WITH_NEAR = JOB.replace("07:00-21:00 } }", "07:00-21:00 }, tell: { email: near } }")
WITH_NEAR = WITH_NEAR.replace("crews:\n", EVA + "crews:\n")
GATE = Answer(Outcome.LATER, "certificate expired", own_fault=True)


@pytest.fixture
def court(tmp_path: Path) -> Iterator[Court]:
    made = Court(tmp_path, text=WITH_NEAR)
    yield made
    made.close()


# -- a climb after a pause -------------------------------------------------------------------


def climb(until: int = 5) -> list[Occasion]:
    """Return a young coat's walk that nobody ticked: Bo and Ida, who leads, at noon; Near 30 min on, Eva an hour on."""

    def heard(person: str, minutes: int, step: int, *, lead: bool = False) -> Occasion:
        due = NOON + minutes * MINUTE
        one = occasion("missed|a", person, due, until=NOON + until * HOUR, kind=Kind.MISSED)
        return replace(one, step=step, values={"lead": lead, "leads": person == "ida"})

    return [heard("bo", 0, 0), heard("ida", 0, 0, lead=True), heard("near", 30, 1), heard("eva", 60, 2)]


def test_a_climb_goes_from_one_to_the_next_while_somebody_looks(court: Court) -> None:
    court.list = climb()
    for minutes in range(-10, 70, 10):
        court.wake(NOON + minutes * MINUTE)
    assert [to for to, _ in court.email.took[2:]] == ["near", "eva"]
    assert sorted(to for to, _ in court.email.took[:2]) == ["bo", "ida"]


def test_after_a_pause_who_had_it_the_last_of_the_climb_and_who_leads_are_told_and_nobody_between(court: Court) -> None:
    court.list = climb()
    for minutes in (65, 66, 80):
        court.wake(NOON + minutes * MINUTE)
    assert sorted(court.email.took) == [("bo", "missed|a"), ("eva", "missed|a"), ("ida", "missed|a")]
    (near,) = [row for row in court.rows() if row.person == "near"]
    assert (near.state, near.answer) == (RowState.DROPPED, "the next was told")


def test_after_a_pause_the_climb_goes_on_where_it_is(court: Court) -> None:
    court.list = climb()
    court.wake(NOON + 35 * MINUTE)  # Near is the last by now
    assert sorted(to for to, _ in court.email.took) == ["bo", "ida", "near"]
    court.wake(NOON + 60 * MINUTE)
    assert [to for to, _ in court.email.took][3:] == ["eva"]


def test_who_can_not_be_reached_passes_nobody_over(court: Court) -> None:
    court.file.write_text(WITH_NEAR.replace(", tell: { email: eva }", ""))
    court.list = climb()
    court.wake(NOON + 65 * MINUTE)
    assert ("near", "missed|a") in court.email.took
    assert court.states()["missed|a", ""][0] is RowState.NOWHERE


def test_who_leads_and_mists_is_not_passed_over(court: Court) -> None:
    """Who leads is told once: what is taken from the climb would not come twelve hours on."""
    bo, _, near, eva = climb()
    court.list = [bo, replace(near, person="ida", values={"lead": False, "leads": True}), eva]
    court.wake(NOON + 65 * MINUTE)
    assert sorted(to for to, _ in court.email.took) == ["bo", "eva", "ida"]


# -- the other channel -----------------------------------------------------------------------


def test_refused_on_the_second_it_goes_back_to_the_first_that_was_at_fault_before(court: Court) -> None:
    court.email.answers = {"bo": [GATE, OK]}
    court.list = [occasion("z", "bo", due=NOON - MINUTE)]
    court.wake(NOON - MINUTE)  # e-mail does not work for five minutes
    court.push.answers = {"ida-phone": [Answer(Outcome.LATER, "451", 4 * MINUTE), REFUSED]}
    court.list.append(occasion("a", "ida"))
    court.wake(NOON)
    assert court.state("a", "push") is RowState.WAITING
    court.wake(NOON + 6 * MINUTE)
    assert sorted(court.email.took) == [("bo", "z"), ("ida", "a")]
    assert court.state("a", "push") is RowState.DEAD


def test_a_channel_that_refused_is_not_gone_back_to(court: Court) -> None:
    court.email.answers, court.push.answers = {"ida": [REFUSED]}, {"ida-phone": [REFUSED]}
    court.list = [occasion("a")]
    for seconds in range(0, 100, 10):
        court.wake(NOON + seconds * SECOND)
    assert (len(court.email.sent), len(court.push.sent)) == (1, 1)
    assert court.store.outbox_figures(court.now).dead == 1


# -- quiet hours, people who left ------------------------------------------------------------


def test_quiet_hours_are_those_of_the_site_that_it_is_about(court: Court) -> None:
    """11:00 in Amsterdam is 05:00 in New York, where quiet hours end at 06:00."""
    one = occasion("a", "bo", at("2027-05-25 08:30"), until=at("2027-05-25 15:00"))
    court.list = [replace(one, values={"zone": "America/New_York"})]
    court.wake(at("2027-05-25 09:00"))
    assert court.email.took == []
    court.wake(at("2027-05-25 10:00"))
    assert court.email.took == [("bo", "a")]


def test_what_waits_for_somebody_who_left_is_dropped_and_nobody_is_missing(court: Court) -> None:
    court.email.answers = {"bo": [Answer(Outcome.LATER, "451")]}
    away = occasion("away|x", "bo", kind=Kind.AWAY)
    court.list = [occasion("a", "bo"), away]
    court.wake()
    assert {row.state for row in court.rows()} == {RowState.WAITING}
    line = next(one for one in WITH_NEAR.splitlines(keepends=True) if "id: bo," in one)
    court.file.write_text(WITH_NEAR.replace(line, "").replace("[ida, bo]", "[ida, near]"))
    court.list.append(occasion("b", "bo", due=NOON + MINUTE))
    court.wake(NOON + MINUTE)
    gone = (RowState.DROPPED, "this person is not of the job any more")
    assert court.states() == {("a", "email"): gone, ("away|x", "email"): gone}
    assert court.store.outbox_figures(court.now).nowhere == 0
    assert len(court.email.sent) == 2


# -- two senders, two clocks -----------------------------------------------------------------


def test_what_was_claimed_a_moment_after_another_read_its_clock_is_not_free(tmp_path: Path) -> None:
    """The other one has read noon; the row is claimed a second later, so its lease ends later than 60 s after noon."""
    email = Recorder("email")
    court = Court(tmp_path, channels=(email,))
    court.list = [occasion("a", "bo")]
    late = Sender(court.job, court.channels, compose, court._due, now=lambda: NOON)
    court.wake(NOON - SECOND)
    met = []

    def other() -> None:
        if not met:
            met.append(late.wake())
            assert late.settled(20)

    email.asked = other
    court.wake(NOON + SECOND)
    assert met == [True]
    assert email.took == [("bo", "a")]
    (row,) = court.rows()
    assert (row.state, row.tries, row.again) == (RowState.SENT, 1, 0)
    court.close()
