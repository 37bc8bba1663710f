"""Load week by week, as bars: hours of a crew against the hours that are there, and visits, with the Sunday's.

A bar is what is needed; the thick line is what is there; strokes of rain are hours that rain takes. The weeks stand
where they stand in the chart of how the walls build up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from curing.model.plan import LIVE, Kind, Plan, State
from curing.publish.chart_time import Span, grid, local_today, monday, short, span, visits
from curing.publish.drawing import GROUND, Chart, clipped, drawn, line, rect, text
from curing.publish.layers import SOFT, WATER, Fill, paper
from curing.publish.words import Words

TOP, HIGH, BELOW = 34.0, 84.0, 24.0
"""[px] above the bars, of the highest bar, and below."""
BAR = 0.7
"""Part of a week's width that its bar takes."""


@dataclass(frozen=True, slots=True)
class _Week:
    first: date
    amount: float
    said: str


@dataclass(frozen=True, slots=True)
class _There:
    """Hours that are there in a week, and those that rain takes of them."""

    week: date
    hours: float
    lost: float

    @property
    def left(self) -> float:
        return max(self.hours - self.lost, 0.0)


def crew_hours(
    plan: Plan,
    words: Words,
    now: datetime,
    capacity: Mapping[date, float],
    *,
    wide: bool,
    crew: str = "",
    lost: Mapping[date, float] | None = None,
) -> Chart:
    """Return the hours that coats need a week against the hours that are there.

    Parameters
    ----------
    plan, words, now
        The plan, the catalogue, the present instant.
    capacity
        Monday of a week -> hours of the crew that week [person-hours]; weeks without an entry have no line.
    wide
        For a desktop; else for a phone.
    crew
        Id of the crew; all crews together where empty.
    lost
        Monday of a week -> hours of those that rain takes [person-hours].
    """
    over, taken = span(plan, now, wide=wide), lost or {}
    needed: dict[date, float] = {}
    for one in plan.bookings:
        if one.kind is Kind.COAT and one.state in (*LIVE, State.DONE) and crew in ("", one.crew):
            week = monday(one.start.astimezone(ZoneInfo(one.zone)).date())
            needed[week] = needed.get(week, 0.0) + one.labour
    weeks = [_Week(week, needed.get(week, 0.0), _whole(needed.get(week, 0.0))) for week in over.weeks()]
    most = max([*(one.amount for one in weeks), *(capacity.get(one.first, 0.0) for one in weeks), 1.0])
    bottom = TOP + HIGH
    parts = _frame(plan, words, now, over, bottom, wide=wide)
    shown = [_There(week, capacity[week], taken.get(week, 0.0)) for week in over.weeks() if week in capacity]
    parts += [_rain(one, over, bottom, most) for one in shown if one.lost]
    parts += _bars(weeks, over, bottom, most, paper(Fill.DOTS))
    parts += [_left(one, over, bottom, most) for one in shown]
    parts += _figures(weeks, over, bottom, most)
    title, summary = words.say("chart.hours.title"), _hours_said(weeks, capacity, taken, words)
    parts += _named(title, "", bottom, wide=wide)
    rows = tuple(
        (
            short(one.first, words),
            _whole(one.amount),
            _whole(capacity[one.first]) if one.first in capacity else "",
            _whole(taken[one.first]) if taken.get(one.first) else "",
        )
        for one in weeks
        if one.amount or one.first in capacity
    )
    head = tuple(words.say(f"chart.hours.head.{one}") for one in ("week", "needed", "there", "lost"))
    return Chart(title, summary, _svg(over, bottom + 8, title, summary, parts), head, rows)


def tending_visits(plan: Plan, words: Words, now: datetime, *, wide: bool) -> Chart:
    """Return the visits of each week, with the Sunday's as a figure below.

    Parameters
    ----------
    plan, words, now
        The plan, the catalogue, the present instant.
    wide
        For a desktop; else for a phone.
    """
    over = span(plan, now, wide=wide)
    week_of: dict[date, int] = {}
    sunday_of: dict[date, int] = {}
    for seen in visits(plan):
        first = monday(seen.day)
        week_of[first] = week_of.get(first, 0) + 1
        if seen.day.weekday() == 6:
            sunday_of[first] = sunday_of.get(first, 0) + 1
    weeks = [_Week(week, week_of.get(week, 0), str(week_of.get(week, 0))) for week in over.weeks()]
    most = max([*(one.amount for one in weeks), 1.0])
    bottom = TOP + HIGH
    parts = _frame(plan, words, now, over, bottom, wide=wide)
    parts += _bars(weeks, over, bottom, most, WATER)
    parts += _figures(weeks, over, bottom, most)
    for one in weeks:
        if one.amount:
            said = str(sunday_of.get(one.first, 0) or "–")
            parts.append(text(over.x(one.first, 3.5), bottom + 16, said, size=13, anchor="middle"))
    title = words.say("chart.visits.title")
    highest = max(weeks, key=lambda one: one.amount)
    summary = words.say("chart.visits.none")
    if highest.amount:
        on_sunday, week = sunday_of.get(highest.first, 0), short(highest.first, words)
        summary = words.say("chart.visits.most", week=week, visits=highest.said, sunday=on_sunday)
    parts += _named(title, words.say("chart.visits.sunday"), bottom, wide=wide)
    rows = tuple((short(one.first, words), one.said, str(sunday_of.get(one.first, 0))) for one in weeks if one.amount)
    head = tuple(words.say(f"chart.visits.head.{one}") for one in ("week", "visits", "sunday"))
    return Chart(
        title, summary, _svg(over, bottom + (BELOW if wide else BELOW + 14), title, summary, parts), head, rows
    )


