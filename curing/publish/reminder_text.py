"""A reminder as it goes out: subject, short text, whole text with cautions and link, and the same as small HTML.

The whole text is made of the lines of the calendar's descriptions; cautions stand whole in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from html import escape

from curing.model.plan import LIVE, Booking, Care, State, Value
from curing.model.record import RecordKind
from curing.model.reminders import Kind, Message, Occasion
from curing.publish.event_text import LONGEST_WHY
from curing.publish.event_title import cut, plain
from curing.publish.reminder_about import About, Present
from curing.publish.reminder_asked import asked, look_over, looks_over, sentence, without
from curing.publish.reminder_short import change, days_off, is_over, short, why_changed
from curing.publish.terminal_first import needs
from curing.publish.terminal_names import local_day

LONGEST_JOB = 40
"""Signs of the job's name in a subject."""
MOST_LINES = 20
"""So many bookings stand whole in a text; the page has the others."""

TICKED = (Kind.ROUND, Kind.TASK, Kind.MISSED, Kind.UNSEEN)
"""Kinds that are answered by a tick."""

_WITHOUT: Mapping[str, str] = {
    "weather_off": "no_day",
    "was_it_laid": "anew",
    "was_it_closed": "anew",
    "unnamed_round": "no_water",
}
"""Kind of what needs somebody → what happens without a word; others stay as they are."""


def compose(
    occasions: Sequence[Occasion], present: Present, link: str, key: str, over: Sequence[Occasion] = ()
) -> Message:
    """Return the message that tells one person some occasions of one kind.

    Parameters
    ----------
    occasions
        At least one; all of one person and one kind.
    present
        The job as it stands.
    link
        Address of the page that answers it, or empty.
    key
        Stays the same when it is tried again.
    over
        Of :attr:`Kind.AWAY`: what was over before it could go out.

    Raises
    ------
    ValueError
        There is no occasion.
    """
    if not occasions:
        raise ValueError("a message is about something")
    about, first = About(present), occasions[0]
    said = short(about, occasions)
    subject = about.words.say("remind.subject", job=cut(about.job, LONGEST_JOB), short=said)
    blocks = [block for block in _blocks(about, occasions, over, said) if block]
    if link:
        blocks.append([about.words.say(_link_key(first.kind), link=plain(link))])
    text = "\n\n".join("\n".join(block) for block in [[subject], *blocks]) + "\n"
    faces = " ".join(about.faces(occasions))
    facts: dict[str, Value] = {
        "kind": first.kind.value,
        "job": about.plan.job,
        "faces": faces,
        "due": min(one.due for one in occasions).isoformat(),
        "zone": about.plan.sites[0].zone,
    }
    return Message(
        key,
        first.kind,
        subject,
        said,
        text,
        _html(subject, blocks, plain(link), about.words.language),
        plain(link),
        facts,
    )


def short_text(occasion: Occasion, present: Present) -> str:
    """Return the short text of one occasion, for a list of what comes."""
    return short(About(present), [occasion])


def _link_key(kind: Kind) -> str:
    if kind in TICKED:
        return "event.tick"
    return "remind.whole.open"


def _blocks(about: About, occasions: Sequence[Occasion], over: Sequence[Occasion], said: str) -> Iterator[list[str]]:
    kind, words = occasions[0].kind, about.words
    if kind is Kind.SUMMARY:
        yield from _summary(about, occasions[0])
        return
    if kind is Kind.TRIAL:
        yield [words.say("remind.whole.trial", job=about.job)]
        return
    if kind is Kind.AWAY:
        yield from _away(about, occasions[0], over)
        return
    if kind is Kind.WEATHER:
        return
    bookings = about.bookings(occasions)[:MOST_LINES]
    yield list(_reasons(about, occasions))
    if kind in (Kind.HOLD, Kind.CLOTH) or (kind is Kind.MISSED and not bookings):
        yield list(about.named(about.faces(occasions)[:MOST_LINES]))
    elif kind is not Kind.DECIDE:
        for booking in bookings:
            yield from about.texts.work(_as_told(booking, kind))
    if kind is not Kind.DECIDE:
        yield about.texts.cautions(list(_cautions(about, occasions, bookings)))


