"""A thin whole path: a small job file goes in, a calendar that another reader understands comes out."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import recurring_ical_events
from icalendar import Calendar

from curing.workflow.planning import plan_job

JOB = """\
curing: 1
uid: 0b1f2c3d-4e5f-4a6b-8c7d-9e0f1a2b3c4d
name: Alder Court
holidays: { country: NL }
sites:
  - { id: court, name: Alder Court, latitude: 52.1, longitude: 5.2, time_zone: Europe/Amsterdam }
people:
  - id: wil
    name: Wil
    roles: [lead, mists]
    reach: scaffold
    hours: { mon-sun: 07:00-15:30, holiday: 07:00-15:30 }
crews:
  - { id: render, name: Render crew, people: [wil] }
walls:
  - id: "1"
    name: north gable
    faces:
      - side: out
        facing: N
        area: 6 m2
        height: 2.5 m
        system: clay-lime
        done: { base: 2027-05-03, finish: 2027-05-18 }
"""


def test_from_a_file_to_forty_two_mistings_on_a_phone(tmp_path: Path) -> None:
    # Worked by hand: finish on 18 May; twice a day 19 May to 1 June (28), once a day to 15 June (14).
    (tmp_path / "alder-court.yaml").write_text(JOB)
    plan_job(tmp_path / "alder-court.yaml", out=tmp_path / "plan", as_of="2027-05-19 06:00")
    phone = Calendar.from_ical((tmp_path / "plan" / "calendars" / "wil.ics").read_bytes())
    span = (datetime(2027, 5, 19, tzinfo=UTC), datetime(2027, 7, 1, tzinfo=UTC))
    events = recurring_ical_events.of(phone).between(*span)
    mist = [event for event in events if str(event["SUMMARY"]).startswith("MIST")]
    assert len(mist) == 42
    assert min(event["DTSTART"].dt.astimezone(UTC) for event in mist) == datetime(2027, 5, 19, 5, tzinfo=UTC)
    assert max(event["DTSTART"].dt for event in mist).date().isoformat() == "2027-06-15"
    assert str(mist[0]["SUMMARY"]) == "MIST early 1 · 10 min"
