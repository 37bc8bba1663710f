"""Free text that people give with what they say: a remark, a reason, a key of their own."""

from __future__ import annotations

from curing.errors import UsageError
from curing.model.quantities import clip

LONGEST_NOTE = 2000
LONGEST_REASON = 500
LONGEST_KEY = 200


def said_text(text: str, most: int = LONGEST_NOTE) -> str:
    r"""Return a text that people said, without blanks at its ends.

    Parameters
    ----------
    text
        As it was written.
    most
        Most characters it may have.

    Raises
    ------
    ValueError
        Nothing in it can be read, it is too long, or it holds broken signs; says what to do.

    Examples
    --------
    >>> said_text(" drier by then\n")
    'drier by then'
    """
    said = text.strip()
    if any("\ud800" <= sign <= "\udfff" for sign in said):
        raise ValueError(f'"{clip(said)}" holds broken signs; type it anew, in UTF-8')
    if not any(sign.isprintable() and not sign.isspace() for sign in said):
        raise ValueError("is empty; write what it is")
    if len(said) > most:
        raise ValueError(f"has {len(said)} characters, at most {most}; make it shorter")
    return said


def said_reason(text: str, name: str) -> str:
    """Return a reason; ``name`` is how an error calls it.

    Raises
    ------
    UsageError
        As :func:`said_text`.
    """
    try:
        return said_text(text, LONGEST_REASON)
    except ValueError as error:
        raise UsageError(f"{name}: {error}") from None


def checked_key(key: str | None) -> str | None:
    """Return the caller's own key, if there is one.

    Raises
    ------
    UsageError
        It is empty, too long, or holds a slash or signs that can't be seen.

    Examples
    --------
    >>> checked_key("page-7")
    'page-7'
    """
    if key is not None and (not key.strip() or len(key) > LONGEST_KEY or not key.isprintable() or "/" in key):
        raise UsageError(
            f'--key: 1 to {LONGEST_KEY} characters that can be printed, without "/"; give the key of the page'
        )
    return key