def _cautions(about: About, occasions: Sequence[Occasion], bookings: Sequence[Booking]) -> Iterator[str]:
    """Yield the keys of the cautions, each once."""
    kind = occasions[0].kind
    keys = [key for booking in bookings if booking.state is not State.DONE for key in booking.cautions]
    misted = any(visit.care is Care.MIST for booking in bookings for visit in booking.visits)
    if kind is Kind.MISSED and not bookings:  # the round left the plan with its day; misting is as it was
        keys += ["lime", "sockets"]
        misted = about.care(None, occasions[0]) == "mist"
    if misted:  # whoever takes it, whether of the crew or not
        keys.append("height")
    if kind is Kind.CLOTH:
        keys.append("cloth")
    yield from dict.fromkeys(keys)


def _as_told(booking: Booking, kind: Kind) -> Booking:
    """Return a booking without the end of a window that is over."""
    return replace(booking, until=None) if kind in (Kind.MISSED, Kind.UNSEEN) else booking


def _reasons(about: About, occasions: Sequence[Occasion]) -> Iterator[str]:
    """Yield why this is told, one line each."""
    words, first = about.words, occasions[0]
    if first.kind is Kind.MISSED:
        yield from _no_tick(about, occasions)
    elif first.kind is Kind.UNSEEN:
        yield words.say("remind.whole.unseen")
    elif first.kind is Kind.CLOTH:
        yield words.say("remind.whole.cloth", days=days_off(about, occasions))
    elif first.kind is Kind.HOLD:
        for one in occasions:
            yield from _hold(about, one)
    elif first.kind is Kind.DECIDE:
        for one in occasions:
            if looks_over(one):
                yield next(look_over(about, one))
                continue
            rest = without(about, one.values.get("without"), one.values.get("of_day"))
            yield words.say("remind.whole.need", text=asked(about, one), without=rest)
    elif first.kind is Kind.NOBODY:
        for one in occasions:
            yield words.say("remind.whole.nobody", day=plain(str(one.values.get("day") or "")), slot=about.slot(one))
    elif first.kind is Kind.CHANGED:
        yield words.say("remind.whole.changed")
        for one in occasions:
            yield change(about, one)
            if reason := why_changed(about, one):
                yield sentence(reason)


def _no_tick(about: About, occasions: Sequence[Occasion]) -> Iterator[str]:
    """Yield what to do about rounds without a tick: those of now, then those whose time is over."""
    words = about.words
    now, over = [one for one in occasions if not is_over(one)], [one for one in occasions if is_over(one)]
    if now:
        yield words.say("remind.whole.missed")
        if now[0].step or now[0].values.get("lead"):
            yield words.say("remind.whole.missed.other")
    if over:
        cares = {about.care(next(iter(about.bookings([one])), None), one) for one in over}
        yield words.say("remind.whole.never.air" if cares == {"air"} else "remind.whole.never")


def _hold(about: About, one: Occasion) -> Iterator[str]:
    words, hold = about.words, about.holds.get(str(one.values.get("hold") or ""))
    if hold is not None:
        yield cut(plain(hold.text), 300)
        if one.values.get("what") != "waiting":
            yield words.say("remind.hold.lifts", lifts=cut(plain(hold.lifts), 300))
    if one.values.get("coat") and one.values.get("coat_day"):
        coat = about.names.thing(str(one.values["coat"]))
        yield words.say("remind.hold.behind", coat=coat, day=about.day(one.values["coat_day"]))
    for booking in about.bookings([one]):
        if booking.state in LIVE:
            clock, day = words.clock(booking.start, booking.zone), words.day(local_day(booking))
            yield words.say("remind.hold.task", title=about.titles.title(booking), day=day, clock=clock)
    if one.values.get("lapses"):
        yield words.say("remind.hold.lapses", day=about.day(one.values["lapses"]))
    yield words.say("remind.hold.who")


