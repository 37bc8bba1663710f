"""What the weather asks for, as short texts: frost covers, sheets, cloth and more water; a coat off its day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from curing.model.kinds import KindName
from curing.model.reminders import Kind, Occasion
from curing.publish.event_text import LONGEST_WHY
from curing.publish.event_title import cut
from curing.publish.reminder_about import About

ASKED = ("weather_off", "weather_proposed")
"""Questions about a coat and its day."""
TOGETHER = (Kind.FROST, Kind.RAIN, Kind.HEAT)
"""Kinds whose faces stand in one text, where one night, one rain or one day is meant."""


def day_off(about: About, one: Occasion) -> Iterator[str]:
    """Yield ways to ask who decides for another day of a coat, the longest first."""
    say, values = about.words.say, one.values
    of = {name.removeprefix("of_"): value for name, value in values.items() if name.startswith("of_")}
    said = {
        "coat": cut(about.names.named(str(of.get("coat"))), LONGEST_WHY),
        "was": about.day(of.get("was") or of.get("on")),
        "day": about.day(of.get("day")),
    }
    key = f"remind.{values.get('notice')}"
    why = about.words.against(str(of.get("against")), about.names.spoken(of))
    text = say(key, **said)
    yield say("remind.weather_why", text=text, why=f"{why[:1].upper()}{why[1:]}")
    yield text


def together(occasions: Sequence[Occasion]) -> list[list[Occasion]]:
    """Return occasions of one kind by what is the same of them but the face."""
    groups: dict[tuple[object, ...], list[Occasion]] = {}
    for one in occasions:
        same = ("day", "to", "by", "by_day", "sun_from", "sun_to", "more")
        groups.setdefault(tuple(one.values.get(name) for name in same), []).append(one)
    return list(groups.values())


def frost(about: About, group: Sequence[Occasion]) -> Iterator[str]:
    """Yield ways to ask for frost covers: ``FROST Sat 17 Oct 02:00, -1 °C (could be -3 °C). Cover 2 6 by …``."""
    first = min(group, key=lambda one: (str(one.values.get("from")), str(one.values.get("from_at"))))
    value, could = (min(_number(one.values.get(name)) for one in group) for name in ("value", "could"))
    said = {
        "when": _when(about, first, "from"),
        "by": _when(about, first, "by"),
        "value": _figure(about, value, "temperature_c"),
        "could": _figure(about, could, "temperature_c"),
    }
    mist = any(one.values.get("mist") for one in group)
    key = "remind.frost" if could < value else "remind.frost.sure"
    for walls in about.walls(about.faces(group), ""):
        text = about.words.say(key, walls=walls, **said)
        if mist:
            yield about.words.say("remind.frost.mist", text=text)
        yield text


def rain(about: About, group: Sequence[Occasion]) -> Iterator[str]:
    """Yield ways to ask for sheets: ``RAIN Wed 10 June 05:00, 14 L/m2. Sheets on 3 by Wed 10 June 04:00 …``."""
    first = min(group, key=lambda one: (str(one.values.get("from")), str(one.values.get("from_at"))))
    value = max(_number(one.values.get("value")) for one in group)
    amount = _figure(about, value, "volume_l_per_m2")
    said = {"when": _when(about, first, "from"), "by": _when(about, first, "by"), "value": amount}
    for walls in about.walls(about.faces(group), ""):
        yield about.words.say("remind.rain", walls=walls, **said)


def heat(about: About, group: Sequence[Occasion]) -> Iterator[str]:
    """Yield ways to ask for cloth and water in sun and dry air: ``SUN 7 10:00-16:30. Cloth up and wet by 09:30 …``."""
    say, values = about.words.say, group[0].values
    takes = max(_number(one.values.get("takes")) for one in group)
    for walls, whole in product(about.walls(about.faces(group), ""), (True, False)):
        if values.get("sun_from"):
            text = say("remind.heat.sun", walls=walls, start=values["sun_from"], end=values["sun_to"])
            if takes and whole:
                text = say("remind.heat.takes", text=text, value=_figure(about, takes, "volume_l_per_m2"))
        else:
            text = say("remind.heat", walls=walls, value=_figure(about, takes, "volume_l_per_m2"))
        if values.get("by"):
            text = say("remind.heat.cloth", text=text, by=values["by"])
        if values.get("more"):
            text = say("remind.heat.more", text=text, clock=values["more"])
        yield text


def _when(about: About, one: Occasion, name: str) -> str:
    """Return day and time of what an occasion names ``from`` or ``by``; of the same day as it is told, the time."""
    day = str(one.values.get("by_day" if name == "by" else name) or "")
    clock = str(one.values.get("by" if name == "by" else f"{name}_at") or "")
    told = about.names.local(one.due, str(one.values.get("zone") or about.plan.sites[0].zone)).date().isoformat()
    return clock if day == told else f"{about.day(day)} {clock}".strip()


def _figure(about: About, value: float, kind: KindName) -> str:
    return about.words.figure(round(value, 1) + 0.0, kind)


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else 0.0
