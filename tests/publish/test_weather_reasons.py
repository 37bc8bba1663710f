"""Sentences about weather, as a plasterer would take them; all figures invented."""

from __future__ import annotations

import string
from datetime import UTC, datetime
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from curing.model.weather_stops import Stop, Unknown
from curing.planning.weather_limits import KINDS, What
from curing.publish.weather_reasons import WeatherReasons
from curing.publish.weather_words import WEATHER
from curing.publish.words import Words

ZONE = ZoneInfo("Europe/Amsterdam")
METRIC, US = (WeatherReasons(Words(units), ZONE) for units in ("metric", "us"))


def utc(day: int, hour: int) -> datetime:
    """An hour of June 2026, in UTC: two hours behind the clock of the site."""
    return datetime(2026, 6, day, hour, tzinfo=UTC)


def stop(what: What, value: float, limit: float, start: datetime, end: datetime, could: float | None = None) -> Stop:
    return Stop(f"finish.{what}", what, value, limit, KINDS[what], start, end, could)


WED, THU = utc(10, 3), utc(11, 12)


@pytest.mark.parametrize(
    ("one", "text"),
    [
        (stop(What.RAIN, 14.2, 0.1, WED, THU), "rain on it Wed 05:00 to Thu 14:00, 14 mm on this face"),
        (stop(What.RAIN, 0.44, 0.1, WED, utc(10, 6)), "rain on it Wed 05:00 to 08:00, 0.4 mm on this face"),
        (stop(What.RAIN_BEFORE, 3.0, 0.1, WED, THU), "face wet: rain on it Wed 05:00 to Thu 14:00, 3 mm on this face"),
        (stop(What.FROST_SURE, 0.5, 0.0, WED, utc(10, 5), -1.3), "frost Wed 05:00 to 07:00: 0.5 °C, could be -1.3 °C"),
        (stop(What.FROST, -1.0, 0.0, WED, utc(10, 5)), "frost Wed 05:00 to 07:00: -1 °C"),
        (stop(What.COLD, 4.0, 8.0, WED, utc(10, 5)), "down to 4 °C Wed 05:00 to 07:00; not laid below 8 °C"),
        (stop(What.HOT, 31.2, 30.0, WED, utc(10, 5)), "up to 31.2 °C Wed 05:00 to 07:00; not laid above 30 °C"),
        (
            stop(What.FALLING, 6.0, 8.0, WED, utc(10, 6)),
            "air falling to 6 °C Wed 05:00 to 08:00; laid on falling air only from 8 °C up",
        ),
        (stop(What.HUMID, 92.0, 85.0, WED, utc(10, 6)), "humidity up to 92 % Wed 05:00 to 08:00; not above 85 %"),
        (
            stop(What.DEMAND, 3.9, 3.5, WED, utc(11, 3)),
            "dries too fast Wed 05:00 to Thu 05:00: the air takes 3.9 L/m2, bare faces are left from 3.5 L/m2 on",
        ),
        (
            stop(What.SUN, 410.0, 30.0, utc(10, 8), utc(10, 14)),
            "sun on it Wed 10:00 to 16:00 while it is fresh; cloth first",
        ),
    ],
)
def test_why_it_cannot_be_laid_then(one: Stop, text: str) -> None:
    assert METRIC.stop(one) == text


def test_in_other_units() -> None:
    assert US.stop(stop(What.RAIN, 14.2, 0.1, WED, THU)).endswith("0.56 in on this face")
    assert US.stop(stop(What.FROST, -1.0, 0.0, WED, THU)).endswith(": 30 °F")


def test_what_is_not_known() -> None:
    one = Unknown("finish.rain_after", What.RAIN, 7, WED, utc(10, 12))
    assert METRIC.missing(one) == "not known: rain, 7 hours missing Wed 05:00 to 14:00"
    long = Unknown("finish.frost_to", What.FROST, 170, utc(10, 3), utc(17, 5))
    assert METRIC.missing(long) == "not known: frost, 170 hours missing Wed 10 June to Wed 17 June"


def test_everything_that_can_be_said_has_a_sentence() -> None:
    for what in What:
        assert f"weather.stop.{what}" in WEATHER
        assert f"weather.about.{what}" in WEATHER


def test_sentences_name_only_what_they_are_given() -> None:
    known = {"span", "value", "limit", "could", "rule", "what", "number"}
    groups = ("weather.stop.", "weather.missing.")
    for key, text in WEATHER.items():
        if key.startswith(groups):
            named = {name for _, name, _, _ in string.Formatter().parse(text) if name}
            assert named <= known, key


def test_other_shapes_do_as_well() -> None:
    one = SimpleNamespace(rule="finish.frost_to", what="frost", value=-2.0, limit=0.0, kind="temperature_c",
                          start=WED, end=THU, could=None)  # fmt: skip
    assert METRIC.stop(one) == "frost Wed 05:00 to Thu 14:00: -2 °C"
