"""A YAML file as plain data in which every key and value knows its place.

YAML 1.2, core schema [1]_, and less than YAML allows: no anchors, tags,
directives, merges or second documents, text of one line only. ``NO``, ``07:30``
and ``2027-03-01`` stay text. The parser's events are walked as they come, so
nesting is bounded before anything deep is built, and one pass finds every
fault that does not hide the next.

References
----------
.. [1] YAML Ain't Markup Language 1.2.2, section 10.3, "Core Schema".
"""

from __future__ import annotations

import pickle
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, cast

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from curing.errors import FileError, Place, Problem
from curing.model.quantities import clip
from curing.sources.yaml_scalars import CONTROL, resolve

Steps = tuple[str | int, ...]
"""Where a value stands in the data: ``("walls", 2, "area")``."""

MOST_BYTES = 2_000_000
MOST_DEPTH = 20
MOST_PARTS = 100_000  # keys and values: about 4 s of reading, and five times a job of a thousand faces
MOST_IN_LINE = 10_000  # characters: the scanner's time for a run of signs grows with its square

_EMPTY = "the file is empty; the examples show what it may hold"
_DEEP = f"nested deeper than {MOST_DEPTH} levels; check brackets and indents"


_TAB = re.compile(r" *\t(?=\s*[^\s#])")

# What the parser says, by its beginning, and what that means to somebody who does not know YAML.
_PLAIN_WORDS = {
    "mapping values are not allowed": "a colon too many, or a line indented too far; quote text with a colon",
    "expected <block end>": "this line is not indented like the lines it belongs to; align it with them",
    "expected the node content": "a value is missing, or starts with a sign of YAML; put text in quotes",
    "expected ',' or": "a bracket is not closed, or a comma is missing; close it",
    "found unexpected end of stream": "the quotes that open here are not closed; close them",
    "found unexpected document separator": "the quotes that open here are not closed; close them",
    "could not find expected ':'": 'no colon after this key; write it as "key: value"',
    "sequence entries are not allowed": 'a list can\'t begin here; start it on a line of its own with "- "',
    "mapping keys are not allowed": "a question mark can't stand here; put the text in quotes",
    "found unknown escape": "an unknown escape after a backslash; use single quotes, or two backslashes",
    "expected escape sequence": "a broken escape after a backslash; use single quotes, or two backslashes",
    "found character '\\t'": "a tab; write a space instead, or \\t in double quotes",
    "found character": "text can't start with this character; put it in quotes",
    "expected alphabetic or numeric": "text can't start with this character; put it in quotes",
    "expected '<document start>'": 'this can stand only under a key; indent it, or write "key: value"',
    "found undefined tag handle": "a tag; tags have no meaning here: leave it out or put the text in quotes",
}  # fmt: skip


