"""Answers to ``curing new`` by the key of their question, as somebody would type them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from curing.workflow.interview import Question
from curing.workflow.new_job import NewJob

COURT = {
    "name": "Alder Court",
    "units": "metric",
    "site.position": "52.1, 5.2",
    "country": "Netherlands",
    "days_off": "2027-07-26..2027-08-06",
    "finish_by": "2027-09-22",
    "resumes": "2028-04-27",
    "start": "2027-05-03",
    "people.1.person.name": "Wil",
    "people.2.person.next": "Noor",
    "people.3.person.next": "Saar",
    "people.3.person.roles": "mists",
    "people.3.person.weekend": "8-20",
    "people.3.person.longest": "75 min",
    "people.4.person.next": "Ines = architect",
    "people.4.person.roles": "architect",
    "crews.1.crew.name": "Render crew",
    "meters.1.meter": "straw probe",
    "meters.1.meter.least": "8 %",
    "meters.1.meter.most": "40 %",
    "meters.1.meter.basis": "wet",
    "walls.1.wall.name": "road side, bay 1",
    "walls.1.wall.thickness": "200 mm",
    "walls.1.wall.filled": "2027-01-04",
    "walls.1.wall.sides": "both",
    "walls.1.out.face.facing": "84°",
    "walls.1.out.face.area.out": "10.8 m2",
    "walls.1.out.face.height.out": "2.7 m",
    "walls.1.out.face.scaffold": "road scaffold",
    "walls.1.in.face.area.in": "9.2 m2",
    "walls.1.in.face.height.in": "8 ft",
    "walls.2.wall.next": "north gable = 4",
    "walls.2.wall.sides": "out",
    "walls.2.out.face.facing": "n",
    "walls.2.out.face.area.out": "146 ft2",
    "walls.2.out.face.height.out": "2.9 m",
    "walls.2.out.face.scaffold": "none",
    "walls.2.out.face.exposure": "exposed",
}
"""Every other question is answered by Enter."""


class Desk:
    """Somebody who answers by key, or leaves; it notes what is asked and said.

    Parameters
    ----------
    answers
        Key → answer, or several to be given one after the other; Enter for a key that is not there.
    leaves
        Key of the question at which nobody answers any more.
    """

    def __init__(self, answers: Mapping[str, str | Sequence[str]], *, leaves: str = "", patient: bool = True) -> None:
        self.answers = {key: [one] if isinstance(one, str) else list(one) for key, one in answers.items()}
        self.leaves, self.patient = leaves, patient
        self.asked: list[str] = []
        self.said: list[str] = []

    def ask(self, question: Question[Any]) -> str:
        self.asked.append(question.key)
        assert self.asked.count(question.key) < 20, f"asked for ever: {question.key}: {self.said[-3:]}"
        if question.key == self.leaves:
            raise EOFError
        left = self.answers.get(question.key, [])
        return (left.pop(0) if len(left) > 1 else left[0]) if left else ""

    def say(self, text: str, *, indent: str = "", heading: bool = False) -> None:
        self.said.append(text)

    def show(self, lines: Sequence[str]) -> None:
        self.said += lines


def made(path: Path, more: Mapping[str, str | Sequence[str]] = {}, **how: Any) -> Desk:
    """Hold a whole interview; more answers go over those of the court."""
    desk = Desk({**COURT, **more})
    NewJob(path, **how).run(desk)
    return desk


def in_order(path: Path, change: Callable[[dict[str, str | Sequence[str]]], None] | None = None) -> list[str]:
    """Return the answers of the court as lines, in the order in which they are asked for."""
    answers: dict[str, str | Sequence[str]] = dict(COURT)
    if change:
        change(answers)
    desk = Desk(answers)
    NewJob(path).run(desk)
    path.unlink()
    return [COURT.get(key, "") for key in desk.asked]
