"""Reminders in a terminal: how the sender stands, what went out and how it was answered, what comes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from curing.model.reminders import Answer, RowState
from curing.publish.reminder_rows import RemindersSeen, Told
from curing.publish.reminder_said import Said
from curing.publish.terminal import joined
from curing.publish.terminal_layout import WIDTH, fit, table, width, wrap
from curing.publish.words import Words

UNDER = "       "
"""Before a line that belongs to the one above it."""


GROUPS = ("lost", "open", "rest", "instead", "gone")
"""Headings in the order in which they stand: what needs somebody first."""


def reminders_page(reminders: RemindersSeen, job: str) -> list[str]:
    """Return the lines of ``curing reminders JOB``, none wider than 80 cells.

    Parameters
    ----------
    job
        The job file, as a command names it.
    """
    words = reminders.words
    said = Said(words, reminders.now, reminders.zone)
    groups: dict[str, list[Told]] = {name: [] for name in GROUPS}
    for one in reminders.told:
        groups[group_of(one)].append(one)
    blocks = [_head(reminders, said)]
    for name, listed in groups.items():
        if listed:
            blocks.append([words.say(f"remind.list.{name}"), *_rows(listed, said, job, lost=name == "lost")])
    if not reminders.told:
        blocks.append([words.say("remind.list.none")])
    blocks.append(_unreached(reminders))
    return joined(blocks)


def next_page(reminders: RemindersSeen, span: str) -> list[str]:
    """Return the lines of ``curing reminders JOB --next SPAN``: what would go out, in order."""
    words = reminders.words
    said = Said(words, reminders.now, reminders.zone)
    block = [words.say("remind.list.next", span=span)]
    if not reminders.coming:
        block.append(words.say("remind.list.next.none"))
    cells = []
    for one in reminders.coming:
        channel = one.channel or words.say("remind.row.nowhere")
        cells.append((said.when(one.occasion.due), one.name, words.say(f"remind.kind.{one.occasion.kind}"), channel))
    for one, line in zip(reminders.coming, table(cells, (8, 6, 6, 6), indent=2), strict=True):
        block += [line, *wrap(one.text, UNDER)]
    if reminders.coming:
        block += ["", *wrap(words.say("remind.list.next.note"))]
    return joined([_head(reminders, said), block, _unreached(reminders)])


def trial_page(
    job: str, name: str, answers: Sequence[tuple[str, Answer]], missing: Sequence[str], words: Words
) -> list[str]:
    """Return the lines of ``curing reminders JOB --send-test PERSON``: each channel's answer in plain words.

    Parameters
    ----------
    missing
        Channels of the person that are not set up.
    """
    lines = [fit(job, WIDTH), *wrap(words.say("remind.trial.head", name=name))]
    for channel, answer in answers:
        lines += wrap(words.say(f"remind.trial.{answer.outcome}", said=answer.said), f"  {channel}  ", "    ")
        if answer.own_fault:
            lines += wrap(words.say("remind.trial.fault"), "    ", "    ")
    for channel in missing:
        lines += wrap(words.say("remind.trial.not_set_up"), f"  {channel}  ", "    ")
    return joined([lines])


def group_of(told: Told) -> str:
    """Return under which heading a row stands."""
    if told.lost:
        return "lost"
    if told.open:
        return "open"
    if told.row.state is RowState.DEAD:
        return "instead"
    return "gone" if told.row.state in (RowState.DROPPED, RowState.FOLDED) else "rest"


def _head(reminders: RemindersSeen, said: Said) -> list[str]:
    when = said.words.say(
        "terminal.day_time",
        day=said.words.day(reminders.now.astimezone(said.zone).date()),
        clock=f"{reminders.now.astimezone(said.zone):%H:%M}",
    )
    lines = [fit(reminders.job, WIDTH - width(when) - 2) + "  " + when]
    for text in said.stands_of(reminders):
        lines += wrap(text)
    return lines


def _rows(listed: Sequence[Told], said: Said, job: str, *, lost: bool) -> Iterator[str]:
    words = said.words
    heads = tuple(
        words.say(f"remind.head.{name}") for name in ("due", "who", "what", "channel", "accepted", "answered")
    )
    cells = [heads]
    for one in listed:
        kind = words.say(f"remind.kind.{one.row.kind}")
        channel = one.row.channel or words.say("remind.row.none")
        cells.append((said.when(one.row.due), one.name, kind, channel, said.state(one.row), said.answered(one)))
    lines = table(cells, (8, 6, 6, 5, 5, 6), indent=2)
    yield lines[0]
    for one, line in zip(listed, lines[1:], strict=True):
        yield line
        yield from wrap(one.text, UNDER)
        for text in said.more(one):
            yield from wrap(text, UNDER)
        if lost and one.instead is None:
            yield from wrap(said.to_do(one), UNDER)
            if one.row.state is RowState.DEAD:
                yield from wrap(words.say("remind.do.try", job=job, person=one.person), f"{UNDER}> ", whole=True)


def _unreached(reminders: RemindersSeen) -> list[str]:
    names = [one.name for one in reminders.reach if not one.ways]
    return wrap(reminders.words.say("remind.list.unreached", who=", ".join(names))) if names else []
