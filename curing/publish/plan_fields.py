"""How things with fields, lists and tables stand in a written plan.

The form follows from the types of :mod:`curing.model.plan`, so that what is written, what is
read and the JSON Schema can't differ. :func:`form_of` makes the form of a dataclass.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field, fields
from functools import lru_cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from curing.model.plan import Absence, Booking, CoatDates, Cure, Lost, Moment, Notice, Reason
from curing.model.quantities import clip
from curing.publish.plan_values import TEXT, WRONG, Context, Fault, Form, Json, value_form

AT_A_SITE = (Absence, Booking, CoatDates, Cure, Lost, Moment)
"""Their instants are written in UTC and in the local time of their site."""

SAID = (Notice, Reason)
"""They carry their sentence as ``text``, for people; it is not read back."""


@dataclass
class _Optional(Form):
    """A value or nothing."""

    inner: Form
    name: str = "nothing"

    def write(self, value: Any, where: Context) -> Json:
        return None if value is None else self.inner.write(value, where)

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        return None if data is None else self.inner.read(data, path, fault)

    def schema(self) -> dict[str, Json]:
        return {"anyOf": [self.inner.schema(), {"type": "null"}]}


@dataclass
class _List(Form):
    """Values in order."""

    inner: Form
    name: str = "a list"

    def write(self, value: Any, where: Context) -> Json:
        return [self.inner.write(one, where) for one in value]

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        if not isinstance(data, list):
            return self.wrong(data, path, fault)
        return tuple(self.inner.read(one, f"{path}[{number}]", fault) for number, one in enumerate(data))

    def schema(self) -> dict[str, Json]:
        return {"type": "array", "items": self.inner.schema()}


@dataclass
class _Table(Form):
    """Values by name."""

    inner: Form
    name: str = "a table"

    def write(self, value: Any, where: Context) -> Json:
        return {key: self.inner.write(value[key], where) for key in sorted(value)}

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        if not isinstance(data, dict):
            return self.wrong(data, path, fault)
        for key in data:
            TEXT.read(key, f"{path} (a name in it)", fault)
        return {key: self.inner.read(one, f"{path}.{clip(str(key))}", fault) for key, one in data.items()}

    def schema(self) -> dict[str, Json]:
        return {"type": "object", "additionalProperties": self.inner.schema()}


@dataclass
class RecordForm(Form):
    """A thing with named fields; what has a default may be missing, what is unknown is a fault."""

    kind: type
    fields: dict[str, Form]
    required: tuple[str, ...]
    later: dict[str, Any] = field(default_factory=dict)
    """Fields of a later version, each with the default with which it is left out."""
    name: str = "a thing with named fields"

    def write(self, value: Any, where: Context) -> Json:
        """Return the fields, with the sentence where there is one."""
        site = getattr(value, "site", None)
        zone = getattr(value, "zone", None) or where.zones.get(site or "", where.zone)
        if zone != where.zone:
            where = Context(zone, where.zones, where.say)
        found = {}
        for name, form in self.fields.items():
            told = getattr(value, name)
            if name not in self.later or told != self.later[name]:
                found[name] = form.write(told, where)
        if self.kind in SAID:
            found["text"] = where.say(value)
        return found

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        """Return the thing, or None where a field is missing."""
        if not isinstance(data, dict):
            return self.wrong(data, path, fault)
        at = f"{path}." if path else ""
        for key in data:
            if key not in self.fields and not (key == "text" and self.kind in SAID):
                fault(f"{at}{clip(str(key))}", "no field of a plan is called so")
        missing = [name for name in self.required if name not in data]
        for name in missing:
            fault(f"{at}{name}", "is missing")
        read = {n: form.read(data[n], f"{at}{n}", fault) for n, form in self.fields.items() if n in data}
        return WRONG if missing else self.kind(**read)

    def schema(self) -> dict[str, Json]:
        """Return a reference; the schema itself is :meth:`body`."""
        return {"$ref": f"#/$defs/{self.kind.__name__}"}

    def body(self) -> dict[str, Json]:
        """Return the JSON Schema of the fields."""
        properties = {name: form.schema() for name, form in self.fields.items()}
        if self.kind in SAID:
            properties["text"] = {"type": "string"}
        return {
            "type": "object",
            "properties": properties,
            "required": list(self.required),
            "additionalProperties": False,
        }


@lru_cache(maxsize=64)
def form_of(kind: type) -> RecordForm:
    """Return the form of a dataclass of :mod:`curing.model.plan`."""
    hints = get_type_hints(kind)
    site = kind in AT_A_SITE
    required = tuple(f.name for f in fields(kind) if f.default is MISSING and f.default_factory is MISSING)
    later = {f.name: f.default for f in fields(kind) if f.metadata.get("later")}
    return RecordForm(kind, {f.name: _form(hints[f.name], at_a_site=site) for f in fields(kind)}, required, later)


def records(form: Form) -> dict[str, RecordForm]:
    """Return every kind of thing inside a form, by name."""
    found: dict[str, RecordForm] = {}
    todo = [form]
    while todo:
        one = todo.pop()
        if isinstance(one, RecordForm):
            if one.kind.__name__ in found:
                continue
            found[one.kind.__name__] = one
            todo += one.fields.values()
        elif isinstance(one, _Optional | _List | _Table):
            todo.append(one.inner)
    return found


def _form(hint: Any, *, at_a_site: bool) -> Form:
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        inner = [one for one in args if one is not NoneType]
        if len(inner) > 1:
            return _simple(object, at_a_site=at_a_site)
        return _Optional(_form(inner[0], at_a_site=at_a_site))
    if origin is tuple:
        return _List(_form(args[0], at_a_site=at_a_site))
    if origin is not None:
        return _Table(_form(args[1], at_a_site=at_a_site))
    return _simple(hint, at_a_site=at_a_site)


def _simple(kind: type, *, at_a_site: bool) -> Form:
    return value_form(kind, at_a_site=at_a_site) or form_of(kind)
