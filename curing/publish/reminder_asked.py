"""What waits for somebody who decides, as sentences: what is asked, and what happens without a word."""

from __future__ import annotations

from collections.abc import Iterator

from curing.model.plan import Notice, Slot, Value
from curing.model.record import RecordKind
from curing.model.reminders import Occasion
from curing.publish.event_text import LONGEST_WHY
from curing.publish.event_title import cut, plain
from curing.publish.reminder_about import About
from curing.publish.words import CATALOGUE

_ORDER = [slot.value for slot in Slot]


def asked(about: About, one: Occasion) -> str:
    """Return the sentence of what waits for somebody who decides."""
    values: dict[str, Value] = {k.removeprefix("of_"): v for k, v in one.values.items() if k.startswith("of_")}
    key, rule = str(one.values.get("notice") or ""), plain(str(one.values.get("rule") or ""))
    return sentence(cut(about.names.notice(Notice(rule, key, values, one.faces)), LONGEST_WHY))


def without(about: About, what: object, day: object = "") -> str:
    """Return what happens without a word.

    Parameters
    ----------
    what
        ``anew``, ``no_water`` or ``stays``.
    day
        ISO day that is asked about: the plan dates a coat anew when it is over.
    """
    today = about.names.today(about.plan.sites[0].id).isoformat()
    if what == "anew" and day and str(day) < today:
        what = "anew_since"
    key = f"remind.without.{what}"
    return about.words.say(key if key in CATALOGUE else "remind.without.stays")


def looks_over(one: Occasion) -> bool:
    """Tell whether somebody is asked to look a face over."""
    return one.values.get("notice") in ("inspect", "inspect_frost") and bool(one.values.get("of_coat"))


def look_over(about: About, one: Occasion) -> Iterator[str]:
    """Yield ways to ask somebody to look a face over, the longest first: which visit, and why it was not made."""
    say, values = about.words.say, one.values
    coat, number = str(values["of_coat"]), values.get("of_visits")
    many = number if isinstance(number, int) and number > 1 else 1
    called = cut(about.names.named(coat), LONGEST_WHY)
    if values.get("notice") == "inspect_frost":
        when = f"{about.day(values.get('of_first'))} {plain(str(values.get('of_clock') or ''))}".strip()
        yield say("remind.decide.frost", coat=called, when=when)
        yield say("remind.decide.frost.plain", coat=called)
        return
    first, last = str(values.get("of_first") or ""), str(values.get("of_last") or "")
    failed = _could_not(about, coat, first, last)
    if len(failed) >= many:
        day, slot, why = failed[-1]
        said = {"coat": called, "when": _when(about, day, slot)}
        for reason in dict.fromkeys((cut(why, LONGEST_WHY), cut(why, 24))):
            if reason:
                yield about.words.count("remind.decide.no_water", many, why=reason, **said)
        yield about.words.count("remind.decide.no_water.unsaid", many, **said)
    else:
        when = _when(about, last or first, str(values.get("of_slot") or ""))
        yield about.words.count("remind.decide.missed", many, coat=called, when=when)
    yield say("remind.decide.inspect", coat=called)


def _could_not(about: About, coat: str, first: str, last: str) -> list[tuple[str, str, str]]:
    """Return (day, part of the day, why) of the visits of a coat that could not be made, in order."""
    found = []
    for id_, tick in about.evidence.visits.items():
        head, _, slot = id_.rpartition(".")
        of, _, day = head.rpartition(".")
        if of == coat and first <= day <= last and slot in _ORDER and tick.kind is RecordKind.COULD_NOT:
            found.append((day, slot, plain(tick.why)))
    return sorted(found, key=lambda one: (one[0], _ORDER.index(one[1])))


def _when(about: About, day: str, slot: str) -> str:
    part = about.words.say(f"record.say.slot.{slot}") if slot in _ORDER else ""
    return about.words.say("remind.decide.when", day=about.day(day), slot=part).strip()


def sentence(text: str) -> str:
    """Return text begun with a capital and ended."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!", "…")) else ".") if text else ""
