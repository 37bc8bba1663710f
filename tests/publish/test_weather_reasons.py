"""Sentences about weather, as a plasterer would take them; all figures invented."""

from __future__ import annotations

import string
from datetime import UTC, datetime
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from curing.model.weather_stops import Stop, Unknown
from curing.planning.weather_limits import KINDS, What
from curing.planning.weather_looks import Advice, Advised, Cause
from curing.planning.weather_protect import Barred, Cover, CoverKind
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


def cover(kind: CoverKind, **more: object) -> Cover:
    fields: dict[str, object] = {
        "face": "3-out", "coat": "finish", "rule": "finish.rain_after", "value": 14.0, "limit": 0.1,
        "unit": "volume_l_per_m2", "could": None, "start": WED, "end": THU, "up_by": utc(9, 15),
        "down_at": THU, "wind_most": 8.0, "windy": (), "wind_down": None, "barred": None,
    }  # fmt: skip
    return Cover(kind=kind, **{**fields, **more})  # type: ignore[arg-type]


def test_covers_say_up_and_down() -> None:
    assert METRIC.cover(cover(CoverKind.SHEET)) == (
        "Rain on it Wed 05:00 to Thu 14:00, 14 mm. Sheets up by Tue 17:00, air gap. Down from Thu 14:00."
    )
    frost = cover(CoverKind.FROST, value=-1.0, could=-3.0, unit="temperature_c", end=utc(10, 5))
    assert METRIC.cover(frost) == (
        "Frost Wed 05:00 to 07:00: -1 °C, could be -3 °C. Cover it by Tue 17:00, air gap. Off from Thu 14:00."
    )
    windy = METRIC.cover(cover(CoverKind.SHEET, windy=((WED, THU),), wind_down=utc(10, 10)))
    assert windy.endswith("Take it down by Wed 12:00: 29 km/h and more later.")


def test_a_tower_is_told_of_and_no_cover_is_asked_for() -> None:
    said = METRIC.cover(cover(CoverKind.SHEET, barred=Barred.TOWER))
    assert said == (
        "Rain on it Wed 05:00 to Thu 14:00, 14 mm. Hang nothing on a mobile tower: wind takes it over. "
        "A fixed scaffold, or leave it bare."
    )


def test_advice_about_a_visit() -> None:
    one = Advised(
        Advice.FROST, Cause.CLEAR_NIGHT, "visit.frost_clear", 3.6, 4.0, "temperature_c", utc(10, 23), utc(11, 4), True
    )
    assert METRIC.advice(one) == (
        "No mist this evening: clear and down to 3.6 °C Thu 01:00 to 06:00, a wet face freezes. "
        "Mist at 10 to 12 instead. Look first: it may still be dark."
    )
    more = Advised(Advice.EXTRA, Cause.DEMAND, "visit.extra_from", 2.71, 2.5, "volume_l_per_m2", WED, utc(11, 3))
    assert METRIC.advice(more).startswith("One visit more: the air takes 2.71 L/m2 from it Wed 05:00 to Thu 05:00")


GIVEN = [
    (Advice.EXTRA, Cause.DEMAND), (Advice.SHADE, Cause.DEMAND), (Advice.MIDDAY, Cause.GAP),
    (Advice.MIDDAY, Cause.MOVED), (Advice.LOOK, Cause.LITTLE), (Advice.FROST, Cause.NIGHT),
    (Advice.FROST, Cause.CLEAR_NIGHT), (Advice.COLD, Cause.COLD),
]  # fmt: skip


def test_everything_that_can_be_said_has_a_sentence() -> None:
    for what in What:
        assert f"weather.stop.{what}" in WEATHER
        assert f"weather.about.{what}" in WEATHER
    for advice, cause in GIVEN:
        assert f"weather.advice.{advice}.{cause}" in WEATHER
    assert {advice for advice, _ in GIVEN} == set(Advice)
    assert {cause for _, cause in GIVEN} == set(Cause)
    for kind in CoverKind:
        for barred in (None, *Barred):
            for unit in ("volume_l_per_m2", "irradiance_w_m2"):
                assert METRIC.cover(cover(kind, barred=barred, unit=unit))


def test_sentences_name_only_what_they_are_given() -> None:
    known = {"span", "value", "limit", "could", "rule", "what", "number", "up", "down", "wind", "before"}
    groups = ("weather.stop.", "weather.advice.", "weather.cover.", "weather.barred.", "weather.missing.")
    for key, text in WEATHER.items():
        if key.startswith(groups):
            named = {name for _, name, _, _ in string.Formatter().parse(text) if name}
            assert named <= known, key


def test_other_shapes_do_as_well() -> None:
    one = SimpleNamespace(rule="finish.frost_to", what="frost", value=-2.0, limit=0.0, kind="temperature_c",
                          start=WED, end=THU, could=None)  # fmt: skip
    assert METRIC.stop(one) == "frost Wed 05:00 to Thu 14:00: -2 °C"
