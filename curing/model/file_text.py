"""Text as a job file holds it: one value and nothing else, whatever signs it has.

What YAML would misread stands in quotes, so that it comes back as it was typed. Whoever writes a
whole file and whoever changes a line of one write values alike.
"""

from __future__ import annotations

import json
import re

_PLAIN = re.compile(r"\w(?:[\w .,/°%²³()+'’&;-]|:(?=[0-9]))*")
"""Text that is nothing but text to every reader of YAML, outside brackets."""

_FLOW = re.compile(r"[\w](?:[\w ./°%²³+-]|:(?=[0-9]))*")
"""The same within brackets."""

_NUMBER = re.compile(r"[-+]?(\.[0-9_]+|[0-9][0-9_]*(\.[0-9_]*)?)([eE][-+]?[0-9]+)?|0[ox][0-9a-fA-F_]+|0b[01_]+")
_SPECIAL = frozenset({"null", "true", "false", "yes", "no", "on", "off", "y", "n"})


def scalar(text: str, *, flow: bool = False) -> str:
    """Return text as YAML reads it back: as it is, or in quotes where it would mean something else.

    Examples
    --------
    >>> scalar("north gable"), scalar("1"), scalar("no"), scalar("gable: north")
    ('north gable', '"1"', '"no"', '"gable: north"')
    >>> scalar("Wil, lead"), scalar("Wil, lead", flow=True)
    ('Wil, lead', '"Wil, lead"')
    """
    plain = (_FLOW if flow else _PLAIN).fullmatch(text) and text == text.strip()
    if plain and text.isprintable() and not _NUMBER.fullmatch(text) and text.casefold() not in _SPECIAL:
        return text
    return json.dumps(text, ensure_ascii=False)


def number(text: str) -> str:
    """Return a decimal number plain, and anything else in quotes, for the reader to refuse."""
    return text if re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", text) else json.dumps(text, ensure_ascii=False)