@dataclass(frozen=True)
class Document:
    """The data of a file, the places of its parts, and what is wrong with it so far.

    Attributes
    ----------
    file
        Name shown in places.
    data
        Plain data: dict, list, str, int, float, bool, None.
    places, key_places
        Steps to a value, and the place where it, or its key, begins.
    written
        Steps to a scalar, and its text as written, before it became a number.
    problems
        Faults that did not stop the reading; the caller adds its own.
    spoilt
        Steps to values that such a fault replaced by None: not worth a second complaint.
    """

    file: str
    data: dict[str, Any]
    places: dict[Steps, Place] = field(default_factory=dict)
    key_places: dict[Steps, Place] = field(default_factory=dict)
    written: dict[Steps, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    spoilt: set[Steps] = field(default_factory=set)

    def place(self, steps: Steps, *, key: bool = False) -> Place:
        """Return where a value (or its key) stands, or the nearest thing around it.

        Examples
        --------
        >>> document = compose("walls:\\n- area: 10 m2\\n", "alder-court.yaml")
        >>> str(document.place(("walls", 0, "area"))), str(document.place(("walls", 0, "height")))
        ('alder-court.yaml:2:9', 'alder-court.yaml:2:3')
        """
        if key and steps in self.key_places:
            return self.key_places[steps]
        while steps and steps not in self.places:
            steps = steps[:-1]
        return self.places.get(steps, Place(self.file))


def read_text(path: Path | str) -> str:
    """Return the text of a file, with ``\\n`` at the end of every line.

    Raises
    ------
    FileError
        Missing, a folder, unreadable, larger than 2 MB, not UTF-8, or with
        control characters: all of them, with line and column.
    """
    return decoded(read_raw(path), str(path))


def read_raw(path: Path | str) -> bytes:
    """Return the bytes of a file.

    Raises
    ------
    FileError
        Missing, a folder, unreadable, larger than 2 MB.
    """
    file = str(path)
    try:
        facts = Path(path).stat()
        if stat.S_ISDIR(facts.st_mode):
            raise _fault(file, "this is a folder; name the file in it")
        if not stat.S_ISREG(facts.st_mode):
            raise _fault(file, "this is not an ordinary file; name a text file")
        with open(path, "rb") as source:
            raw = source.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise _fault(file, "there is no such file; check the name and the folder") from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "not a name a file can have"
        raise _fault(file, f"the file can't be read: {why.lower()}; check name and permissions") from None
    if len(raw) > MOST_BYTES:
        size = max(facts.st_size, len(raw)) / 1e6
        most = f"at most {MOST_BYTES / 1e6:g} MB are read"
        raise _fault(file, f"the file has {size:.1f} MB; {most}; split it, or name the right file")
    return raw


def decoded(raw: bytes, file: str) -> str:
    """Return the text of a file's bytes, with ``\\n`` at the end of every line.

    Raises
    ------
    FileError
        Not UTF-8, or with control characters: all of them, with line and column.
    """
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        at = error.start + (len(raw) - len(error.object))
        before = raw[:at].decode("utf-8-sig", "replace")
        place = Place(file, before.count("\n") + 1, len(before) - before.rfind("\n"))
        hint = " (it looks like UTF-16)" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else ""
        what = f"byte 0x{raw[at]:02X} at position {at} is not UTF-8{hint}; save the file as UTF-8"
        raise FileError(Problem(place, what)) from None
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    faults = [
        Problem(place, f"control character U+{ord(sign):04X}; only visible text is allowed; delete it")
        for sign, place in _places_of(CONTROL, text, file)
    ]
    if faults:
        raise FileError(faults)
    return text


def _places_of(pattern: re.Pattern[str], text: str, file: str) -> Iterator[tuple[str, Place]]:
    if not pattern.search(text):
        return
    for number, line in enumerate(text.split("\n"), 1):
        for match in pattern.finditer(line):
            yield match[0], Place(file, number, match.start() + 1)


def _fault(file: str, text: str, line: int = 0, column: int = 0) -> FileError:
    return FileError(Problem(Place(file, line, column), text))


def compose(text: str, file: str) -> Document:
    """Return the data of a YAML text with the places of its parts.

    Faults that leave the rest readable (a key that stands twice, an anchor, a
    tag, a control character) are kept in ``Document.problems``.

    Raises
    ------
    FileError
        Nothing can be read after the fault: syntax, tabs as indentation,
        nesting beyond 20, more than 100,000 parts, an empty file, no mapping at
        the top. It also holds the problems found before it.

    Examples
    --------
    >>> compose("start: 07:30\\nfaces: [1, 1.5, NO]\\n", "alder-court.yaml").data
    {'start': '07:30', 'faces': [1, 1.5, 'NO']}
    """
    return cast(Document, pickle.loads(_kept(text, file)))  # each caller has its own, to add problems to


@lru_cache(maxsize=8)
def _kept(text: str, file: str) -> bytes:
    """Return a composed text; a page that is drawn, judged and saved reads the same file many times."""
    return pickle.dumps(_composed(text, file))


def _composed(text: str, file: str) -> Document:
    if faults := list(_unreadable_lines(text, file)):
        raise FileError(faults)
    walk = _Walk(file, YAML(typ="safe", pure=True).parse(text))
    try:
        walk.run()
    except FileError as error:
        raise FileError([*walk.document.problems, *error.problems]) from None
    except (YAMLError, ValueError, OverflowError, IndexError, TypeError, AttributeError) as error:
        # The parser answers some broken escapes and directives with these instead of its own errors.
        raise FileError([*walk.document.problems, _syntax(error, walk.here)]) from None
    return walk.document


def _unreadable_lines(text: str, file: str) -> Iterator[Problem]:
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > MOST_IN_LINE:
            what = f"this line has {len(line)} characters; at most {MOST_IN_LINE} are read; break it"
            yield Problem(Place(file, number, 1), what)
        if tab := _TAB.match(line):
            yield Problem(Place(file, number, tab.end()), "a tab; YAML is indented by spaces; replace it")


def _syntax(error: Exception, here: Place) -> Problem:
    """Return a parser's error in plain words."""
    if not isinstance(error, MarkedYAMLError):
        return Problem(here, "from here on this can't be read as YAML; check escapes, quotes and signs")
    said = str(error.problem or "")
    words = next((plain for start, plain in _PLAIN_WORDS.items() if said.startswith(start)), None)
    if said.startswith("expected the node content, but found '<stream end>'"):
        words = "the file ends inside a bracket; close it"
    opened = said.startswith(("found unexpected", "expected ',' or", "could not find", "expected alpha"))
    mark = (error.context_mark if opened else None) or error.problem_mark or error.context_mark
    place = Place(here.file, mark.line + 1, mark.column + 1) if mark else here
    return Problem(place, words or "this can't be read as YAML; check indentation, colons and quotes")


class _Walk:
    """Builds a document from the events of the parser, top down."""

    def __init__(self, file: str, events: Iterator[Event]) -> None:
        self.here = Place(file, 1, 1)
        self.document = Document(file, {})
        self._events = events
        self._parts = 0

    def run(self) -> None:
        """Take every event; raise FileError where nothing more can be read."""
        documents = 0
        while (event := self._next()) is not None:
            if isinstance(event, DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self._problem("a second document begins; a file holds one; delete this or split the file")
                    return
                if event.version or event.tags:
                    self._problem('a line before this begins with "%", which has no meaning here; delete it')
            elif isinstance(event, NodeEvent):
                self._top(event)
        if not documents:
            raise _fault(self.document.file, _EMPTY)

    def _next(self) -> Event | None:
        event = next(self._events, None)
        if event is None:
            return None
        self.here = Place(self.document.file, event.start_mark.line + 1, event.start_mark.column + 1)
        self._parts += isinstance(event, NodeEvent)
        if self._parts > MOST_PARTS:
            what = f"more than {MOST_PARTS} keys and values up to here; split the file"
            raise FileError(Problem(self.here, what))
        return event

    def _problem(self, text: str, place: Place | None = None) -> None:
        self.document.problems.append(Problem(place or self.here, text))

    def _top(self, event: NodeEvent) -> None:
        if isinstance(event, ScalarEvent) and not event.value and event.style is None:
            raise _fault(self.document.file, _EMPTY)
        if not isinstance(event, MappingStartEvent):
            kind = "a list" if isinstance(event, SequenceStartEvent) else "text"
            what = f'the file begins with {kind}; it must begin with a key and a colon, such as "name: ..."'
            raise FileError(Problem(self.here, what))
        self.document.data.update(self._value(event, ()))

    def _value(self, event: NodeEvent, steps: Steps) -> Any:
        """Return the value that begins with this event, None for one that is refused."""
        self.document.places[steps] = self.here
        if len(steps) >= MOST_DEPTH:
            raise FileError(Problem(self.here, _DEEP))
        for fault in _extras(event):
            self._problem(fault)
        if isinstance(event, MappingStartEvent):
            return self._mapping(steps)
        if isinstance(event, SequenceStartEvent):
            return self._list(steps)
        if not isinstance(event, ScalarEvent):
            self.document.spoilt.add(steps)
            return None
        value, wrong = resolve(event.value, event.style)
        self.document.written[steps] = event.value
        if wrong:
            self._problem(wrong)
            self.document.spoilt.add(steps)
        return value

    def _list(self, steps: Steps) -> list[Any]:
        items: list[Any] = []
        while isinstance(event := self._next(), NodeEvent):
            items.append(self._value(event, (*steps, len(items))))
        return items

    def _mapping(self, steps: Steps) -> dict[str, Any]:
        content: dict[str, Any] = {}
        while isinstance(event := self._next(), NodeEvent):
            place = self.here
            key = self._key(event)
            value = self._next()
            if not isinstance(value, NodeEvent):
                break
            if key is None:
                self._skip(value)
            elif key in content:
                first = self.document.key_places[(*steps, key)].line
                self._problem(f'"{clip(key)}" stands twice, first in line {first}; keep one of them', place)
                self._skip(value)
            else:
                self.document.key_places[(*steps, key)] = place
                if isinstance(value, ScalarEvent) and not value.value and value.style is None:
                    self.here = place  # the parser puts an empty value where the next thing begins
                content[key] = self._value(value, (*steps, key))
        return content

    def _key(self, event: NodeEvent) -> str | None:
        for fault in _extras(event):
            self._problem(fault)
        if not isinstance(event, ScalarEvent):
            if not isinstance(event, AliasEvent):
                self._problem("a list or a mapping can't be a key; write a key of one line of text")
            self._skip(event)
            return None
        key, wrong = resolve(event.value, event.style)
        if isinstance(key, str) and not wrong:
            return key
        if not event.value:
            wrong = "there is no key before this colon; write one"
        self._problem(wrong or f'{event.value} is not text and can\'t be a key; write it as "{event.value}"')
        return None

    def _skip(self, event: Event | None) -> None:
        """Read past a value that is not kept."""
        depth = 0
        while event is not None:
            depth += isinstance(event, SequenceStartEvent | MappingStartEvent)
            depth -= isinstance(event, SequenceEndEvent | MappingEndEvent)
            if depth > MOST_DEPTH:
                raise FileError(Problem(self.here, _DEEP))
            if not depth:
                return
            event = self._next()


def _extras(event: NodeEvent) -> Iterator[str]:
    """Yield what this file may not use: anchors, aliases, tags."""
    if isinstance(event, AliasEvent):
        yield f'"*{clip(event.anchor)}" repeats another place of the file; write the value out'
        return
    if event.anchor:
        yield f'"&{clip(event.anchor)}" names a value to repeat it; delete this and write values out'
    if isinstance(event, ScalarEvent | SequenceStartEvent | MappingStartEvent) and event.tag:
        tag = event.tag.replace("tag:yaml.org,2002:", "!!")
        yield f'"{clip(tag)}" is a tag and has no meaning here; delete it, or put the text in quotes'
