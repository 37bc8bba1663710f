"""The fields of a form that sets a job up: labels, words to choose from, and what is wrong beside each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from curing.model.people import DECIDERS
from curing.model.system import System
from curing.publish.event_title import plain
from curing.publish.page_setup import items, name_of
from curing.publish.words import CATALOGUE, Words

DATES = ("finish_by", "resumes", "filled", "start", "ended", "met", "refused")
"""Fields that hold one day."""
FEW = 4
"""So many words stand as buttons beside each other; more are chosen from a list."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One of some words to choose from."""

    value: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Asked:
    """One field of a form.

    Parameters
    ----------
    shape
        ``text``, ``date``, ``boxes`` (several), ``buttons`` (one of a few), or ``select``.
    typed
        What the reader had typed, where the file was changed meanwhile; None: nothing to tell.
    """

    name: str
    label: str
    hint: str
    shape: str
    value: str
    choices: tuple[Choice, ...] = ()
    problems: tuple[str, ...] = ()
    number: bool = False
    typed: str | None = None


@dataclass(frozen=True)
class Form:
    """Draws the fields of one thing.

    Parameters
    ----------
    thing
        What it is, for its words: ``person``.
    data
        What the job file says: sites, people and crews to choose from.
    systems
        Coat systems at hand.
    units
        Field → the unit of a number typed alone.
    """

    thing: str
    data: Mapping[str, Any]
    systems: Mapping[str, System]
    units: Mapping[str, str]
    words: Words

    def asked(
        self,
        name: str,
        value: str,
        choices: Sequence[str],
        problems: Sequence[str] = (),
        *,
        several: bool = False,
        typed: str | None = None,
    ) -> Asked:
        """Return one field."""
        listed = self._choices(name, choices)
        shape = self._shape(name, value, listed, several=several)
        boxes = listed is not None and several
        chosen = {one.strip() for one in value.split(",")} if boxes else {value}
        drawn = [Choice(word, label, word in chosen) for word, label in listed or ()]
        odd = [one for one in sorted(chosen) if one and all(one != choice.value for choice in drawn)]
        if listed is not None:  # what stands in the file stays, though it is none of the words
            drawn += [Choice(one, plain(one), True) for one in odd]
        if shape == "select" and not value and all(choice.value for choice in drawn):
            drawn.insert(0, Choice("", self.words.say("setup.choice.none"), True))
        return Asked(
            name,
            self.words.say(f"setup.ask.{self.thing}.{name}"),
            self._hint(name),
            shape,
            value,
            tuple(drawn),
            tuple(problems),
            number=name in self.units and self.units[name] != "°" and self.words.units == "metric",
            typed=typed,
        )

    def _hint(self, name: str) -> str:
        key = f"setup.why.{self.thing}.{name}"
        texts = [self.words.say(key)] if key in CATALOGUE else []
        if (unit := self.units.get(name)) and unit != "°":
            texts.append(self.words.say("setup.unit", unit=unit))
        return " ".join(texts)

    def _shape(self, name: str, value: str, choices: Sequence[object] | None, *, several: bool) -> str:
        if choices is not None:
            if several:
                return "boxes"
            return "buttons" if len(choices) <= FEW and (self.thing, name) not in _NAMED else "select"
        return "date" if name in DATES and _is_day(value) else "text"

    def _choices(self, name: str, words: Sequence[str]) -> list[tuple[str, str]] | None:
        """Return words to choose from with what they are called; None for a field that is typed."""
        named = _NAMED.get((self.thing, name))
        if named is not None:
            return list(named(self))
        if not words:
            return None
        blank = [""] if f"setup.choice.{name}." in CATALOGUE else []
        return [(word, self.words.say(f"setup.choice.{name}.{word}")) for word in (*words, *blank)]

    def _everybody(self) -> Iterator[tuple[str, str]]:
        for _, one in items(self.data, "people"):
            yield str(one.get("id", "")), name_of(one, self.words)

    def _deciders(self) -> Iterator[tuple[str, str]]:
        yield "", self.words.say("setup.choice.by.")
        for _, one in items(self.data, "people"):
            roles = one.get("roles")
            if isinstance(roles, list) and any(role.value in roles for role in DECIDERS):
                yield str(one.get("id", "")), name_of(one, self.words)

    def _listed(self, section: str, name: str) -> Iterator[tuple[str, str]]:
        yield "", self.words.say(f"setup.choice.{name}.")
        for _, one in items(self.data, section):
            yield str(one.get("id", "")), name_of(one, self.words)

    def _systems(self) -> Iterator[tuple[str, str]]:
        for id_, system in self.systems.items():
            key = "setup.system" if len(system.sides) > 1 else f"setup.system.{system.sides[0]}"
            yield id_, self.words.say(key, id=id_, name=plain(system.name))


_NAMED: Mapping[tuple[str, str], Callable[[Form], Iterator[tuple[str, str]]]] = {
    ("crew", "people"): Form._everybody,
    ("hold", "by"): Form._deciders,
    ("wall", "site"): lambda form: form._listed("sites", "site"),
    ("face", "crew"): lambda form: form._listed("crews", "crew"),
    ("face", "system"): Form._systems,
    ("new", "system"): Form._systems,
}
"""Fields whose words come from the job itself."""


def _is_day(value: str) -> bool:
    """Tell whether a field of a day can show this; another text is shown as it is."""
    if not value:
        return True
    try:
        return len(value) == 10 and bool(date.fromisoformat(value))
    except ValueError:
        return False
