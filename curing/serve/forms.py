"""Forms as they come in: each field once, in its form, or a plain word about what is wrong."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from urllib.parse import parse_qsl

from starlette.requests import ClientDisconnect, Request

from curing.errors import CuringError
from curing.model.quantities import clip

MOST_BYTES = 64 * 1024
"""[bytes] Of one form."""
MOST_FIELDS = 400
KEY = re.compile(r"[A-Za-z0-9-]{16,64}")
"""Form of the key that a page draws for each of its forms."""


class FormError(CuringError):
    """A form lacks something, repeats it, or holds what it can't; ``status`` is how HTTP says so."""

    def __init__(self, text: str, *, field: str = "", status: int = 400) -> None:
        super().__init__(text)
        self.field, self.status = field, status


@dataclass(frozen=True)
class Form:
    """Fields of a form, in order, as text."""

    fields: Mapping[str, Sequence[str]]

    def one(self, name: str) -> str:
        """Return a field that must be there, once; FormError otherwise."""
        found = self.maybe(name)
        if found is None:
            raise FormError(
                f'the form lacks "{name}"; a page of another version, perhaps: open it anew and enter it again',
                field=name,
            )
        return found

    def maybe(self, name: str) -> str | None:
        """Return a field that may be missing or empty."""
        found = [text for text in self.fields.get(name, ()) if text != ""]
        if len(found) > 1:
            raise FormError(f'the form has "{name}" {len(found)} times; send it once', field=name)
        return found[0] if found else None

    def text(self, name: str, most: int = 500) -> str:
        """Return free text without line ends at its ends; empty where nothing was written."""
        found = (self.maybe(name) or "").replace("\r\n", "\n").strip()
        if len(found) > most:
            raise FormError(f"{name}: {len(found)} signs; at most {most} are kept; shorten it", field=name, status=422)
        bad = next((sign for sign in found if (ord(sign) < 32 and sign not in "\n\t") or ord(sign) == 127), None)
        if bad is not None:
            raise FormError(
                f"{name}: holds a control sign (U+{ord(bad):04X}); write plain text", field=name, status=422
            )
        if any("\ud800" <= sign <= "\udfff" for sign in found):
            raise FormError(f"{name}: holds broken signs; write plain text", field=name, status=422)
        return found

    def every(self, name: str) -> list[str]:
        """Return all values of a field that may be there several times."""
        return [text for text in self.fields.get(name, ()) if text != ""]

    def key(self) -> str:
        """Return the key that the page drew for this form: the same form sent twice counts once."""
        key = self.one("key")
        if not KEY.fullmatch(key):
            raise FormError(f'key: "{clip(key)}" was not drawn by a page of ours; open the page anew', field="key")
        return key

    def day(self, name: str) -> date:
        """Return a day, ``2027-05-24``."""
        found = self.one(name)
        try:
            return date.fromisoformat(found)
        except ValueError:
            raise FormError(
                f'{name}: "{clip(found)}" is no day; write it as 2027-05-24', field=name, status=422
            ) from None

    def instant(self, name: str) -> datetime:
        """Return an instant with its zone, ``2027-05-24T07:12:00+02:00``."""
        found = self.one(name)
        try:
            at = datetime.fromisoformat(found)
        except ValueError:
            at = None
        if at is None or at.utcoffset() is None or not 2000 <= at.year <= 2199:
            raise FormError(f'{name}: "{clip(found)}" is no time with its zone; open the page anew', field=name)
        return at

    def number(self, name: str, least: int, most: int) -> int | None:
        """Return a whole number within limits, or None where nothing was written."""
        found = self.maybe(name)
        if found is None:
            return None
        if not re.fullmatch(r"[+-]?[0-9]{1,9}", found) or not least <= int(found) <= most:
            raise FormError(f'{name}: "{clip(found)}" is no whole number of {least} to {most}', field=name, status=422)
        return int(found)


async def read_form(request: Request) -> Form:
    """Return the form of a request.

    Raises
    ------
    FormError
        It is too large, of another kind, or not UTF-8.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        raise FormError("this is not a form of one of our pages; open the page and send it from there", status=415)
    body = bytearray()
    try:
        async for chunk in request.stream():
            body += chunk
            if len(body) > MOST_BYTES:
                raise FormError(f"the form is larger than {MOST_BYTES // 1024} kB; shorten what you wrote", status=413)
    except ClientDisconnect:
        raise FormError("the form did not come whole; send it again") from None
    try:
        pairs = parse_qsl(body.decode("ascii"), keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict")
    except (UnicodeError, ValueError):
        raise FormError("the form can't be read; open the page anew and send it again") from None
    fields: dict[str, list[str]] = {}
    for name, text in pairs:
        fields.setdefault(name, []).append(text)
    return Form(fields)
