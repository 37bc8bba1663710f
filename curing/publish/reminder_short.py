"""The short text of a reminder: at most 110 signs on one line, what to do and the wall numbers first.

It stands on locked screens: it names nobody. Where there is no room, walls are counted, then names go, then what
is said besides.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from curing.model.plan import Kind as BookingKind
from curing.model.reminders import Kind, Occasion
from curing.publish.event_text import LONGEST_WHY
from curing.publish.event_title import cut, plain
from curing.publish.reminder_about import LONGEST_NAME, About
from curing.publish.reminder_asked import asked, look_over, looks_over, sentence, without
from curing.publish.reminder_round import holds_water, number_of, walk_ways
from curing.publish.reminder_weather import ASKED, TOGETHER, day_off, frost, heat, rain, together
from curing.publish.words import CATALOGUE

SHORT = 110
"""Most signs: a lock screen shows about as many."""

_OF_WATER = ("no_water", "water", "one_more")
"""Changes of a walk that weather made once its reminder was out."""

_Ways = Iterator[str]


def short(about: About, occasions: Sequence[Occasion]) -> str:
    """Return the short text of occasions of one person and one kind."""
    if occasions[0].kind is Kind.ROUND:  # whatever has no room, no water on a face comes through
        occasions = sorted(occasions, key=lambda one: not holds_water(about, one))
    sayings = list(_sayings(about, occasions))
    first = list(sayings[0])
    if len(sayings) == 1:
        return fitted(first)
    joined = " ".join(fitted(one) if k else fitted(first) for k, one in enumerate(map(list, sayings)))
    also = [about.words.say("remind.also", first=way, number=len(sayings) - 1) for way in first]
    return fitted([joined, *also])


def fitted(ways: Iterable[str]) -> str:
    """Return the first way that has room, or the last one cut."""
    said = ""
    for way in ways:
        said = plain(way)
        if len(said) <= SHORT:
            return said
    return cut(said, SHORT)


def _sayings(about: About, occasions: Sequence[Occasion]) -> Iterator[_Ways]:
    """Yield the ways to say each thing; what belongs to one round is one thing."""
    kind = occasions[0].kind
    if kind is Kind.MISSED:
        groups: dict[tuple[object, ...], list[Occasion]] = {}
        for one in occasions:
            groups.setdefault((one.values.get("day"), about.slot(one), one.step, is_over(one)), []).append(one)
        for group in groups.values():
            yield _never(about, group) if is_over(group[0]) else _missed(about, group)
    elif kind in TOGETHER:
        for group in together(occasions):
            ways = {Kind.FROST: frost, Kind.RAIN: rain, Kind.HEAT: heat}[kind](about, group)
            # Frost and rain say their days themselves.
            yield _day_before(about, group[0], ways) if kind is Kind.HEAT else ways
    elif kind is Kind.EVE:
        yield _eve(about, occasions)
    elif kind is Kind.CLOTH:
        yield _cloth(about, occasions)
    else:
        make = _MAKERS[kind]
        for one in occasions:
            yield make(about, one)


def _other_day(about: About, one: Occasion) -> str:
    """Return the day of what is not of the day on which it is told, or nothing."""
    zone = str(one.values.get("zone") or about.plan.sites[0].zone)
    told = about.now if one.due < about.now < one.until else one.due  # late, it may be told on another day
    day = str(one.values.get("day") or "")
    return about.day(day) if day != f"{told.astimezone(ZoneInfo(zone)):%Y-%m-%d}" else ""


def _day_before(about: About, one: Occasion, ways: _Ways) -> _Ways:
    """Name the day of what is not today."""
    day = _other_day(about, one)
    for way in ways:
        yield about.words.say("remind.on_day", day=day, text=way) if day else way


def _round(about: About, one: Occasion) -> _Ways:
    return _day_before(about, one, walk_ways(about, one))


def _task(about: About, one: Occasion) -> _Ways:
    booking = next(iter(about.bookings([one])), None)
    values = one.values
    start, by = str(values.get("start") or ""), str(values.get("by") or "")
    if booking is not None:
        title = about.titles.title(booking)
        zone = ZoneInfo(booking.zone)
        same_day = booking.until and booking.until.astimezone(zone).date() == booking.start.astimezone(zone).date()
        by = by if same_day else ""
    else:
        subject = " ".join(about.names.face(face) for face in one.faces[:1])
        title = about.words.say("title.task", face=subject, task=plain(str(values.get("title") or ""))).strip()
    time = about.words.figure(number_of(values.get("minutes")), "duration_min")
    if booking is not None and booking.looks_over:
        ways = [cut(title, LONGEST_NAME), about.names.face(booking.faces[0]) if booking.faces else title]
        key = f"remind.task.look_over.{booking.reason.key}"
        yield from _day_before(about, one, (about.words.say(key, title=way, start=start) for way in ways))
        return
    key = "remind.task.by" if by and by != start else "remind.task"
    yield from _day_before(about, one, iter([about.words.say(key, title=title, start=start, by=by, time=time)]))


def _missed(about: About, group: Sequence[Occasion]) -> _Ways:
    say, one = about.words.say, group[0]
    walk, slot = next(iter(about.bookings(group)), None), about.slot(one)
    care, faces = about.care(walk, one), about.faces(group)
    do, day = say(f"remind.now.{care}"), _other_day(about, one)
    of = say("remind.missed.of", day=day) if day else ""
    ways: list[str] = []
    if len(faces) == 1 and one.step == 0 and not one.values.get("lead"):
        face, name = about.names.face(faces[0]), about.name(faces[0])
        for called in _called(name):
            key = f"remind.missed.face.{slot}"
            ways.append(_tidy(say(key, face=face, name=called, care=say(f"remind.care.{care}"), of=of, do=do)))
    ways += [_tidy(say(f"remind.missed.round.{slot}", walls=walls, of=of, do=do)) for walls in about.walls(faces)]
    return iter(ways)


def is_over(one: Occasion) -> bool:
    """Tell whether who leads hears, hours on, of a round that nobody ticked: it can't be made good any more."""
    return one.kind is Kind.MISSED and bool(one.values.get("lead")) and not one.values.get("tender")