def _summary(about: About, one: Occasion) -> Iterator[list[str]]:
    words, values = about.words, one.values
    asks = [need for need in needs(about.plan, about.names) if need.mark != "-"]
    if asks:
        lines = [words.say("remind.whole.decide")]
        days = {one.key: str(one.values.get("day") or "") for one in about.plan.questions}
        for need in asks[:MOST_LINES]:
            rest = without(about, _WITHOUT[need.kind], days.get(need.kind)) if need.kind in _WITHOUT else ""
            text = sentence(cut(need.text, LONGEST_WHY))
            lines.append("  " + words.say("remind.whole.need", text=text, without=rest).strip())
        yield lines
    said = [words.say("remind.whole.done", done=values.get("done", 0), of=values.get("of", 0))]
    today = about.names.today(about.plan.sites[0].id)
    with suppress(ValueError):
        today = date.fromisoformat(str(values.get("day")))
    said += _counted(about, values, "no_tick")
    could_not = list(_could_not(about, today.isoformat()))
    number = values.get("could_not")
    if could_not or number:
        count = int(number) if isinstance(number, int) and number else len(could_not)
        said.append(words.count("remind.whole.could_not", count, what=", ".join(could_not)).replace(" ()", ""))
    said += _counted(about, values, "to_decide")
    moved = values.get("moved")
    if isinstance(moved, int) and moved:
        said.append(words.count("remind.whole.moved", moved))
    yield said
    yield list(_tomorrow(about, today))


def _counted(about: About, values: Mapping[str, Value], name: str) -> list[str]:
    """Return the line that tells a number, where it is not nothing."""
    number = values.get(name)
    return [about.words.say(f"remind.whole.{name}", number=number)] if isinstance(number, int) and number else []


def _could_not(about: About, today: str) -> Iterator[str]:
    """Yield what of a day could not be done: face and why."""
    for id_, tick in about.evidence.visits.items():
        if tick.kind is RecordKind.COULD_NOT and f".{today}." in id_:
            face = about.names.face(id_.partition(".")[0])
            yield about.words.say("remind.whole.not_done", face=face, why=cut(plain(tick.why), 60)).rstrip(": ")
    for coat, failed in about.evidence.could_not.items():
        if failed.day.isoformat() == today:
            yield about.words.say("remind.whole.not_done", face=about.names.thing(coat), why=cut(plain(failed.why), 60))


def _tomorrow(about: About, today: date) -> Iterator[str]:
    words, tomorrow = about.words, today + timedelta(1)
    there = [one for one in about.plan.everything() if one.state in LIVE and local_day(one) == tomorrow]
    if not there:
        yield words.say("remind.whole.tomorrow.none", day=words.day(tomorrow))
        return
    yield words.say("remind.whole.tomorrow", day=words.day(tomorrow))
    for one in there[:MOST_LINES]:
        clock = words.clock(one.start, one.zone)
        yield "  " + words.say("remind.whole.duty", clock=clock, what=about.titles.title(one))


def _away(about: About, one: Occasion, over: Sequence[Occasion]) -> Iterator[list[str]]:
    words, values = about.words, one.values
    since, until = (str(values.get(name) or "") for name in ("since", "until"))
    head = "remind.whole.away.over"
    if values.get("why") == "many":
        head = "remind.whole.away.too_many"
    elif since and until:
        spoken = {"since": f"{about.day(since)} {since[11:16]}", "until": f"{about.day(until)} {until[11:16]}"}
        yield [words.say("remind.whole.away", **spoken)]
    else:
        yield [words.say("remind.whole.away.plain")]
    lines = [words.say(head)] if over else []
    for each in over[:MOST_LINES]:
        when = f"{about.day(each.intent)} {each.intent[11:16]}".strip()
        lines.append(words.say("remind.whole.over", when=when, what=short(about, [each])))
    yield lines


def _html(subject: str, blocks: Sequence[Sequence[str]], link: str, language: str) -> str:
    """Return the same text as a small document: one column, no pictures, nothing loaded from elsewhere."""
    body = [f'<p style="font-size:19px"><b>{escape(subject)}</b></p>']
    for block in blocks:
        body.append("<p>" + "<br>\n".join(_line(one, link) for one in block) + "</p>")
    return (
        f'<!doctype html>\n<html lang="{escape(language)}"><head><meta charset="utf-8">'
        f"<title>{escape(subject)}</title></head>\n"
        '<body style="max-width:34em;margin:0 auto;padding:8px;font-family:sans-serif;font-size:16px;color:#1F1A14">\n'
        + "\n".join(body)
        + "\n</body></html>\n"
    )


def _line(text: str, link: str) -> str:
    if link.startswith(("https://", "http://")) and text.endswith(link):
        shown = escape(link)
        return f'{escape(text.removesuffix(link))}<a href="{shown}">{shown}</a>'
    return escape(text)
