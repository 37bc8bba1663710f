"""The charts of a job: what somebody would count on them, against the plan they show."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest

from curing.model.plan import CoatDates, FacePlan, HoldState, Kind, Plan, Season, State
from curing.publish.chart_build_up import build_up
from curing.publish.chart_hours import crew_hours, tending_visits
from curing.publish.chart_time import span, visits
from curing.publish.drawing import Chart
from curing.publish.words import Words
from curing.workflow.viewing import view_job
from tests.publish.sample_plans import AMSTERDAM, booking, face, hold, plan, walk

EXAMPLE = Path(__file__).parents[2] / "examples" / "alder-court-under-way.yaml"
ZONE = ZoneInfo(AMSTERDAM)
MAY_24 = date(2027, 5, 24)
"""A Monday."""


@pytest.fixture(scope="module")
def viewed() -> tuple[Plan, datetime]:
    one = view_job(EXAMPLE, as_of="2027-05-24 06:00")
    return one.plan, one.now


def shapes(chart: Chart, kind: str) -> list[ElementTree.Element]:
    return [one for one in ElementTree.fromstring(chart.svg).iter() if kind in (one.get("class") or "").split()]


def number(one: ElementTree.Element, key: str) -> float:
    return float(one.get(key, "nan"))


def charts(plan: Plan, now: datetime, wide: bool) -> list[Chart]:
    words, there = Words(), {MAY_24: 72.0}
    return [
        build_up(plan, words, now, wide=wide, measured={"2.panel-dry": "24 %"}),
        crew_hours(plan, words, now, there, wide=wide, lost={MAY_24: 20.0}),
        tending_visits(plan, words, now, wide=wide),
    ]


@pytest.mark.parametrize("wide", [True, False])
def test_charts_are_svg_without_styles_or_scripts_and_with_legible_labels(
    viewed: tuple[Plan, datetime], wide: bool
) -> None:
    for chart in charts(*viewed, wide):
        drawing = ElementTree.fromstring(chart.svg)
        assert drawing.get("role") == "img"
        assert (drawing.get("aria-label") or "").startswith(f"{chart.title}. ")
        for word in ("style=", "<script", "<style", "href"):
            assert word not in chart.svg
        classes = {one.get("class") for one in drawing.iter()}
        assert not classes & {
            "bar",
            "wall",
            "walls",
            "hold",
            "go",
            "way",
            "ways",
            "kept",
        }  # left out in print, or blocks
        sizes = [number(one, "font-size") for one in drawing.iter() if one.tag.endswith("text")]
        assert min(sizes) >= (12 if wide else 11)
        assert chart.title
        assert chart.summary.count(". ") == 0  # one sentence
        assert chart.rows
        assert all(len(row) == len(chart.head) for row in chart.rows)


def test_one_stroke_is_one_visit(viewed: tuple[Plan, datetime]) -> None:
    told, now = viewed
    chart = build_up(told, Words(), now, wide=True)
    planned = sum(len(one.visits) for one in told.rounds)
    # Before the plan's first day, three bases and two finishes had two visits a day, by the rules of clay-lime:
    # 3 bases x 3 days; wall 1 laid on 18 May, wall 2 on 19 May, counted from the day after to 23 May.
    before = 2 * (3 * 3 + 5 + 4)
    assert len(shapes(chart, "visit")) == planned + before


def test_a_phone_shows_the_visits_from_two_weeks_back_on(viewed: tuple[Plan, datetime]) -> None:
    told, now = viewed
    chart = build_up(told, Words(), now, wide=False)
    shown = [one for one in visits(told) if one.day >= date(2027, 5, 10)]
    assert len(shapes(chart, "visit")) == len(shown) < len(visits(told))


def test_strokes_of_a_day_do_not_lie_upon_one_another(viewed: tuple[Plan, datetime]) -> None:
    told, now = viewed
    for wide in (True, False):
        places = Counter(
            (one.get("x1"), one.get("y1")) for one in shapes(build_up(told, Words(), now, wide=wide), "visit")
        )
        assert max(places.values()) == 1


def test_what_is_planned_has_a_dashed_edge_and_what_is_laid_has_none(viewed: tuple[Plan, datetime]) -> None:
    told, now = viewed
    chart = build_up(told, Words(), now, wide=True)
    laid, planned = shapes(chart, "laid"), shapes(chart, "planned")
    coats = [coat for one in told.faces for coat in one.coats]
    assert len(laid) == sum(1 for coat in coats if coat.laid) == 5
    assert len(planned) == len(coats) - 5
    assert not any(one.get("stroke-dasharray") for one in laid)
    assert all(one.get("stroke-dasharray") for one in planned)


def test_a_coat_begins_on_its_day(viewed: tuple[Plan, datetime]) -> None:
    told, now = viewed
    over = span(told, now, wide=True)
    planned = shapes(build_up(told, Words(), now, wide=True), "planned")
    starts = sorted(number(one, "x") for one in planned if one.get("x"))
    coats = [coat for one in told.faces for coat in one.coats]
    assert starts == pytest.approx(sorted(over.x(one.day) for one in coats if not one.laid and one.visits), abs=0.06)
    today = shapes(build_up(told, Words(), now, wide=True), "today")
    assert [number(one, "x1") for one in today] == [pytest.approx(over.x(MAY_24), abs=0.06)]


def test_gates_stand_before_what_is_held_with_what_was_measured(viewed: tuple[Plan, datetime]) -> None:
    told, now = viewed
    chart = build_up(told, Words(), now, wide=True, measured={"2.panel-dry": "24 %"})
    waiting = [one for one in told.bookings if one.kind is Kind.COAT and one.state is State.CONDITIONAL and one.holds]
    assert len(shapes(chart, "gate")) == len(waiting) == 2
    assert ">24 %<" in chart.svg
    assert "2 faces wait at a hold" in chart.summary


def test_the_season_line_is_drawn_when_the_work_comes_near_it(viewed: tuple[Plan, datetime]) -> None:
    told, now = viewed
    assert len(shapes(build_up(told, Words(), now, wide=True), "season")) == 1  # 22 Sep, a week after the last coat
    far = Season(date(2028, 9, 22), date(2027, 6, 1), date(2027, 9, 9), date(2027, 6, 1), date(2027, 4, 1), 300, True)
    later = replace(told, faces=tuple(replace(one, season=far) for one in told.faces))
    assert not shapes(build_up(later, Words(), now, wide=True), "season")


def test_the_table_tells_every_coat_in_walking_order(viewed: tuple[Plan, datetime]) -> None:
    told, now = viewed
    rows = build_up(told, Words(), now, wide=False).rows
    assert len(rows) == sum(len(one.coats) for one in told.faces)
    assert list(dict.fromkeys(row[0] for row in rows))[:3] == ["1 out", "2 out", "2 in"]
    assert rows[0] == ("1 out", "base", "Mon 3 May", "laid", "6", "Thu 6 May")


# -- hours and visits -------------------------------------------------------------------------


def test_a_bar_is_as_high_as_its_hours(viewed: tuple[Plan, datetime]) -> None:
    told, now = viewed
    chart = crew_hours(told, Words(), now, {}, wide=True)
    needed: Counter[date] = Counter()
    for one in told.bookings:
        if one.kind is Kind.COAT:
            day = one.start.astimezone(ZONE).date()
            needed[day - timedelta(days=day.weekday())] += one.labour
    bars = [number(one, "height") for one in shapes(chart, "load")]
    hours = [needed[week] for week in sorted(needed)]
    assert len(bars) == len(hours)
    for bar, one in zip(bars, hours, strict=True):
        assert bar / max(bars) == pytest.approx(one / max(hours), abs=0.01)


def test_the_line_stands_at_the_hours_that_rain_leaves() -> None:
    start = datetime(2027, 5, 25, 5, tzinfo=UTC)
    told = plan([booking("1-out.finish", start, labour=30.0, crew="render")], as_of=start)
    chart = crew_hours(told, Words(), start, {MAY_24: 60.0}, wide=True, lost={MAY_24: 20.0})
    (bar,), (there,), (lost,) = (shapes(chart, one) for one in ("load", "there", "lost"))
    foot = number(bar, "y") + number(bar, "height")
    assert (foot - number(there, "y1")) / number(bar, "height") == pytest.approx(40 / 30, abs=0.01)
    assert number(lost, "height") / number(bar, "height") == pytest.approx(20 / 30, abs=0.01)
    assert chart.summary == "Most work in the week of 24 May: 30 of 40 h."
    assert chart.rows == (("24 May", "30", "60", "20"),)


def test_too_much_work_for_a_week_is_said() -> None:
    start = datetime(2027, 5, 25, 5, tzinfo=UTC)
    told = plan([booking("1-out.finish", start, labour=50.0)], as_of=start)
    chart = crew_hours(told, Words(), start, {MAY_24: 60.0}, wide=False, lost={MAY_24: 20.0})
    assert "too much work, that of 24 May: 50 h, and 40 h are there" in chart.summary


def test_other_crews_and_work_that_is_off_do_not_count() -> None:
    start = datetime(2027, 5, 25, 5, tzinfo=UTC)
    told = plan(
        [
            booking("1-out.finish", start, labour=8.0, crew="render"),
            booking("2-out.finish", start, labour=5.0, crew="paint"),
            booking("3-out.finish", start, labour=4.0, crew="render", state=State.OFF),
        ],
        as_of=start,
    )
    assert crew_hours(told, Words(), start, {}, wide=True, crew="render").rows == (("24 May", "8", "", ""),)
    assert crew_hours(told, Words(), start, {}, wide=True).rows == (("24 May", "13", "", ""),)


def test_visits_are_counted_by_the_week_and_on_its_sunday() -> None:
    rounds = [walk(["1-out", "2-out"], datetime(2027, 5, day, 5, tzinfo=UTC)) for day in (25, 29, 30)]
    rounds.append(walk(["1-out"], datetime(2027, 5, 30, 21, 59, tzinfo=UTC)))  # 23:59 in Amsterdam, still Sunday
    rounds.append(walk(["1-out"], datetime(2027, 5, 30, 22, 1, tzinfo=UTC)))  # Monday there
    told = plan(rounds=rounds, as_of=datetime(2027, 5, 24, 4, tzinfo=UTC))
    told = replace(told, faces=tuple(_until(one.id, date(2027, 6, 2)) for one in told.faces))
    chart = tending_visits(told, Words(), told.as_of, wide=True)
    assert chart.rows == (("24 May", "7", "3"), ("31 May", "1", "0"))
    assert "24 May: 7 visits, 3 of them on the Sunday" in chart.summary


def _until(id_: str, last: date) -> FacePlan:
    first, second = date(2027, 5, 24), date(2027, 5, 25)
    coat = CoatDates("finish", "finish", f"{id_}.finish", None, first, second, last, 9, None, 1.0)
    return replace(face(id_.partition("-")[0]), id=id_, coats=(coat,))


def test_from_its_own_day_on_only_what_the_plan_holds_is_a_visit() -> None:
    coat = CoatDates(
        "finish", "finish", "1-out.finish", datetime(2027, 5, 20, 12, tzinfo=UTC), date(2027, 5, 20), None, None, 42,
        None, 1.0, twice_to=2, once_to=10,
    )  # fmt: skip
    told = plan(faces=[replace(face("1"), coats=(coat,))], as_of=datetime(2027, 5, 24, 4, tzinfo=UTC))
    # Laid on the 20th: two visits on the 21st and the 22nd, one on the 23rd; from the 24th on there are no walks.
    assert [one.day.day for one in visits(told)] == [21, 21, 22, 22, 23]


# -- odd plans --------------------------------------------------------------------------------


def test_a_plan_without_coats_has_empty_charts() -> None:
    bare = plan(faces=[replace(face("1"), coats=())])
    for wide in (True, False):
        for chart in (
            build_up(bare, Words(), bare.as_of, wide=wide),
            crew_hours(bare, Words(), bare.as_of, {}, wide=wide),
            tending_visits(bare, Words(), bare.as_of, wide=wide),
        ):
            ElementTree.fromstring(chart.svg)
            assert chart.rows == ()


def test_names_are_text_whatever_they_hold() -> None:
    start = datetime(2026, 6, 10, 5, tzinfo=UTC)
    odd = '<script>alert("&")</script>\x00'
    told = plan(
        [booking("1-out.finish", start, state=State.CONDITIONAL, holds=("1.panel-dry",))],
        faces=[face("1", name=odd)],
        holds=(replace(hold("1.panel-dry", odd), state=HoldState.UNMET),),
    )
    for wide in (True, False):
        chart = build_up(told, Words(), start, wide=wide, measured={"1.panel-dry": odd})
        ElementTree.fromstring(chart.svg)
        assert "<script" not in chart.svg
