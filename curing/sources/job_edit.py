"""Edits of a job file's text that keep its comments, its order and every line they do not concern.

An edit is data. The text is changed by splices, never written anew: writing it anew, even by a
library that keeps comments, would change every line with brackets. What came out is read again
and compared with what was meant; where they differ, nothing is changed.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from pydantic import BaseModel

from curing.errors import FileError, Problem
from curing.model.job import Crew, Face, Holidays, JobFile, Meter, Panel, Person, SeasonLine, Site, Wall
from curing.sources import yaml_splice as splice
from curing.sources.yaml_layout import Layout, OddPlaceError, plain
from curing.sources.yaml_nodes import MOST_IN_LINE, Document, Steps, compose
from curing.sources.yaml_scalars import unfit

_MODELS: Mapping[str, type[BaseModel]] = {
    "": JobFile, "sites": Site, "people": Person, "crews": Crew, "meters": Meter, "walls": Wall, "faces": Face,
    "panel": Panel, "holidays": Holidays, "season": SeasonLine,
}  # fmt: skip
"""What stands under a key, for the order of its lines."""

_ADD = re.compile(r"; (?:[^;]*, )?add (?:for instance )?\"(\w+):")
"""How a problem names the line that is missing."""

_ODD = "this is written in a way that can be read but not changed here; change it in an editor"


@dataclass(frozen=True)
class Put:
    """Let a value be this: set anew, or changed as little as may be where there is one.

    Nothing (``""``, an empty list or mapping) takes it away.
    """

    steps: Steps
    value: Any


@dataclass(frozen=True)
class Drop:
    """Take a value or an item of a list away, with a list or mapping that is empty then."""

    steps: Steps


@dataclass(frozen=True)
class Add:
    """Put a new item into a list; the last step is its place, at most the length of the list."""

    steps: Steps
    value: Any


@dataclass(frozen=True)
class Move:
    """Let an item of a list and the one before it (``up``) or after it change places."""

    steps: Steps
    up: bool = True


Edit = Put | Drop | Add | Move


@dataclass(frozen=True)
class FieldProblem:
    """Something wrong, and the steps to what it is about; no steps: to no one line."""

    steps: Steps
    problem: Problem


def edited(text: str, edits: Sequence[Edit], file: str) -> str:
    """Return a job file's text with some edits.

    Parameters
    ----------
    text
        As :func:`curing.sources.yaml_nodes.read_text` gives it.
    edits
        One after another, each by the steps that hold after the one before.
    file
        Its name in places.

    Raises
    ------
    FileError
        The text can't be read as YAML of a job file, an edit leads to nothing, or a place is written
        so that it can't be changed without harm.

    Examples
    --------
    >>> text = "people:\\n  - id: wil     # leads\\n    roles: [lead]\\n"
    >>> print(edited(text, [Put(("people", 0, "roles"), ["lead", "mists"]), Put(("people", 0, "name"), "Wil")], "f"))
    people:
      - id: wil     # leads
        name: Wil
        roles: [lead, mists]
    <BLANKLINE>
    """
    document = compose(text, file)
    if document.problems:
        raise FileError(document.problems)
    meant = copy.deepcopy(document.data)
    for edit in edits:
        if isinstance(edit, Put) and _nothing(_plain(edit.value)):
            if not _is_there(meant, edit.steps):
                continue
            edit = Drop(edit.steps)
        if isinstance(edit, Put | Add) and (fault := value_fault(edit.value)):
            raise FileError(Problem(document.place(edit.steps), fault))
        before = copy.deepcopy(meant)
        try:
            _apply(meant, edit)
            text = _spliced(text, before, edit)
        except (KeyError, OddPlaceError):
            raise FileError(Problem(document.place(edit.steps), _ODD)) from None
    came_out = compose(text, file)
    if came_out.problems or _written(came_out.data) != _written(meant):
        raise FileError(Problem(document.place(edits[0].steps) if edits else document.place(()), _ODD))
    return text


def _written(value: Any) -> str:
    """Return a value in a form in which 1, 1.0 and true differ; keys in any order are the same."""
    return json.dumps(value, sort_keys=True)


def value_fault(value: Any) -> str:
    """Return why a value can't stand in a job file at all, or nothing.

    Examples
    --------
    >>> value_fault({"mon-fri": "07:00-15:30"}), value_fault(["two\\nlines"])
    ('', 'the text goes over several lines; write it on one line')
    """
    if isinstance(value, Mapping):
        return next(filter(None, (value_fault(one) for pair in value.items() for one in pair)), "")
    if isinstance(value, list | tuple):
        return next(filter(None, (value_fault(one) for one in value)), "")
    if not isinstance(value, str):
        return ""
    if len(value) > MOST_IN_LINE // 4:  # written out in quotes, it may be twice as long, and share its line
        return f"the text has {len(value)} characters; at most {MOST_IN_LINE // 4} can be kept; shorten it"
    return unfit(value) or ""


# What an edit means, as data.


def _apply(data: Any, edit: Edit) -> None:
    """Do an edit to the data; KeyError where its steps lead to nothing, or to something of another kind."""
    if isinstance(edit, Move):
        items, place = _inner(data, edit.steps[:-1], list), _place(edit)
        first = place - 1 if edit.up else place
        if not 0 <= first < len(items) - 1:
            raise KeyError(place)
        items[first], items[first + 1] = items[first + 1], items[first]
    elif isinstance(edit, Add):
        place, outer = _place(edit), _inner(data, edit.steps[:-2], dict, list)
        if isinstance(outer, dict) and outer.get(edit.steps[-2]) is None:
            outer[edit.steps[-2]] = []
        items = _inner(data, edit.steps[:-1], list)
        if not 0 <= place <= len(items):
            raise KeyError(place)
        items.insert(place, _plain(edit.value))
    elif isinstance(edit, Drop):
        _take(data, edit.steps)
    else:
        outer = data
        for step in edit.steps[:-1]:
            if isinstance(outer, dict) and isinstance(step, str) and outer.get(step) is None:
                outer[step] = {}
            outer = _inner(outer, (step,), dict, list)
        if isinstance(outer, list):
            _inner(outer, edit.steps[-1:], object)
        elif not isinstance(edit.steps[-1], str):
            raise KeyError(edit.steps[-1])
        outer[edit.steps[-1]] = _plain(edit.value)


def _place(edit: Move | Add) -> int:
    """Return the place in a list that an edit is about."""
    if len(edit.steps) < 2 or not isinstance(edit.steps[-1], int):
        raise KeyError(edit.steps)
    return edit.steps[-1]


def _inner(data: Any, steps: Steps, *kinds: type) -> Any:
    """Return what stands at steps; KeyError where nothing does, or nothing of these kinds."""
    for step in steps:
        listed = isinstance(data, list) and isinstance(step, int) and 0 <= step < len(data)
        if not listed and not (isinstance(data, dict) and isinstance(step, str)):
            raise KeyError(step)
        data = data[step]
    if not isinstance(data, kinds):
        raise KeyError(steps)
    return data


def _is_there(data: Any, steps: Steps) -> bool:
    try:
        _inner(data, steps, object)
    except KeyError:
        return False
    return True


def _take(data: Any, steps: Steps) -> None:
    outer = _inner(data, steps[:-1], dict, list)
    _inner(outer, steps[-1:], object)
    del outer[steps[-1]]
    if not outer and len(steps) > 1:
        _take(data, steps[:-1])


def _at(data: Any, steps: Steps) -> Any:
    for step in steps:
        data = data[step]
    return data


def _nothing(value: Any) -> bool:
    return value is None or (isinstance(value, str | list | tuple | Mapping) and not value)


def _plain(value: Any) -> Any:
    """Return a value as a file's data: lists and dicts, without what says nothing."""
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items() if not _nothing(one)}
    return [_plain(one) for one in value] if isinstance(value, list | tuple) else value


