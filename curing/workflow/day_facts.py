"""Facts of a day for pages: which faces the sun is on, and how many hours a crew has in a week."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import lru_cache

from curing.model.job import Job, Site
from curing.planning.windows import SiteSun
from curing.planning.worktime import Worktime, local, zone_of


def sunlit(job: Job, now: datetime) -> tuple[str, ...]:
    """Return the outside faces (ids) that direct sun reaches at an instant of a clear day."""
    found = []
    for face_id, wall, face in job.faces():
        if face.facing is None:
            continue
        site = job.site_of(wall)
        day, minute = local(zone_of(site.time_zone), now)
        if any(start <= minute < end for start, end in _sun(site, face.facing, day)):
            found.append(face_id)
    return tuple(found)


@lru_cache(maxsize=256)
def _sun(site: Site, facing: float, day: date) -> tuple[tuple[int, int], ...]:
    """Return the minutes of a day at which the sun is on a face; kept, since every page of a day asks for it."""
    return SiteSun(site).on_face(facing, day)


def crew_weeks(job: Job, first: date, last: date) -> dict[date, float]:
    """Return Monday → hours that all crews have in that week [person-hours], without holidays and absences."""
    worktime = Worktime(job)
    found: dict[date, float] = {}
    day = first - timedelta(first.weekday())
    while day <= last:
        monday = day - timedelta(day.weekday())
        for crew in job.file.crews:
            if worktime.off(crew.id, day) is None:
                hours = sum(span[1] - span[0] for _, span in worktime.present(crew.id, day)) / 60
                found[monday] = found.get(monday, 0.0) + hours
        day += timedelta(1)
    return found
