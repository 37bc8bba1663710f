"""What a check says in a terminal: how much was read, and what a saved plan breaks."""

from __future__ import annotations

from collections.abc import Sequence

from curing.publish.event_title import plain
from curing.publish.terminal import joined
from curing.publish.terminal_layout import wrap
from curing.publish.words import Words

MOST = 100
"""So many faults are told; more would not help."""


def check_page(
    walls: int, faces: int, words: Words, *, revision: int | None, edited: bool, faults: Sequence[tuple[str, str, str]]
) -> list[str]:
    """Return the lines of ``curing check``, none wider than 80 cells.

    Parameters
    ----------
    walls, faces
        How many the job has.
    words
        Language of the reader.
    revision
        Number of the saved plan, None where there is none.
    edited
        Whether the job has changed since.
    faults
        Where, what and by which rule the saved plan is at fault.
    """
    say, count = words.say, words.count
    sizes = {"walls": count("terminal.check.walls", walls), "faces": count("terminal.faces", faces)}
    lines = [say("terminal.check.well", **sizes)]
    if revision is None:
        return joined([[*lines, say("terminal.check.unsaved")]])
    if edited:
        lines += wrap(say("terminal.check.edited", revision=revision))
    if not faults:
        return joined([[*lines, say("terminal.check.plan", revision=revision)]])
    told = wrap(count("terminal.check.faults", len(faults), revision=revision))
    for where, text, rule in faults[:MOST]:
        told += wrap(say("terminal.check.fault", where=plain(where), text=plain(text), rule=rule), "  ", "    ")
    if len(faults) > MOST:
        told.append(count("terminal.check.more", len(faults) - MOST))
    return joined([lines, told])