# What an edit does to the text.


def _spliced(text: str, data: Any, edit: Edit) -> str:
    """Return the text with one edit; ``data`` is what it says before."""
    if isinstance(edit, Move):
        return splice.swapped(text, (*edit.steps[:-1], _place(edit) - edit.up))
    if isinstance(edit, Add):
        outer = _at(data, edit.steps[:-2])
        if isinstance(outer, dict) and not outer.get(edit.steps[-2]):
            return _set(text, data, edit.steps[:-1], [_plain(edit.value)])
        return splice.with_item(text, edit.steps, _plain(edit.value))
    if isinstance(edit, Drop):
        return _dropped(text, data, edit.steps)
    return _set(text, data, edit.steps, _plain(edit.value))


def _dropped(text: str, data: Any, steps: Steps) -> str:
    alone = len(_at(data, steps[:-1])) == 1
    return _dropped(text, data, steps[:-1]) if alone and len(steps) > 1 else splice.without(text, steps)


def _set(text: str, data: Any, steps: Steps, value: Any) -> str:
    """Return the text with a value at steps, and the mappings that lead there."""
    outer: Any = data
    for count, step in enumerate(steps):
        if outer is None:
            return splice.replaced(text, steps[:count], _nested(steps[count:], value))
        if isinstance(outer, dict) and step not in outer:
            return _with_key(text, outer, steps[: count + 1], _nested(steps[count + 1 :], value))
        outer = _inner(outer, (step,), object)
    return _changed(text, steps, outer, value)


