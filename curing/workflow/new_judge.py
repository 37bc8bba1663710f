"""What the whole job file would say of answers that are not a whole job yet.

What is missing is filled with stand-ins that give no fault of their own; the reader of job files
judges the rest, so that an answer and a line of the file are held to the same rules.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from curing.errors import FileError, Problem
from curing.model.answers import CrewAnswers, FaceAnswers, JobAnswers, PersonAnswers, SiteAnswers, WallAnswers
from curing.publish.job_text import job_text
from curing.publish.words import Words
from curing.sources.job_edit import FieldProblem, fields_of
from curing.sources.jobfile import judge_document
from curing.sources.yaml_nodes import compose

NO_UID = "00000000-0000-4000-8000-000000000000"
_LABEL = re.compile(r'(site|person|crew|wall) "[^"]*"(, (outside|inside))?(: |, )')
_SOMEBODY = PersonAnswers("stand-in", "stand-in", ("lead",), (("mon-sun", "04:00-24:00"),))
_WALL = WallAnswers("x-stand", "stand-in", (FaceAnswers("in", "1 m2", "1 m", "clay-inside"),))


@dataclass(frozen=True)
class Judge:
    """Judges answers for one folder and day."""

    folder: Path
    today: date
    words: Words

    def fault(self, answers: JobAnswers) -> str:
        """Return the first fault of answers that may be part of a job only, or nothing."""
        texts = [problem.text for problem in self.problems(_whole(answers))]
        return _without_label(texts[0]) if texts else ""

    def problems(self, answers: JobAnswers, name: str = "") -> list[Problem]:
        """Return the faults of a whole job, each at its line of the text as it would be written."""
        return [one.problem for one in self.tied(answers, name)]

    def tied(self, answers: JobAnswers, name: str = "") -> list[FieldProblem]:
        """Return the faults of a whole job, each with the steps to what it is about."""
        try:
            document = compose(job_text(answers, NO_UID, self.words), name)
        except FileError as error:
            return [FieldProblem((), problem) for problem in error.problems]
        return fields_of(judge_document(document, self.folder, today=self.today), document)


def _whole(answers: JobAnswers) -> JobAnswers:
    site = SiteAnswers("stand-in", "stand-in", "0", "0", "UTC")
    people, crews = answers.people, answers.crews
    if not any("lead" in person.roles for person in people) or not crews:
        people = (*people, _SOMEBODY)
    if not crews:
        crews = (CrewAnswers("stand-in", "stand-in", ("stand-in",)),)
    return replace(answers, sites=answers.sites or (site,), people=people, crews=crews, walls=answers.walls or (_WALL,))


def _without_label(text: str) -> str:
    """Return a fault without the name of the thing that was just asked about.

    Examples
    --------
    >>> _without_label('wall "north gable", outside, base coat: 30 m2 exceeds 24 m2')
    'base coat: 30 m2 exceeds 24 m2'
    """
    return _LABEL.sub("", text)