def _whole(hours: float) -> str:
    """Return hours without decimals; a little work is not nothing."""
    return f"{hours:.0f}" if hours >= 1 or not hours else f"{hours:.1f}"


def _frame(plan: Plan, words: Words, now: datetime, over: Span, bottom: float, *, wide: bool) -> list[str]:
    parts = [rect("ground", over.left, 0, over.right - over.left, bottom, fill=GROUND)]
    parts += grid(over, words, 18, bottom, wide=wide)
    parts.append(line("ground", over.left, bottom, over.right, bottom, thick=2.5))
    today = local_today(plan, now)
    if over.within(today):
        parts.append(line("today", over.x(today), 20, over.x(today), bottom, thick=3))
    return parts


def _bars(weeks: Sequence[_Week], over: Span, bottom: float, most: float, fill: str) -> list[str]:
    wide = 7 * over.day * BAR
    return [
        rect("load", over.x(one.first, 3.5) - wide / 2, bottom - high, wide, high, fill=fill, edge=1.5)
        for one in weeks
        if (high := HIGH * one.amount / most) > 0
    ]


def _figures(weeks: Sequence[_Week], over: Span, bottom: float, most: float) -> list[str]:
    return [
        text(
            over.x(one.first, 3.5),
            bottom - HIGH * one.amount / most - 5,
            one.said,
            size=13,
            anchor="middle",
            bold=True,
            halo=True,
        )
        for one in weeks
        if one.amount
    ]


def _rain(one: _There, over: Span, bottom: float, most: float) -> str:
    """Return strokes of rain for the hours that it takes."""
    x, wide = over.x(one.week), 7 * over.day
    whole, left = bottom - HIGH * one.hours / most, bottom - HIGH * one.left / most
    return rect("lost", x + 1, whole, wide - 2, left - whole, fill="url(#cut-rain) none")


def _left(one: _There, over: Span, bottom: float, most: float) -> str:
    """Return the thick line of the hours that are left for work."""
    y = bottom - HIGH * one.left / most
    return line("there", over.x(one.week), y, over.x(one.week + timedelta(days=7)), y, thick=4)


def _hours_said(
    weeks: Sequence[_Week], capacity: Mapping[date, float], lost: Mapping[date, float], words: Words
) -> str:
    there = {week: max(hours - lost.get(week, 0.0), 0.0) for week, hours in capacity.items()}
    over = [one for one in weeks if one.first in there and one.amount > there[one.first] + 1e-9]
    if not any(one.amount for one in weeks):
        return words.say("chart.hours.none")
    shown = over[0] if over else max(weeks, key=lambda one: one.amount)
    values = {"week": short(shown.first, words), "needed": shown.said, "there": _whole(there.get(shown.first, 0.0))}
    if over:
        return words.count("chart.hours.over", len(over), **values)
    return words.say("chart.hours.most_of" if shown.first in there else "chart.hours.most", **values)


def _named(title: str, below: str, bottom: float, *, wide: bool) -> list[str]:
    """Return the name of the bars in the column of names; on a phone the title stands over the chart."""
    if not wide:
        return [text(4, bottom + 32, below, size=13, ink=SOFT)] if below else []
    first, _, rest = title.partition(", ")
    parts = [
        text(4, bottom - 48, clipped(first, 24), size=15, bold=True),
        text(4, bottom - 30, rest, size=14, ink=SOFT),
    ]
    return [*parts, text(4, bottom + 16, below, size=14, ink=SOFT)] if below else parts


def _svg(over: Span, high: float, title: str, summary: str, parts: Sequence[str]) -> str:
    return drawn("weeks", over.right + (4 if over.left else 0), high, f"{title}. {summary}", parts)