def _never(about: About, group: Sequence[Occasion]) -> _Ways:
    say, one = about.words.say, group[0]
    care = about.care(next(iter(about.bookings(group)), None), one)
    do, day = say(f"remind.ask.{care}"), about.day(one.values.get("day"))
    of = say("remind.missed.of", day=day) if day else ""
    for walls in about.walls(about.faces(group)):
        yield _tidy(say(f"remind.never.{about.slot(one)}", walls=walls, of=of, do=do))


def _unseen(about: About, one: Occasion) -> _Ways:
    face = one.faces[0] if one.faces else ""
    for name in _called(about.name(face)):
        yield _tidy(about.words.say("remind.unseen", face=about.names.face(face), name=name))


def _called(name: str) -> Iterator[str]:
    """Yield a name whole, cut, and left out."""
    yield name
    if len(name) > 24:
        yield cut(name, 24)
    yield ""


def _tidy(text: str) -> str:
    """Return text without the gap that a name or a day left out leaves behind."""
    return text.replace(" :", ":").replace(" ,", ",").replace("  ", " ")


def _eve(about: About, occasions: Sequence[Occasion]) -> _Ways:
    say, day = about.words.say, about.day(occasions[0].values.get("day"))
    parts = []
    for one in sorted(about.bookings(occasions), key=lambda b: (b.start, b.id)):
        subject, task = about.titles.subject(one)[0], about.names.task(one)
        if one.kind is not BookingKind.COVER:
            task = plain(one.title)
        title = say("title.task", face=subject, task=task).strip()
        parts.append(say("remind.eve.one", title=title, start=about.words.clock(one.start, one.zone)))
    if not parts:
        listed = next(about.walls(about.faces(occasions)))
        yield say("remind.eve", day=day, what=listed)
    for shown in range(len(parts), 0, -1):
        text = say("remind.eve", day=day, what=", ".join(parts[:shown]))
        rest = len(parts) - shown
        yield say("remind.also", first=text, number=rest) if rest else text
    yield say("remind.eve.only", day=day, number=len(parts))