def _nested(steps: Steps, value: Any) -> Any:
    for step in reversed(steps):
        value = {step: value}
    return value


def _with_key(text: str, outer: Mapping[str, Any], steps: Steps, value: Any, order: Sequence[str] = ()) -> str:
    name = next((step for step in reversed(steps[:-1]) if isinstance(step, str)), "")
    fixed = _MODELS.get(name)
    order = order or (tuple(fixed.model_fields) if fixed else tuple(outer))
    before = order[: order.index(str(steps[-1]))] if steps[-1] in order else order
    return splice.with_key(text, steps, value, before)


def _changed(text: str, steps: Steps, old: Any, new: Any) -> str:
    """Return the text with one value turned into another, changing what differs only."""
    if _written(old) == _written(new):
        return text
    both = tuple(type(one) for one in (old, new))
    if old and both in ((dict, dict), (list, list)) and not _rewritten_whole(text, steps, new):
        return _keys_changed(text, steps, old, new) if isinstance(old, dict) else _items_changed(text, steps, old, new)
    return splice.replaced(text, steps, new)


def _rewritten_whole(text: str, steps: Steps, new: Any) -> bool:
    """Tell whether something stands in brackets on one line, so that it may be written anew."""
    layout = Layout(text)
    node = layout.node(steps)
    return plain(node) and "\n" not in text[layout.start(node) : layout.end(None, node)]


def _keys_changed(text: str, steps: Steps, old: Mapping[str, Any], new: Mapping[str, Any]) -> str:
    there = dict(old)
    for key, value in new.items():
        if key in old:
            text = _changed(text, (*steps, key), old[key], value)
        else:
            text = _with_key(text, there, (*steps, key), value, order=() if steps[-1] in _MODELS else tuple(new))
            there[key] = value
    for key in old:
        if key not in new:
            text = splice.without(text, (*steps, key))
    return text


def _items_changed(text: str, steps: Steps, old: Sequence[Any], new: Sequence[Any]) -> str:
    """Return the text with a list changed from its end on, so that places before stay what they are."""
    matcher = SequenceMatcher(None, [_written(one) for one in old], [_written(one) for one in new], autojunk=False)
    for what, first, last, start, stop in reversed(matcher.get_opcodes()):
        if what == "equal":
            continue
        both = min(last - first, stop - start)
        for k in reversed(range(start + both, stop)):
            text = splice.with_item(text, (*steps, first + both), new[k])
        for k in reversed(range(first + both, last)):
            text = splice.without(text, (*steps, k))
        for k in reversed(range(both)):
            text = _changed(text, (*steps, first + k), old[first + k], new[start + k])
    return text


def fields_of(problems: Iterable[Problem], document: Document) -> list[FieldProblem]:
    """Return problems with the steps to what each is about, found by the place at which it stands.

    Examples
    --------
    >>> document = compose("walls:\\n- area: 10\\n", "f")
    >>> problem = Problem(document.place(("walls", 0, "area")), "10 has no unit")
    >>> fields_of([problem, Problem(None, "the disk is full")], document)[0].steps
    ('walls', 0, 'area')
    """
    values: dict[Any, Steps] = {}
    for steps, place in (*document.key_places.items(), *document.places.items()):
        values[place] = steps
    return [FieldProblem(_missing(values.get(one.place, ()), one.text), one) for one in problems]


def _missing(steps: Steps, text: str) -> Steps:
    """Return the steps to a line that is not there, where a problem says which to add."""
    asked = _ADD.search(text)
    model = _MODELS.get(next((step for step in reversed(steps) if isinstance(step, str)), ""))
    return (*steps, asked[1]) if asked and model and asked[1] in model.model_fields else steps
