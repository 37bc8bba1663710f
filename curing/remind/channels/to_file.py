"""A file to which every message is added, for trying out reminders without sending any."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from curing import clock
from curing.model.reminders import Answer, Message, Outcome
from curing.planning.worktime import zone_of
from curing.remind.channels.answers import not_reached, sure
from curing.remind.channels.filling import one_line_of


class FileChannel:
    """Adds one block a message to a file."""

    def __init__(self, name: str, path: Path) -> None:
        self.name = name
        self._path = path

    @sure
    def send(self, to: str, message: Message) -> Answer:
        """Add a message; never raises. One write, on the disk before it counts as sent."""
        lines = (
            f"{_stamp(message)} for {one_line_of(to)} by {self.name}",
            one_line_of(message.subject),
            one_line_of(message.short),
            one_line_of(message.link, 2000),
        )
        block = ("\n    ".join(filter(None, lines)) + "\n\n").encode("utf-8")
        try:
            # Links open pages of their own: nobody else on the machine reads along. A pipe without a reader
            # would hold the write for ever; asked not to wait, it is an error.
            opened = os.open(self._path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | os.O_NONBLOCK, 0o600)
            try:
                written = os.write(opened, block)
                if stat.S_ISREG(os.fstat(opened).st_mode):
                    os.fsync(opened)
            finally:
                os.close(opened)
        except (OSError, ValueError) as error:
            why = (getattr(error, "strerror", None) or "not a name a file can have").lower()
            return not_reached(f"the file can't be written: {why}; check path, permissions and disk")
        if written < len(block):
            return not_reached("the file took a part only; check the disk")
        return Answer(Outcome.ACCEPTED, "written")

    def fault(self, to: str) -> str:
        """Return why nothing can be sent to an address, or nothing."""
        return "" if to.strip() else "is empty; write the person's name"


def _stamp(message: Message) -> str:
    """Return the present local time at the walls; in UTC where the message does not say where they are."""
    try:
        return f"{clock.now().astimezone(zone_of(str(message.facts.get('zone', '')))):%Y-%m-%d %H:%M}"
    except ValueError:
        return f"{clock.now():%Y-%m-%d %H:%M} UTC"
