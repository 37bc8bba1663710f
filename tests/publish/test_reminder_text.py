"""Texts of reminders: each kind by hand, short ones on one line of 110 signs whatever things are called."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sample_plans import NOW, booking, face, hold, plan, walk
from sample_plans import visit as drawn

from curing.model.evidence import NOTHING_SAID, Cause, Evidence, Tick
from curing.model.plan import Care, Change, Moment, Notice, Plan, Reason, State, Visit
from curing.model.plan import Kind as Booked
from curing.model.record import RecordKind
from curing.model.reminders import Kind, Message, Occasion
from curing.publish.event_text import EventTexts
from curing.publish.event_title import Titles
from curing.publish.reminder_about import Present
from curing.publish.reminder_text import compose
from curing.publish.words import CATALOGUE, Words

LINK = "https://walls.example.org/s/TOKEN/today"
ZONE = "Europe/Amsterdam"
MORNING = datetime(2026, 6, 9, 5, 0, tzinfo=UTC)
"""Tuesday 9 June 2026, 07:00 at the site."""
FACES = [face("1", name="road side bay 1"), face("2", name="road side bay 2"), face("7", name="south gable")]


def visit(face_id: str, id: str, **more: Any) -> Visit:
    return replace(drawn(face_id, **more), id=id)


def early(**more: Any) -> Any:
    visits = (
        visit("1-out", id="1-out.finish.2026-06-09.early"),
        visit("2-out", id="2-out.finish.2026-06-09.early", cloth=True, sun_from="13:10", sun_to="20:00"),
        visit("7-out", id="7-out.finish.2026-06-09.early"),
    )
    until = MORNING + timedelta(hours=1)
    return walk(["1-out", "2-out", "7-out"], MORNING, visits=visits, until=until, **more)


def job_plan(**more: Any) -> Plan:
    return plan(rounds=[early()], faces=FACES, **more)


def told(kind: Kind, about: Any = (), faces: Any = (), step: int = 0, **values: Any) -> Occasion:
    due = MORNING - timedelta(minutes=30)
    given = {"zone": ZONE, **values}
    return Occasion("k|1", kind, "tom", due, due + timedelta(hours=9), "2026-06-09 06:30", tuple(about), tuple(faces),
                    given, step)  # fmt: skip


def said(made: Plan, *occasions: Occasion, evidence: Evidence = NOTHING_SAID, link: str = LINK, **more: Any) -> Message:
    now = more.pop("now", NOW)
    present = Present(made, evidence, made.name, Words(), now, more.pop("warnings", None), more.pop("questions", None))
    return compose(occasions, present, link, "abc-1", **more)


def visits_of(walk_: Any) -> list[str]:
    return [one.id for one in walk_.visits]


ROUND = told(
    Kind.ROUND, visits_of(early()), ["1-out", "2-out", "7-out"],
    day="2026-06-09", slot="early", start="07:00", by="08:00", minutes=45, visits=3, mist=3,
)  # fmt: skip


# -- rounds ---------------------------------------------------------------------------------


def test_a_round_says_what_where_till_when_how_long_and_the_cloth() -> None:
    message = said(job_plan(), ROUND)
    assert message.short == "MIST early, walls 1 2 7, before 08:00. 45 min. Cloth on 2 before 13:10."
    assert message.subject == f"Alder Court: {message.short}"


def test_the_whole_text_of_a_round_is_that_of_the_calendar_with_cautions_and_link() -> None:
    made = job_plan()
    lines = said(made, ROUND).text.splitlines()
    calendar = EventTexts(made, Words()).body(made.rounds[0]).splitlines()
    assert [line for line in calendar if line not in lines] == []
    assert lines[-1] == f"Tick: {LINK}"
    for key in ("lime", "sockets", "height", "last"):
        assert CATALOGUE[f"caution.{key}"] in lines


def test_the_short_words_are_those_of_the_title() -> None:
    made = job_plan()
    title = Titles(made, Words()).title(made.rounds[0])
    assert title.startswith("MIST early 1 2 7")
    assert said(made, ROUND).short.startswith("MIST early, walls 1 2 7")


def test_what_is_ticked_is_left_out() -> None:
    left = replace(ROUND, about=ROUND.about[:1], faces=("1-out",))
    message = said(job_plan(), left)
    assert message.short == "MIST early, wall 1, before 08:00. 45 min."
    assert "2 out" not in message.text


def test_a_round_of_another_day_names_it() -> None:
    ahead = replace(ROUND, due=ROUND.due - timedelta(days=1))
    assert said(job_plan(), ahead, now=ahead.due).short.endswith("On Tue 9 June.")


def test_what_is_told_late_on_another_day_names_its_day_and_what_is_over_does_not() -> None:
    made, next_day = plan([READ], faces=FIVE), MORNING + timedelta(days=1)
    one = told(Kind.TASK, [READ.id], READ.faces, day="2026-06-09", start="07:00", by="07:20", minutes=20)
    late = replace(one, until=next_day + timedelta(hours=9))
    assert said(made, late, now=next_day).short.endswith("From 07:00, 20 min. On Tue 9 June.")
    over = said(made, told(Kind.AWAY, number=1), over=[one], now=next_day).text
    assert "07:00, 20 min." in over
    assert "On Tue 9 June" not in over


def test_many_walls_are_counted() -> None:
    faces = [face(f"wall-{k:02d}", name="yard") for k in range(40)]
    visits = tuple(visit(one.id, id=f"{one.id}.finish.2026-06-09.early") for one in faces)
    made = plan(rounds=[walk([one.id for one in faces], MORNING, visits=visits)], faces=faces)
    one = replace(ROUND, about=tuple(one.id for one in visits), faces=tuple(one.id for one in faces))
    assert said(made, one).short == "MIST early, 40 walls, before 08:00. 45 min."


# -- no tick --------------------------------------------------------------------------------


def test_a_missed_face_is_named_to_who_had_it() -> None:
    one = told(Kind.MISSED, ["1-out.finish.2026-06-09.early"], ["1-out"], day="2026-06-09", slot="early", lead=False)
    message = said(job_plan(), one)
    assert message.short == "1 out road side bay 1: early mist has no tick. Mist now, look for cracks."
    assert "It does its work until" not in message.text  # that is over
    assert "It was not your round" not in message.text


def test_the_next_hears_which_round_and_walls_and_no_name() -> None:
    ids = ["1-out.finish.2026-06-09.early", "7-out.finish.2026-06-09.early"]
    one = told(Kind.MISSED, ids, ["1-out", "7-out"], step=1, day="2026-06-09", slot="early", whose="tom", lead=False)
    message = said(job_plan(), one)
    assert message.short == "Early round, walls 1 7, has no tick. Mist now, look for cracks."
    assert "Tom" not in message.text
    assert CATALOGUE["caution.height"] in message.text  # the next one need not be of the crew


def test_a_missed_round_that_left_the_plan_keeps_its_cautions() -> None:
    values = {"day": "2026-06-08", "slot": "late", "lead": True, "tender": True}
    one = told(Kind.MISSED, ["1-out.finish.2026-06-08.late"], ["1-out"], **values)
    message = said(plan(faces=FACES), one)
    assert message.short == "Late round of Mon 8 June, wall 1, has no tick. Mist now, look for cracks."
    for key in ("lime", "sockets", "height"):
        assert CATALOGUE[f"caution.{key}"] in message.text
    assert "1 out road side bay 1" in message.text


@pytest.mark.parametrize(
    ("care", "short", "whole"),
    [
        (
            Care.MIST,
            "Early round of Tue 9 June, walls 1 7, was never ticked. Ask who had it, look for cracks.",
            "Nobody said whether it was done, and its time is over.",
        ),
        (
            Care.AIR,
            "Early round of Tue 9 June, walls 1 7, was never ticked. Ask whether it was aired.",
            "Nobody said whether it was aired.",
        ),
    ],
)
def test_twelve_hours_on_who_leads_is_to_ask_and_not_to_mist(care: Care, short: str, whole: str) -> None:
    ids = ["1-out.finish.2026-06-09.early", "7-out.finish.2026-06-09.early"]
    visits = tuple(replace(one, care=care) for one in early().visits)
    made = plan(rounds=[replace(early(), visits=visits)], faces=FACES)
    values = {"day": "2026-06-09", "slot": "early", "lead": True, "tender": False}
    over = told(Kind.MISSED, ids, ["1-out", "7-out"], **values)
    message = said(made, over)
    assert message.short == short
    assert whole in message.text
    assert "Do now what is said below" not in message.text
    now = replace(over, values={**over.values, "tender": True})
    assert "has no tick" in said(made, now).short
    both = said(made, now, over).text
    assert "Do now what is said below" in both
    assert whole in both


def test_two_missed_rounds_are_told_in_one_message() -> None:
    listed = [
        told(
            Kind.MISSED, [f"{wall}-out.finish.2026-06-09.{slot}"], [f"{wall}-out"], step=1, day="2026-06-09", slot=slot
        )
        for wall, slot in (("1", "early"), ("7", "midday"))
    ]
    short = said(plan(faces=FACES), *listed).short
    assert short == "Early round, wall 1, has no tick. Mist now, look for cracks. And 1 more."


def test_a_look_without_an_answer() -> None:
    look = booking("7-out.finish.look", MORNING, 10, kind=Booked.LOOK, title="LOOK", cautions=("lime",))
    message = said(plan([look], faces=FACES), told(Kind.UNSEEN, [look.id], ["7-out"], coat="7-out.finish"))
    assert message.short == "7 out south gable: the LOOK on the laying day has no answer. Look now."
    assert CATALOGUE["caution.lime"] in message.text


# -- tasks and days -------------------------------------------------------------------------

READ = booking("5.panel-dry", MORNING, 20, kind=Booked.READING, title="READ both sides", faces=("5-in", "5-out"))
FIVE = [face("5", "in", "yard side bay 1"), face("5", "out", "yard side bay 1")]


def test_a_task_begins_as_its_calendar_title() -> None:
    made = plan([READ], faces=FIVE)
    one = told(Kind.TASK, [READ.id], READ.faces, day="2026-06-09", start="07:00", by="07:20", minutes=20)
    message = said(made, one)
    assert message.short == "5 READ both sides · yard side bay 1. From 07:00, 20 min."
    assert message.short.startswith(Titles(made, Words()).title(READ))


def test_a_task_with_a_window_says_till_when() -> None:
    made = plan([replace(READ, until=MORNING + timedelta(hours=3))], faces=FIVE)
    one = told(Kind.TASK, [READ.id], READ.faces, day="2026-06-09", start="07:00", by="10:00", minutes=20)
    assert said(made, one).short == "5 READ both sides · yard side bay 1. From 07:00, before 10:00. 20 min."


def test_the_evening_before_tells_all_of_tomorrow() -> None:
    later = replace(READ, start=MORNING + timedelta(days=1), end=MORNING + timedelta(days=1, minutes=20))
    down = booking("5-out.cloth-down", later.end, 10, kind=Booked.COVER, title="CLOTH", cautions=("cloth",))
    one = told(Kind.EVE, [later.id, down.id], [*READ.faces], day="2026-06-10", readings=1, covers=1)
    message = said(plan([later, down], faces=FIVE), one)
    assert message.short == "5 READ both sides 07:00, 5 out cloth down 07:20. On Wed 10 June."
    assert CATALOGUE["caution.cloth"] in message.text


def test_cloth_before_days_off() -> None:
    one = told(Kind.CLOTH, faces=["2-out", "7-out"], first="2026-06-13", last="2026-06-14", days=2)
    message = said(job_plan(), one)
    assert message.short == "CLOTH 2 7 wet and fixed before Sat 13 June, Sun 14 June. Down in wind."
    assert CATALOGUE["caution.cloth"] in message.text
    assert "7 out south gable" in message.text


# -- holds, decisions, changes --------------------------------------------------------------

DRY = replace(hold("5.panel-dry", "Panel dry on both sides.", "Read both sides at three heights."), faces=READ.faces)


def test_a_hold_that_only_lacks_a_word() -> None:
    made = plan([READ], faces=FIVE, holds=(DRY,))
    values = {
        "hold": DRY.id,
        "point": "panel-dry",
        "coat": "5-in.base",
        "coat_day": "2026-06-12",
        "lapses": "2026-06-16",
    }
    message = said(made, told(Kind.HOLD, [DRY.id], READ.faces, what="waiting", decides=True, own=False, **values))
    assert (
        message.short == "5: hold panel dry passes, only your word is missing. 5 in base on Fri 12 June waits for it."
    )
    assert "The pass counts until Tue 16 June." in message.text
    assert "The lead or the architect opens it; a date never does." in message.text
    assert message.text.rstrip().endswith(f"Open: {LINK}")


def test_a_hold_of_ones_own_reading_says_what_lifts_it() -> None:
    made = plan([READ], faces=FIVE, holds=(DRY,))
    values = {"hold": DRY.id, "point": "panel-dry", "coat": "5-in.base", "coat_day": "2026-06-12", "lapses": ""}
    message = said(made, told(Kind.HOLD, [DRY.id, READ.id], READ.faces, what="unmet", own=True, **values))
    assert message.short.startswith("5 READ both sides · yard side bay 1. Hold panel dry is not met.")
    assert "What lifts it: Read both sides at three heights." in message.text


def test_a_decision_says_what_happens_without_a_word() -> None:
    coat = booking("1-out.finish", MORNING)
    one = told(
        Kind.DECIDE, [coat.id], ["1-out"],
        notice="was_it_laid", rule="plan.unconfirmed", warning=False, without="anew",
        of_coat="1-out.finish", of_day="2026-06-08",
    )  # fmt: skip
    booked = "1 out finish was booked for Mon 8 June: was it laid?"
    made = plan([coat], faces=FACES)
    evening = NOW - timedelta(hours=12)  # Monday 16:45
    assert said(made, one, now=evening).short == f"{booked} Without a word by midnight it gets a new day."
    assert said(made, one).short == f"{booked} Nobody said so in time: it has a new day.", "told on Tuesday"


def look_over(evidence: Evidence = NOTHING_SAID, **more: Any) -> Message:
    """Return the message that asks to look at a young finish: by default its late visit of Sunday 7 June."""
    values = {"of_coat": "1-out.finish", "of_visits": 1, "of_first": "2026-06-07", "of_last": "2026-06-07"} | more
    one = told(
        Kind.DECIDE, ["1-out.finish"], ["1-out"], notice="inspect", rule="visit.missed", without="stays",
        of_slot="late", of_since=1, **values,
    )  # fmt: skip
    return said(plan([booking("1-out.finish", MORNING)], faces=FACES), one, evidence=evidence)


def failed(why: str, *visits: str) -> Evidence:
    cause = Cause("k", "could-not", NOW, "tom")
    return Evidence(visits={one: Tick(RecordKind.COULD_NOT, NOW, cause, why) for one in visits})


def test_a_face_to_look_over_says_which_visit_and_why_and_nothing_of_without_a_word() -> None:
    message = look_over(failed("tap was frozen", "1-out.finish.2026-06-07.late"))
    expected = "1 out finish: no water on it Sun 7 June late (tap was frozen). Look for cracks and say so."
    assert message.short == expected
    assert expected in message.text
    assert "Without a word" not in message.text
    unsaid = look_over(failed("", "1-out.finish.2026-06-07.late")).short
    assert unsaid == "1 out finish: no water on it Sun 7 June late. Look for cracks and say so."
    missed = look_over(failed("x", "1-out.finish.2026-06-05.late", "2-out.finish.2026-06-07.late")).short
    assert missed == "1 out finish: visit missed Sun 7 June late. Look for cracks and say so."


def test_a_face_to_look_over_after_several_visits() -> None:
    two = ("1-out.finish.2026-06-07.late", "1-out.finish.2026-06-08.early")
    more = {"of_visits": 2, "of_last": "2026-06-08"}
    short = look_over(failed("no water", *two), **more).short
    assert short == (
        "1 out finish: no water on it 2 times, the last Mon 8 June early (no water). Look for cracks and say so."
    )
    assert look_over(failed("no water", two[1]), **more).short == (
        "1 out finish: 2 visits missed, the last Mon 8 June late. Look for cracks and say so."
    )


def test_a_long_reason_is_cut_on_the_phone_and_whole_in_the_mail() -> None:
    why = "the hose was gone and the yard locked, nobody had the key"
    message = look_over(failed(why, "1-out.finish.2026-06-07.late"))
    assert message.short == (
        "1 out finish: no water on it Sun 7 June late (the hose was gone and t…). Look for cracks and say so."
    )
    assert f"({why})" in message.text


def changed(made: Plan, *about: str, **values: Any) -> str:
    return said(made, told(Kind.CHANGED, about, ["7-out"], **{"changes": 1, "what": "moved", **values})).short


def test_a_coat_that_moved_says_from_when_to_when_and_why() -> None:
    now = Moment(MORNING, MORNING, State.FIRM, ("tom",))
    reason = Reason("finish.least_wait", "start", {"day": "2026-06-12"})
    one = Change("7-out.finish", "u", Booked.COAT, ("7-out",), ZONE, now, now, reason)
    coat = booking("7-out.finish", MORNING, thickness=8.0)
    made = plan([coat], faces=FACES, changes=(one,))
    short = changed(made, "7-out.finish", was="2026-06-10 07:00", now="2026-06-12 07:00")
    assert short == (
        "7 out finish 8 mm: off Wed 10 June, now Fri 12 June. The job file lets this face begin on Fri 12 June."
    )


def test_a_round_that_is_given_or_has_other_hours() -> None:
    made = job_plan()
    walk_ = made.rounds[0].id
    given_ = changed(made, walk_, what="given", was="", now="2026-06-09 07:00")
    assert given_ == "MIST early 1 2 7: yours now, Tue 9 June 07:00."
    hours = changed(made, walk_, was="2026-06-09 07:00", now="2026-06-09 07:30")
    assert hours == "MIST early 1 2 7: Tue 9 June 07:30 now, was 07:00."


def test_a_round_that_left_the_plan_does_not_name_who_had_it() -> None:
    short = changed(job_plan(), "2026-06-10.late.tom", what="taken", was="2026-06-10 16:00", now="")
    assert short == "late round: not yours any more on Wed 10 June 16:00."


def test_nobody_is_named() -> None:
    one = told(Kind.NOBODY, ROUND.about, ROUND.faces, day="2026-06-14", slot="early", minutes=45, days=3)
    message = said(job_plan(), one)
    assert message.short == "NOBODY early Sun 14 June, walls 1 2 7. 45 min. Name somebody."
    assert CATALOGUE["caution.height"] in message.text


def test_old_weather() -> None:
    short = said(job_plan(), told(Kind.WEATHER, read="2026-06-06 10:40", hours=30)).short
    assert short == "Weather here is from Sat 6 June 10:40, 30 h old. Nothing is moved on old weather. Look at the sky."


# -- summary, trial, away -------------------------------------------------------------------


def test_the_summary_tells_what_waits_what_was_done_and_tomorrow() -> None:
    cause = Cause("k", "could-not", NOW, "tom")
    evidence = Evidence(visits={"1-out.finish.2026-06-09.early": Tick(RecordKind.COULD_NOT, NOW, cause, "locked")})
    asked = Notice("plan.unconfirmed", "was_it_laid", {"coat": "7-out.finish", "day": "2026-06-08"}, ("7-out",), True)
    tomorrow = booking("7-out.finish", MORNING + timedelta(days=1), thickness=8.0)
    one = told(Kind.SUMMARY, day="2026-06-09", done=10, of=11, could_not=1, no_tick=1, to_decide=2, moved=2)
    message = said(
        plan([tomorrow], [early()], FACES), one, evidence=evidence, warnings=(), questions=(asked,)
    )  # fmt: skip
    assert message.short == "Done today: 10 of 11. No tick: 1. Could not: 1. To decide: 2. Moved: 2."
    text = message.text
    assert "7 out finish was booked for Mon 8 June: was it laid? Nobody said so in time: it has a new day." in text
    done = "Done today: 10 of 11.\nNo tick: 1.\nCould not: 1 (1 out: locked).\nTo decide: 2.\n2 things moved today."
    assert done in text
    quiet = replace(one, values={**one.values, "could_not": 0, "no_tick": 0, "to_decide": 0, "moved": 0})
    assert said(plan([tomorrow], [early()], FACES), quiet).short == "Done today: 10 of 11."
    assert "Tomorrow, Wed 10 June:\n  07:00 7 out FINISH 8 mm · south gable" in text


def test_a_trial_asks_for_nothing() -> None:
    message = said(job_plan(), told(Kind.TRIAL))
    assert message.short == "A trial from curing: this channel works. Nothing to do."
    assert "for Alder Court" in message.text


def test_what_was_over_is_told_in_one_message() -> None:
    one = told(Kind.AWAY, number=2, since="2026-06-06 20:00", until="2026-06-09 06:00")
    message = said(job_plan(), one, over=[ROUND])
    assert message.short == "2 reminders fell due while nobody was there to send them. Look at Today."
    assert "From Sat 6 June 20:00 to Tue 9 June 06:00 no reminder could go out." in message.text
    assert "Tue 9 June 06:30: MIST early, walls 1 2 7, before 08:00." in message.text
    many = said(job_plan(), told(Kind.AWAY, number=5, why="many"))
    assert many.short == "5 reminders more than fit into an hour. Look at Today."


def test_a_message_is_about_something() -> None:
    with pytest.raises(ValueError, match="about something"):
        said(job_plan())


def test_facts_for_machines() -> None:
    facts = said(job_plan(), ROUND).facts
    assert facts["kind"] == "round"
    assert facts["faces"] == "1-out 2-out 7-out"
    assert facts["due"] == "2026-06-09T04:30:00+00:00"


# -- hostile names --------------------------------------------------------------------------

EVIL = "</p><script>alert(1)</script>\r\nBcc: all@example.org\u202egnp.\u2028 & \"'" + "x" * 10_000


def test_markup_and_line_ends_in_names_stay_text() -> None:
    evil = [face("1", name=EVIL)]
    made = replace(plan(rounds=[early()], faces=evil), name=EVIL)
    one = told(Kind.MISSED, ["1-out.finish.2026-06-09.early"], ["1-out"], day="2026-06-09", slot="early")
    message = said(made, one)
    assert not {"\n", "\r"} & set(message.subject)
    assert len(message.short) <= 110
    assert "<script" not in message.html
    assert "&lt;script&gt;" in message.html
    assert "\u202e" not in message.text + message.html
    assert len(message.text) < 20_000


def test_html_is_one_column_and_loads_nothing() -> None:
    html = said(job_plan(), ROUND).html
    assert re.findall(r"<(img|link|script|iframe|object|table|style)\b", html) == []
    assert re.findall(r'(?:src|href)="([^"]*)"', html) == [LINK]
    assert CATALOGUE["caution.height"] in html
    assert 'href="javascript' not in said(job_plan(), ROUND, link="javascript:alert(1)").html


hostile = st.text(max_size=60) | st.sampled_from([EVIL, "", "ü" * 300, "🧱" * 200])
kinds = st.sampled_from(list(Kind))


@st.composite
def occasions(draw: st.DrawFn) -> tuple[Plan, list[Occasion]]:
    count = draw(st.integers(1, 30))
    faces = [face(f"w{k}", "out", draw(hostile), k) for k in range(count)]
    ids = [one.id for one in faces]
    visits = tuple(visit(one, id=f"{one}.finish.2026-06-09.early", cloth=draw(st.booleans())) for one in ids)
    tasks = [booking(f"{ids[0]}.finish", MORNING, title=draw(hostile)), booking(f"{ids[0]}.look", MORNING)]
    made = replace(plan(tasks, [walk(ids, MORNING, visits=visits)], faces), name=draw(hostile))
    values: dict[str, Any] = {
        "day": draw(st.sampled_from(["2026-06-09", "2026-06-14", "", "nonsense"])),
        "slot": draw(st.sampled_from(["early", "late", "x"])),
        "by": "08:00",
        "minutes": draw(st.sampled_from([0, 45, 100_000])),
        "notice": draw(st.sampled_from(["was_it_laid", "no such"])),
        "of_coat": draw(hostile),
        "of_day": "2026-06-08",
        "was": draw(st.sampled_from(["2026-06-10 07:00", ""])),
        "now": draw(st.sampled_from(["2026-06-10 08:00", "2026-06-12 07:00", ""])),
        "what": draw(
            st.sampled_from(["moved", "off", "given", "taken", "firm", "conditional", "waiting", "unmet", "?"])
        ),
        "hold": draw(hostile),
        "point": draw(hostile),
        "coat": draw(st.sampled_from([tasks[0].id, ""])),
        "coat_day": "2026-06-12",
        "own": draw(st.booleans()),
        "number": draw(st.integers(0, 10**6)),
        "changes": draw(st.integers(0, 10**6)),
        "first": "2026-06-13",
        "last": draw(st.sampled_from(["2026-06-14", "2026-07-14", "2020-01-01", ""])),
    }
    about = draw(
        st.lists(st.sampled_from([*(v.id for v in visits), *(t.id for t in tasks), "gone", EVIL]), max_size=40)
    )
    some = draw(st.lists(st.sampled_from([*ids, "gone-out"]), max_size=40))
    kind = draw(kinds)
    one = told(kind, about, some, draw(st.integers(0, 3)), **values)
    return made, [one] * draw(st.integers(1, 3))


@settings(deadline=None, max_examples=300)
@given(occasions())
def test_short_texts_are_one_line_of_110_signs_whatever_things_are_called(given_: tuple[Plan, list[Occasion]]) -> None:
    made, listed = given_
    message = said(made, *listed)
    assert 0 < len(message.short) <= 110
    for text in (message.short, message.subject):
        assert not any(unicodedata.category(sign) in ("Cc", "Zl", "Zp") for sign in text)
        assert not set(text) & set("\u202a\u202b\u202d\u202e\u2066\u2067\u2068")
    assert len(message.subject) <= 160
    assert "<script" not in message.html
