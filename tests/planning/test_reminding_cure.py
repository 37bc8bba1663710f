"""All that is told in the 28 days of a finish, once over the spring and once over the autumn change of the clock.

At Amsterdam the clocks went from 02:00 to 03:00 on Sunday 28 March 2027, and from 03:00 back to 02:00 on Sunday
31 October 2027. Near mists every day, Ida (who leads) and Bo from Monday to Friday 07:00-15:30; all three are told
30 min before a walk and are quiet from 21:00 to 06:00. Whatever is not said to be left out is done five minutes
after its start and said at once.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from court import AMSTERDAM, at, coat
from court_record import Court
from scenes import lines, lived, tend, walk_of, with_finish

from curing.model.plan import Slot, State


def live(court: Court, finish: date, left: list[tuple[date, str]]) -> list[str]:
    """Return what is told from the closing to the last day, if all is done but some walks (day, part)."""
    assert court.plan is not None
    for walk in court.plan.rounds:
        day = walk.start.astimezone(AMSTERDAM).date()
        if walk.visits[0].coat == "finish" and (day, walk.slot) not in [(day, Slot(part)) for day, part in left]:
            tend(court, walk)
    court.put("inspection", "1-out", "ida", {"sound": True}, at=coat(court.plan, "1-out.finish.look").start)
    for cover in court.plan.bookings:
        if cover.task == "finish.cloth-down":
            court.put("cover-down", "1-out", "ida", {}, at=cover.start)
    end = finish + timedelta(29)
    return lines(lived(court, datetime(end.year, end.month, end.day, tzinfo=AMSTERDAM)))


# The list is by these rules. A walk is told 30 min before it begins: at 06:30 for those of 07:00, at 14:50 for those
# that the crew walks at the end of its day (15:20). Near's late walks follow the sun, and jump an hour with the clock.
# The look is due at 15:00 on the laying day; the cloth comes down 14 days on, which is told 30 min before and the
# evening before at 18:30. The crew is away on 20 and 21 March, and from Good Friday 26 to Easter Monday 29 March: the
# day before, an hour before it goes at 15:30, both hear which cloth must last. Left out are:
# - Wednesday 17 March early (Near; window to 07:10). Half an hour on Near hears of it, and, the coat being of day 2,
#   Ida who leads; half an hour later Bo, the last who mists. Ida's summary of 18:30 counts it.
# - Saturday 27 March late (Near; to 18:00). Near at 18:30, and nobody else has hours that day. Ida 12 h after the
#   window, which is 07:00 by the new clock, not 06:00. Her summary of Saturday counts it.
# - Sunday 28 March early (Near; to 07:20): Near at 07:50, Ida at 19:20; the summary between.
SPRING = """
Mon 03-15 14:30 ida task
Tue 03-16 06:30 near round
Tue 03-16 17:00 near round
Wed 03-17 06:30 near round
Wed 03-17 07:40 ida missed
Wed 03-17 07:40 near missed
Wed 03-17 08:10 bo missed
Wed 03-17 17:05 near round
Wed 03-17 18:30 ida summary
Thu 03-18 06:30 ida round
Thu 03-18 14:50 ida round
Fri 03-19 06:30 bo round
Fri 03-19 14:30 bo cloth
Fri 03-19 14:30 ida cloth
Fri 03-19 14:50 bo round
Sat 03-20 06:30 near round
Sat 03-20 17:10 near round
Sun 03-21 06:30 near round
Sun 03-21 17:10 near round
Mon 03-22 06:30 ida round
Mon 03-22 14:50 ida round
Tue 03-23 06:30 bo round
Tue 03-23 14:50 bo round
Wed 03-24 06:30 ida round
Wed 03-24 14:50 ida round
Thu 03-25 06:30 bo round
Thu 03-25 14:30 bo cloth
Thu 03-25 14:30 ida cloth
Thu 03-25 14:50 bo round
Fri 03-26 06:30 near round
Fri 03-26 17:20 near round
Sat 03-27 06:30 near round
Sat 03-27 17:20 near round
Sat 03-27 18:30 near missed
Sat 03-27 18:30 ida summary
Sun 03-28 06:30 near round
Sun 03-28 07:00 ida missed
Sun 03-28 07:50 near missed
Sun 03-28 18:25 near round
Sun 03-28 18:30 ida summary
Sun 03-28 19:20 ida missed
Mon 03-29 06:30 near round
Mon 03-29 18:25 near round
Mon 03-29 18:30 ida eve
Tue 03-30 06:30 ida round
Tue 03-30 06:40 ida task
Wed 03-31 06:30 bo round
Thu 04-01 06:30 ida round
Fri 04-02 06:30 ida round
Sat 04-03 06:30 near round
Sun 04-04 06:30 near round
Mon 04-05 06:30 bo round
Tue 04-06 06:30 ida round
Wed 04-07 06:30 bo round
Thu 04-08 06:30 ida round
Fri 04-09 06:30 bo round
Sat 04-10 06:30 near round
Sun 04-11 06:30 near round
Mon 04-12 06:30 bo round
"""

# The north face has no cloth. From day 15 on one visit a day is left, the late one. Left out are:
# - Saturday 30 October late (Near; window to 17:10). Near at 17:40. Twelve hours on it is 05:10 by the old clock, but
#   04:10 by the new one; Ida is quiet to 06:00 by the new.
# - Sunday 31 October early (Near; to 07:10): Near at 07:40, Ida at 19:10. A summary on both evenings.
AUTUMN = """
Mon 10-18 14:30 ida task
Tue 10-19 06:30 near round
Tue 10-19 16:55 near round
Wed 10-20 06:30 near round
Wed 10-20 16:50 near round
Thu 10-21 06:30 ida round
Thu 10-21 14:50 ida round
Fri 10-22 06:30 bo round
Fri 10-22 14:50 bo round
Sat 10-23 06:30 near round
Sat 10-23 16:45 near round
Sun 10-24 06:30 near round
Sun 10-24 16:45 near round
Mon 10-25 06:30 ida round
Mon 10-25 14:50 ida round
Tue 10-26 06:30 bo round
Tue 10-26 14:50 bo round
Wed 10-27 06:30 ida round
Wed 10-27 14:50 ida round
Thu 10-28 06:30 bo round
Thu 10-28 14:50 bo round
Fri 10-29 06:30 ida round
Fri 10-29 14:50 ida round
Sat 10-30 06:30 near round
Sat 10-30 16:30 near round
Sat 10-30 17:40 near missed
Sat 10-30 18:30 ida summary
Sun 10-31 06:00 ida missed
Sun 10-31 06:30 near round
Sun 10-31 07:40 near missed
Sun 10-31 15:30 near round
Sun 10-31 18:30 ida summary
Sun 10-31 19:10 ida missed
Mon 11-01 06:30 bo round
Mon 11-01 14:50 bo round
Tue 11-02 14:50 ida round
Wed 11-03 14:50 bo round
Thu 11-04 15:25 near round
Fri 11-05 14:50 ida round
Sat 11-06 15:20 near round
Sun 11-07 15:20 near round
Mon 11-08 15:15 near round
Tue 11-09 14:50 ida round
Wed 11-10 14:50 bo round
Thu 11-11 14:50 ida round
Fri 11-12 14:50 bo round
Sat 11-13 15:10 near round
Sun 11-14 15:05 near round
Mon 11-15 14:50 ida round
"""


def test_a_cure_through_the_change_to_summer_time():
    finish = date(2027, 3, 15)
    court = with_finish("S", date(2027, 3, 1), finish)
    assert court.plan is not None
    on_easter = [walk_of(court, date(2027, 3, day), "late").start for day in (27, 28)]
    assert on_easter == [at(3, 27, "17:50"), at(3, 28, "18:55")], "an hour and five minutes later by the clock"
    left = [(date(2027, 3, 17), "early"), (date(2027, 3, 27), "late"), (date(2027, 3, 28), "early")]
    assert live(court, finish, left) == SPRING.strip().splitlines()


def test_a_cure_through_the_change_to_winter_time():
    finish = date(2027, 10, 18)
    court = with_finish("N", date(2027, 10, 4), finish)
    left = [(date(2027, 10, 30), "late"), (date(2027, 10, 31), "early")]
    assert live(court, finish, left) == AUTUMN.strip().splitlines()


def test_the_look_after_a_coat_stays_in_the_plan_when_the_coat_is_said_to_be_laid():
    # The plan is made anew a second after the entry; the look is still hours ahead.
    court = with_finish("N", date(2027, 10, 4), date(2027, 10, 18))
    assert court.plan is not None
    look = coat(court.plan, "1-out.finish.look")
    assert (look.start, look.who, look.state) == (at(10, 18, "15:00"), ("ida",), State.FIRM)
    later = court.replan(at(10, 20, "09:00"))
    assert "1-out.finish.look" in {one.id for one in later.bookings}, "and is kept as history"
