"""How people are reached: their channels that are set up here, their addresses, and their quiet hours."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from curing.model.people import Person
from curing.planning.reminding_quiet import quiet_at
from curing.planning.worktime import local, zone_of
from curing.workflow.sight import Sight


class Ways:
    """How the people of a job are reached, as its file says it today.

    Parameters
    ----------
    channels
        Names of the channels that are set up here.
    """

    def __init__(self, sight: Sight, channels: Collection[str]) -> None:
        self._sight, self._channels = sight, channels
        self._zone = zone_of(sight.job.file.sites[0].time_zone)
        self._people = {one.id: one for one in sight.job.file.people}

    def person(self, root: str) -> Person | None:
        """Return the person of a root; None for one who left the job."""
        return self._people.get(self._sight.roots.person_now(root))

    def channels(self, root: str) -> tuple[str, ...]:
        """Return the channels of a person that are set up here, the first choice first."""
        person = self.person(root)
        return tuple(name for name in person.tell if name in self._channels) if person is not None else ()

    def address(self, root: str, channel: str) -> str:
        """Return the address of a person on a channel, or nothing."""
        person = self.person(root)
        return person.tell.get(channel, "") if person is not None else ""

    def left(self, root: str) -> bool:
        """Tell whether a person is of the job no more."""
        return self.person(root) is None

    def quiet_until(self, root: str, at: datetime, zone: str = "") -> datetime | None:
        """Return the end of the quiet hours in which an instant lies for a person; None outside them.

        Parameters
        ----------
        zone
            By whose clock; empty: the first site's.
        """
        person = self.person(root)
        quiet = quiet_at(person, zone_of(zone) if zone else self._zone, at) if person is not None else None
        return quiet[1] if quiet is not None else None

    def stamp(self, at: datetime) -> str:
        """Return an instant as people of the first site read it, ``2027-05-25 06:30``."""
        day, minute = local(self._zone, at)
        return f"{day.isoformat()} {minute // 60:02d}:{minute % 60:02d}"
