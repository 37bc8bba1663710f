"""How single values stand in a written plan: text, numbers, days, instants, one of a few words.

Each is a :class:`Form`, which writes a value, reads it back, and describes itself as JSON
Schema; :func:`value_form` gives the form of a type.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo

from curing.model.quantities import clip

FIRST, LAST = 2000, 2200
"""Years that a date or an instant may lie in."""

MOST = 10**12
"""No number of a plan is as large."""

_UTC = r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{6})?Z"
_LOCAL = r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{6})?)?[+-][0-9]{2}:[0-9]{2}(:[0-9]{2})?"
_DATE = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"

Json = Any
Say = Callable[[Any], str]
Fault = Callable[[str, str], None]
"""Takes where (``bookings[3].start``) and what is wrong."""

WRONG: Any = None
"""Stands where nothing could be read; nobody sees it, because a fault was told."""


@dataclass(frozen=True)
class Context:
    """Where a value is written: the time zone of its site, the zones of all, who makes sentences."""

    zone: str
    zones: Mapping[str, str]
    say: Say


class Form(ABC):
    """How values of one type stand in JSON."""

    name: str
    """What a value is called in a message."""

    @abstractmethod
    def write(self, value: Any, where: Context) -> Json:
        """Return the value as JSON."""

    @abstractmethod
    def read(self, data: Json, path: str, fault: Fault) -> Any:
        """Return the value of JSON, or tell a fault."""

    @abstractmethod
    def schema(self) -> dict[str, Json]:
        """Return the JSON Schema."""

    def wrong(self, data: Json, path: str, fault: Fault) -> Any:
        """Tell that something else stands there."""
        fault(path, f"{shown(data)} is not {self.name}")
        return WRONG


class _Text(Form):
    """Text; half a sign (a lone surrogate) can't be written to a file and is refused."""

    name = "text"

    def write(self, value: Any, where: Context) -> Json:
        return value

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        if not isinstance(data, str) or (not data.isascii() and _broken(data)):
            return self.wrong(data, path, fault)
        return data

    def schema(self) -> dict[str, Json]:
        return {"type": "string"}


TEXT = _Text()


@dataclass
class _Number(Form):
    """A finite number, a whole one, true or false, or any of these, text and nothing."""

    kind: type | None
    name: str

    def write(self, value: Any, where: Context) -> Json:
        return float(value) if self.kind is float else value

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        if self.kind is None and (data is None or isinstance(data, str)):
            return data if data is None else TEXT.read(data, path, fault)
        if isinstance(data, bool):
            return data if self.kind in (bool, None) else self.wrong(data, path, fault)
        if not isinstance(data, int | float) or self.kind is bool or not abs(data) < MOST:
            return self.wrong(data, path, fault)
        if self.kind is int and isinstance(data, float):
            return self.wrong(data, path, fault)
        return float(data) if self.kind is float else data

    def schema(self) -> dict[str, Json]:
        types: dict[type | None, Json] = {int: "integer", float: "number", bool: "boolean"}
        return {"type": types.get(self.kind, ["string", "number", "boolean", "null"])}


class _Date(Form):
    """A day, ``2027-05-03``."""

    name = "a day such as 2027-05-03"

    def write(self, value: Any, where: Context) -> Json:
        return value.isoformat()

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        if isinstance(data, str) and re.fullmatch(_DATE, data):
            try:
                day = date.fromisoformat(data)
            except ValueError:
                return self.wrong(data, path, fault)
            if FIRST <= day.year <= LAST:
                return day
        return self.wrong(data, path, fault)

    def schema(self) -> dict[str, Json]:
        return {"type": "string", "format": "date", "pattern": f"^{_DATE}$"}


class _Utc(Form):
    """An instant, ``2027-05-03T05:00:00Z``."""

    name = "an instant such as 2027-05-03T05:00:00Z"

    def write(self, value: Any, where: Context) -> Json:
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        if isinstance(data, str) and re.fullmatch(_UTC, data):
            try:
                at = datetime.fromisoformat(data)
            except ValueError:
                return self.wrong(data, path, fault)
            if FIRST <= at.year <= LAST:
                return at
        return self.wrong(data, path, fault)

    def schema(self) -> dict[str, Json]:
        return {"type": "string", "format": "date-time", "pattern": f"^{_UTC}$"}


class _Local(Form):
    """An instant in UTC with the local time of its site beside it; UTC is what counts."""

    name = 'an instant such as {"utc": "2027-05-03T05:00:00Z", "local": "2027-05-03T07:00+02:00"}'
    _utc = _Utc()

    def write(self, value: Any, where: Context) -> Json:
        local = value.astimezone(ZoneInfo(where.zone))
        whole = not (local.second or local.microsecond)
        return {
            "utc": self._utc.write(value, where),
            "local": local.isoformat(timespec="minutes") if whole else local.isoformat(),
        }

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        if not isinstance(data, dict) or not data.keys() <= {"utc", "local"} or "utc" not in data:
            return self.wrong(data, path, fault)
        at = self._utc.read(data["utc"], f"{path}.utc", fault)
        if at is not WRONG and "local" in data and not _same(data["local"], at):
            fault(f"{path}.local", f"{shown(data['local'])} is not the local time of {data['utc']}")
        return at

    def schema(self) -> dict[str, Json]:
        return {
            "type": "object",
            "properties": {"utc": self._utc.schema(), "local": {"type": "string", "pattern": f"^{_LOCAL}$"}},
            "required": ["utc"],
            "additionalProperties": False,
        }


@dataclass
class _Choice(Form):
    """One of a few words."""

    kind: type[StrEnum]

    @property
    def name(self) -> str:  # type: ignore[override]
        return "one of " + ", ".join(self.kind)

    def write(self, value: Any, where: Context) -> Json:
        return value.value

    def read(self, data: Json, path: str, fault: Fault) -> Any:
        return self.kind(data) if isinstance(data, str) and data in set(self.kind) else self.wrong(data, path, fault)

    def schema(self) -> dict[str, Json]:
        return {"enum": [one.value for one in self.kind]}


def _broken(text: str) -> bool:
    return any("\ud800" <= sign <= "\udfff" for sign in text)


def _same(local: Json, at: datetime) -> bool:
    if not isinstance(local, str) or not re.fullmatch(_LOCAL, local):
        return False
    try:
        return datetime.fromisoformat(local) == at
    except (ValueError, OverflowError):
        return False


def shown(data: Json) -> str:
    """Return what stands there, short enough for a message."""
    if isinstance(data, str):
        return f'"{clip(data)}"'
    if isinstance(data, bool) or data is None:
        return {True: "true", False: "false", None: "nothing"}[data]
    if isinstance(data, int | float):
        return f"{data}" if abs(data) < MOST else "this number"
    return "a list" if isinstance(data, list) else "a table" if isinstance(data, dict) else "this"


def value_form(kind: type, *, at_a_site: bool) -> Form | None:
    """Return the form of a simple type, None for a thing with fields; ``object``: any of the simple ones."""
    if issubclass(kind, StrEnum):
        return _Choice(kind)
    simple: dict[type, Form] = {
        str: TEXT,
        int: _Number(int, "a whole number"),
        float: _Number(float, "a number"),
        bool: _Number(bool, "true or false"),
        object: _Number(None, "a number, a text, true, false or nothing"),
        date: _Date(),
        datetime: _Local() if at_a_site else _Utc(),
    }
    return simple.get(kind)
