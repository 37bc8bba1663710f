"""Reminders that the weather brings: days to decide, frost covers, sheets, cloth. Times are worked out by hand.

Ida and Bo are the crew and lead; Near lives next door. All weather here is invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from court import AMSTERDAM, WORDS, at, read
from scenes import lines, told
from test_weather_covers import MONDAY, NIGHT, cold, high
from test_weather_covers import after as covered
from test_weather_covers import sky as mild
from test_weather_moves import HOUR
from test_weather_moves import told as told_first
from test_weather_notices import seen
from test_weather_visits import DRY, NOW, yard
from test_weather_visits import sky as dry_sky

from curing.model.evidence import NOTHING_SAID
from curing.model.plan import Booking, Change, Moment, Plan
from curing.model.record import RecordEntry, RecordKind
from curing.model.reminders import Message, Occasion
from curing.model.weather import Weather
from curing.planning.effective import effective
from curing.planning.expand import identify
from curing.planning.reminding import Scene
from curing.planning.roots import roots_of
from curing.publish.reminder_about import Present
from curing.publish.reminder_text import compose
from curing.workflow.planning import next_plan
from curing.workflow.weather_plan import PlanWeather

DAY = timedelta(days=1)


def weathers(made: Scene, after_: datetime, to: datetime) -> list[Occasion]:
    """Return what is asked about days and weather alone."""
    return [one for one in told(made, after_, to, "decide") if one.key.startswith("decide|weather")]


def scene(data: dict[str, Any], plan: Plan, saved: datetime | None = None, *said: RecordEntry, **more: Any) -> Scene:
    """Return the scene of a plan that was saved then."""
    job = read(data, plan.as_of)
    moved = ((plan.revision, saved, plan.changes),) if saved is not None else ()
    made = Scene(
        job, roots_of(job, identify(job, plan)), plan, NOTHING_SAID, effective(said).entries, moved=moved,
        questions=plan.questions, warnings=plan.warnings,
    )  # fmt: skip
    return replace(made, **more)


def message(scene_: Scene, occasions: Sequence[Occasion]) -> Message:
    present = Present(scene_.plan, NOTHING_SAID, scene_.plan.name, WORDS, occasions[0].due)
    made = compose(occasions, present, "https://walls.example.org/s/x", "k")
    assert len(made.short) <= 110
    assert "\n" not in made.short
    return made


def said(kind: RecordKind, face: str, when: datetime, data: dict[str, Any]) -> RecordEntry:
    return RecordEntry(f"{kind}-{when}", when, when, "bo", kind, face, data)


# ------------------------------------------------------------------------------- days to decide


def test_a_coat_off_its_day_is_asked_at_once_and_every_morning_of_who_leads() -> None:
    """Told at 19:00 on Sunday for Monday: at once, then on mornings twelve hours and more later."""
    plan, _ = seen(12)
    made = scene(told_first()[0], plan, at(5, 9, "19:00"))
    found = weathers(made, at(5, 9, "18:00"), at(5, 12))
    assert lines(found) == [
        f"{day} {who} decide" for day in ("Sun 05-09 19:00", "Mon 05-10 07:00", "Tue 05-11 07:00")
        for who in ("bo", "ida")
    ]  # fmt: skip
    assert len({(one.key, one.person) for one in found}) == 6
    one = message(made, [found[0]])
    assert one.short == (
        "1 out base: off Mon 10 May, new day Wed 12 May? Rain on it Mon 10 May 07:00 to Tue 11 May 00:00, 18.1 L/m2."
    )
    assert "Without a word it has no day." in one.text


def test_in_the_morning_it_is_not_asked_twice() -> None:
    plan, _ = seen(12)
    found = weathers(scene(told_first()[0], plan, at(5, 9, "22:30")), at(5, 9, "22:00"), at(5, 10, "12:00"))
    assert lines(found) == ["Mon 05-10 06:00 bo decide", "Mon 05-10 06:00 ida decide"], "after quiet hours, once"


def test_what_is_answered_is_asked_no_more() -> None:
    plan, _ = seen(12)
    made = scene(told_first()[0], plan, at(5, 9, "19:00"), questions=())
    assert weathers(made, at(5, 9), at(5, 13)) == []


def test_a_day_only_proposed_is_told_six_and_four_mornings_before() -> None:
    plan, _ = seen(120)
    made = scene(told_first()[0], plan)
    found = weathers(made, at(5, 3), at(5, 12))
    assert lines(found) == [
        f"{day} {who} decide" for day in ("Tue 05-04 07:00", "Thu 05-06 07:00") for who in ("bo", "ida")
    ]
    assert message(made, found[:1]).short.startswith("1 out base: Wed 12 May instead of Mon 10 May? Rain on it")
    assert "Without a word it stays as it is." in message(made, found[:1]).text


def test_open_questions_of_weather_count_in_the_evening() -> None:
    plan, _ = seen(12)
    (ida,) = [
        one for one in told(scene(told_first()[0], plan), at(5, 9), at(5, 9, "23:00"), "summary") if one.person == "ida"
    ]
    assert ida.values["to_decide"] == 1


# ------------------------------------------------------------------------------- frost and rain


def frosty() -> tuple[dict[str, Any], Plan]:
    data = high()
    return data, covered(data, MONDAY, None, cold(MONDAY, NIGHT))[0]


def test_frost_is_told_in_the_morning_of_the_day_on_which_it_is_covered() -> None:
    data, plan = frosty()
    made = scene(data, plan)
    found = told(made, MONDAY, at(3, 25), "frost")
    assert lines(found) == ["Tue 03-23 07:00 bo frost", "Tue 03-23 07:00 ida frost"]
    one = message(made, found[:1])
    assert (
        one.short
        == "FROST Wed 24 March 01:00, -2 °C (could be -3.9 °C). Cover 1 by 15:30, air gap. Last mist before noon."
    )
    assert "An air gap, so that nothing touches the coat" in one.text
    assert "never on a mobile tower" in one.text.lower()
    assert "Height" in one.text
    assert found[0].until == at(3, 23, "15:30")


def test_a_frost_told_in_the_day_is_told_at_once_and_one_told_at_night_in_the_morning() -> None:
    data, plan = frosty()
    up = next(one for one in plan.bookings if one.id.endswith("-up"))
    for saved, due in ((at(3, 23, "10:20"), "10:20"), (at(3, 22, "22:30"), "07:00"), (at(3, 23, "15:00"), "15:00")):
        made = scene(data, replace(plan, changes=(change(up),)), saved)
        found = told(made, MONDAY, at(3, 25), "frost")
        assert lines(found) == [f"Tue 03-23 {due} bo frost", f"Tue 03-23 {due} ida frost"]
    made = scene(data, replace(plan, changes=(change(up),)), at(3, 23, "15:30"))
    assert told(made, MONDAY, at(3, 25), "frost") == [], "nobody could do it any more"


def change(booking: Booking) -> Change:
    """Return the change that brought a booking."""
    new = Moment(booking.start, booking.end, booking.state, booking.who)
    return Change(booking.id, booking.uid, booking.kind, booking.faces, booking.zone, None, new, booking.reason)


@pytest.mark.parametrize(
    ("saved", "due", "rings"),
    [
        ((22, "16:00"), "Mon 03-22 18:30", False),  # its work begins at dawn: the evening before
        ((22, "20:00"), "Mon 03-22 20:00", False),
        ((22, "22:30"), "Mon 03-22 22:30", True),  # quiet hours end too late for it: it rings
    ],
)
def test_what_must_be_up_at_dawn_comes_through(saved: tuple[int, str], due: str, rings: bool) -> None:
    """Up from 05:40 to 06:00; quiet hours are 21:00 to 06:00, and half an hour is wanted before."""
    data, plan = frosty()
    dawn = at(3, 23, "05:40")
    up = next(one for one in plan.bookings if one.id.endswith("-up"))
    early = replace(up, start=dawn, end=dawn + HOUR / 3, until=dawn + HOUR / 3)
    plan = replace(
        plan, bookings=tuple(early if one.id == up.id else one for one in plan.bookings), changes=(change(early),)
    )
    found = told(scene(data, plan, at(3, *saved)), MONDAY - HOUR, at(3, 25), "frost")
    assert lines(found) == [f"{due} bo frost", f"{due} ida frost"]
    assert {one.rings_in_quiet for one in found} == {rings}


def test_cloth_that_hangs_is_no_frost_cover_and_a_frost_cover_ends_it() -> None:
    data, plan = frosty()
    hung = said(RecordKind.COVER_UP, "1-out", at(3, 23, "06:30"), {"cover": "cloth"})
    assert len(told(scene(data, plan, None, hung), MONDAY, at(3, 25), "frost")) == 2
    up = said(RecordKind.COVER_UP, "1-out", at(3, 23, "06:30"), {"cover": "frost"})
    assert told(scene(data, plan, None, up), MONDAY, at(3, 25), "frost") == []


def test_rain_on_a_fresh_coat_asks_for_sheets() -> None:
    """Closed at noon; at 12:30 a forecast has rain in the night, and the crew goes at 15:30."""
    data, now = high(), at(3, 22, "12:30")
    wet = ("rain", at(3, 23, "02:00"), at(3, 23, "05:00"), 3.0)
    plan, _ = covered(data, now, None, mild(now, wet, wind=6.0))
    up = next(one for one in plan.bookings if one.id.endswith("-up"))
    made = scene(data, replace(plan, changes=(change(up),)), now)
    found = told(made, at(3, 22, "05:00"), at(3, 25), "rain")
    assert lines(found) == ["Mon 03-22 12:30 bo rain", "Mon 03-22 12:30 ida rain"]
    short = message(made, found[:1]).short
    assert short.startswith("RAIN Tue 23 March 02:00, ")
    assert short.endswith(" Sheets on 1 by 15:30, fixed, clear of the face.")
    up_by_then = said(RecordKind.COVER_UP, "1-out", at(3, 22, "15:00"), {"cover": "sheet"})
    assert told(scene(data, plan, None, up_by_then), at(3, 22, "05:00"), at(3, 25), "rain") == []


# ------------------------------------------------------------------------------- sun and dry air


def planned_under(data: dict[str, Any], run: Weather) -> Plan:
    job = read(data, NOW)
    return next_plan(job, None, NOW, WORDS, weather=PlanWeather({job.file.sites[0].id: (run,)}))[0]


def test_dry_air_asks_for_one_more_mist_of_who_walks_there() -> None:
    data = yard()
    plan = planned_under(data, dry_sky(**DRY))
    more = [(walk, one) for walk in plan.rounds for one in walk.visits if one.added]
    assert more
    made = scene(data, plan)
    found = told(made, NOW, at(5, 11, "23:00"), "heat")
    assert {one.person for one in found} <= {"near", "ida", "bo"}
    faces = {face for one in found for face in one.faces}
    assert faces == {visit.face for walk in plan.rounds for visit in walk.visits if visit.advice in ("extra", "shade")
                     and walk.start.astimezone(AMSTERDAM).date().isoformat() == "2027-05-11"}  # fmt: skip
    shorts = {message(made, [one]).short for one in found}
    assert any("Mist once more at " in text for text in shorts), shorts
    whole = message(made, found[:1]).text
    assert "One more at midday" in whole or "Cloth up first" in whole
    assert len({(one.key, one.person) for one in found}) == len(found)


def test_kind_weather_reminds_nobody() -> None:
    data = yard()
    plan = planned_under(data, dry_sky())
    assert told(scene(data, plan), NOW - DAY, NOW + 3 * DAY, "heat", "frost", "rain") == []


def test_hours_looked_at_one_by_one_tell_what_the_whole_span_tells() -> None:
    data, plan = frosty()
    plan = replace(plan, changes=tuple(change(one) for one in plan.bookings if one.id.endswith("-up")))
    off, _ = seen(12)
    dry = planned_under(yard(), dry_sky(**DRY))
    for made, first in (
        (scene(data, plan, at(3, 22, "22:30")), MONDAY),
        (scene(told_first()[0], off, at(5, 9, "19:00")), at(5, 9)),
        (scene(yard(), dry), NOW - DAY),
    ):
        kinds = ("decide", "frost", "rain", "heat")
        hours = [first + k * HOUR for k in range(3 * 24)]
        apart = [one for hour in hours for one in told(made, hour, hour + HOUR, *kinds)]
        whole = told(made, first, hours[-1] + HOUR, *kinds)
        assert whole
        assert apart == whole
