"""What one YAML scalar means, and what no text of a file may hold.

YAML 1.2 core schema [1]_ for plain scalars, except that numbers must be finite
and at most 40 signs long. ``NO``, ``on``, ``07:30`` and ``2027-03-01`` are text.

References
----------
.. [1] YAML Ain't Markup Language 1.2.2, section 10.3.2, "Tag Resolution".
"""

from __future__ import annotations

import math
import re
import unicodedata

from curing.model.quantities import clip

MOST_SIGNS = 40  # of a number: Python refuses to read one of more than 4300 digits

_BREAKS = "\u0085\u2028\u2029"  # line breaks to some readers and not to others
CONTROL = re.compile(f"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f{_BREAKS}\ufeff\ufffe\uffff]")
"""Control characters, but for tab and line breaks."""

_REORDER = re.compile("[\u202a-\u202e\u2066-\u2069]")
_NULL = {"", "~", "null", "Null", "NULL"}
_BOOL = {"true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False}
_INT = re.compile(r"[-+]?[0-9]+")
_BASED = re.compile(r"0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")

Scalar = str | int | float | bool | None


def resolve(text: str, style: str | None) -> tuple[Scalar, str | None]:
    """Return the value of a scalar, and what is wrong with it or None.

    Parameters
    ----------
    text
        The scalar, without its quotes.
    style
        None for a plain one, else its quote, ``|`` or ``>``.

    Examples
    --------
    >>> resolve("0x1F", None), resolve("NO", None), resolve("12", '"'), resolve("~", None)
    ((31, None), ('NO', None), ('12', None), (None, None))
    >>> resolve(".inf", None)
    (None, '.inf is no number to plan with; write a finite one')
    """
    if style is not None:
        # A block ends with a line break that its writer did not mean.
        text = text.removesuffix("\n") if style in ("|", ">") else text
        return text, unfit(text)
    if text in _NULL:
        return None, None
    if text in _BOOL:
        return _BOOL[text], None
    if _NOT_FINITE.fullmatch(text):
        return None, f"{text} is no number to plan with; write a finite one"
    based, whole = _BASED.fullmatch(text), _INT.fullmatch(text)
    if not (based or whole or _FLOAT.fullmatch(text)):
        return text, unfit(text)
    if len(text) > MOST_SIGNS:
        return None, f"{clip(text)} has more than {MOST_SIGNS} signs; shorten it, or put it in quotes"
    if based or whole:
        return int(text, 0 if based else 10), None
    number = float(text)
    return (number, None) if math.isfinite(number) else (None, f"{text} is too large; write a smaller number")


def unfit(text: str) -> str | None:
    """Return what text may not hold, because it would break or disguise a line elsewhere, or None.

    Examples
    --------
    >>> unfit("north gable"), unfit("two\\nlines")
    (None, 'the text goes over several lines; write it on one line')
    """
    if "\n" in text or "\r" in text:
        return "the text goes over several lines; write it on one line"
    for sign in text:
        if _REORDER.match(sign):
            return f"the text holds U+{ord(sign):04X}, which turns the order of signs round; delete it"
        if sign == "\t" or CONTROL.match(sign) or unicodedata.category(sign) == "Cs":
            return f"the text holds the control character U+{ord(sign):04X}; delete it"
    return None
