"""Marks, ``{to}``, filled in so that what is filled in stays within its place, whatever it says."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from html import escape
from typing import Any
from urllib.parse import quote

from curing.model.reminders import Message
from curing.sources.settings_values import MARK

MOST_TEXT = 20_000
"""[signs] Of a text that is filled in."""
MOST_LINE = 200
"""[signs] Of a subject or short text, and of anything in a header but address, link and secret."""
_WHOLE = ("to", "link", "key", "secret")
_LIKE = str.maketrans(
    dict(zip("–—‑−’‘“”·•×²", "----''\"\"--x2", strict=True))
    | {"…": "...", "→": "->", "ß": "ss", "æ": "ae", "ø": "o", "Ø": "O"}
)
"""Signs that stand for others where only ASCII can stand."""


def values_of(to: str, message: Message, secret: str) -> dict[str, str]:
    """Return what stands for each mark; without control signs, lines of one line on one line.

    Examples
    --------
    >>> from curing.model.reminders import Kind
    >>> message = Message("k-1", Kind.TRIAL, "A\\r\\nBcc: x", "short", "two\\nlines", "")
    >>> found = values_of("mia", message, "s3cret")
    >>> found["subject"], found["text"]
    ('A Bcc: x', 'two\\nlines')
    """
    return {
        "to": one_line_of(to, len(to)),
        "subject": one_line_of(message.subject),
        "short": one_line_of(message.short),
        "text": seen(message.text)[:MOST_TEXT],
        "link": one_line_of(message.link, len(message.link)),
        "key": key_of(message),
        "secret": secret,
    }


def key_of(message: Message) -> str:
    """Return a message's key in letters, digits, hyphens and dots."""
    return re.sub(r"[^A-Za-z0-9.-]", "-", message.key)[:200] or "none"


def seen(text: str) -> str:
    """Return text without control signs but line ends, and without halves of signs."""
    whole = text.encode("utf-8", "replace").decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")
    return "".join(c for c in whole if c in "\n\t" or unicodedata.category(c) not in ("Cc", "Zl", "Zp", "Cs"))


def one_line_of(text: str, most: int = MOST_LINE) -> str:
    """Return text on one line."""
    return " ".join(seen(re.sub(r"[\s\x1c-\x1f\x85\u2028\u2029]", " ", text[: 4 * most + 4])).split())[:most]


def in_url(template: str, values: Mapping[str, str]) -> str:
    """Return an address on the web; what is filled in is one part of a path or one value of its query.

    Raises
    ------
    ValueError
        A part would lead to another folder.

    Examples
    --------
    >>> in_url("https://x.example/to/{to}?t={short}", {"to": "a/b", "short": "50 % & more"})
    'https://x.example/to/a%2Fb?t=50%20%25%20%26%20more'
    """
    escaped = {name: quote(text, safe="") for name, text in values.items()}
    for part in template.partition("?")[0].split("/"):
        if MARK.search(part) and in_text(part, escaped) in (".", ".."):
            raise ValueError("leads to another folder of the gateway; write another address")
    return in_text(template, escaped)


def in_header(template: str, values: Mapping[str, str]) -> str:
    """Return the value of a header, in ASCII: letters lose their marks, other signs become ``?``.

    Raises
    ------
    ValueError
        Address, link or secret can't stand there as they are.

    Examples
    --------
    >>> in_header("{subject}", {"subject": "Wände – 3"})
    'Wande - 3'
    """
    for name in MARK.findall(template):
        if name in _WHOLE and not re.fullmatch(r"[ -~]*", values[name]):
            raise ValueError("has signs that can't stand in a header; write it in plain letters")
    return in_text(template, {n: text if n in _WHOLE else _ascii(text)[:MOST_LINE] for n, text in values.items()})


def in_text(template: str, values: Mapping[str, str]) -> str:
    """Return text with the marks filled in as they are."""
    # One pass: what is filled in is never read again for marks.
    return MARK.sub(lambda found: values.get(found[1], found[0]), template)


def in_markup(template: str, values: Mapping[str, str]) -> str:
    """Return XML or HTML with the marks filled in as text.

    Examples
    --------
    >>> in_markup("<m>{short}</m>", {"short": "a < b"})
    '<m>a &lt; b</m>'
    """
    return in_text(template, {name: escape(text) for name, text in values.items()})


def in_json(template: Any, values: Mapping[str, str]) -> Any:
    """Return what becomes JSON, with the marks in every text of it filled in; keys and other values stay.

    Examples
    --------
    >>> in_json({"to": ["{to}"], "priority": 4}, {"to": 'mia", "admin": true'})
    {'to': ['mia", "admin": true'], 'priority': 4}
    """
    if isinstance(template, Mapping):
        return {name: in_json(one, values) for name, one in template.items()}
    if isinstance(template, list | tuple):
        return [in_json(one, values) for one in template]
    return in_text(template, values) if isinstance(template, str) else template


def _ascii(text: str) -> str:
    letters = unicodedata.normalize("NFKD", " ".join(text.split()).translate(_LIKE))
    plain = "".join(c for c in letters if not unicodedata.combining(c))
    return "".join(c if " " <= c <= "~" else "?" for c in plain)
