"""What a new job file is made of: each answer as the person wrote it, checked but not turned into SI.

Whoever asks (a terminal, a page, a wall schedule) gives these; one writer turns them into a
job file. ``13 mm`` stays ``13 mm``: the file says what was said.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

WALL_ID, OTHER_ID = 8, 24
"""Most signs of the id of a wall, and of anything else."""

MEANT = 4
"""An id of fewer signs says too little where the name has more."""

_OWN_LETTERS = str.maketrans({"ß": "ss", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "Ae", "ł": "l", "Ł": "L", "đ": "d"})


@dataclass(frozen=True, slots=True)
class SiteAnswers:
    """A site; latitude [° north] and longitude [° east] as decimal numbers."""

    id: str
    name: str
    latitude: str
    longitude: str
    time_zone: str


@dataclass(frozen=True, slots=True)
class PersonAnswers:
    """A person; ``hours`` are (days, span): ``("mon-fri", "07:00-15:30")``, ``also`` (date, span)."""

    id: str
    name: str
    roles: tuple[str, ...] = ()
    hours: tuple[tuple[str, str], ...] = ()
    also: tuple[tuple[str, str], ...] = ()
    away: tuple[str, ...] = ()
    reach: str = ""
    longest_round: str = ""


@dataclass(frozen=True, slots=True)
class CrewAnswers:
    """A crew and the ids of its people."""

    id: str
    name: str
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MeterAnswers:
    """A moisture meter: lowest and highest reading it shows, and their basis (``wet``, ``dry`` or unsaid)."""

    id: str
    name: str
    least: str
    most: str
    basis: str = ""


@dataclass(frozen=True, slots=True)
class FaceAnswers:
    """One side of a wall; ``done`` are (coat, when laid), ``origin`` the line it came from (``walls.csv:12``)."""

    side: str
    area: str
    height: str
    system: str
    facing: str = ""
    scaffold: str = ""
    gutter: bool = True
    exposure: str = ""
    start: str = ""
    after: tuple[str, ...] = ()
    done: tuple[tuple[str, str], ...] = ()
    origin: str = ""


@dataclass(frozen=True, slots=True)
class WallAnswers:
    """A wall with its faces; ``note`` is what somebody wrote beside it."""

    id: str
    name: str
    faces: tuple[FaceAnswers, ...]
    site: str = ""
    thickness: str = ""
    filled: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class JobAnswers:
    """A whole job, in the order of its file."""

    name: str
    units: str = "metric"
    working_week: tuple[str, ...] = ("mon", "tue", "wed", "thu", "fri")
    country: str = ""
    region: str = ""
    days_off: tuple[str, ...] = ()
    finish_by: str = ""
    resumes: str = ""
    sites: tuple[SiteAnswers, ...] = ()
    people: tuple[PersonAnswers, ...] = ()
    crews: tuple[CrewAnswers, ...] = ()
    meters: tuple[MeterAnswers, ...] = ()
    walls: tuple[WallAnswers, ...] = field(default_factory=tuple)

    def faces(self) -> Iterator[tuple[str, WallAnswers, FaceAnswers]]:
        """Yield (face id, wall, face) in walking order."""
        for wall in self.walls:
            for face in wall.faces:
                yield f"{wall.id}-{face.side}", wall, face


def short_id(name: str, taken: Collection[str], most: int = OTHER_ID, *, stem: str = "wall") -> str:
    """Return an id made from a name: short, of letters, digits and hyphens, and not taken yet.

    Words are shortened to their first letters from the left until the id fits.

    Parameters
    ----------
    name
        What people call it.
    taken
        Ids that are given away; capitals do not tell two apart.
    most
        Most signs.
    stem
        What an id begins with where the name has no letter or digit to use.

    Examples
    --------
    >>> short_id("north gable", [], 8), short_id("road side, bay 12", [], 8), short_id("Jürgen", [])
    ('n-gable', 'rsb-12', 'jurgen')
    >>> short_id("Wil", ["wil"]), short_id("北", [], 8)
    ('wil-2', 'wall-1')
    """
    used = {one.casefold() for one in taken}
    plain = unicodedata.normalize("NFKD", name.translate(_OWN_LETTERS)).encode("ascii", "ignore").decode().lower()
    words = re.findall(r"[a-z0-9]+", plain.replace("'", ""))
    found = next((one for one in _shorter(words) if len(one) <= most), "-".join(words)[:most].strip("-"))
    if len(found) < MEANT and len("-".join(words)) > most:  # "kitchen n" is kitch-n, not k-n
        found = "-".join([words[0][: most - len("-".join(words[1:])) - 1], *words[1:]])[:most].strip("-")
    found = found or _numbered(stem, used, most, first=1)
    return found if found not in used and not _like_a_face(found) else _numbered(found, used, most, first=2)


def _shorter(words: list[str]) -> Iterator[str]:
    """Yield a name in ever fewer signs: words shortened to a letter from the left and put together."""
    yield "-".join(words)
    short = [word if word.isdigit() else word[:1] for word in words]
    for count in range(1, len(words)):
        yield "-".join(["".join(short[:count]), *words[count:]])


def _like_a_face(found: str) -> bool:
    return found.endswith(("-in", "-out"))


def _numbered(stem: str, used: Collection[str], most: int, *, first: int) -> str:
    number = first
    while (one := f"{stem[: most - len(str(number)) - 1].rstrip('-')}-{number}") in used:
        number += 1
    return one