def _cloth(about: About, occasions: Sequence[Occasion]) -> _Ways:
    days, faces = days_off(about, occasions), about.faces(occasions)
    if not faces:
        yield about.words.say("remind.cloth.none", days=days)
        return
    for walls in about.walls(faces, ""):
        yield about.words.say("remind.cloth", walls=walls, days=days)


def days_off(about: About, occasions: Sequence[Occasion]) -> str:
    """Return the days without the crew: ``Sat 12 June, Sun 13 June``; of more than three the first and the last."""
    found: set[date] = set()
    for one in occasions:
        try:
            first, last = (date.fromisoformat(str(one.values.get(name))) for name in ("first", "last"))
        except ValueError:
            continue
        found |= {first + timedelta(k) for k in range(min((last - first).days, 60) + 1)}
    days = sorted(found)
    if len(days) > 3:
        return f"{about.words.day(days[0])} - {about.words.day(days[-1])}"
    return ", ".join(about.words.day(day) for day in days)


def _hold(about: About, one: Occasion) -> _Ways:
    say, values = about.words.say, one.values
    id_ = plain(str(values.get("hold") or (one.about[0] if one.about else "")))
    head, _, tail = id_.partition(".")
    where = about.names.face(head) if head in about.titles.faces else head
    point = plain(str(values.get("point") or tail)).replace("-", " ")
    behind = [""]
    if values.get("coat") and values.get("coat_day"):
        coat = about.names.thing(str(values["coat"]))
        behind.insert(0, say("remind.hold.behind", coat=coat, day=about.day(values["coat_day"])))
    booking = next((b for b in about.bookings([one])), None)
    for text in behind:
        if values.get("what") == "waiting":
            yield say("remind.hold.waiting", where=where, point=point, behind=text)
        elif values.get("own") and booking is not None:
            yield say("remind.hold.read", title=about.titles.title(booking), point=point, behind=text)
        else:
            yield say("remind.hold.unmet", where=where, point=point, behind=text)


def _decide(about: About, one: Occasion) -> _Ways:
    if looks_over(one):
        yield from look_over(about, one)
        return
    if one.values.get("notice") in ASKED:
        yield from day_off(about, one)
        return
    text, rest = asked(about, one), without(about, one.values.get("without"), one.values.get("of_day"))
    yield about.words.say("remind.decide", text=text, without=rest)
    room = SHORT - len(rest) - 1
    yield about.words.say("remind.decide", text=cut(text, room), without=rest)


def _changed(about: About, one: Occasion) -> _Ways:
    text, number = change(about, one), number_of(one.values.get("changes"))
    if one.values.get("what") in _OF_WATER:
        yield from _water_changed(about, one)
        return
    if number > 1:
        yield about.words.say("remind.changed.more", change=text, number=round(number))
    elif reason := why_changed(about, one):
        room = SHORT - len(about.words.say("remind.changed.because", change=text, why=""))
        for why in (reason, reason.partition(" (")[0], cut(reason, room)):
            if 16 <= len(sentence(why)) <= room:
                yield about.words.say("remind.changed.because", change=text, why=sentence(why))
    yield text


def _water_changed(about: About, one: Occasion) -> _Ways:
    number = number_of(one.values.get("changes"))
    texts = [say_water(about, one, walls) for walls in about.walls(one.faces, "")]
    for text in texts if number > 1 else ():
        yield about.words.say("remind.changed.more", change=text, number=round(number))
    yield from texts


