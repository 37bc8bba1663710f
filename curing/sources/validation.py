"""What pydantic found wrong with a part of a file, said with its place and in the words of the trade.

A reader validates wall by wall, face by face, with one list of problems, and at
the end raises them all at once: a person mends a file in one go.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic.errors import PydanticInvalidForJsonSchema, PydanticUserError
from pydantic_core import ErrorDetails

from curing.errors import FileError, Problem
from curing.model.quantities import clip
from curing.sources.yaml_nodes import Document, Steps, compose, read_text

Model = TypeVar("Model", bound=BaseModel)
Schema = dict[str, Any]

MOST_SHOWN = 100
_KEY = "[key]"  # pydantic's mark of an error in a key itself
_WANTED = {
    "string_type": "text",
    "int_type": "a whole number, such as 3",
    "int_from_float": "a whole number, such as 3",
    "float_type": "a number, such as 52.1",
    "bool_type": "true or false",
    "list_type": 'a list, each item after "- "',
    "tuple_type": 'a list, each item after "- "',
    "dict_type": 'keys and values, each as "key: value"',
    "mapping_type": 'keys and values, each as "key: value"',
    "model_type": 'keys and values, each as "key: value"',
    "model_attributes_type": 'keys and values, each as "key: value"',
}
_LIMITS = {
    "greater_than_equal": ("less than {}", "{} or more", "ge"),
    "greater_than": ("not more than {}", "more than {}", "gt"),
    "less_than_equal": ("more than {}", "{} or less", "le"),
    "less_than": ("not less than {}", "less than {}", "lt"),
}


def validate(
    model: type[Model], data: Any, document: Document, steps: Steps, thing: str, problems: list[Problem]
) -> Model | None:
    """Return a part of a file as a model, or None after telling what is wrong with it.

    Parameters
    ----------
    model
        The model to make.
    data
        The part of ``document.data`` that stands at ``steps``.
    document, steps
        The file, and where in it the part stands.
    thing
        What a person calls it, ``wall "3", out``; empty for the file as a whole.
    problems
        Every fault is added here, each with its place.

    Examples
    --------
    >>> from curing.model.quantities import AreaM2
    >>> from curing.sources.yaml_nodes import compose
    >>> from pydantic import create_model
    >>> Face = create_model("Face", area=(AreaM2, ...))
    >>> document, problems = compose("out:\\n  area: 10\\n", "alder-court.yaml"), []
    >>> validate(Face, document.data["out"], document, ("out",), 'wall "3", out', problems)
    >>> print(problems[0])
    alder-court.yaml:2:9: wall "3", out: area: 10 has no unit; write "10 m2" or "108 ft2"
    """
    try:
        return model.model_validate(data)
    except ValidationError as error:
        found = error.errors(include_url=False)
    texts: dict[_About, dict[str, None]] = {}
    for fault in found:
        inner = _inner_steps(fault, data)
        if not _spoilt((*steps, *inner), document):
            text = _text(fault, inner, model, document.written.get((*steps, *inner)))
            texts.setdefault(_about(fault, inner), {})[text] = None
    for about, said in texts.items():
        # A value that may be one of several things is told once, with what each of them asks.
        text = ": ".join(filter(None, (thing, *_names(about.names), "; or ".join(said))))
        problems.append(Problem(document.place((*steps, *about.steps), key=about.key), text))
    return None


def read_model(model: type[Model], path: Path) -> Model:
    """Read a file that is one model.

    Parameters
    ----------
    model
        What the whole file says.
    path
        A YAML file.

    Raises
    ------
    FileError
        Everything that is wrong with it, each with its place.

    Examples
    --------
    >>> from pydantic import create_model
    >>> from tempfile import TemporaryDirectory
    >>> Told = create_model("Told", port=(int, ...))
    >>> with TemporaryDirectory() as folder:
    ...     file = Path(folder, "told.yaml")
    ...     _ = file.write_text("port: 8080", encoding="utf-8")
    ...     read_model(Told, file).port
    8080
    """
    document = compose(read_text(path), str(path))
    problems = list(document.problems)
    found = validate(model, document.data, document, (), "", problems)
    raise_problems(problems)
    assert found is not None
    return found


def raise_problems(problems: Iterable[Problem]) -> None:
    """Raise every problem in the order of the file, the first hundred by name; none, no error.

    Raises
    ------
    FileError
        There is a problem.

    Examples
    --------
    >>> raise_problems([])
    >>> raise_problems(Problem(None, f"wall {number} has no face") for number in range(103))
    Traceback (most recent call last):
    ...
    curing.errors.FileError: wall 0 has no face
    ...
    and 3 more
    """
    first = dict.fromkeys(problems)
    in_order = sorted(first, key=lambda problem: (problem.place is not None, problem.place))
    if len(in_order) > MOST_SHOWN:
        in_order[MOST_SHOWN:] = [Problem(None, f"and {len(in_order) - MOST_SHOWN} more")]
    if in_order:
        raise FileError(in_order)


def unknown(kind: str, name: str, known: Iterable[str]) -> str:
    """Return that a name is unknown, with the one that was meant or all that there are.

    Examples
    --------
    >>> unknown("key", "areaa", ["area", "height"])
    'unknown key "areaa"; did you mean "area"?'
    >>> unknown("side", "north", ["out", "in"])
    'unknown side "north"; write one of "out", "in"'
    """
    names = list(known)
    near = get_close_matches(name, names, n=1) or [n for n in names if n.lower() == name.lower()]
    if near:
        return f'unknown {kind} "{clip(name)}"; did you mean "{near[0]}"?'
    return f'unknown {kind} "{clip(name)}"; ' + (f"write one of {_listed(names)}" if names else "delete it")


def _listed(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)


def _inner_steps(fault: ErrorDetails, data: Any) -> Steps:
    """Return the steps of an error that lead through the data: pydantic also names union members."""
    inner: list[str | int] = []
    for step in fault["loc"]:
        if _leads_on(data, step):
            data = data[step]
            inner.append(step)
    return tuple(inner)


class _About(NamedTuple):
    """What a problem is about: problems about the same thing are one."""

    steps: Steps
    names: Steps
    key: bool
    missing: str = ""


def _about(fault: ErrorDetails, inner: Steps) -> _About:
    if fault["type"] == "missing":
        return _About(inner, inner, False, str(fault["loc"][-1]))
    if fault["type"] == "extra_forbidden":
        return _About(inner, inner[:-1], True)
    return _About(inner, inner, fault["loc"][-1:] == (_KEY,))


def _leads_on(data: Any, step: str | int) -> bool:
    if isinstance(data, dict):
        return step in data
    return isinstance(data, list | tuple) and isinstance(step, int) and step < len(data)


def _spoilt(steps: Steps, document: Document) -> bool:
    return any(steps[:count] in document.spoilt for count in range(len(steps) + 1))


def _names(steps: Steps) -> Iterator[str]:
    return (f"item {step + 1}" if isinstance(step, int) else clip(step) for step in steps)


def _text(fault: ErrorDetails, inner: Steps, model: type[BaseModel], written: str | None) -> str:
    """Return what is wrong, the limit, and what to do."""
    kind, value, context = fault["type"], fault["input"], fault.get("ctx", {})
    schemas = [] if fault["loc"][-1:] == (_KEY,) else _schemas(model, inner)  # of the value, which no key is
    if kind in ("value_error", "assertion_error"):
        return str(context["error"])
    if kind == "missing":
        name = str(fault["loc"][-1])
        schemas = _schemas(model, (*inner, name))
        example = next((str(e) for schema in schemas for e in schema.get("examples", ())), "...")
        return f'"{name}" is missing; add "{name}: {example}"'
    if kind == "extra_forbidden":
        known = [name for schema in _schemas(model, inner[:-1]) for name in schema.get("properties", ())]
        return unknown("key", str(inner[-1]), known)
    choices = [str(c) for s in schemas for c in s.get("enum", [s["const"]] if "const" in s else [])]
    if kind in ("literal_error", "enum", "is_instance_of") and choices and isinstance(value, str):
        return unknown("value", value, choices)
    shown = _shown(value, written)
    if kind == "string_type" and isinstance(value, int | float):
        return f'{shown} is read as {_what(value)}, not as text; write it in quotes: "{shown}"'
    if choices:
        return f"{shown} is not allowed; write one of {_listed(choices)}"
    if kind in _WANTED:
        return f"{shown} is not {_WANTED[kind].split(',')[0]}; write {_WANTED[kind]}"
    if kind in _LIMITS:
        wrong, right, key = _LIMITS[kind]
        limit = f"{context[key]:g}" if isinstance(context[key], int | float) else str(context[key])
        return f"{shown} is {wrong.format(limit)}; write {right.format(limit)}"
    if context.keys() & {"min_length", "max_length"}:
        return _length(shown, value, context)
    return _form(fault, shown, schemas)


def _length(shown: str, value: Any, context: dict[str, Any]) -> str:
    """Return what is wrong with the length of text or a list."""
    unit = "characters" if isinstance(value, str) else "items"
    if "max_length" in context:
        most = context["max_length"]
        return f"{shown} has {len(value)} {unit}; at most {most} are allowed; shorten it"
    least = context["min_length"]
    if not len(value):
        return f"nothing is given; write {'text' if unit == 'characters' else 'at least one item'}"
    return f"{shown} has {len(value)} {unit}; at least {least} are needed; add to it"


def _form(fault: ErrorDetails, shown: str, schemas: list[Schema]) -> str:
    """Return what the text should have looked like."""
    described = next((str(schema["description"]) for schema in schemas if "description" in schema), None)
    examples = [str(example) for schema in schemas for example in schema.get("examples", ())]
    how = f"write for instance {_listed(examples[:2])}" if examples else "write it like that"
    if described:
        return f"{shown} is not {described}; {how}"
    if fault["type"] == "string_pattern_mismatch":
        return f"{shown} does not have the form {fault['ctx']['pattern']}; {how}"
    return f"{shown} can't stand here: {fault['msg'][:1].lower()}{fault['msg'][1:]}"


def _what(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else "a number"


def _shown(value: object, written: str | None) -> str:
    """Return a value for a message, as it was written where that is known."""
    if isinstance(value, str):
        return f'"{clip(value)}"'
    if isinstance(value, bool | int | float):
        return clip(written or str(value).lower())
    return "nothing" if value is None else "a list" if isinstance(value, list | tuple) else "a mapping"


@lru_cache(maxsize=64)
def _model_schema(model: type[BaseModel]) -> Schema:
    try:
        return model.model_json_schema()
    except (PydanticInvalidForJsonSchema, PydanticUserError):
        return {}  # a model without a schema only loses the examples in its messages


def _schemas(model: type[BaseModel], steps: Steps) -> list[Schema]:
    """Return the JSON Schemas of what may stand at these steps: more than one for a union."""
    root = _model_schema(model)
    found = list(_members(root, root))
    for step in steps:
        inner: list[Schema] = []
        for schema in found:
            if isinstance(step, int):
                prefix = schema.get("prefixItems", [])
                inner.append(prefix[step] if step < len(prefix) else schema.get("items", {}))
            else:
                # A mapping whose keys have a form keeps what its values are under that form.
                other = next(iter(schema.get("patternProperties", {}).values()), schema.get("additionalProperties", {}))
                inner.append(schema.get("properties", {}).get(step, other if isinstance(other, dict) else {}))
        found = [member for schema in inner if isinstance(schema, dict) for member in _members(schema, root)]
    return found


def _members(schema: Schema, root: Schema) -> Iterator[Schema]:
    """Yield a schema with its references followed, each member of a union for itself."""
    if match := re.fullmatch(r"#/\$defs/(.+)", schema.get("$ref", "")):
        yield from _members(root.get("$defs", {}).get(match[1], {}), root)
        return
    parts = [part for word in ("anyOf", "oneOf", "allOf") for part in schema.get(word, ())]
    if not parts:
        yield schema
    for part in parts:
        yield from _members(part, root)
