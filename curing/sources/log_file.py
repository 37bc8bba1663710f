"""A log written line by line: when, who, what; from paper, or as an example.

::

    2027-05-03 14:50  wil  finished 3-out base
    2027-05-04 07:20  saar misted 3-out early    # a remark to the reader, not kept
    2027-05-12 16:00  wil  move 3-out.finish 2027-05-20 why="drier by then"

What the lead or the architect decided stands among it, as :mod:`~curing.sources.decision_line` reads it.
"""

from __future__ import annotations

import re
import shlex
from collections import Counter
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from curing.errors import CuringError, FileError, Place, Problem
from curing.sources.decision_line import DECIDED, DecisionLine, read_decision
from curing.sources.log_line import Line, read_line
from curing.sources.yaml_nodes import read_text

MOST_LINES = 20_000
LONGEST_LINE = 10_000
"""Characters of one line: more than the longest note; splitting it takes time by its length squared."""
_LINE = re.compile(r"(\d{4}-\d{2}-\d{2}) (\d{2}:\d{2}(?:[+-]\d{2}:\d{2})?)\s+(\S+)\s+(\S+)(.*)")


@dataclass(frozen=True, slots=True)
class Written:
    """One line: where it stands, its own key, and what it says."""

    place: Place
    key: str
    """The same line in the same file makes the same key, so that a file read twice counts once."""
    at: str
    by: str
    line: Line | DecisionLine


def read_log(path: Path) -> list[Written]:
    """Return the lines of a log.

    Raises
    ------
    FileError
        It can't be read, or lines are wrong: all of them, each with its place.
    """
    found: list[Written] = []
    problems: list[Problem] = []
    seen: Counter[str] = Counter()
    lines = read_text(path).splitlines()
    if len(lines) > MOST_LINES:
        raise FileError(Problem(Place(str(path)), f"{len(lines)} lines; at most {MOST_LINES}: split it into several"))
    for number, text in enumerate(lines, start=1):
        place = Place(str(path), number, 1)
        if not text.strip() or text.lstrip().startswith("#"):
            continue
        if len(text) > LONGEST_LINE:
            problems.append(Problem(place, f"{len(text)} characters; a line has at most {LONGEST_LINE}: split it"))
            continue
        match = _LINE.fullmatch(text.strip())
        if match is None:
            said = "is not date, time, person and what happened; write: 2027-05-03 14:50 wil finished 3-out base"
            problems.append(Problem(place, said))
            continue
        day, clock, by, what, rest = match.groups()
        try:
            words = shlex.split(rest, comments=True)
            line = read_decision(what, words) if what in DECIDED else read_line(what, words)
        except CuringError as error:
            problems += [Problem(place, one.text) for one in error.problems]
            continue
        except ValueError:
            problems.append(Problem(place, f"{what}: a quotation mark is not closed; put text between two of them"))
            continue
        plain = " ".join(text.split())
        seen[plain] += 1
        key = sha256(f"{plain}/{seen[plain]}".encode()).hexdigest()[:32]
        at = f"{day} {clock}" if len(clock) == 5 else f"{day}T{clock}"
        found.append(Written(place, key, at, by, line))
    if problems:
        raise FileError(problems)
    return found