def say_water(about: About, one: Occasion, walls: str) -> str:
    """Return what is not as it was about the water of a walk: ``NO WATER any more on 1 2, Tue 9 June 15:20 …``."""
    now = str(one.values.get("now") or "")
    return about.words.say(f"remind.changed.{one.values['what']}", walls=walls, now=_moment(about, now, whole=False))


def change(about: About, one: Occasion) -> str:
    """Return what is not as it was, of the earliest thing: ``3 out finish 8 mm: off Wed 10 June, now Fri 12 June.``"""
    say, values = about.words.say, one.values
    if values.get("what") in _OF_WATER:
        return say_water(about, one, next(about.walls(one.faces, "")))
    what = about.thing(one.about[0]) if one.about else say("remind.changed.work")
    was, now = str(values.get("was") or ""), str(values.get("now") or "")
    kind = str(values.get("what") or "moved")
    same = was[:10] == now[:10] and was and now
    if kind == "moved" and same:
        day = about.day(now)
        return say("remind.changed.hours", what=what, now=f"{day} {now[11:16]}".strip(), was=was[11:16])
    whole = kind in ("moved", "off")
    said = {name: _moment(about, at, whole=whole) for name, at in (("was", was), ("now", now))}
    if kind == "moved" and not now:
        kind = "off"
    key = f"remind.changed.{kind}"
    return say(key if key in CATALOGUE else "remind.changed.moved", what=what, **said)


def _moment(about: About, at: str, *, whole: bool) -> str:
    """Return the day, with its hour unless a whole day is meant."""
    return about.day(at) if whole else f"{about.day(at)} {at[11:16]}".strip()


def why_changed(about: About, one: Occasion) -> str:
    """Return why, where the plan says it, or nothing."""
    first = one.about[0] if one.about else ""
    found = next((change.reason for change in about.plan.changes if change.id == first), None)
    booking = about.booking(first)
    if found is None and booking is not None and booking.kind is not BookingKind.ROUND:
        found = booking.reason
    return cut(about.names.reason(found), LONGEST_WHY).rstrip(".") if found is not None else ""


def _nobody(about: About, one: Occasion) -> _Ways:
    day, slot = about.day(one.values.get("day")), about.slot(one)
    time = about.words.figure(number_of(one.values.get("minutes")), "duration_min")
    for walls in about.walls(one.faces):
        yield about.words.say(f"remind.nobody.{slot}", day=day, walls=walls, time=time)


def _weather(about: About, one: Occasion) -> _Ways:
    read = str(one.values.get("read") or "")
    when = f"{about.day(read)} {read[11:16]}".strip()
    yield about.words.say("remind.weather", when=when, hours=round(number_of(one.values.get("hours"))))


def _summary(about: About, one: Occasion) -> _Ways:
    say, values = about.words.say, {k: round(number_of(v)) for k, v in one.values.items() if isinstance(v, int | float)}
    text = say("remind.summary", done=values.get("done", 0), of=values.get("of", 0))
    for name in ("no_tick", "could_not", "to_decide", "moved"):
        if values.get(name):
            text = say(f"remind.summary.{name}", text=text, **{name: values[name]})
    yield text


def _trial(about: About, one: Occasion) -> _Ways:
    yield about.words.say("remind.trial")


def _away(about: About, one: Occasion) -> _Ways:
    key = "remind.away.too_many" if one.values.get("why") == "many" else "remind.away"
    yield about.words.count(key, round(number_of(one.values.get("number", 1))) or 1)


_MAKERS: Mapping[Kind, Callable[[About, Occasion], _Ways]] = {
    Kind.ROUND: _round,
    Kind.TASK: _task,
    Kind.UNSEEN: _unseen,
    Kind.HOLD: _hold,
    Kind.DECIDE: _decide,
    Kind.CHANGED: _changed,
    Kind.NOBODY: _nobody,
    Kind.WEATHER: _weather,
    Kind.SUMMARY: _summary,
    Kind.TRIAL: _trial,
    Kind.AWAY: _away,
}
